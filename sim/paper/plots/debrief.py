"""The plot page of a flight: height and speed, sticks, attitude, power, and the ground track."""

from __future__ import annotations

from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

import matplotlib
import numpy as np
from PIL import Image

from firstthrow.sim.describe.replace import naming
from firstthrow.sim.flight.flown import Flown, flown, summary
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.compare import word
from firstthrow.sim.learn.debrief import findings
from firstthrow.sim.learn.debriefing import circumstances
from firstthrow.sim.learn.finding import Finding, Severity, worst_first
from firstthrow.sim.paper.drawn import plt

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

# Told apart by colour-blind eyes, and by line style where two share a panel. Source: M. Okabe,
# K. Ito, "Color Universal Design", 2008 (palette of eight).
BLUE, ORANGE, GREEN, RED, PURPLE, SKY = (
    "#0072B2",
    "#E69F00",
    "#009E73",
    "#D55E00",
    "#CC79A7",
    "#56B4E9",
)
INK, FAINT = "#222222", "#767676"
STYLE = matplotlib.RcParams(
    {
        "font.family": "DejaVu Sans",
        "font.size": 9,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.edgecolor": "#999999",
        "axes.labelcolor": INK,
        "axes.titlesize": 10,
        "axes.titleweight": "bold",
        "axes.titlelocation": "left",
        "axes.titley": 1.0,  # nothing lies over the panels: no way up is looked for
        "axes.grid": True,
        "grid.color": "#e4e4e4",
        "grid.linewidth": 0.8,
        "lines.linewidth": 1.6,
        "legend.frameon": False,
        "legend.fontsize": 8,
        "xtick.color": INK,
        "ytick.color": INK,
    }
)
OURS = "firstthrow"
SHADES = {Severity.CAUTION: "#f7e9c6", Severity.DANGER: "#f6d5c8"}
SHOWN = 9  # findings that fit on the page
WIDTH = 62  # characters of a line of findings


def write(record: Record, path: Path | str) -> None:
    """One A4 page, landscape, PNG or PDF (or what else the suffix says).

    Raises ValueError for a suffix that is no picture or a record with nothing flown in it, OSError
    when it cannot be written.
    """
    flight, said = flown(record), findings(record)
    if flight.time.size < 2:
        raise ValueError("nothing was flown in this record: there is nothing to plot")
    with plt.rc_context(STYLE):
        page = _page(flight, said)
        try:
            with naming(path):
                page.savefig(path, dpi=130, metadata=of_ours(path))
        finally:
            plt.close(page)


def of_ours(path: Path | str) -> dict[str, str] | None:
    """What a picture's file says of where it comes from, so that it can be drawn again."""
    return {"Software": OURS} if Path(path).suffix.lower() == ".png" else None


def is_ours(path: Path) -> bool:
    """Whether the picture there was drawn here: it may be drawn anew."""
    try:
        with Image.open(path) as picture:
            return picture.info.get("Software") == OURS
    except (OSError, ValueError, Image.DecompressionBombError):
        return False


def page(record: Record) -> Figure:
    """The page as a figure, to be drawn within STYLE and closed by the caller."""
    return _page(flown(record), findings(record))


def _page(flight: Flown, said: list[Finding]) -> Figure:
    page = plt.figure(figsize=(11.69, 8.27))
    grid = page.add_gridspec(
        5,
        1,
        height_ratios=(1.3, 1, 1, 1, 1),
        left=0.065,
        right=0.59,
        top=0.87,
        bottom=0.065,
        hspace=0.5,
    )
    height = page.add_subplot(grid[0])
    panels = [height, *(page.add_subplot(grid[row], sharex=height) for row in range(1, 5))]
    drawings = (_height_and_speed, _sticks, _surfaces, _attitude, _power)
    for panel, draw in zip(panels, drawings, strict=True):
        _shade(panel, said)
        draw(panel, flight)
        panel.margins(x=0.0)
    for panel in panels[:-1]:
        panel.tick_params(labelbottom=False)
    panels[-1].set_xlabel("time after the release [s]")
    page.align_ylabels(panels)
    _track(page.add_axes((0.69, 0.46, 0.27, 0.41)), flight)
    _heading(page, flight)
    _words(page.add_axes((0.655, 0.03, 0.335, 0.345)), said)
    return page


