"""The words and numbers of the bench sheet, as plain data; `benchsheet_page` draws them.

All numbers come out of the reports of `preflight.reports`, in the builder's units: mm from the
datum, g, degrees, amperes. Nothing is worked out anew here.
"""

from __future__ import annotations

from math import degrees

from sim.airframe import Airframe
from sim.config import fingerprint
from sim.preflight import balance_action
from sim.sticks import PITCHES, ROLLS, YAWS
from sim.units import to_unit

STICKS = {
    "back": "nose up", "forward": "nose down", "left": "rolls left", "right": "rolls right",
    "yaw left": "nose left", "yaw right": "nose right",
}  # fmt: skip
STILL = 0.05e-3  # an edge that moves less than this does not move [m]
HEAVY_THROW = 1.5  # kg, beyond which two people throw it, common practice


def contents(airframe: Airframe, found: dict, checked: dict) -> dict:
    """Every section of the sheet by its name; texts ready to print, places for drawings in mm.

    found: `preflight.reports`, checked: `preflight.preflight` of it.
    """
    return {
        "name": airframe.name,
        "about": airframe.about,
        "datum": airframe.datum,
        "file": fingerprint(airframe)[:8],
        "verdict": verdict(checked),
        "balance": balance(airframe, found),
        "marks": marks(found),
        "masses": masses(found),
        "throws": throws(found["surfaces"]),
        "mixing": mixing(airframe),
        "linkages": linkages(found["surfaces"]),
        "directions": directions(airframe, found["surfaces"]),
        "power": power(found),
        "launch": launch(airframe, found),
        "trouble": trouble(airframe, found),
        "field": field_checks(airframe),
        "cautions": CAUTIONS,
        "gauges": gauges(found["surfaces"]),
    }


def mm(metres: float, digits: int = 0) -> str:
    return f"{to_unit(metres, 'mm') + 0.0:.{digits}f} mm"


def place(metres: float) -> str:
    """A place along the centreline, without a sign."""
    return f"{mm(abs(metres))} {'behind' if metres >= -0.5e-3 else 'AHEAD of'} the datum"


def grams(kilograms: float) -> str:
    value = to_unit(kilograms, "g")
    return f"{value:.1f} g" if value < 99.95 else f"{value:.0f} g"


def verdict(checked: dict) -> dict:
    """GO or NO-GO, one word for each part of the pre-flight, and why not."""
    return {
        "word": checked["verdict"].upper(),
        "parts": [(c["name"], c["verdict"]) for c in checked["checks"]],
        "reasons": [reason for c in checked["checks"] for reason in c["reasons"]],
        "next": checked["next"],
    }


def target(found: dict) -> float:
    """Where it should balance for the wanted static margin, of the airframe as it is [m]."""
    now, wanted = found["ballast"]["now"], found["ballast"]["margin_wanted_percent"]
    return now["neutral_point_m"] - wanted / 100.0 * now["mean_chord_m"]


def marks(found: dict) -> dict[str, float | None]:
    """Places on the centreline [mm behind the datum]."""
    weighed, ballast = found["weigh"], found["ballast"]["ballast"]
    front = weighed["cg_front_limit_m"]
    rear = weighed["cg_rear_limit_m"]
    band = front is not None and front < rear
    metres = {
        "cg": weighed["cg_m"][0], "target": target(found), "neutral": weighed["neutral_point_m"],
        "front": front if band else None, "rear": rear if band else None,
        "ballast": ballast["place_m"][0] if ballast and _ballast_needed(found) else None,
    }  # fmt: skip
    return {name: None if at is None else to_unit(at, "mm") for name, at in metres.items()}


def _ballast_needed(found: dict) -> bool:
    return found["weigh"]["verdict"] != "ok"


def balance(airframe: Airframe, found: dict) -> list[tuple[str, str, str]]:
    """(what, value, what to write down) rows."""
    weighed, ballast = found["weigh"], found["ballast"]
    front, rear = weighed["cg_front_limit_m"], weighed["cg_rear_limit_m"]
    band = "none" if front is None or front > rear else f"{mm(front)} to {mm(rear)}"
    at = weighed["cg_m"][0]
    rows = [
        ("balance here", f"{place(target(found))} "
         f"({ballast['margin_wanted_percent']:.0f} % margin)", "found"),
        ("allowed", band, ""),
        ("by the file", f"{place(at)}, margin {weighed['static_margin_percent']:.1f} %", ""),
        ("neutral point", f"{place(weighed['neutral_point_m'])}, ± "
         f"{mm(weighed['neutral_point_spread_m'])}", ""),
        ("all-up", grams(weighed["mass_kg"]), "weighed"),
    ]  # fmt: skip
    if _ballast_needed(found):
        rows.insert(1, ("to get there", balance_action(ballast) or ballast["reason"], "used"))
    tip = weighed["imbalance_at_tip_kg"]
    light = "left" if tip > 0.0 else "right"
    level = "level" if abs(tip) < 0.5e-3 else f"{grams(abs(tip))} at the {light} tip"
    rows.append(("sideways", level, "used"))
    return rows


