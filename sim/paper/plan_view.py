"""The airframe from above on one page: sheets, parts, balance, neutral point, allowed band.

Black on white, so that it survives a copier; hatching and line styles tell things apart, not
colours. Nose up, as it lies on the bench in front of the builder.
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import matplotlib

matplotlib.use("Agg")  # a page in a file: no window, whatever the machine has

import matplotlib.pyplot as plt
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Polygon, Rectangle, Wedge

from firstthrow.sim.build.shape import corners, pieces, planes
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.units import to_unit

INK, FAINT, BOARD, FLAP = "black", "0.45", "0.97", "0.86"
STYLE = {
    "font.family": "DejaVu Sans",
    "font.size": 8.5,
    "hatch.linewidth": 0.5,
    "hatch.color": "0.55",
}
SUFFIXES = (".png", ".pdf", ".svg")
PAGE = (11.0, 8.5)
NO_GO = {
    "behind-neutral-point": "NO-GO: CG behind the neutral point",
    "too-far-aft": "CG too far aft",
    "too-far-forward": "CG too far forward",
    "no-band": "too little elevator for any CG",
    "no-pitch-control": "NO-GO: nothing holds the nose up",
}
BOX = {"facecolor": "white", "edgecolor": "none", "pad": 0.8}


def write(airframe: Airframe, weighed: dict, path: Path | str) -> None:
    """A page of the airframe as `study.weigh` found it; PNG, PDF or SVG by the suffix.

    Raises ValueError for another suffix, OSError when it cannot be written.
    """
    if Path(path).suffix.lower() not in SUFFIXES:
        raise ValueError(f"{path}: wanted a name that ends in {', '.join(SUFFIXES)}")
    with plt.rc_context(STYLE):
        page = draw(airframe, weighed)
        try:
            page.savefig(path, dpi=150)
        finally:
            plt.close(page)


def draw(airframe: Airframe, weighed: dict) -> Figure:
    page = plt.figure(figsize=PAGE)
    axes = page.add_axes((0.055, 0.15, 0.90, 0.73))
    axes.set_aspect("equal")
    reach = 1000.0 * weighed["tip_m"]
    top, bottom = _extent(airframe)
    tall = bottom - top
    _band(axes, weighed, reach)
    _sheets(axes, airframe)
    _spars(axes, airframe)
    _parts(axes, airframe, weighed, reach, tall)
    _marks(axes, weighed, reach, tall)
    _ruler(axes, reach, top, bottom)
    axes.set_xlim(-1.42 * reach, 1.42 * reach)
    axes.set_ylim(bottom + 0.05 * tall, top - 0.06 * tall)
    axes.axis("off")
    _words(page, airframe, weighed)
    return page


def _mm(metres: float) -> float:
    return to_unit(metres, "mm")


def _extent(airframe: Airframe) -> tuple[float, float]:
    """Foremost and rearmost drawn place [mm]."""
    aft = [p.corners[:, 0] for p in pieces(airframe)]
    lengths = [
        item.aft + s * 0.5 * item.length
        for item in airframe.items.values()
        if item.along == "aft" or item.shape == "box"
        for s in (-1, 1)
    ]
    motors = [motor.aft for motor in airframe.motors.values()]
    every = np.concatenate([*aft, lengths, motors])
    return _mm(every.min()), _mm(every.max())


def _above(points: np.ndarray) -> np.ndarray:
    """(n, 3) builder's places to the page: right, aft [mm]."""
    return 1000.0 * np.asarray(points)[:, [1, 0]]