def _heading(page: Figure, flight: Flown) -> None:
    title = f"{flight.record.meta.get('airframe', 'Flight')}: {word(flight.record)}"
    page.text(0.065, 0.955, title, fontsize=17, fontweight="bold", color=INK, va="center")
    told = "   ·   ".join(summary(flight.record).words(flight.record.units))
    page.text(0.065, 0.919, told, fontsize=9.5, color=INK, va="center")
    words = "   ·   ".join(circumstances(flight.record))
    page.text(0.975, 0.955, words, fontsize=8.5, color=FAINT, va="center", ha="right")


def _shade(panel: Axes, said: list[Finding]) -> None:
    """Troubled stretches as bands behind the curves, the worse over the milder.

    What lasts most of the flight is left to the words: a band would hide the others.
    """
    for severity, shade in SHADES.items():
        for finding in said[1:]:
            lasted = finding.end_s - finding.start_s
            if finding.severity == severity and 0.0 < lasted < 0.5 * said[0].end_s:
                panel.axvspan(finding.start_s, finding.end_s, color=shade, lw=0, zorder=0)


def _legend(panel: Axes, *others: Axes) -> None:
    lines = [line for axes in (panel, *others) for line in axes.get_legend_handles_labels()[0]]
    panel.legend(
        handles=lines,
        loc="lower right",
        bbox_to_anchor=(1.0, 0.98),
        ncols=len(lines),
        borderaxespad=0.1,
        columnspacing=1.2,
        handlelength=1.8,
    )


def _beside(panel: Axes) -> Axes:
    """A second scale on the right, without a second grid."""
    right = panel.twinx()
    right.grid(visible=False)
    right.spines["right"].set_visible(True)
    return right


def _height_and_speed(panel: Axes, flight: Flown) -> None:
    panel.set_title("Height and airspeed")
    far, speeds = flight.record.units.over_field, flight.record.units.scale("m/s")
    panel.plot(flight.time, far.factor * flight.column("height_m"), color=BLUE, label="height")
    panel.set_ylabel(far.unit)
    panel.set_ylim(bottom=0.0)
    right = _beside(panel)
    speed, stall = (
        speeds.factor * flight.column(name) for name in ("airspeed_m_s", "stall_speed_m_s")
    )
    right.plot(flight.time, speed, color=ORANGE, label="airspeed")
    right.plot(flight.time, stall, color=RED, ls="--", lw=1.3, label="stall")
    right.set_ylabel(speeds.unit)
    right.set_ylim(bottom=0.0)
    _legend(panel, right)


def _sticks(panel: Axes, flight: Flown) -> None:
    panel.set_title("Sticks")
    shown = (
        ("pitch", "stick_pitch", BLUE, "-"),
        ("roll", "stick_roll", RED, "--"),
        ("yaw", "stick_yaw", GREEN, "-."),
        ("throttle", "throttle", FAINT, ":"),
    )
    for label, name, colour, style in shown:
        panel.plot(flight.time, 100.0 * flight.column(name), color=colour, ls=style, label=label)
    panel.set_ylabel("%")
    panel.set_ylim(-108, 108)
    panel.set_yticks((-100, 0, 100))
    _legend(panel)


def _surfaces(panel: Axes, flight: Flown) -> None:
    panel.set_title("Surfaces")
    colours = (BLUE, RED, GREEN, PURPLE, ORANGE, SKY)
    names = flight.record.meta.get("surfaces", [])
    for number, name in enumerate(names[: len(colours)]):
        colour = colours[number]
        style = "--" if name.endswith("_right") else "-"
        asked = flight.column(f"surface_{name}_asked_deg")
        panel.plot(flight.time, asked, color=colour, lw=0.7, alpha=0.8)
        actual = flight.column(f"surface_{name}_deg")
        panel.plot(flight.time, actual, color=colour, ls=style, label=_label(name, names))
    panel.set_ylabel("deg, + down, left")  # beside: above, the names take the line
    low, high = panel.get_ylim()
    panel.set_ylim(min(low, -10.0), max(high, 10.0))
    if names:
        _legend(panel)


def _label(name: str, names: list[str]) -> str:
    """A surface's name; of a pair the right one's side alone: three pairs fill the line."""
    stem = name.removesuffix("_right")
    return "right" if stem != name and f"{stem}_left" in names else name.replace("_", " ")


