"""What must agree between the parts of an airframe file, beyond each value by itself.

The checks read the file's own tables, not the finished description (see `tables`); whatever they
cannot read they leave to the check of values.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.overlap import sheet_overlaps
from firstthrow.sim.describe.problems import KeyPath, Problem, did_you_mean
from firstthrow.sim.describe.tables import (
    Table,
    corner_places,
    is_mirrored,
    length,
    table,
    tables,
    value_of,
)
from firstthrow.sim.kernels.layout import MAX_SURFACES
from firstthrow.sim.units import CURRENT, FRACTION, mm

_NAME = re.compile(r"[A-Za-z0-9_-]+")


def airframe_problems(tree: Table) -> Iterator[Problem]:
    """Every disagreement in an airframe's tables, as the path of a key and a sentence."""
    servos = table(tree, "servos")
    for kind in ("sheets", "items", "motors", "servos", "wheels", "skids"):
        yield from _name_problems((kind,), table(tree, kind))
    for name, sheet in tables(tree, "sheets"):
        path = ("sheets", name)
        yield from _outline_problems(path, sheet)
        yield from _material_problems(path, sheet)
        for part, spar in tables(sheet, "spars"):
            yield from _material_problems((*path, "spars", part), spar)
            yield from _spar_problems((*path, "spars", part), spar)
        yield from _name_problems((*path, "surfaces"), table(sheet, "surfaces"))
        yield from _side_by_side_problems((*path, "surfaces"), table(sheet, "surfaces"))
        for part, surface in tables(sheet, "surfaces"):
            yield from _material_problems((*path, "surfaces", part), surface)
            yield from _surface_problems((*path, "surfaces", part), surface, sheet, servos)
    yield from sheet_overlaps(tree)
    for name, item in tables(tree, "items"):
        yield from _item_problems(("items", name), item)
    for name, motor in tables(tree, "motors"):
        yield from _propeller_problems(("motors", name, "propeller"), table(motor, "propeller"))
    yield from _controller_problems(("controller",), table(tree, "controller"))
    yield from _lift_problems(tree)
    yield from _count_problems(tree)
    yield from _steering_problems(tree)
    yield from _launch_problems(tree)


def _mm(value: float) -> str:
    return f"{mm(value):.6g} mm"


def _name_problems(path: KeyPath, named: Table) -> Iterator[Problem]:
    for name in named:
        if not _NAME.fullmatch(name):
            yield (*path, name), f"'{name}': a name takes letters, digits, _ and - only"


def _material_problems(path: KeyPath, part: Table) -> Iterator[Problem]:
    material = part.get("material")
    if isinstance(material, str) and material not in MATERIALS:
        yield (
            (*path, "material"),
            f"'{material}': no such material; {did_you_mean(material, sorted(MATERIALS))}",
        )


def _outline_problems(path: KeyPath, sheet: Table) -> Iterator[Problem]:
    outline = sheet.get("outline")
    if not isinstance(outline, dict):
        return
    path = (*path, "outline")
    across = "height" if sheet.get("stance") == "upright" else "span"
    other = "span" if across == "height" else "height"
    if "corners" in outline:
        extra = [key for key in ("chord", "span", "height") if key in outline]
        if extra:
            yield path, f"corners and {extra[0]}: give either corners or a rectangle"
        one_half = is_mirrored(sheet) and sheet.get("stance") != "upright"
        yield from _corner_problems(path, outline["corners"], one_half)
        return
    if other in outline:
        stance = sheet.get("stance", "flat")
        yield (*path, other), f"{other}: {_article(stance)} {stance} sheet has a {across} instead"
    for key in ("chord", across):
        if key not in outline:
            yield path, f"no {key}: wanted chord and {across}, or corners"


def _article(word: Any) -> str:
    return "an" if str(word)[:1] in "aeiou" else "a"


