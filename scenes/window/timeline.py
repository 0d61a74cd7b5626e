"""The replay's bar: where in the flight the picture is, dragged with the mouse. Needs a current
context."""

from __future__ import annotations

import numpy as np
from pyglet.graphics import Batch, Group
from pyglet.shapes import Rectangle

from firstthrow.scenes.words.instruments import BLUE, INK, MARK, PAPER, QUIET, TRAY, Rect
from firstthrow.scenes.words.lettering import Line
from firstthrow.scenes.words.panels import SMALL
from firstthrow.sim.flight.flown import spans
from firstthrow.sim.flight.speeds import STALLED

WIDE, TALL = 640.0, 54.0  # pixels at scale 1


def place_of_bar(width: float, height: float, scale: float) -> Rect:
    """At the top of the window, in the middle, clear of the line in the corner."""
    wide = min(WIDE * scale, width - 40.0)
    return Rect(0.5 * (width - wide), height - (44.0 + TALL) * scale, wide, TALL * scale)


class Timeline:
    """For a replay in a window of one size; make a new one when the size changes."""

    def __init__(self, replay, size: tuple[float, float], scale: float):
        self.replay = replay
        self.rect = place_of_bar(*size, scale)
        x, y, wide, tall = self.rect
        self.batch = Batch()
        groups = [Group(order) for order in range(3)]
        pad, s = 16.0 * scale, scale
        self.groove = Rect(x + pad, y + 12 * s, wide - 2 * pad, 8 * s)
        batch = self.batch
        g = self.groove
        self.shapes = [
            Rectangle(*self.rect, PAPER, group=groups[0], batch=batch),
            Rectangle(x, y, 4 * s, tall, INK, group=groups[1], batch=batch),
            Rectangle(*g, TRAY, group=groups[1], batch=batch),
        ]
        stalled = replay.record.column("separated_fraction") > STALLED
        times = replay.record.column("time_s")
        for run in spans(times, np.asarray(stalled), 0.05):
            left, right = self._across(times[run.start]), self._across(times[run.stop - 1])
            self.shapes.append(
                Rectangle(
                    left,
                    g.y - 6 * s,
                    max(2.0, right - left),
                    4 * s,
                    MARK,
                    group=groups[1],
                    batch=batch,
                )
            )
        if replay.start < 0.0:
            self.shapes.append(
                Rectangle(
                    self._across(0.0), g.y - 7 * s, 2, 22 * s, INK, group=groups[1], batch=batch
                )
            )
        self.bar = Rectangle(*g, BLUE, group=groups[1], batch=batch)
        self.knob = Rectangle(g.x, g.y - 5 * s, 6 * s, 18 * s, INK, group=groups[2], batch=batch)
        above = y + tall - 18 * s
        self.words = Line(self.batch, groups[1], g.x, above, SMALL * s, INK, True)
        self.state = Line(
            self.batch, groups[1], x + wide - pad, above, SMALL * s, QUIET, anchor="right"
        )

    def has(self, x: float, y: float) -> bool:
        """Whether a point of the window lies on it."""
        r = self.rect
        return r.x <= x <= r.x + r.width and r.y <= y <= r.y + r.height

    def time_at(self, x: float) -> float:
        """The time [s] under a column of the window."""
        share = min(1.0, max(0.0, (x - self.groove.x) / self.groove.width))
        return self.replay.start + share * (self.replay.end - self.replay.start)

    def draw(self, words: str) -> None:
        replay = self.replay
        at = self._across(replay.time)
        self.bar.width = max(1.0, at - self.groove.x)
        self.knob.x = at - 0.5 * self.knob.width
        self.words.say(f"{replay.time:.2f} s of {replay.end:.1f} s")
        self.state.say(words)
        self.batch.draw()

    def _across(self, time: float) -> float:
        whole = max(1e-9, self.replay.end - self.replay.start)
        return self.groove.x + self.groove.width * (time - self.replay.start) / whole