def _attitude(panel: Axes, flight: Flown) -> None:
    panel.set_title("Attitude and angle of attack")
    shown = (
        ("pitch", "pitch_deg", BLUE, "-"),
        ("bank", "roll_deg", RED, "--"),
        ("angle of attack", "alpha_deg", GREEN, "-."),
    )
    for label, name, colour, style in shown:
        values = _unjumped(flight.column(name))
        panel.plot(flight.time, values, color=colour, ls=style, label=label)
    # A tumble or the roll-out would squash the flight itself into a line.
    quiet = np.concatenate([flight.column(name)[flight.airborne] for _, name, _, _ in shown])
    if quiet.size:
        low, high = np.percentile(quiet, (0.5, 99.5))
        panel.set_ylim(min(low, -10.0) - 5.0, max(high, 10.0) + 5.0)
    panel.set_ylabel("deg")
    _legend(panel)


def _unjumped(angle: np.ndarray) -> np.ndarray:
    """The same curve without a vertical stroke where the angle passes from +180 to -180."""
    jump = np.abs(np.diff(angle, prepend=angle[:1])) > 180.0
    return np.where(jump, np.nan, angle)


def _power(panel: Axes, flight: Flown) -> None:
    panel.set_title("Power")
    panel.plot(flight.time, flight.column("pack_A"), color=BLUE, label="pack current")
    panel.set_ylabel("A")
    panel.set_ylim(bottom=0.0)
    right = _beside(panel)
    volts = flight.column("pack_V")
    right.plot(flight.time, volts, color=ORANGE, label="pack voltage")
    cutoff = flight.limit("cutoff_V", 0.0)
    if cutoff:
        right.axhline(cutoff, color=RED, ls="--", lw=1.2, label="cut-off")
    room = 0.5
    right.set_ylim(min(cutoff or volts.min(), volts.min()) - room, volts.max() + room)
    right.set_ylabel("V")
    _legend(panel, right)


def _track(panel: Axes, flight: Flown) -> None:
    far = flight.record.units.over_field
    panel.set_title(f"Ground track, colour is height [{far.unit}]")
    north, east, height = (
        far.factor * flight.column(name) for name in ("north_m", "east_m", "height_m")
    )
    panel.plot(east, north, color="#bbbbbb", lw=0.8, zorder=1)
    dots = panel.scatter(east, north, c=height, s=7, cmap="viridis", zorder=2, lw=0)
    panel.figure.colorbar(dots, ax=panel, shrink=0.75, pad=0.02, aspect=28)
    panel.plot(east[0], north[0], marker="o", ms=8, mfc="white", mec=INK, ls="", label="release")
    panel.plot(east[-1], north[-1], marker="X", ms=8, color=RED, ls="", label="end")
    lasted = float(flight.time[-1])
    every = next((step for step in (5.0, 10.0, 20.0, 60.0) if lasted / step < 8.0), lasted / 4.0)
    for second in np.arange(every, lasted, every):
        at = int(np.searchsorted(flight.time, second))
        panel.annotate(
            f"{second:.0f} s",
            (east[at], north[at]),
            xytext=(5, 3),
            textcoords="offset points",
            fontsize=7,
            color=FAINT,
        )
    panel.set_aspect("equal", adjustable="datalim")
    panel.set_xlabel(f"east [{far.unit}]")
    panel.set_ylabel(f"north [{far.unit}]")
    panel.legend(loc="best")


def _words(panel: Axes, said: list[Finding]) -> None:
    """The findings, wrapped, as many as fit; danger before caution when they do not all fit."""
    panel.set_axis_off()
    panel.set_title("What happened")
    panel.set_xlim(0.0, 1.0)
    shown = _most_telling(said)
    marks = {
        Severity.NOTE: ("·", INK),
        Severity.CAUTION: ("!", "#8a5a00"),
        Severity.DANGER: ("!!", "#a33c00"),
    }
    lines = [
        (mark, colour, part, first)
        for finding in shown
        for mark, colour in [marks[finding.severity]]
        for first, part in _wrapped(finding.text)
    ]
    step = min(0.057, 0.98 / max(len(lines), 1))
    for number, (mark, colour, part, first) in enumerate(lines):
        place = 0.98 - number * step
        if first:
            panel.text(
                0.0,
                place,
                mark,
                color=colour,
                fontsize=8.5,
                fontweight="bold",
                va="top",
                transform=panel.transAxes,
            )
        panel.text(
            0.035, place, part, color=colour, fontsize=8, va="top", transform=panel.transAxes
        )


def _wrapped(text: str) -> list[tuple[bool, str]]:
    lines = wrap(text, WIDTH, break_on_hyphens=False)
    return [(number == 0, line) for number, line in enumerate(lines)]


def _most_telling(said: list[Finding]) -> list[Finding]:
    rest = worst_first(said[1:])[: SHOWN - 1]
    return [said[0], *sorted(rest, key=lambda finding: finding.start_s)]