def _sheets(axes: Axes, airframe: Airframe) -> None:
    for piece in pieces(airframe):
        if abs(piece.normal[2]) > 0.5 and piece.surface >= 0:
            axes.add_patch(
                Polygon(
                    _above(piece.corners), facecolor=FLAP, edgecolor=INK, linewidth=0.9, zorder=1.2
                )
            )
    for name, sheet in airframe.sheets.items():
        sides = [(p, p.point) for p in planes(name, sheet)]
        for plane, point in sides:
            outline = _above(np.array([point(x, y) for x, y in corners(sheet)]))
            if abs(plane.normal[2]) > 0.5:
                axes.add_patch(Polygon(outline, facecolor=BOARD, edgecolor="none", zorder=1.0))
                _edge(axes, outline, sheet.stance == "flat" and plane.side != "")
            else:  # an upright sheet from above: a bar as thick as it is
                half = 500.0 * sheet.thickness
                low, high = outline.min(axis=0), outline.max(axis=0)
                axes.add_patch(
                    Rectangle(
                        (low[0] - half, low[1]),
                        high[0] - low[0] + 2 * half,
                        high[1] - low[1],
                        facecolor="0.35",
                        edgecolor=INK,
                        linewidth=0.8,
                        zorder=1.4,
                    )
                )


def _edge(axes: Axes, outline: np.ndarray, mirrored: bool) -> None:
    """The rim of a sheet, without the line where its halves meet."""
    closed = np.vstack([outline, outline[:1]])
    for a, b in pairwise(closed):
        if mirrored and abs(a[0]) < 1.0 and abs(b[0]) < 1.0:
            continue
        axes.plot(
            *zip(a, b, strict=True), color=INK, linewidth=1.6, zorder=1.6, solid_capstyle="round"
        )


def _spars(axes: Axes, airframe: Airframe) -> None:
    for sheet in airframe.sheets.values():
        for spar in sheet.spars.values():
            left, right = (1000.0 * (spar.right + s * 0.5 * spar.length) for s in (-1, 1))
            axes.plot(
                [left, right],
                [_mm(spar.aft)] * 2,
                color=FAINT,
                linewidth=1.0,
                linestyle=(0, (6, 2, 1, 2)),
                zorder=1.7,
            )


def _size(item: Item) -> tuple[float, float]:
    """Width and length seen from above [mm]."""
    if item.shape == "box":
        return _mm(item.width), _mm(item.length)
    if item.shape == "rod":
        length = _mm(item.length)
        return (length, 0.0) if item.along == "right" else (0.0, length * (item.along == "aft"))
    return 0.0, 0.0


def _parts(axes: Axes, airframe: Airframe, weighed: dict, reach: float, tall: float) -> None:
    """Every item where it lies, named in the margins; guessed ones hollow and dashed."""
    dot = 0.011 * max(reach, 0.6 * tall)
    labels = []
    for name, item in airframe.items.items():
        x, y = _mm(item.right), _mm(item.aft)
        guessed = item.known == "guessed"
        line = {
            "edgecolor": INK,
            "linewidth": 0.9,
            "linestyle": (0, (3, 1.5)) if guessed else "-",
            "zorder": 3.0,
        }
        wide, long = _size(item)
        if item.shape == "box":
            axes.add_patch(
                Rectangle((x - 0.5 * wide, y - 0.5 * long), wide, long, facecolor="none", **line)
            )
        elif wide or long:
            axes.plot(
                [x - 0.5 * wide, x + 0.5 * wide],
                [y - 0.5 * long, y + 0.5 * long],
                color=INK,
                linewidth=2.2,
                alpha=0.7,
                zorder=2.6,
            )
        face = "white" if guessed else "0.25"
        axes.add_patch(Circle((x, y), 0.8 * dot, facecolor=face, **line))
        mark = "?" if guessed else ""
        labels.append((x, y, f"{name.replace('_', ' ')}{mark}  {1000 * item.mass:.3g} g"))
    for motor in airframe.motors.values():
        half = 500.0 * motor.propeller.size[0]
        x, y = _mm(motor.right), _mm(motor.aft)
        axes.plot(
            [x - half, x + half],
            [y, y],
            color=INK,
            linewidth=2.4,
            solid_capstyle="round",
            zorder=2.8,
        )
    _label(axes, labels, reach, tall)


