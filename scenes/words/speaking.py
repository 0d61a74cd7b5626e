"""When which words are spoken over a flight: a stall, a low pack, heights passed. Pure."""

from __future__ import annotations

from firstthrow.scenes.flight.facts import Facts
from firstthrow.scenes.words.instruments import is_stalled

HEIGHTS = ((10.0, "ten"), (20.0, "twenty"), (50.0, "fifty"), (100.0, "hundred"))  # [m]
PASSED = 1.5  # [m] beyond one before the same is told again
BETWEEN = 3.0  # [s] from one "stall" to the next, at least


class Speaking:
    """Asked for each reading of one flight after another, in order."""

    def __init__(self) -> None:
        self.time = 0.0
        self._begin()

    def _begin(self) -> None:
        self.stall_at = -BETWEEN
        self.stalled, self.low = False, False
        self.above = 0  # how many heights it is above

    def due(self, reading, facts: Facts) -> str:
        """The phrase to be spoken now; empty for none."""
        if reading.time_s < self.time:
            self._begin()
        self.time = reading.time_s
        if reading.time_s <= 0.0:
            return ""
        was, self.stalled = self.stalled, is_stalled(reading)
        if self.stalled and not was and reading.time_s - self.stall_at >= BETWEEN:
            self.stall_at = reading.time_s
            return "stall"
        if not self.low and reading.pack_V < facts.cutoff_V:
            self.low = True
            return "pack low"
        return self._height(reading.height_m)

    def _height(self, height: float) -> str:
        """Of the mark that was just passed, up or down."""
        if self.above < len(HEIGHTS) and height > HEIGHTS[self.above][0]:
            self.above += 1
            return f"height {HEIGHTS[self.above - 1][1]}"
        if self.above and height < HEIGHTS[self.above - 1][0] - PASSED:
            self.above -= 1
            return f"height {HEIGHTS[self.above][1]}"
        return ""