def masses(found: dict) -> list[tuple[str, str, str]]:
    """(part, mass, how known) in the order of the file."""
    return [
        (part["name"].replace("_", " "), grams(part["mass_kg"]), part["source"])
        for part in found["weigh"]["parts"]
    ]


def edge(metres: float) -> str:
    """Height of a trailing edge off the sheet, as one reads it from a rule."""
    if abs(metres) < STILL:
        return "0"
    return f"{abs(to_unit(metres, 'mm')):.1f} {'up' if metres > 0.0 else 'down'}"


def side_edge(metres: float) -> str:
    if abs(metres) < STILL:
        return "0"
    return f"{abs(to_unit(metres, 'mm')):.1f} {'right' if metres > 0.0 else 'left'}"


def columns(answer: dict) -> list[tuple[str, str, str]]:
    """(title, surface, role) of each column: both sides in one where they always move alike."""
    found = []
    for row in answer["surfaces"]:
        name, twin = row["name"], row["name"].removesuffix("_right") + "_left"
        if name.endswith("_right") and any(c[1] == twin for c in found) and all(
            abs(c[name]["edge_up_m"] - c[twin]["edge_up_m"]) < STILL
            for rate in answer["corners"].values() for c in rate.values()
        ):  # fmt: skip
            found = [(n.removesuffix("_left") if n == twin else t, n, r) for t, n, r in found]
            continue
        found.append((name, name, row["role"]))
    return [(title.replace("_", " "), name, role) for title, name, role in found]


def throws(answer: dict | None) -> dict:
    """Trailing edges in mm for every stick that moves one; a table with a column a surface."""
    if answer is None:
        return {"columns": [], "rows": [], "saturates": ""}
    heads, rows = columns(answer), []
    neutral = answer["corners"]["high"]["neutral"]
    for corner, edges in answer["corners"]["high"].items():
        if " and " in corner or (corner != "neutral" and edges == neutral):
            continue
        cells = []
        for rate in ("high", "low"):
            for _, name, role in heads:
                height = answer["corners"][rate][corner][name]["edge_up_m"]
                cells.append(side_edge(height) if role == "rudder" else edge(height))
        rows.append((_corner_words(corner), cells))
    share = answer["saturates_at"]["high"]
    limit = "" if share is None else (
        f"High rates: pitch and roll together meet the limit from {100 * share:.0f} % of both."
    )  # fmt: skip
    return {"columns": [title for title, _, _ in heads], "rows": rows, "saturates": limit}


def _corner_words(corner: str) -> str:
    if corner == "neutral":
        return "all neutral"
    return f"stick {corner}" if "yaw" not in corner else f"{corner.replace('yaw', 'rudder stick')}"


def gauges(answer: dict | None) -> list[dict]:
    """For the throw gauge: each column's marks, (words, mm up)."""
    if answer is None:
        return []
    found = []
    for title, name, role in columns(answer):
        lines: dict[float, list[str]] = {}
        for rate in ("high", "low"):
            for corner, edges in answer["corners"][rate].items():
                if " and " in corner:
                    continue
                height = round(to_unit(edges[name]["edge_up_m"], "mm"), 1) + 0.0
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
            rows.append((
                f"{axis} rates", f"high {degrees(high):.1f}°, low {degrees(low):.1f}°, "
                f"expo {100 * getattr(mix.expo, axis):.0f} %, on {_on(airframe, roles)}",
            ))  # fmt: skip
    angles = {
        "reflex (up)": mix.reflex, "roll trim (right)": mix.roll_trim,
        "yaw trim (right)": mix.yaw_trim, "droop (down)": mix.droop,
    }  # fmt: skip
    rows += [(name, f"{degrees(angle):.2f}°") for name, angle in angles.items() if angle]
    shares = {
        "differential": mix.differential, "roll to rudder": mix.roll_to_yaw,
        "yaw to throttles": mix.yaw_to_throttle,
    }  # fmt: skip
    rows += [
        (name, f"{100 * share:.0f} %") for name, share in shares.items()
        if share or name == "differential"
    ]  # fmt: skip
    for name, line in mix.also.items():
        size = f"{degrees(line.angle):.1f}°" if line.angle else f"{100 * line.share:.0f} %"
        rows.append((name, f"{line.stick} also moves {line.moves} by {size}"))
    return rows


