"""Ctrl-C and a polite kill, held back where they would leave something half done.

What stops a program in the middle of an import can leave a lock taken that another thread then
waits for without end; in the middle of opening a window, one that crashes when it is cleared away.
"""

from __future__ import annotations

import contextlib
import signal
from collections.abc import Callable, Iterator


@contextlib.contextmanager
def held_back(at_once: Callable[[], object] = lambda: None) -> Iterator[None]:
    """What would raise an error here does so after it; until then, when it comes, `at_once`."""
    came: list[int] = []

    def hold(number, frame) -> None:
        came.append(number)
        at_once()

    numbers = signal.SIGINT, signal.SIGTERM
    before = {number: told for number in numbers if callable(told := signal.getsignal(number))}
    for one in before:
        signal.signal(one, hold)
    try:
        yield
    finally:
        for one, told in before.items():
            signal.signal(one, told)
    for number in came:
        before[signal.Signals(number)](number, None)
