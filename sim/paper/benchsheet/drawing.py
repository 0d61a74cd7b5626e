"""Drawings of the bench sheet: the airframe from above to scale, and from behind."""

from __future__ import annotations

from itertools import pairwise
from math import cos, radians, sin

import numpy as np

from firstthrow.sim.build.shape import Piece, corners, pieces, planes, surface_spans
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.paper.draw import BOLD, LINE, THICK, THIN, Paper

SCALES = (1, 2, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20, 25, 30, 40, 50)


def scale_for(airframe: Airframe, wide: float, tall: float) -> float:
    """The largest round scale 1:n at which the airframe fits into a space [mm]."""
    top, bottom, reach = extent(airframe)
    need = max(2.0 * reach / wide, (bottom - top) / tall)
    return next((s for s in SCALES if s >= need), float(np.ceil(need)))


def extent(airframe: Airframe) -> tuple[float, float, float]:
    """Foremost and rearmost place, and the tip [mm]."""
    points = np.concatenate([p.corners for p in pieces(airframe)])
    noses = [m.aft for m in airframe.motors.values()]
    noses += [i.aft - 0.5 * i.length * (i.along == "aft") for i in airframe.items.values()]
    top, bottom = min([points[:, 0].min(), *noses]), points[:, 0].max()
    return 1e3 * float(top), 1e3 * float(bottom), 1e3 * float(np.abs(points[:, 1]).max())


def from_above(
    paper: Paper, airframe: Airframe, marks: dict, x: float, y: float, wide: float, tall: float
) -> float:
    """Nose up, within a space whose top left corner is (x, y); marks in mm behind the datum.

    Returns how far down it reaches.
    """
    scale = scale_for(airframe, 0.68 * wide, tall - 3.0)
    top, bottom, reach = extent(airframe)
    middle, zero = x + 0.46 * wide, y + 2.0 - top / scale

    def at(aft: float, right: float) -> tuple[float, float]:
        return middle + right / scale, zero + aft / scale

    _sheets(paper, airframe, at)
    _fittings(paper, airframe, at)
    _marks(paper, marks, middle, zero, scale, reach / scale)
    shown = f"{scale:g}"
    paper.text(x, y + 3.0, f"from above, 1 : {shown}", 7.5)
    paper.text(x, y + 6.5, "mm from the datum", 7.5)
    return zero + bottom / scale


def _sheets(paper: Paper, airframe: Airframe, at) -> None:
    for name, sheet in airframe.sheets.items():
        for plane in planes(name, sheet):
            rim = [1e3 * plane.point(a, out) for a, out in corners(sheet)]
            if abs(plane.normal[2]) > 0.5:
                outs = [out if plane.side else 1.0 for _, out in corners(sheet)]
                _flat(paper, [at(p[0], p[1]) for p in rim], outs)
            else:
                low, high = min(p[0] for p in rim), max(p[0] for p in rim)
                half = max(500.0 * sheet.thickness, 1.0)
                left, up = at(low, rim[0][1] - half)
                right, down = at(high, rim[0][1] + half)
                paper.box(left, up, right - left, down - up, 0.35, THIN)
    for piece in pieces(airframe):
        if piece.surface >= 0 and abs(piece.normal[2]) > 0.5:
            paper.polygon([at(*(1e3 * c[:2])) for c in piece.corners], 0.88, LINE)


def _flat(paper: Paper, rim: list[tuple[float, float]], outs: list[float]) -> None:
    """A flat sheet, without the line at the centre where its halves meet."""
    paper.polygon(rim, 0.98, 0.0)
    ends = zip(pairwise([*rim, rim[0]]), pairwise([*outs, outs[0]]), strict=True)
    for (a, b), (near, far) in ends:
        if max(abs(near), abs(far)) > 1e-3:
            paper.line(*a, *b, THICK)