def _on(airframe: Airframe, roles: tuple[str, ...]) -> str:
    have = [s.role for sheet in airframe.sheets.values() for s in sheet.surfaces.values()]
    return ", ".join(dict.fromkeys(role for role in have if role in roles)) or "motors"


def linkages(answer: dict | None) -> list[tuple[str, str]]:
    """Holes, and what the servo's travel gives, once for both sides of a pair."""
    found: dict[str, str] = {}
    for row in answer["surfaces"] if answer else ():
        facts, title = row["linkage"], row["name"].removesuffix("_left").removesuffix("_right")
        ends = [facts["reach_up_deg"], facts["reach_down_deg"]]
        rod = f", rod {mm(facts['rod_m'])}" if facts["rod_given"] else ""
        reach = "locks" if None in ends else f"{ends[0]:.0f}° up, {ends[1]:.0f}° down"
        found[title.replace("_", " ")] = (
            f"arm hole {mm(facts['arm_m'])}, horn hole {mm(facts['horn_m'])}{rod}; "
            f"at the servo's ends {reach}"
        )
    return list(found.items())


def directions(airframe: Airframe, answer: dict | None) -> dict:
    """What each stick must do, seen from behind; and the propellers."""
    found = []
    for corner, does in STICKS.items() if answer else ():
        at, still = (answer["corners"]["high"][c] for c in (corner, "neutral"))
        moves = {}
        for name, role in ((row["name"], row["role"]) for row in answer["surfaces"]):
            by = at[name]["edge_up_m"] - still[name]["edge_up_m"]
            if abs(by) >= STILL:
                ways = ("right", "left") if role == "rudder" else ("up", "down")
                moves[name] = ways[0] if by > 0.0 else ways[1]
        if moves:
            found.append({"stick": _corner_words(corner), "moves": moves, "does": does})
    turns = [
        (name.replace("_", " "), motor.propeller.turns) for name, motor in airframe.motors.items()
    ]
    return {"sticks": found, "propellers": turns}


def power(found: dict) -> dict:
    """Standing still, full pack: (throttle, current, rpm, thrust, volts) rows."""
    answer, limit = found["power"], found["throttle_limit"]
    if answer is None:
        return {"rows": [], "notes": []}
    rows = [
        (f"{100 * r['throttle']:.0f} %", f"{r['pack_current_A']:.1f} A", f"{r['rpm']:.0f}",
         f"{to_unit(r['thrust_N'], 'gf'):.0f} g", f"{r['pack_voltage_V']:.1f} V")
        for r in answer["static"]
    ]  # fmt: skip
    notes = []
    if limit < 1.0:
        notes.append(f"The ratings allow {100 * limit:.0f} % throttle standing still: set that "
                     "as its end point, and run more only for a second or two.")  # fmt: skip
    level, times = answer["level"], answer["run_time_s"]
    if not level["reason"]:
        notes.append(
            f"Level flight: {level['least_current_A']:.1f} A at {level['its_speed_m_s']:.1f} m/s, "
            f"{100 * level['its_throttle']:.0f} % throttle."
        )
    if times["mixed"]:
        notes.append(f"Set the timer to {times['mixed'] / 60.0:.0f} min at most: "
                     f"{100 * answer['run_time_mix']['left_in_pack']:.0f} % stays in the pack.")
    notes.append("Half the thrust at nearly the current: propeller on back to front?")
    return {"rows": rows, "notes": notes}


def launch(airframe: Airframe, found: dict) -> list[tuple[str, str]]:
    plan, rows = found["launch"], []
    throttle = f"{100 * plan['throttle']:.0f} %, {'running before the throw' if plan['throw_m_s'] else 'opened smoothly'}"  # noqa: E501
    if plan["throw_m_s"]:
        rows.append(("throw", f"{plan['throw_m_s']:.1f} m/s through the air, nose "
                     f"{plan['pitch_deg']:.0f}° up, wings level, from {plan['height_m']:.1f} m"))
        rows.append(("throttle", throttle))
        if found["weigh"]["mass_kg"] > HEAVY_THROW:
            rows.append(("who", "two people: one throws with both hands, one flies"))
        alone = plan["left_alone"]
        side = "right" if alone["bank_deg"] > 0.0 else "left"
        rows.append(("left alone", f"in {alone['seconds']:.1f} s it banks "
                     f"{abs(alone['bank_deg']):.0f}° {side} and loses "
                     f"{alone['height_lost_m']:.1f} m"))  # fmt: skip
    else:
        rows.append(("from the ground", "into the wind, sticks centred"))
        rows.append(("throttle", throttle))
        roll = plan["steady_pilot"]
        if roll["ground_roll_m"] is None:
            rows.append(("ground roll", f"does not lift off in {roll['text'] or 'the time flown'}"))
        else:
            rows.append(("ground roll", f"{roll['ground_roll_m']:.0f} m in still air, off at "
                         f"{roll['lift_off_m_s']:.1f} m/s: have twice that"))  # fmt: skip
    rows.append(("stall", f"{plan['stall_speed_m_s']:.1f} m/s; fly faster than "
                 f"{1.35 * plan['stall_speed_m_s']:.1f} m/s"))  # fmt: skip
    rows.append(("wind", f"none is best; not in more than {plan['wind_limit_m_s']:.0f} m/s "
                 f"({plan['wind_limit_m_s'] * 3.6:.0f} km/h)"))  # fmt: skip
    hands = plan["hands"]
    if hands:
        rows.append(("simulated", f"{hands['survived']} of {hands['flown']} launches by practised "
                     "hands survive the first seconds"))  # fmt: skip
    return rows


