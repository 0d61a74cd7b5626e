"""SVG drawings, through svgelements: every shape and path, with its transformations."""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import ParseError

import numpy as np

from firstthrow.sim.describe.drawing.strokes import Drawing, DrawingError, Stroke, cut
from firstthrow.sim.units import INCH

DOTS = 96.0  # an inch has so many units where a size is given: CSS, Values and Units, section 6.2
COLOURS = {
    "#ff0000": "red",
    "#00ff00": "green",
    "#008000": "green",
    "#0000ff": "blue",
    "#ffff00": "yellow",
    "#00ffff": "cyan",
    "#ff00ff": "magenta",
    "#000000": "black",
}


def read(path: Path, tolerance: float) -> Drawing:
    """Its strokes, curves cut to the tolerance, in units of 1/96 inch where the page has a size
    in a unit of length. Raises DrawingError."""
    from svgelements import SVG, Group, Shape
    from svgelements import Path as Curve

    try:
        page = SVG.parse(str(path), ppi=DOTS, reify=True)
    except (ParseError, ValueError) as error:
        raise DrawingError(f"{path}: cannot be read as SVG: {error}") from error
    except OSError as error:
        raise DrawingError(f"{path}: cannot be read: {error.strerror or error}") from error
    strokes: list[Stroke] = []

    def walk(element, names: frozenset[str]) -> None:
        label = element.values.get("{http://www.inkscape.org/namespaces/inkscape}label")
        own = {element.id, label, element.values.get("class")}
        names = names | {str(name).lower() for name in own if name}
        if isinstance(element, Group):
            for inner in element:
                walk(inner, names)
        elif isinstance(element, Shape):
            marks = names | _colour(element)
            for part in Curve(element).as_subpaths():
                points = _points(Curve(part), tolerance)
                if len(points) > 1:
                    strokes.append(Stroke(points, marks))

    walk(page, frozenset())
    return Drawing(strokes, INCH / DOTS if _sized(path) else None)


def _points(curve, tolerance: float) -> np.ndarray:
    """Along one path; the page's y grows downwards."""
    found: list[np.ndarray] = []
    for part in curve:
        if part.start is None or part.end is None or type(part).__name__ == "Move":
            continue

        def at(share: float, part=part) -> np.ndarray:
            point = part.point(share)
            return np.array([point.x, -point.y])

        straight = type(part).__name__ in ("Line", "Close")
        piece = np.array([at(0.0), at(1.0)]) if straight else cut(at, tolerance)
        found.extend(piece if not found else piece[1:])
    return np.array(found)


def _colour(element) -> frozenset[str]:
    stroke = getattr(element.stroke, "hex", None)
    return frozenset({COLOURS.get(str(stroke).lower(), str(stroke).lower())} if stroke else ())


def _sized(path: Path) -> bool:
    """Whether the page says its width in a unit of length."""
    from xml.etree.ElementTree import parse

    width = parse(path).getroot().get("width", "").strip()
    return width.endswith(("mm", "cm", "in", "pt", "pc", "Q"))
