"""The cutting template in a file: DXF, SVG, or a PDF of pages for a home printer."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from string import ascii_uppercase

from firstthrow.sim.describe.replace import naming
from firstthrow.sim.paper.benchsheet.gauge import OVERLAP, tiles
from firstthrow.sim.paper.layout import SIZES
from firstthrow.sim.paper.page import Line, Page, Part, Point, Words
from firstthrow.sim.paper.printing import write_pdf
from firstthrow.sim.paper.template.plan import LETTERS, Layer, Plan, moved

SUFFIXES = (".dxf", ".svg", ".pdf")
MARGIN = 12.0  # kept free round a page, where printers do not print [mm]
FOOT = 12.0  # of a page, for its words [mm]
CHECK = 100.0  # of the line to measure the print by [mm]
# Colours as DXF numbers them, and pens and greys on paper.
COLOURS: dict[Layer, int] = {
    "outline": 7,
    "hinge": 1,
    "spar": 3,
    "balance": 6,
    "parts": 5,
    "words": 8,
}
PENS: dict[Layer, tuple[float, float, tuple[float, ...]]] = {
    "outline": (0.35, 0.0, ()),
    "hinge": (0.35, 0.0, (4.0, 2.0)),
    "spar": (0.25, 0.4, (8.0, 2.0, 1.0, 2.0)),
    "balance": (0.5, 0.0, ()),
    "parts": (0.2, 0.4, ()),
}


def write(plan: Plan, path: Path, name: str, size: str) -> int:
    """Writes the template by the file's suffix; how many pages it has. Raises OSError."""
    suffix = path.suffix.lower()
    draws = {".dxf": _dxf, ".svg": _svg}
    if suffix in draws:
        with naming(path):
            draws[suffix](plan, path, name)
        return 1
    made = pages(plan, name, size)
    write_pdf(made, path, f"{name}: cutting template")
    return len(made)


def _dxf(plan: Plan, path: Path, _name: str) -> None:
    """In millimetres, a layer for each kind of line."""
    import ezdxf
    from ezdxf import units

    document = ezdxf.new(setup=True)
    document.units = units.MM
    for layer, colour in COLOURS.items():
        document.layers.add(layer, color=colour)
    space = document.modelspace()
    for stroke in plan.strokes:
        closed = len(stroke.points) > 2 and stroke.points[0] == stroke.points[-1]
        points = stroke.points[:-1] if closed else stroke.points
        space.add_lwpolyline(points, close=closed, dxfattribs={"layer": stroke.layer})
    for label in plan.labels:
        words = space.add_text(label.text, height=LETTERS, dxfattribs={"layer": "words"})
        words.set_placement(label.at)
    document.saveas(path)


def _svg(plan: Plan, path: Path, name: str) -> None:
    """As large as it is; a group for each kind of line, named by it."""
    from xml.etree.ElementTree import Element, ElementTree, SubElement

    (left, low), (right, high) = plan.box
    wide, tall = right - left + 2.0 * MARGIN, high - low + 2.0 * MARGIN
    there = moved(plan, MARGIN - left, MARGIN - low)
    root = Element(
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        width=f"{wide:.3f}mm",
        height=f"{tall:.3f}mm",
        viewBox=f"0 0 {wide:.3f} {tall:.3f}",
        role="img",
    )
    SubElement(root, "title").text = f"{name}: cutting template, full size"
    for layer, (width, grey, dash) in PENS.items():
        shade = f"{round(255 * grey):02x}"
        group = SubElement(root, "g", id=layer, fill="none", stroke=f"#{3 * shade}")
        group.set("stroke-width", f"{width}")
        if dash:
            group.set("stroke-dasharray", " ".join(f"{part:g}" for part in dash))
        for stroke in there.strokes:
            if stroke.layer == layer:
                points = " ".join(f"{x:.3f},{tall - y:.3f}" for x, y in stroke.points)
                SubElement(group, "polyline", points=points)
    words = SubElement(root, "g", id="words")
    words.set("font-size", f"{LETTERS:g}")
    words.set("font-family", "sans-serif")
    for label in there.labels:
        x, y = label.at
        SubElement(words, "text", x=f"{x:.3f}", y=f"{tall - y:.3f}").text = label.text
    ElementTree(root).write(path, encoding="utf-8", xml_declaration=True)


