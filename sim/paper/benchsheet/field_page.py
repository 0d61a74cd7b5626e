"""Page 2 of the bench sheet as plain data: directions, drive, launch, trouble, checks, cautions."""

from __future__ import annotations

from firstthrow.sim.build.sticks import PITCHES, ROLLS
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe, LaunchKind
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.flight.speeds import SLOWEST_SAFE
from firstthrow.sim.paper.benchsheet.words import STILL, corner_words, edge
from firstthrow.sim.study.check import Preflight, Reports, how_to_balance
from firstthrow.sim.study.launch import LeftAlone
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.throws import corners as surface_corners
from firstthrow.sim.study.verdict import Verdict
from firstthrow.sim.units import km_h, minutes

STICKS = {
    "back": "nose up",
    "forward": "nose down",
    "left": "rolls left",
    "right": "rolls right",
    "yaw left": "nose left",
    "yaw right": "nose right",
}
HEAVY_THROW = 1.5  # kg, beyond which two people throw it, common practice


def healthy(airframe: Airframe) -> Airframe:
    """The same without reversed, exchanged, stuck or lost surfaces: what it ought to do."""
    sheets = {}
    for name, sheet in airframe.sheets.items():
        whole = {
            "reversed": False,
            "reversed_left": False,
            "reversed_right": False,
            "stuck": None,
            "off": False,
        }
        put_right = {n: s.model_copy(update=whole) for n, s in sheet.surfaces.items()}
        sheets[name] = sheet.model_copy(update={"surfaces": put_right})
    mixing = airframe.mixing.model_copy(update={"reversed": (), "swapped": False})
    return airframe.model_copy(update={"sheets": sheets, "mixing": mixing})


def directions(airframe: Airframe) -> dict:
    """What each stick must do, seen from behind; and the propellers."""
    right = healthy(airframe)
    subject = Subject(right)
    corners = surface_corners(subject, False)
    found = []
    for corner, does in STICKS.items():
        moves = {}
        for span in subject.surfaces:
            by = corners[corner][span.name].edge_up_m - corners["neutral"][span.name].edge_up_m
            if abs(by) >= STILL:
                ways = ("right", "left") if span.upright else ("up", "down")
                moves[span.name] = ways[0] if by > 0.0 else ways[1]
        if moves:
            found.append({"stick": corner_words(corner), "moves": moves, "does": does})
    turns = [
        (name.replace("_", " "), motor.propeller.turns) for name, motor in airframe.motors.items()
    ]
    return {"sticks": found, "propellers": turns}


def power(found: Reports) -> dict:
    """Standing still, full pack: (throttle, current, rpm, thrust, volts) rows."""
    answer, limit = found.power, found.throttle_limit
    if answer is None or limit is None:
        return {"rows": [], "notes": []}
    rows = [
        (
            f"{100 * r.throttle:.0f} %",
            f"{r.pack_current_A:.1f} A",
            f"{r.rpm:.0f}",
            found.units.pull(r.thrust_N).replace("gf", "g"),
            f"{r.pack_voltage_V:.1f} V",
        )
        for r in answer.static
        if r.throttle >= 0.5
    ]
    notes = []
    if limit < 1.0:
        notes.append(
            f"The ratings allow {100 * limit:.0f} % throttle standing still: set that "
            "as its end point."
        )
    level, times = answer.level, answer.run_time_s
    if level.its_throttle is not None and level.its_speed_m_s is not None:
        notes.append(
            f"Level flight: {level.least_current_A:.1f} A at "
            f"{found.units.speed(level.its_speed_m_s)}, "
            f"{100 * level.its_throttle:.0f} % throttle."
        )
    if times.mixed:
        notes.append(
            f"Set the timer to {minutes(times.mixed):.0f} min at most: "
            f"{100 * answer.run_time_mix.left_in_pack:.0f} % stays in the pack."
        )
    notes.append("Half the thrust at nearly the current: propeller on back to front?")
    return {"rows": rows, "notes": notes}


