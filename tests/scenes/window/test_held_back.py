"""What would stop a program is held back while it is in the middle of something, and never lost."""

from __future__ import annotations

import signal
import threading

import pytest

from firstthrow.scenes.commands import cli, fly
from firstthrow.scenes.window.held_back import held_back


@pytest.fixture(params=[signal.SIGINT, signal.SIGTERM])
def number(request):
    """Of a signal that raises KeyboardInterrupt."""
    before = signal.signal(request.param, signal.default_int_handler)
    yield request.param
    signal.signal(request.param, before)


def test_it_comes_after_the_work(number):
    done = []

    def work():
        with held_back(lambda: done.append("at once")):
            signal.raise_signal(number)
            done.append("work")

    with pytest.raises(KeyboardInterrupt):
        work()
    assert done == ["at once", "work"]
    assert signal.getsignal(number) is signal.default_int_handler


def test_it_comes_in_place_of_an_error_of_the_work(number):
    """It came first; the error is told along with it."""

    def work():
        with held_back():
            signal.raise_signal(number)
            raise ZeroDivisionError

    with pytest.raises(KeyboardInterrupt) as stopped:
        work()
    assert isinstance(stopped.value.__context__, ZeroDivisionError)
    assert signal.getsignal(number) is signal.default_int_handler


def test_an_error_alone_is_the_works():
    with pytest.raises(ZeroDivisionError), held_back():
        raise ZeroDivisionError


def test_beside_the_main_thread_the_work_is_done_all_the_same():
    done = []

    def work():
        with held_back():
            done.append("work")

    beside = threading.Thread(target=work)
    beside.start()
    beside.join()
    assert done == ["work"]


def test_a_polite_kill_before_anything_flies_is_a_ctrl_c(monkeypatch, capsys):
    def killed(chosen):
        told = signal.getsignal(signal.SIGTERM)
        assert callable(told), "it would end this process"
        signal.raise_signal(signal.SIGTERM)

    monkeypatch.setattr(fly, "_asked", killed)
    before = signal.getsignal(signal.SIGTERM)
    assert cli.main(["fly", "--no-window"]) == 1
    assert capsys.readouterr().err == "firstthrow: stopped\n"
    assert signal.getsignal(signal.SIGTERM) == before
