"""The words and numbers of the bench sheet, as plain data; `pages` draws them.

All numbers come out of the reports of `check.reports`, in the builder's units: mm from the
datum, g, degrees, amperes. Nothing is worked out anew here.
"""

from __future__ import annotations

from math import degrees, radians, tan

from firstthrow.sim.build.shape import main_name
from firstthrow.sim.build.sticks import PITCHES, ROLLS, YAWS
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.config import fingerprint
from firstthrow.sim.paper.benchsheet.field_page import (
    asked,
    cautions,
    directions,
    field_checks,
    launch,
    power,
    trouble,
)
from firstthrow.sim.paper.benchsheet.words import (
    STILL,
    corner_words,
    edge,
    mass,
    place,
    side_edge,
)
from firstthrow.sim.study.check import Preflight, Reports
from firstthrow.sim.study.throws import Throws
from firstthrow.sim.study.verdict import BalanceVerdict
from firstthrow.sim.units import mm

STICK, FOR_A_DEGREE = 0.290, 0.290 * tan(radians(1.0))  # a stick, how far its end rises [m]


def contents(airframe: Airframe, found: Reports, checked: Preflight) -> dict:
    """Every section of the sheet by its name; texts ready to print, places for drawings in mm.

    found: `check.reports`; checked: `check.preflight` of it.
    """
    return {
        "name": airframe.name,
        "about": airframe.about,
        "datum": airframe.datum,
        "file": fingerprint(airframe)[:8],
        "verdict": verdict(checked, airframe.units),
        "balance": balance(found, checked, airframe.margin),
        "marks": marks(found, checked),
        "masses": masses(found),
        "throws": throws(found.surfaces, airframe.units),
        "mixing": mixing(airframe),
        "boards": boards(airframe),
        "linkages": linkages(found.surfaces, airframe.units),
        "directions": directions(airframe),
        "power": power(found),
        "launch": launch(found, checked),
        "asked": asked(checked),
        "trouble": trouble(airframe, found),
        "field": field_checks(airframe),
        "cautions": cautions(airframe),
        "gauges": gauges(found.surfaces),
    }


def verdict(checked: Preflight, u: Units) -> dict:
    """GO or NO-GO, one word for each part of the pre-flight, and why not."""
    return {
        "word": checked.verdict.upper(),
        "parts": [(c.name, c.verdict) for c in checked.checks],
        "sentence": checked.sentence,
        "fly": checked.fly,
        "reasons": [reason for c in checked.checks for reason in c.reasons],
        "next": checked.next,
        "measure": checked.measure_next.first(u),
        "cautions": [c for part in checked.checks for c in part.cautions],
    }


def marks(found: Reports, checked: Preflight) -> dict[str, float | None]:
    """Places on the centreline [mm behind the datum]."""
    weighed = found.weigh
    front, rear = weighed.cg_front_limit_m, weighed.cg_rear_limit_m
    places = [step.place_m for step in checked.advice.steps] if checked.advice else []
    ballast = next((place for place in places if place is not None), None)
    band = front is not None and front < rear
    metres = {
        "cg": weighed.cg_m[0],
        "target": weighed.cg_meant_m,
        "neutral": weighed.neutral_point_m,
        "front": front if band else None,
        "rear": rear if band else None,
        "ballast": ballast[0] if ballast else None,
    }
    return {name: None if at is None else mm(at) for name, at in metres.items()}


def balance(found: Reports, checked: Preflight, wanted: float) -> list[tuple[str, str, str]]:
    """(what, value, what to write down) rows; `wanted`: static margin. What gets it there is the
    advice that was flown, and nothing where there is none."""
    weighed, advice = found.weigh, checked.advice
    front, rear = weighed.cg_front_limit_m, weighed.cg_rear_limit_m
    u = found.units
    band = "none" if front is None or front > rear else f"{place(front, u)} to {place(rear, u)}"
    band = band.replace(" behind the datum", "").replace("AHEAD of the datum", "ahead")
    here = f"{place(weighed.cg_m[0], u)}, margin {weighed.static_margin_percent:.1f} %"
    neutral = f"{place(weighed.neutral_point_m, u)}, ± {u.length(weighed.neutral_point_spread_m)}"
    margin = (weighed.neutral_point_m - weighed.cg_meant_m) / weighed.mean_chord_m
    middle = "" if abs(margin - wanted) < 1e-3 else ", the middle of what is allowed"
    target = f"{place(weighed.cg_meant_m, u)} ({100.0 * margin:.0f} % margin{middle})"
    rows = [
        ("balance here", target, "found"),
        ("allowed", band, ""),
        ("by the file", here, ""),
        ("neutral point", neutral, ""),
        ("all-up", mass(weighed.mass_kg, u), "weighed"),
    ]
    if advice is not None and advice.steps and weighed.verdict is not BalanceVerdict.OK:
        rows.insert(1, ("to get there", advice.words(u), "used"))
    tip = weighed.imbalance_at_tip_kg
    light = "left" if tip > 0.0 else "right"
    level = "level" if abs(tip) < 0.5e-3 else f"{mass(abs(tip), u)} at the {light} tip"
    rows.append(("sideways", level, "used"))
    return rows


def masses(found: Reports) -> list[tuple[str, str, str]]:
    """(part, mass, how known) in the order of the file."""
    return [
        (part.name.replace("_", " "), mass(part.mass_kg, found.units), part.source)
        for part in found.weigh.parts
    ]