def launch(found: Reports, checked: Preflight) -> list[tuple[str, str]]:
    """How it leaves; as the file has it, so that after a NO-GO the sheet is printed again."""
    plan, u = found.launch, found.units
    rows: list[tuple[str, str]] = []
    thrown = plan.left_alone  # None on wheels
    if checked.verdict is Verdict.NO_GO:
        rows.append(("NO-GO", "put page 1 right first, then print this sheet again"))
    how = "running before the throw" if thrown else "opened smoothly"
    throttle = [("throttle", f"{100 * plan.throttle:.0f} %, {how}")] if found.power else []
    if thrown and plan.throw_m_s is not None and plan.height_m is not None:
        rows.append(
            (
                "throw",
                f"{u.throw(plan.throw_m_s)} through the air, nose "
                f"{plan.pitch_deg:.0f}° up, wings level, from {u.distance(plan.height_m, 1)}",
            )
        )
        rows += throttle
        if found.weigh.mass_kg > HEAVY_THROW:
            rows.append(("who", "two people: one throws with both hands, one flies"))
        rows.append(("left alone", _alone(thrown, u)))
    else:
        rows.append(("from the ground", "into the wind, sticks centred"))
        rows += throttle
        roll = plan.steady_pilot
        if roll.ground_roll_m is None or roll.lift_off_m_s is None:
            rows.append(("ground roll", f"none: {roll.text}"))
        else:
            rows.append(
                (
                    "ground roll",
                    f"{u.distance(roll.ground_roll_m)} in still air, off at "
                    f"{u.speed(roll.lift_off_m_s)}: have twice that",
                )
            )
    rows.append(
        (
            "stall",
            f"{u.speed(plan.stall_speed_m_s)}; never fly slower than "
            f"{u.speed(SLOWEST_SAFE * plan.stall_speed_m_s)}",
        )
    )
    rows.append(
        (
            "wind",
            f"none is best; not in more than {u.speed(plan.wind_limit_m_s)}"
            + ("" if u.inches else f" ({km_h(plan.wind_limit_m_s):.0f} km/h)"),
        )
    )
    rows.append(("simulated", plan.hands.words))
    return rows


def asked(checked: Preflight) -> list[tuple[str, str]]:
    """The two questions that builders ask most, answered."""
    rows = [("how hard, how fast", checked.throw or "told when the verdict is a go")]
    return [*rows, ("the motor's torque", checked.torque)] if checked.torque else rows


def _alone(after: LeftAlone, u: Units) -> str:
    bank, lost = after.bank_deg, after.height_lost_m
    side = "right" if bank > 0.0 else "left"
    banks = f"banks {abs(bank):.0f}° {side}" if abs(bank) >= 0.5 else "keeps its wings level"
    sinks = f"loses {u.distance(lost, 1)}" if lost >= 0.05 else "does not sink"
    return f"in {after.seconds:.1f} s it {banks} and {sinks}"