def _label(axes: Axes, labels: list, reach: float, tall: float) -> None:
    """Names to the left of the left tip and right of the right one, each with a thin line."""
    step = 0.042 * max(tall, 0.62 * reach)
    left = [one for one in labels if one[0] < -1.0]
    right = [one for one in labels if one[0] > 1.0]
    for one in sorted((one for one in labels if abs(one[0]) <= 1.0), key=lambda one: one[1]):
        (left if len(left) <= len(right) else right).append(one)
    for way, side in ((-1.0, left), (1.0, right)):
        side.sort(key=lambda one: one[1])
        at = _apart([one[1] for one in side], step)
        for (x, y, text), level in zip(side, at, strict=True):
            knee = way * 1.045 * reach
            axes.plot(
                [x, knee, way * 1.07 * reach],
                [y, level, level],
                color=FAINT,
                linewidth=0.5,
                zorder=2.2,
            )
            axes.text(
                way * 1.08 * reach,
                level,
                text,
                ha="right" if way < 0 else "left",
                va="center",
                fontsize=7.6,
            )


def _apart(levels: list[float], step: float) -> list[float]:
    """Levels in order, moved as little as needed to lie a step apart."""
    at = list(levels)
    for _ in range(200):
        moved = False
        for k in range(len(at) - 1):
            short = step - (at[k + 1] - at[k])
            if short > 1e-6:
                at[k] -= 0.5 * short
                at[k + 1] += 0.5 * short
                moved = True
        if not moved:
            break
    return at


def _band(axes: Axes, weighed: dict, reach: float) -> None:
    """The allowed band across the page, its limits as dashed lines."""
    front, rear = weighed["cg_front_limit_m"], weighed["cg_rear_limit_m"]
    if front is not None and front < rear:
        axes.add_patch(
            Rectangle(
                (-0.30 * reach, _mm(front)),
                0.60 * reach,
                _mm(rear - front),
                facecolor="none",
                edgecolor="0.6",
                hatch="////",
                linewidth=0.0,
                zorder=1.9,
            )
        )
    for place in (front, rear):
        if place is not None:
            axes.plot(
                [-0.40 * reach, 0.40 * reach],
                [_mm(place)] * 2,
                color=INK,
                linewidth=1.0,
                linestyle=(0, (4, 2)),
                zorder=2.0,
            )


def _marks(axes: Axes, weighed: dict, reach: float, tall: float) -> None:
    """CG as the quartered circle, the neutral point as a triangle, with their places."""
    size = 0.026 * max(reach, 0.6 * tall)
    x, y = _mm(weighed["cg_m"][1]), _mm(weighed["cg_m"][0])
    axes.add_patch(Circle((x, y), size, facecolor="white", edgecolor=INK, linewidth=1.2, zorder=5))
    for start in (0, 180):
        axes.add_patch(Wedge((x, y), size, start, start + 90, facecolor=INK, zorder=5.1))
    neutral, spread = _mm(weighed["neutral_point_m"]), _mm(weighed["neutral_point_spread_m"])
    axes.add_patch(
        Polygon(
            [
                (0, neutral + 0.9 * size),
                (-size, neutral - 0.7 * size),
                (size, neutral - 0.7 * size),
            ],
            facecolor="white",
            edgecolor=INK,
            linewidth=1.5,
            zorder=4.8,
        )
    )
    axes.errorbar(
        [1.7 * size], [neutral], yerr=[spread], color=INK, capsize=3, linewidth=1.2, zorder=4.7
    )
    cg_spread = _mm(weighed["cg_spread_m"][0])
    axes.errorbar(
        [x - 1.7 * size], [y], yerr=[cg_spread], color=INK, capsize=3, linewidth=1.2, zorder=4.7
    )
    told = [
        (y, f"CG  {_place(y)} ± {cg_spread:.1f}"),
        (neutral, f"neutral point  {_place(neutral)} ± {spread:.0f}"),
    ]
    front, rear = weighed["cg_front_limit_m"], weighed["cg_rear_limit_m"]
    if front is not None:
        told.append((_mm(front), f"front limit  {_place(_mm(front))}"))
    told.append((_mm(rear), f"rear limit  {_place(_mm(rear))}"))
    told.sort()
    step = 0.046 * max(tall, 0.62 * reach)
    for (at, text), level in zip(told, _apart([one[0] for one in told], step), strict=True):
        axes.plot(
            [0.40 * reach, 0.45 * reach, 0.47 * reach],
            [at, level, level],
            color=INK,
            linewidth=0.6,
            zorder=4.5,
        )
        bold = "bold" if text.startswith(("CG", "neutral")) else "normal"
        axes.text(0.48 * reach, level, text, va="center", weight=bold, bbox=BOX, zorder=4.6)
    for at, style in ((y, "-"), (neutral, "-")):
        axes.plot(
            [0.0, 0.40 * reach], [at, at], color=INK, linewidth=0.7, linestyle=style, zorder=4.4
        )