def _fittings(paper: Paper, airframe: Airframe, at) -> None:
    """Items as small rings or boxes without names: the table has those; the propellers."""
    for item in airframe.items.values():
        cx, cy = at(1e3 * item.aft, 1e3 * item.right)
        if item.shape == "box":
            left, up = at(
                1e3 * (item.aft - 0.5 * item.length), 1e3 * (item.right - 0.5 * item.width)
            )
            paper.box(left, up, 2.0 * (cx - left), 2.0 * (cy - up), None, THIN)
        elif item.shape == "rod" and item.along == "aft":
            paper.line(
                *at(1e3 * (item.aft - 0.5 * item.length), 1e3 * item.right),
                *at(1e3 * (item.aft + 0.5 * item.length), 1e3 * item.right),
                THICK,
                0.45,
            )
        else:
            paper.circle(cx, cy, 0.6, 1.0, THIN)
    for motor in airframe.motors.values():
        half = 500.0 * motor.propeller.size[0]
        paper.line(
            *at(1e3 * motor.aft, 1e3 * motor.right - half),
            *at(1e3 * motor.aft, 1e3 * motor.right + half),
            THICK,
        )


def _marks(
    paper: Paper, marks: dict, middle: float, zero: float, scale: float, reach: float
) -> None:
    """Datum, band, balance mark, CG, neutral point, ballast, each with its place in words."""
    arm = min(0.55 * reach, 26.0)
    where = {name: zero + at / scale for name, at in marks.items() if at is not None}
    if "front" in where:
        _hatch(paper, middle - arm, where["front"], 2.0 * arm, where["rear"] - where["front"])
    paper.line(middle - reach - 5.0, zero, middle + reach + 5.0, zero, LINE, 0.0, (1.5, 1.0))
    if "neutral" in where:
        _triangle(paper, middle, where["neutral"])
    if "ballast" in where:
        paper.box(middle - 1.6, where["ballast"] - 1.6, 3.2, 3.2, 0.0)
    _quartered(paper, middle, where["target"], 2.3)
    paper.line(middle - arm, where["target"], middle + arm, where["target"], THICK)
    if abs(where["cg"] - where["target"]) > 0.3:
        paper.circle(middle, where["cg"], 1.1, 1.0, THICK)
    words = [(zero, "datum 0")]
    words += [
        (where[n], f"{text} {_behind(marks[n])}")
        for n, text in (
            ("target", "BALANCE"),
            ("cg", "by the file"),
            ("neutral", "neutral point"),
            ("front", "front limit"),
            ("rear", "rear limit"),
            ("ballast", "ballast"),
        )
        if n in where
    ]
    _labels(paper, sorted(words), middle + arm, middle + reach + 9.0)


def _behind(place: float) -> str:
    return f"{place:.0f}" if place > -0.5 else f"{-place:.0f} ahead"


def _labels(paper: Paper, words: list[tuple[float, str]], start: float, x: float) -> None:
    """Words in a column at x, moved apart, each with a thin line from its place."""
    levels, step = [at for at, _ in words], 3.6
    for _ in range(300):
        for k in range(len(levels) - 1):
            short = step - (levels[k + 1] - levels[k])
            if short > 1e-6:
                levels[k] -= 0.5 * short
                levels[k + 1] += 0.5 * short
    for (at, text), level in zip(words, levels, strict=True):
        paper.line(start, at, x - 4.0, at, THIN, 0.35)
        paper.line(x - 4.0, at, x - 1.0, level, THIN, 0.35)
        strong = text.startswith(("BALANCE", "datum"))
        paper.text(x, level + 1.0, text, 8.0, BOLD if strong else "Helvetica")


def _hatch(paper: Paper, x: float, y: float, wide: float, tall: float) -> None:
    """Slanted lines within a box, and its upper and lower side."""
    k = -tall
    while k < wide:
        a, b = max(k, 0.0), min(k + tall, wide)
        paper.line(x + a, y + tall - (a - k), x + b, y + tall - (b - k), THIN, 0.5)
        k += 1.6
    for side in (y, y + tall):
        paper.line(x, side, x + wide, side, LINE, 0.0, (1.0, 0.6))


