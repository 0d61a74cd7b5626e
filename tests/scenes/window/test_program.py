"""The program in its window, in a process of its own: how it ends by itself and when it has to."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest
from driven import screen

from firstthrow.sim.flight.record import RecordError, load

pytestmark = pytest.mark.window

LONGEST = 600.0  # [s] until a program that hangs is given up, on a machine busy with other things

ROOT = Path(__file__).parents[3]

SCRIPT = """
    import sys
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.run import run
    from firstthrow.sim.describe.config import find, load_airframe, load_field
    from firstthrow.sim.flight.scripted_pilot import Steady
    from firstthrow.sim.flight.record import Recorder

    airframe = load_airframe(find("airframes", "pantry"))
    flown = run(
        airframe, load_field(find("fields", "water-meadow")), load_hands("keyboard"),
        pilot=Steady() if sys.argv[2] == "steady" else None,
        record_factory=lambda: Recorder(sys.argv[1], airframe, {}),
        seconds=float(sys.argv[3]) if sys.argv[3] else None,
    )
    print(*[outcome.word for outcome in flown])
"""


@contextlib.contextmanager
def start_program(record: Path, pilot: str, seconds: str, **environment):
    """Gone when the test is over, however that ends."""
    program = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(SCRIPT), str(record), pilot, seconds],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, **environment},
    )
    with program:
        try:
            yield program
        finally:
            program.kill()


def test_a_display_that_goes_ends_the_flight_in_words(tmp_path):
    """Stopped and woken before, as by a lid: the flight waits, then goes on."""
    path = tmp_path / "flight.csv"

    def wait_for(met) -> None:
        end = time.monotonic() + LONGEST
        while not met():
            assert program.poll() is None, program.stderr.read()
            assert time.monotonic() < end
            time.sleep(0.05)

    def flown() -> float:
        try:
            rows = load(path).rows
        except RecordError:  # not there yet, or without its first line
            return -1.0
        return rows[-1, 0] if len(rows) else -1.0

    with (
        screen() as (server, name),
        start_program(path, "steady", "60", DISPLAY=name) as program,
    ):
        wait_for(lambda: flown() > 0.2)
        program.send_signal(signal.SIGSTOP)
        before = flown()
        time.sleep(1.0)
        woken = time.monotonic()
        program.send_signal(signal.SIGCONT)
        wait_for(lambda: flown() > before)
        more = flown() - before
        assert more < time.monotonic() - woken + 0.5  # nothing of the second asleep
        server.kill()
        told = program.communicate(timeout=LONGEST)[1]
    assert program.returncode == 1
    assert told.splitlines()[-1] == "The display is gone; what was flown is recorded."
    assert load(path).outcome.word == "stopped"


def test_a_watched_timed_flight_runs_records_and_closes_by_itself(display, tmp_path):
    with start_program(tmp_path / "flight.csv", "steady", "1.5") as program:
        told, complaints = program.communicate(timeout=LONGEST)
    assert program.returncode == 0, complaints
    assert told.strip() == "time-up"
    rows = (tmp_path / "flight.csv").read_text().splitlines()
    assert len(rows) == pytest.approx(1 + 30 + 91, abs=3)
    assert '"time-up"' in (tmp_path / "flight.json").read_text()