def _corner_problems(path: KeyPath, corners: Any, one_half: bool) -> Iterator[Problem]:
    path = (*path, "corners")
    if not isinstance(corners, list):
        return
    if len(corners) < 3:
        yield path, f"{len(corners)} corners: wanted three or more"
        return
    places = corner_places(corners)
    if places is None:
        return
    if one_half and min(out for _, out in places) < 0.0:
        yield (
            path,
            "a corner left of the centreline: wanted the right half only of a mirrored sheet",
        )
    if abs(_area(places)) < 1e-8:
        yield path, "corners that enclose no area: wanted them in order round the edge"
    elif _crosses(places):
        yield path, "an edge that crosses another: wanted the corners in order round the edge"


def _area(places: list[tuple[float, float]]) -> float:
    following = [*places[1:], places[0]]
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(places, following, strict=True))


def _crosses(places: list[tuple[float, float]]) -> bool:
    count = len(places)
    edges = [(places[i], places[(i + 1) % count]) for i in range(count)]
    return any(
        _meet(*edges[i], *edges[j])
        for i in range(count)
        for j in range(i + 2, count)
        if (j + 1) % count != i
    )


def _meet(a: Any, b: Any, c: Any, d: Any) -> bool:
    def side(p: Any, q: Any, r: Any) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0.0 and side(c, d, a) * side(c, d, b) < 0.0


def _spar_problems(path: KeyPath, spar: Table) -> Iterator[Problem]:
    inside, outside = length(spar, "inside"), length(spar, "outside")
    if spar.get("section") == "tube":
        if "inside" not in spar:
            yield path, "a tube with no inside: wanted its bore"
        elif inside is not None and outside is not None and inside >= outside:
            yield (*path, "inside"), f"{_mm(inside)}: wanted less than outside, {_mm(outside)}"
    if spar.get("section") == "strip" and not length(spar, "width"):
        yield path, "a strip with no width: wanted one"


def _surface_problems(
    path: KeyPath, surface: Table, sheet: Table, servos: Table
) -> Iterator[Problem]:
    servo = surface.get("servo")
    if isinstance(servo, str) and servo not in servos:
        yield (*path, "servo"), f"'{servo}': no such servo; {did_you_mean(servo, list(servos))}"
    inner, outer = length(surface, "inner"), length(surface, "outer")
    if inner is not None and outer is not None and inner >= outer:
        yield (*path, "inner"), f"{_mm(inner)}: wanted less than outer, {_mm(outer)}"
    reach, chord = _sheet_size(sheet)
    if outer is not None and reach is not None and outer > reach + 1e-9:
        yield (*path, "outer"), f"{_mm(outer)}: the sheet ends at {_mm(reach)}"
    own = length(surface, "chord")
    if own is not None and chord is not None and own >= chord:
        yield (*path, "chord"), f"{_mm(own)}: wanted less than the sheet's {_mm(chord)}"
    upright = sheet.get("stance") == "upright"
    role = surface.get("role")
    if role not in ("rudder", None) and upright:
        yield (*path, "role"), f"'{role}' on an upright sheet: wanted 'rudder'"
    if role == "rudder" and not upright:
        yield (*path, "role"), "'rudder' on a flat sheet: wanted an upright sheet"
    two_sided = role in ("elevon", "aileron", "flaperon", "ruddervator")
    if role == "elevator" and not upright and not is_mirrored(sheet):
        yield (*path, "role"), "a surface on a flat sheet that is not mirrored: wanted mirrored"
    if two_sided and not upright and not is_mirrored(sheet):
        yield (*path, "role"), f"'{role}' on one side only: wanted a mirrored sheet"


def _side_by_side_problems(path: KeyPath, surfaces: Table) -> Iterator[Problem]:
    ranges = []
    for name, surface in surfaces.items():
        if isinstance(surface, dict):
            inner, outer = length(surface, "inner"), length(surface, "outer")
            if inner is not None and outer is not None:
                ranges.append((inner, outer, name))
    ranges.sort()
    for (_, end, before), (start, _, name) in pairwise(ranges):
        if start < end - 1e-9:
            yield (
                (*path, name, "inner"),
                f"{_mm(start)}: wanted {_mm(end)} or more, where '{before}' ends",
            )