def columns(answer: Throws) -> list[tuple[str, str, str]]:
    """(title, surface, role) of each column: both sides in one where they always move alike."""
    found: list[tuple[str, str, str]] = []
    for row in answer.surfaces:
        name, twin = row.name, row.name.removesuffix("_right") + "_left"
        if (
            name.endswith("_right")
            and any(c[1] == twin for c in found)
            and all(
                abs(c[name].edge_up_m - c[twin].edge_up_m) < STILL
                for rate in answer.corners.values()
                for c in rate.values()
            )
        ):
            found = [(n.removesuffix("_left") if n == twin else t, n, r) for t, n, r in found]
            continue
        found.append((name, name, row.role))
    return [(title.replace("_", " "), name, role) for title, name, role in found]


def throws(answer: Throws | None, u: Units) -> dict:
    """Trailing edges in mm for every stick that moves one; a table with a column a surface."""
    if answer is None:
        return {"columns": [], "rows": [], "saturates": "", "unit": u.lengths}
    heads, rows = columns(answer), []
    neutral = answer.corners["high"]["neutral"]
    for corner, edges in answer.corners["high"].items():
        if " and " in corner or (corner != "neutral" and edges == neutral):
            continue
        cells = []
        for rate in ("high", "low"):
            for _, name, role in heads:
                height = answer.corners[rate][corner][name].edge_up_m
                cells.append(side_edge(height, u) if role == "rudder" else edge(height, u))
        rows.append((corner_words(corner), cells))
    share = answer.saturates_at["high"]
    limit = (
        ""
        if share is None
        else (
            f"High rates: pitch and roll together meet the limit from {100 * share:.0f} % of both."
        )
    )
    return {
        "columns": [title for title, _, _ in heads],
        "rows": rows,
        "saturates": limit,
        "unit": u.lengths,
    }


def gauges(answer: Throws | None) -> list[dict]:
    """For the throw gauge: each column's marks, (words, mm up)."""
    if answer is None:
        return []
    found = []
    for title, name, role in columns(answer):
        lines: dict[float, list[str]] = {}
        for rate in ("high", "low"):
            for corner, edges in answer.corners[rate].items():
                if " and " in corner:
                    continue
                height = round(mm(edges[name].edge_up_m), 1) + 0.0
                words = "neutral" if corner == "neutral" else f"{corner} {rate}"
                if words not in lines.setdefault(height, []):
                    lines[height].append(words)
        still = next(h for h, w in lines.items() if "neutral" in w)
        lines[still] = ["neutral"]  # sticks that do not move it end there too
        found.append({"title": title, "role": role, "marks": sorted(lines.items())})
    return found


def mixing(airframe: Airframe) -> list[tuple[str, str]]:
    """What is set in the transmitter."""
    mix, rows = airframe.mixing, []
    for axis, roles in (("pitch", PITCHES), ("roll", ROLLS), ("yaw", YAWS)):
        high, low = getattr(mix.high, axis), getattr(mix.low, axis)
        if high or low:
            rows.append(
                (
                    f"{axis} rates",
                    f"high {degrees(high):.1f}°, low {degrees(low):.1f}°, "
                    f"expo {100 * getattr(mix.expo, axis):.0f} %, on {_on(airframe, roles)}",
                )
            )
    angles = {
        "reflex (up)": mix.reflex,
        "roll trim (right)": mix.roll_trim,
        "yaw trim (right)": mix.yaw_trim,
        "droop (down)": mix.droop,
    }
    rows += [(name, f"{degrees(angle):.2f}°") for name, angle in angles.items() if angle]
    shares = {
        "differential": mix.differential,
        "roll to rudder": mix.roll_to_yaw,
        "yaw to throttles": mix.yaw_to_throttle,
    }
    rows += [
        (name, f"{100 * share:.0f} %")
        for name, share in shares.items()
        if share or name == "differential"
    ]
    for name, line in mix.also.items():
        size = f"{degrees(line.angle):.1f}°" if line.angle else f"{100 * line.share:.0f} %"
        rows.append((name, f"{line.stick} also moves {line.moves} by {size}"))
    return rows


def _on(airframe: Airframe, roles: tuple[str, ...]) -> str:
    have = [s.role for sheet in airframe.sheets.values() for s in sheet.surfaces.values()]
    return ", ".join(dict.fromkeys(role for role in have if role in roles)) or "motors"


def boards(airframe: Airframe) -> list[tuple[str, str]]:
    """How flat the main sheet is by the file, and how one measures it."""
    name = main_name(airframe)
    if name is None:
        return []
    sheet = airframe.sheets[name]
    left, right = (degrees(sheet.twist + w) + 0.0 for w in (sheet.twist_left, sheet.twist_right))
    u = airframe.units
    told = f"bow {u.length(sheet.bow, 1)}; tips left {left:.1f}°, right {right:.1f}°"
    stick = f"{u.length(FOR_A_DEGREE)} over {u.length(STICK)}"
    return [(name.replace("_", " "), f"{told}; straightedge, sticks: {stick} is 1°")]


def linkages(answer: Throws | None, u: Units) -> list[tuple[str, str]]:
    """Holes, and what the servo's travel gives, once for both sides of a pair."""
    found: dict[str, str] = {}
    for row in answer.surfaces if answer else ():
        facts, title = row.linkage, row.name.removesuffix("_left").removesuffix("_right")
        ends = [facts.reach_up_deg, facts.reach_down_deg]
        rod = f", rod {u.length(facts.rod_m)}" if facts.rod_given else ""
        reach = "locks" if None in ends else f"{ends[0]:.0f}° up, {ends[1]:.0f}° down"
        found[title.replace("_", " ")] = (
            f"arm hole {u.length(facts.arm_m)}, horn hole {u.length(facts.horn_m)}{rod}; "
            f"at the servo's ends {reach}"
        )
    return list(found.items())