def grid(plan: Plan, size: str) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """What each column of pages shows from left to right, each row from the top down [mm]."""
    (left, low), (right, high) = plan.box
    wide, tall = (length - 2.0 * MARGIN for length in SIZES[size])
    columns = tiles(left - 1.0, right + 1.0, wide)
    rows = [(-b, -a) for a, b in tiles(-high - 1.0, -low + 1.0, tall - FOOT)]
    return columns, rows


def pages(plan: Plan, name: str, size: str) -> list[Page]:
    """Pages that overlap, with cut lines to lay them on each other: A1 is at the top left, B1
    right of it, A2 below. Pages with no line on them are left out."""
    columns, rows = grid(plan, size)
    found = []
    for n, (low, high) in enumerate(rows, 1):
        for k, (left, right) in enumerate(columns):
            tile = ((left, low), (right, high))
            parts = _clipped(plan, tile)
            if not parts:
                continue
            title = f"{name}: cutting template, page {ascii_uppercase[k % 26]}{n}"
            title += f" of {len(columns)} x {len(rows)}"
            joints = (k > 0, k < len(columns) - 1, n < len(rows), n > 1)
            found.append(_page(parts, tile, joints, title, size))
    return found


def _page(
    parts: list[Part],
    tile: tuple[Point, Point],
    joints: tuple[bool, bool, bool, bool],
    title: str,
    size: str,
) -> Page:
    (left, low), (right, high) = tile
    wide, tall = right - left, high - low
    x0, y0 = MARGIN, MARGIN + FOOT
    half = 0.5 * OVERLAP
    dash = (2.0, 1.5)
    marks: list[Part] = []
    for there, x in zip(joints[:2], (x0 + half, x0 + wide - half), strict=True):
        if there:
            marks.append(Line(((x, y0), (x, y0 + tall)), 0.15, 0.5, dash))
    for there, y in zip(joints[2:], (y0 + half, y0 + tall - half), strict=True):
        if there:
            marks.append(Line(((x0, y), (x0 + wide, y)), 0.15, 0.5, dash))
    y = MARGIN + 2.0
    marks.append(Line(((x0, y), (x0 + CHECK, y)), 0.5))
    marks += [Line(((x, y - 1.5), (x, y + 1.5)), 0.3) for x in (x0, x0 + CHECK)]
    marks.append(Words(x0 + CHECK + 3.0, y - 1.0, "100 mm (3.94 in)? If not, print at 100 %.", 2.6))
    marks.append(Words(x0, y + 3.5, f"{title}. Cut along the dashed joints.", 2.9, True))
    return Page((*parts, *marks), *SIZES[size])


def _clipped(plan: Plan, tile: tuple[Point, Point]) -> list[Part]:
    """What lies on a page, in the page's own place; words where they start on it."""
    (left, low), (right, high) = tile
    x0, y0 = MARGIN - left, MARGIN + FOOT - low
    parts: list[Part] = []
    for stroke in plan.strokes:
        width, grey, dash = PENS[stroke.layer]
        for start, end in pairwise(stroke.points):
            kept = clip(start, end, tile)
            if kept is not None:
                (ax, ay), (bx, by) = kept
                ends = ((ax + x0, ay + y0), (bx + x0, by + y0))
                parts.append(Line(ends, width, grey, dash))
    if not parts:
        return []
    for label in plan.labels:
        x, y = label.at
        if left <= x <= right and low <= y <= high:
            parts.append(Words(x + x0, y + y0, label.text, LETTERS))
    return parts


def clip(start: Point, end: Point, tile: tuple[Point, Point]) -> tuple[Point, Point] | None:
    """The part of a straight line that lies in a rectangle (Liang and Barsky 1984); None for
    none of it."""
    first, last = 0.0, 1.0
    along = (end[0] - start[0], end[1] - start[1])
    for axis in (0, 1):
        for way, bound in ((-1.0, tile[0][axis]), (1.0, tile[1][axis])):
            speed, room = way * along[axis], way * (bound - start[axis])
            if speed == 0.0:
                if room < 0.0:
                    return None
            elif speed > 0.0:
                last = min(last, room / speed)
            else:
                first = max(first, room / speed)
    if first >= last:
        return None
    a, b = ((start[0] + s * along[0], start[1] + s * along[1]) for s in (first, last))
    return a, b