def _quartered(paper: Paper, x: float, y: float, radius: float) -> None:
    """The usual mark of a centre of gravity."""
    paper.circle(x, y, radius, 1.0, LINE)
    for start in (0, 180):
        slice_ = [(x, y)] + [
            (x + radius * cos(radians(start + a)), y - radius * sin(radians(start + a)))
            for a in range(0, 91, 9)
        ]
        paper.polygon(slice_, 0.0, THIN)


def _triangle(paper: Paper, x: float, y: float) -> None:
    paper.polygon([(x, y + 1.8), (x - 2.0, y - 1.4), (x + 2.0, y - 1.4)], 1.0, LINE)


def from_behind(
    paper: Paper,
    airframe: Airframe,
    moves: dict[str, str],
    x: float,
    y: float,
    wide: float,
    tall: float,
) -> float:
    """Seen from behind within a space: surfaces that move stand off, with an arrow.

    Returns the y below the arrows.
    """
    every = pieces(airframe)
    points = np.concatenate([p.corners for p in every])
    reach, low, high = np.abs(points[:, 1]).max(), points[:, 2].min(), points[:, 2].max()
    size = min(0.5 * wide / reach, (tall - 16.0) / max(high - low, 0.02))
    middle, zero = x + 0.5 * wide, y + 6.0 + high * size
    names = [span.name for span in surface_spans(airframe)]

    def at(corner: np.ndarray) -> tuple[float, float]:
        return middle + corner[1] * size, zero - corner[2] * size

    for piece in every:
        if piece.surface < 0:
            a, b = _ends(piece)
            paper.line(*at(a), *at(b), 0.7)
    for piece in every:
        if piece.surface >= 0:
            a, b = _ends(piece)
            _moved(paper, at(a), at(b), moves.get(names[piece.surface], ""))
    return zero - low * size + 10.0


def _ends(piece: Piece) -> tuple[np.ndarray, np.ndarray]:
    """Inner and outer end of a piece's rear edge."""
    return piece.corners[3], piece.corners[2]


def _moved(paper: Paper, a: tuple, b: tuple, way: str) -> None:
    """A surface between two points of the page, moved up, down, left, right or not."""
    dx, dy = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}.get(way, (0, 0))
    if not way:
        paper.line(*a, *b, 0.9)
        return
    far = 2.6
    shifted = [(p[0] + far * dx, p[1] + far * dy) for p in (b, a)]
    paper.polygon([a, b, *shifted], 0.8, LINE)
    cx, cy = 0.5 * (a[0] + b[0]) + far * dx, 0.5 * (a[1] + b[1]) + far * dy
    tip = (cx + 3.4 * dx, cy + 3.4 * dy)
    paper.line(cx + 0.4 * dx, cy + 0.4 * dy, *tip, THICK)
    side = (dy, dx)
    paper.polygon(
        [
            (tip[0] + 1.2 * dx, tip[1] + 1.2 * dy),
            (tip[0] + 0.9 * side[0], tip[1] + 0.9 * side[1]),
            (tip[0] - 0.9 * side[0], tip[1] - 0.9 * side[1]),
        ],
        0.0,
        THIN,
    )


def propeller(paper: Paper, x: float, y: float, radius: float, turns: str) -> None:
    """Seen from behind: two blades and an arrow that goes round."""
    blade = [(0.0, -0.4), (0.35, -1.1), (0.75, -0.9), (1.0, 0.0), (0.6, 0.5), (0.0, 0.4)]
    for side in (1.0, -1.0):
        paper.polygon([(x + side * u * radius, y + side * v) for u, v in blade], 0.6, THIN)
    paper.circle(x, y, 0.8, 0.0)
    clockwise = turns == "clockwise"
    paper.arc(x, y, radius + 1.2, 25.0, 120.0)
    end = 25.0 if clockwise else 145.0
    ex, ey = x + (radius + 1.2) * cos(radians(end)), y - (radius + 1.2) * sin(radians(end))
    way = -1.0 if clockwise else 1.0
    tx, ty = -way * sin(radians(end)), -way * cos(radians(end))
    nx, ny = cos(radians(end)), -sin(radians(end))
    paper.polygon([(ex + 1.8 * tx, ey + 1.8 * ty), (ex + nx, ey + ny), (ex - nx, ey - ny)], 0.0)