def _sheet_size(sheet: Table) -> tuple[float | None, float | None]:
    """How far a sheet reaches out and its longest chord [m], None where they cannot be read."""
    outline = table(sheet, "outline")
    if isinstance(outline.get("corners"), list):
        places = corner_places(outline["corners"])
        if not places:
            return None, None
        aft = [place[0] for place in places]
        return max(place[1] for place in places), max(aft) - min(aft)
    if sheet.get("stance") == "upright":
        return length(outline, "height"), length(outline, "chord")
    span = length(outline, "span")
    return None if span is None else 0.5 * span, length(outline, "chord")


def _item_problems(path: KeyPath, item: Table) -> Iterator[Problem]:
    shape = item.get("shape", "point")
    wanted = {"rod": ("length",), "box": ("length", "width", "height")}.get(str(shape), ())
    for key in wanted:
        if key not in item:
            yield path, f"a {shape} with no {key}: wanted one"
    if shape == "point":
        for key in ("length", "width", "height", "diameter"):
            if key in item:
                yield (*path, key), f'{key}: a point has none; say shape = "box" or "rod"'


def _propeller_problems(path: KeyPath, propeller: Table) -> Iterator[Problem]:
    width, thickness = length(propeller, "blade_width"), length(propeller, "blade_thickness")
    if width is not None and thickness is not None and thickness >= width:
        yield (
            (*path, "blade_thickness"),
            f"{_mm(thickness)}: wanted less than blade_width, {_mm(width)}",
        )


def _controller_problems(path: KeyPath, controller: Table) -> Iterator[Problem]:
    limit, burst = (value_of(controller, key, CURRENT) for key in ("limit", "burst"))
    if limit is not None and burst is not None and burst <= limit:
        yield (
            (*path, "burst"),
            f"{controller['burst']}: wanted more than limit, {controller['limit']}",
        )


def _lift_problems(tree: Table) -> Iterator[Problem]:
    """An upright sheet alone carries nothing."""
    stances = [sheet.get("stance", "flat") for _, sheet in tables(tree, "sheets")]
    if stances and all(stance == "upright" for stance in stances):
        yield ("sheets",), "none that lifts: wanted a flat one, with no stance or stance = 'flat'"


def _count_problems(tree: Table) -> Iterator[Problem]:
    count = sum(
        len(table(sheet, "surfaces")) * (2 if is_mirrored(sheet) else 1)
        for _, sheet in tables(tree, "sheets")
    )
    if count > MAX_SURFACES:
        yield ("sheets",), f"{count} surfaces, both sides counted: wanted {MAX_SURFACES} or fewer"


def _steering_problems(tree: Table) -> Iterator[Problem]:
    roles = {
        str(surface.get("role"))
        for _, sheet in tables(tree, "sheets")
        for _, surface in tables(sheet, "surfaces")
    }
    for name, wheel in tables(tree, "wheels"):
        if wheel.get("steers") is True and "rudder" not in roles:
            yield ("wheels", name, "steers"), "true without a rudder: wanted one to turn it"
    mixing = table(tree, "mixing")
    along = value_of(mixing, "roll_to_yaw", FRACTION)
    if along and not roles & {"rudder", "ruddervator"}:
        yield (
            ("mixing", "roll_to_yaw"),
            f"'{mixing['roll_to_yaw']}' without a rudder: wanted one to take it, or 0 %",
        )


def _launch_problems(tree: Table) -> Iterator[Problem]:
    launch = tree.get("launch")
    if not isinstance(launch, dict):
        return
    kind = launch.get("kind", "hand")
    if kind in ("hand", "ground") and kind not in launch:
        yield ("launch",), f"kind is '{kind}' but there is no table [launch.{kind}]"
    if kind == "ground" and not table(tree, "wheels"):
        yield ("launch", "kind"), "'ground' without wheels: wanted wheels, or kind = \"hand\""
