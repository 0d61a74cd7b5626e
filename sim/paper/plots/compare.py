"""The page of flights side by side: height, stall margin, pitch stick, bank, and the tracks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from firstthrow.sim.describe.builder_units import Scale
from firstthrow.sim.flight.flown import Flown, flown
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.compare import word
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.paper.plots.debrief import BLUE, FAINT, GREEN, INK, ORANGE, PURPLE, RED, SKY

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LINES = tuple(
    (colour, style)
    for style in ("-", "--", ":")
    for colour in (BLUE, RED, GREEN, ORANGE, PURPLE, SKY)
)


def page(records: Sequence[Record], names: Sequence[str]) -> Figure:
    """One A4 page, landscape. Raises ValueError when fewer than two of them were flown."""
    kept = [(flown(r), name, r) for r, name in zip(records, names, strict=True)]
    kept = [one for one in kept if one[0].time.size > 1]
    if len(kept) < 2:
        raise ValueError("fewer than two flights to compare")
    figure = plt.figure(figsize=(11.69, 8.27))
    grid = figure.add_gridspec(4, 1, left=0.065, right=0.6, top=0.87, bottom=0.065, hspace=0.42)
    first = figure.add_subplot(grid[0])
    panels = [first, *(figure.add_subplot(grid[row], sharex=first) for row in range(1, 4))]
    far = kept[0][2].units.over_field
    drawn = (
        (f"Height [{far.unit}]", lambda flight: far.factor * flight.column("height_m")),
        ("Airspeed over stall speed", _margin),
        ("Pitch stick, back positive [%]", _stick),
        ("Bank [deg]", _bank),
    )
    for panel, (title, of) in zip(panels, drawn, strict=True):
        panel.set_title(title)
        for number, (flight, name, _) in enumerate(kept):
            colour, style = LINES[number % len(LINES)]
            panel.plot(flight.time, of(flight), color=colour, ls=style, lw=1.4, label=name)
    panels[1].axhline(1.0, color=INK, lw=0.9)
    panels[1].set_ylim(0.6, 2.6)
    panels[2].set_ylim(-108, 108)
    for panel in panels[:-1]:
        panel.tick_params(labelbottom=False)
    panels[-1].set_xlabel("time after the release [s]")
    figure.align_ylabels(panels)
    _tracks(figure.add_axes((0.68, 0.5, 0.29, 0.37)), kept, far)
    airframes = list(dict.fromkeys(r.meta.get("airframe", "flight") for _, _, r in kept))
    figure.text(
        0.065,
        0.945,
        f"{', '.join(airframes)}: {len(kept)} flights side by side",
        fontsize=17,
        fontweight="bold",
        color=INK,
        va="center",
    )
    _key(figure, kept)
    return figure


def _margin(flight: Flown) -> np.ndarray:
    return np.where(flight.airborne, flight.over_stall, np.nan)


def _stick(flight: Flown) -> np.ndarray:
    return 100.0 * flight.column("stick_pitch")


def _bank(flight: Flown) -> np.ndarray:
    bank = flight.column("roll_deg")
    jump = np.abs(np.diff(bank, prepend=bank[:1])) > 180.0
    return np.where(jump, np.nan, bank)


def _tracks(panel, kept, far: Scale) -> None:
    panel.set_title("Ground tracks from the release")
    for number, (flight, _, _) in enumerate(kept):
        colour, style = LINES[number % len(LINES)]
        north, east = (far.factor * flight.column(name) for name in ("north_m", "east_m"))
        panel.plot(east, north, color=colour, ls=style, lw=1.3)
        panel.plot(east[-1], north[-1], marker="X", ms=6, color=colour)
    panel.set_aspect("equal", adjustable="datalim")
    panel.set_xlabel(f"east [{far.unit}]")
    panel.set_ylabel(f"north [{far.unit}]")


def _key(figure: Figure, kept) -> None:
    """Which line is which flight, how it ended, who flew it."""
    step = min(0.035, 0.38 / len(kept))
    for number, (flight, name, record) in enumerate(kept):
        colour, style = LINES[number % len(LINES)]
        y = 0.4 - number * step
        figure.add_artist(plt.Line2D([0.655, 0.685], [y, y], color=colour, ls=style, lw=2.0))
        figure.text(0.69, y, name, fontsize=9, color=INK, va="center")
        told = f"{word(record)}, {flight.time[-1]:.1f} s, {record.meta.get('pilot') or 'thumbs'}"
        figure.text(0.975, y, told, fontsize=8, color=FAINT, va="center", ha="right")
