"""Whether the flight waits, and why; and what it did before a page came over it. No window."""

from __future__ import annotations

from firstthrow.scenes.flight.flying import Flying


class Waiting:
    """Over the clock of a rehearsal: the person's pauses, those by what happened, and pages."""

    def __init__(self, rehearsal: Flying):
        self.rehearsal = rehearsal
        self.because = ""  # of the pause, for the card
        self.covered = False  # by a page
        self.behind = (False, "")  # paused and why, once the page is gone

    @property
    def paused(self) -> bool:
        """Whether it waits for the person, apart from any page."""
        return self.behind[0] if self.covered else self.rehearsal.clock.paused

    def pause(self, paused: bool, because: str = "") -> None:
        self.rehearsal.clock.paused = paused
        self.because = because if paused else ""

    def hold(self, because: str) -> None:
        """Something happened: it waits for the person, also once the page is gone."""
        if self.covered:
            self.behind = True, because
        else:
            self.pause(True, because)

    def cover(self) -> None:
        """A page comes over the flight, or over another page."""
        if not self.covered:
            self.behind = self.rehearsal.clock.paused, self.because
        self.covered = True
        self.pause(True)

    def uncover(self) -> None:
        """The page has gone: the flight goes on, unless it was paused before or since."""
        if self.covered:
            self.covered = False
            self.pause(*self.behind)