def trouble(airframe: Airframe, found: dict) -> list[tuple[str, str]]:
    """What one sees in the first seconds, and what to do: said before, done without thinking."""
    down = _edge_at(found, "forward")
    step = 0.02 * found["weigh"]["mean_chord_m"]
    throttle = 100.0 * found["launch"]["throttle"]
    stall = found["launch"]["stall_speed_m_s"]
    full = found["throttle_limit"]
    rolls = any(s.role in ROLLS for sheet in airframe.sheets.values()
                for s in sheet.surfaces.values())  # fmt: skip
    level = "level the wings" if rolls else "level the wings with rudder"
    rows = [
        ("pitches up", f"stick forward at once{down}, throttle down a little, land ahead. Then "
         f"move the balance {mm(step)} forward before the next try."),
        ("dives", "stick back smoothly, no more than it takes. Then check the reflex and the "
         "direction of the elevators."),
        ("drops a wing", f"it is stalled, below {stall:.1f} m/s: stick forward first, then "
         f"{level}."),
        ("mushes, nose high", "it sinks with the stick back: let the stick go forward, give "
         + (f"throttle up to {100 * full:.0f} %." if full else "it height.")),
    ]  # fmt: skip
    if airframe.motors:
        turning = next(iter(airframe.motors.values())).propeller.turns
        side = "left" if turning == "clockwise" else "right"
        rows.append((f"rolls {side}", f"the motor's torque: throttle back from {throttle:.0f} %, "
                     f"stick the other way. Then trim, or tilt the motor {_other(side)}."))
    rows.append(("answers the wrong way", "throttle off, hands still, let it come down. Do not "
                 "try to fly it reversed."))  # fmt: skip
    rows.append(("anything else", "throttle off, wings level, land straight ahead. Foam mends."))
    return rows


def _other(side: str) -> str:
    return "right" if side == "left" else "left"


def _edge_at(found: dict, corner: str) -> str:
    """' (10.0 mm down)': what full stick gives on the surface that pitches."""
    answer = found["surfaces"]
    for row in answer["surfaces"] if answer else ():
        if row["role"] in PITCHES:
            return f" (full: {edge(answer['corners']['high'][corner][row['name']]['edge_up_m'])})"
    return ""


def field_checks(airframe: Airframe) -> list[str]:
    """In this order, every time."""
    found = ["Your club or land owner agrees; the sky and the ground ahead are clear of people."]
    found.append("Pack full, strapped, and its lead cannot reach the propeller.")
    found.append("Balance on two fingers at the mark, with everything aboard.")
    if airframe.motors:
        found.append("Propeller off, or held fast: transmitter on first, then the airframe.")
    found.append("Directions: every stick against page 2, seen from behind. Rates on low.")
    found.append("Range check as your radio's manual says, with a helper.")
    found.append("Fail-safe: transmitter off, motor must stop. Transmitter on again.")
    if airframe.motors:
        found.append("Propeller on, the right way round, nut tight. Everyone behind it.")
        found.append("Full throttle in the hand for two seconds: no rattle, nothing loose.")
    found.append("Sticks once more, wind once more, people once more. Call out, then launch.")
    return found


CAUTIONS = [
    "The numbers are computed from what was measured and guessed; the real airframe has the last "
    "word. Where this sheet and your country's rules, the club's rules or an instructor differ, "
    "they are right.",
    "Have an experienced pilot at your side, or at the sticks, for the first flight.",
    "A propeller cuts at any size: connect the pack last, stay behind or beside its disc, take "
    "the pack out first after landing. Charge lithium packs watched, on something that does not "
    "burn; a swollen or dented pack does not fly.",
    "Never over or towards people, animals, roads or buildings.",
]  # fmt: skip
