"""Work in a thread beside the window's own, and what comes of it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

Given = TypeVar("Given")


class Aside(Generic[Given]):
    """Begins at once. Nothing of it may draw, nor be the first to load what draws: that belongs to
    one thread."""

    def __init__(self, work: Callable[[], Given]):
        self._gave: list[Given] = []
        self._raised: list[BaseException] = []
        self._thread = threading.Thread(target=self._do, args=(work,))
        self._thread.start()

    def _do(self, work: Callable[[], Given]) -> None:
        try:
            self._gave.append(work())
        except BaseException as error:  # told where it is asked for
            self._raised.append(error)

    def over(self, seconds: float) -> bool:
        """Whether it is, after so long at most."""
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def given(self) -> Given:
        """Once it is over. Raises what the work raises."""
        self._thread.join()
        if self._raised:
            raise self._raised[0]
        return self._gave[0]
