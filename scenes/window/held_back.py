"""Ctrl-C and a polite kill, held back where they would leave something half done.

A kill is only where Python answers it, as in `firstthrow fly`; else it ends the program at once.
What stops a program in the middle of an import can leave a lock taken that another thread then
waits for without end; in the middle of opening a window, one that crashes when it is cleared away.
"""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Callable, Iterator


@contextlib.contextmanager
def held_back(at_once: Callable[[], object] = lambda: None) -> Iterator[None]:
    """What would raise an error here does so after it, and in place of an error of the work, as it
    would have come before that; until then, when it comes, `at_once`. Only the main thread is ever
    interrupted: in another nothing is held back."""
    came: list[int] = []

    def hold(number, frame) -> None:
        came.append(number)
        at_once()

    here = threading.current_thread() is threading.main_thread()
    numbers = (signal.SIGINT, signal.SIGTERM) if here else ()
    before = {int(one): told for one in numbers if callable(told := signal.getsignal(one))}
    for one in before:
        signal.signal(one, hold)
    try:
        yield
    finally:
        for one, told in before.items():
            signal.signal(one, told)
        for number in came:
            before[number](number, None)