def _place(millimetres: float) -> str:
    return f"{millimetres:.0f} mm" if millimetres >= -0.5 else f"{-millimetres:.0f} mm ahead"


def _ruler(axes: Axes, reach: float, top: float, bottom: float) -> None:
    """The centreline as a rule, in mm from the datum; and the datum itself."""
    axes.plot(
        [0, 0], [top, bottom], color=FAINT, linewidth=0.6, linestyle=(0, (10, 3, 2, 3)), zorder=2.1
    )
    step = next(s for s in (10, 20, 50, 100, 200) if (bottom - top) / s < 14)
    x = -0.47 * reach
    ticks = np.arange(np.ceil(top / step), np.floor(bottom / step) + 1) * step
    axes.plot([x, x], [ticks[0], ticks[-1]], color=INK, linewidth=0.8, zorder=3.5)
    for tick in ticks:
        axes.plot([x, x - 0.012 * reach], [tick, tick], color=INK, linewidth=0.8, zorder=3.5)
        axes.text(
            x - 0.02 * reach,
            tick,
            f"{tick + 0.0:.0f}",
            ha="right",
            va="center",
            fontsize=6.8,
            zorder=3.5,
            bbox=BOX,
        )
    axes.plot([-0.47 * reach, -0.40 * reach], [0, 0], color=INK, linewidth=1.4, zorder=3.5)


def _words(page: Figure, airframe: Airframe, weighed: dict) -> None:
    size = min(19.0, 450.0 / len(airframe.name))  # a long name stays clear of the words beside it
    page.text(0.05, 0.94, airframe.name, fontsize=size, weight="bold", va="center")
    page.text(0.05, 0.905, airframe.about, fontsize=9.5, color="0.25", va="center")
    page.text(0.95, 0.957, "seen from above, nose up", ha="right", fontsize=8.5, va="center")
    page.text(
        0.95, 0.934, f"mm from the datum: {airframe.datum}", ha="right", fontsize=8.5, va="center"
    )
    page.add_artist(plt.Line2D([0.05, 0.95], [0.885, 0.885], color=INK, linewidth=1.0))
    page.add_artist(plt.Line2D([0.05, 0.95], [0.125, 0.125], color=INK, linewidth=1.0))
    facts = [
        ("all-up mass", f"{1000 * weighed['mass_kg']:.0f} g"),
        ("wing loading", f"{10 * weighed['wing_loading_kg_m2']:.1f} g/dm²"),
        ("CG", f"{weighed['cg_percent_mac']:.1f} % MAC"),
        ("neutral point", f"{weighed['neutral_point_percent_mac']:.1f} % MAC"),
        ("static margin", f"{weighed['static_margin_percent']:.1f} %"),
        ("stall speed", f"{weighed['stall_speed_m_s']:.1f} m/s"),
    ]
    for k, (name, value) in enumerate(facts):
        x = 0.05 + 0.90 * k / len(facts)
        page.text(x, 0.098, name, fontsize=8, color="0.3", va="center")
        page.text(x, 0.072, value, fontsize=10, weight="bold", va="center")
    page.text(0.05, 0.035, _legend(weighed), fontsize=8, va="center")
    no_go = NO_GO.get(weighed["verdict"])
    if no_go:
        page.text(
            0.95,
            0.035,
            no_go,
            fontsize=10,
            weight="bold",
            ha="right",
            va="center",
            bbox={"facecolor": "white", "edgecolor": INK, "linewidth": 1.6, "pad": 5},
        )


def _legend(weighed: dict) -> str:
    return (
        "Hatched: the CG may lie here.  Grey: control surfaces.  Filled dots: weighed parts; "
        f"hollow, '?': guessed.\n{weighed['weigh_first']}  Bars: one standard deviation."
    )