def trouble(airframe: Airframe, found: Reports) -> list[tuple[str, str]]:
    """What one sees in the first seconds, and what to do: said before, done without thinking."""
    down = _edge_at(found, "forward")
    step = 0.02 * found.weigh.mean_chord_m
    throttle = 100.0 * found.launch.throttle
    stall = found.launch.stall_speed_m_s
    full = found.throttle_limit
    rolls = any(
        s.role in ROLLS for sheet in airframe.sheets.values() for s in sheet.surfaces.values()
    )
    level = "level the wings" if rolls else "level the wings with rudder"
    less, off = (", throttle down a little", "throttle off, ") if airframe.motors else ("", "")
    rows = [
        (
            "pitches up",
            f"stick forward at once{down}{less}, land ahead. Then "
            f"move the balance {found.units.length(step)} forward before the next try.",
        ),
        (
            "dives",
            "stick back smoothly, no more than it takes. Then check the reflex and the "
            "direction of the elevators.",
        ),
        (
            "drops a wing",
            f"it is stalled, below {found.units.speed(stall)}: stick forward first, then {level}.",
        ),
        (
            "mushes, nose high",
            "it sinks with the stick back: let the stick go forward, give "
            + (_most_throttle(full) if full else "it height."),
        ),
    ]
    if len(airframe.motors) > 1:
        rows.append(
            (
                "swings to one side",
                "one motor gives less than the other: throttle off, wings level, land ahead.",
            )
        )
    turning = {motor.propeller.turns for motor in airframe.motors.values()}
    if len(turning) == 1:  # two against one another leave no torque
        side = "left" if "clockwise" in turning else "right"
        rows.append(
            (
                f"rolls {side}",
                f"the motor's torque: throttle back from {throttle:.0f} %, "
                f"stick the other way. Then trim, or tilt the motor {_other(side)}.",
            )
        )
    rows.append(
        (
            "answers the wrong way",
            f"{off}hands still, let it come down. Do not try to fly it reversed.",
        )
    )
    rows.append(("anything else", f"{off}wings level, land straight ahead. Foam mends."))
    return rows


def _most_throttle(limit: float) -> str:
    return "full throttle." if limit >= 1.0 else f"throttle up to {100 * limit:.0f} %."


def _other(side: str) -> str:
    return "right" if side == "left" else "left"


def _edge_at(found: Reports, corner: str) -> str:
    """' (10.0 mm down)': what full stick gives on the surface that pitches."""
    answer = found.surfaces
    if answer is None:
        return ""
    for row in answer.surfaces:
        if row.role in PITCHES:
            u = found.units
            at = edge(answer.corners["high"][corner][row.name].edge_up_m, u)
            return f" (full: {at.replace(' ', f' {u.lengths} ')})"
    return ""


def field_checks(airframe: Airframe) -> list[str]:
    """In this order, every time."""
    found = ["Your club or land owner agrees; the sky and the ground ahead are clear of people."]
    clear = ", and its lead cannot reach the propeller" if airframe.motors else ""
    found.append(f"Pack full, strapped{clear}.")
    how = how_to_balance(balance(parts(airframe)).mass).removesuffix("it")
    found.append(f"{how.capitalize()} at the mark, with everything aboard.")
    if airframe.motors:
        found.append("Propeller off, or held fast: transmitter on first, then the airframe.")
    found.append("Directions: every stick against page 2, seen from behind. Rates on low.")
    found.append("Range check as your radio's manual says, with a helper.")
    if airframe.motors:
        found.append("Fail-safe: transmitter off, motor must stop. Transmitter on again.")
        found.append("Propeller on, the right way round, nut tight. Everyone behind it.")
        held = "in the hand" if _in_the_hand(airframe) else "held at the tail, on its wheels,"
        found.append(f"Full throttle {held} for two seconds: no rattle, nothing loose.")
    found.append("Sticks once more, wind once more, people once more. Call out, then launch.")
    return found


def _in_the_hand(airframe: Airframe) -> bool:
    return airframe.launch.kind == LaunchKind.HAND


def cautions(airframe: Airframe) -> list[str]:
    """Of a glider without those of a propeller."""
    pack = PROPELLER + PACK if airframe.motors else PACK
    return [*CAUTIONS[:2], pack, *CAUTIONS[2:]]


PROPELLER = (
    "A propeller cuts at any size: connect the pack last, stay behind or beside its disc, take "
    "the pack out first after landing. "
)
PACK = (
    "Charge lithium packs watched, on something that does not burn; a swollen or dented pack "
    "does not fly."
)
CAUTIONS = [
    "The numbers are computed from what was measured and guessed; the real airframe has the last "
    "word. Where this sheet and your country's rules, the club's rules or an instructor differ, "
    "they are right.",
    "Have an experienced pilot at your side, or at the sticks, for the first flight.",
    "Never over or towards people, animals, roads or buildings.",
]
