"""Time of the flight, cut from the time of the wall: whole frames, slow motion, no jumps.

Pure: it never reads a clock; the window tells it how long each frame took.
"""

from __future__ import annotations

from math import ceil

FRAME = 1.0 / 60.0  # [s] of flight, and of the wall where a picture comes with each
STALL = 0.25  # [s] a longer frame means that the window was hidden, dragged or starved
RATES = (1.0, 0.5, 0.25)
LATELY = 2.0  # [s] of the wall over which lost time is looked at
LOST = 0.3  # share of it that is lost where a machine cannot keep up: three long frames in a row


def next_due(due: float, now: float, least: float) -> float:
    """[s] when the next frame shall begin: `least` after this one was due. A frame that took
    too long is made up for by the next ones; what is more than a frame late is let go."""
    return max(due + least, now - least)


class Clock:
    """Accumulates wall time and hands it out as whole steps, of a frame unless told otherwise.

    A step is handed out as its time begins, so that what the sticks ask is seen at once; how far
    its time has gone is `blend`. A frame longer than `STALL` counts as one ordinary frame, so that
    the flight waits for a window that was away instead of catching up with nobody looking. On a
    machine whose frames are always that long the flight is slower than the real one, and has to
    say so.
    """

    def __init__(self, step: float = FRAME) -> None:
        self.step = step
        self.rate = 1.0
        self.paused = False
        self.carried = 0.0  # [s] of flight not yet handed out; below 0: handed out ahead
        self._lost = 0.0  # share of the wall's time that was not flown lately

    def steps(self, wall_seconds: float) -> int:
        """Whole steps of flight due after a frame of `wall_seconds`; raises nothing."""
        if self.paused:
            return 0
        long = wall_seconds > STALL
        share = min(max(wall_seconds, 0.0), STALL) / LATELY
        self._lost += (float(long) - self._lost) * share
        if long or wall_seconds < 0.0:
            wall_seconds = FRAME
        self.carried += wall_seconds * self.rate
        # the small allowance keeps whole steps from becoming one more by rounding
        due = max(0, ceil(self.carried / self.step - 1e-6))
        self.carried -= due * self.step
        return due

    @property
    def runs_slow(self) -> bool:
        """Whether the machine cannot keep up; one long frame does not make it so."""
        return self._lost > LOST

    @property
    def blend(self) -> float:
        """How far the picture stands between the last step but one (0) and the last (1)."""
        return min(1.0, max(0.0, 1.0 + self.carried / self.step))

    def slower(self) -> float:
        """Next of the rates, round and round; returns it."""
        self.rate = RATES[(RATES.index(self.rate) + 1) % len(RATES)]
        return self.rate

    def restart(self) -> None:
        self.carried = self._lost = 0.0
        self.paused = False
