"""A process of its own beside the window, so that no frame waits for what it works out."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any


class Beside:
    """One process at a time, and the pipe to it."""

    def __init__(self) -> None:
        self.process: BaseProcess | None = None
        self.pipe: Connection | None = None

    def begin(self, work: Callable[..., None], *what: Any) -> bool:
        """Whether it runs: `work` gets the other end of the pipe, and what it is to work on."""
        alone = multiprocessing.get_context("spawn")
        try:
            self.pipe, theirs = alone.Pipe()
        except OSError:  # too much is open already
            return False
        process = alone.Process(target=work, args=(theirs, *what), daemon=True)
        try:
            process.start()
            self.process = process
        except OSError:  # no process is to be had
            self.close()
        theirs.close()
        return self.process is not None

    def told(self) -> Any:
        """What has come of it; None where nothing has. Raises EOFError once it has ended."""
        if self.pipe is None:
            return None
        try:
            return self.pipe.recv() if self.pipe.poll() else None
        except OSError as error:
            raise EOFError from error

    def close(self) -> None:
        """Ends the process, if one works."""
        if self.pipe is not None:
            self.pipe.close()
        if self.process is not None:
            self.process.terminate()
            self.process.join()
        self.process = self.pipe = None


def give_way(gentle: int) -> None:
    """Within the process: how much it gives way to the window, where the machine can tell."""
    if hasattr(os, "nice"):
        os.nice(gentle)
