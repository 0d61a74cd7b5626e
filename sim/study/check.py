"""The whole pre-flight in one: go or no-go for balance, strength, power, surfaces and launch.

Each verdict is drawn from the study that the command of the same name prints; nothing is worked
out anew here but the throttle that the ratings allow.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from scipy.optimize import brentq

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.flight.drive_at_rest import equilibrium, unlimited
from firstthrow.sim.flight.speeds import CRUISE, LEAST_THROW, stall_speed
from firstthrow.sim.study import directions, throws, trim, weigh
from firstthrow.sim.study import power as power_study
from firstthrow.sim.study.launch import launch_plan

LEAST_LOAD_FACTOR = 3.0  # that a slab should bear, common practice, no source
LEAST_SURVIVED = 0.8  # of launches by simulated hands, our assumption
BALANCE = {
    "behind-neutral-point": "the CG lies behind the neutral point: it cannot fly by itself",
    "too-far-aft": "the CG lies behind the rear limit",
    "too-far-forward": "the CG lies ahead of the front limit",
    "no-band": "the front limit of the CG lies behind the rear one: no balance suits",
    "no-pitch-control": "no elevator or elevon: nothing holds the nose up",
}


class Check(NamedTuple):
    """One part of the pre-flight. Reasons make it a no-go, cautions do not; `action`: what to do
    about the first of them, or empty."""

    name: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    action: str

    @property
    def verdict(self) -> str:
        return "no-go" if self.reasons else "go"


def reports(airframe: Airframe, field: Field = STANDARD, launches: int | None = None) -> dict:
    """Every study of the airframe by name; `power` and `surfaces` None without motor, surfaces.

    Raises ValueError when the airframe weighs nothing or a rod does not reach.
    """
    model = build(airframe, field)
    some = {} if launches is None else {"launches": launches}
    motor = bool(airframe.motors) and bool(surface_spans(airframe))
    return {
        "weigh": weigh.weigh(airframe, field),
        "ballast": weigh.ballast(airframe, airframe.margin, field=field),
        "trim": trim.trim_study(airframe, _usual_speed(model, airframe), field=field),
        "power": power_study.study(model, airframe) if motor else None,
        "throttle_limit": throttle_limit(model, airframe) if motor else None,
        "surfaces": throws.study(model, airframe) if surface_spans(airframe) else None,
        "directions": directions.study(model, airframe),
        "launch": launch_plan(airframe, field, model, **some),
    }


def _usual_speed(model: Model, airframe: Airframe) -> float:
    """Where it is usually flown: the pre-flight asks no more of the trim [m/s]."""
    return CRUISE * stall_speed(model, airframe)


def throttle_limit(model: Model, airframe: Airframe) -> float:
    """Highest throttle, standing still, at which controller, motor and pack keep to their ratings.

    One when full throttle does.
    """
    free = unlimited(model)
    motor = min(m.limit for m in airframe.motors.values())
    limit = min(motor, airframe.controller.limit)

    def over(throttle: float) -> float:
        at = equilibrium(free, throttle)
        return max(at.motor_current / limit, at.pack_current / airframe.pack.limit) - 1.0

    return 1.0 if over(1.0) <= 0.0 else float(brentq(over, 0.05, 1.0, xtol=1e-4))


def preflight(found: dict) -> dict:
    """Verdicts drawn from `reports`: overall, for each part with its reasons, what to do next."""
    checks = (
        _balance(found),
        _strength(found),
        _power(found),
        _surfaces(found),
        _launch(found),
    )
    bad = [c for c in checks if c.reasons]
    first = next((c.action for c in (*bad, *checks) if c.action), "")
    if found["directions"]["verdict"] != "ok":
        first = "Put right what moves the wrong way: see firstthrow directions."
    return {
        "airframe": found["weigh"]["airframe"],
        "verdict": "no-go" if bad else "go",
        "checks": [
            {
                "name": c.name,
                "verdict": c.verdict,
                "reasons": list(c.reasons),
                "cautions": list(c.cautions),
            }
            for c in checks
        ],
        "next": first or found["weigh"]["weigh_first"],
    }


def balance_action(ballast: dict) -> str:
    """The lightest of ballast and moving the pack that gives the wanted margin, else any way."""
    ways = [
        (abs(other["mass_change_kg"]), other["text"])
        for other in ballast["alternatives"]
        if other["reaches"] and other["name"] == "move_pack"
    ]
    if ballast["ballast"]:
        grams, where = 1e3 * ballast["ballast"]["mass_kg"], ballast["ballast"]["where"]
        where = where.replace("_", " ")
        if abs(grams) < 0.5:
            return "nothing, it balances as it is"
        words = (
            f"put {grams:.0f} g at the {where}"
            if grams > 0.0
            else (f"take {-grams:.0f} g off the {where}")
        )
        ways.append((abs(grams) / 1e3, words))
    ways += [(1e3, o["text"]) for o in ballast["alternatives"] if o["reaches"]]
    return min(ways)[1] if ways else ""


def _balance(found: dict) -> Check:
    weighed, reasons, cautions = found["weigh"], [], []
    if weighed["verdict"] != "ok":
        reasons.append(BALANCE[weighed["verdict"]])
    reasons += [why for why in found["trim"]["no_go"] if "behind the neutral" not in why]
    front, rear = weighed["cg_front_limit_m"], weighed["cg_rear_limit_m"]
    at, spread = weighed["cg_m"][0], 2.0 * weighed["cg_spread_m"][0]
    unsure = front is not None and not reasons and not front + spread < at < rear - spread
    if unsure:
        cautions.append(
            f"guesses leave the CG unsure by {1e3 * spread:.0f} mm, enough to leave the allowed "
            "band: balance it on two fingers"
        )
    wanted = 1e3 * abs(weighed["imbalance_at_tip_kg"])
    if wanted > 5.0 * weighed["mass_kg"]:  # half a percent of the mass
        side = "left" if weighed["imbalance_at_tip_kg"] > 0.0 else "right"
        cautions.append(f"it hangs to one side: {wanted:.0f} g at the {side} tip balances it")
    action = ""
    if weighed["verdict"] in ("behind-neutral-point", "too-far-aft", "too-far-forward"):
        ways = balance_action(found["ballast"])
        margin = found["ballast"]["margin_wanted_percent"]
        action = f"Balance it for {margin:.0f} % static margin: {ways}." if ways else ""
    elif reasons:
        action = "Give it more elevator throw, or a larger elevator or elevon."
    elif unsure:
        action = weighed["weigh_first"]
    return Check("balance", tuple(reasons), tuple(cautions), action)


def _strength(found: dict) -> Check:
    strength = found["weigh"]["strength"]
    if strength is None:
        return Check("strength", (), ("no flat sheet with a root whose strength is known",), "")
    factor, pulled = strength["limit_load_factor"], strength["full_elevator_speed_m_s"]
    reasons, cautions, action = [], [], ""
    if factor is not None and factor < LEAST_LOAD_FACTOR:
        reasons.append(
            f"it folds at {factor:.1f} g: {LEAST_LOAD_FACTOR:.0f} g is the least one flies with "
            "(common practice)"
        )
        action = f"Glue a spar along the {strength['material']}, or take a thicker sheet."
    launch, usual = found["launch"], found["trim"]["stall_speed_m_s"] * CRUISE
    slowest = max(usual, launch["throw_m_s"] or 0.0)
    if pulled is not None and pulled < slowest:
        reasons.append(
            f"full elevator folds it at {pulled:.0f} m/s, and it is flown at {slowest:.0f} m/s"
        )
        action = action or "Less elevator throw, or a spar."
    elif pulled is not None and pulled < (_fastest(found) or 0.0) * 1.2:
        cautions.append(f"full elevator folds it from {pulled:.0f} m/s on: no pulling in a dive")
    return Check("strength", tuple(reasons), tuple(cautions), action)


def _fastest(found: dict) -> float | None:
    return found["power"] and found["power"]["level"]["fastest_m_s"]


def _power(found: dict) -> Check:
    power, limit = found["power"], found["throttle_limit"]
    if power is None:
        return Check("power", (), ("no motor: it is a glider",), "")
    reasons, cautions, action = _problems(found["directions"]["propellers"]), [], ""
    level = power["level"]
    if level["reason"]:
        reasons.append(level["reason"])
    needs = {"launch": found["launch"]["throttle"], "level flight": level["its_throttle"]}
    for what, throttle in needs.items():
        if throttle is not None and throttle > limit + 1e-3:
            reasons.append(
                f"{what} takes {100 * throttle:.0f} % throttle, the ratings allow "
                f"{100 * limit:.0f} %"
            )
    over = [m for m in power["margins"] if m["verdict"] == "over"]
    drive = [m["what"] for m in over if m["what"] in ("controller", "motor", "pack")]
    if drive:
        cautions.append(
            f"full throttle overloads the {' and the '.join(drive)}: "
            f"at most {100 * limit:.0f} % throttle standing still"
        )
        action = (
            f"Set the throttle's end point to {int(100 * limit)} %, or fit a smaller propeller."
        )
    if any(m["what"] == "sag to cut-off" for m in over):
        reasons.append("at full throttle the pack sags below the controller's cut-off")
    if reasons and not action:
        action = "Put the drive right: see firstthrow power."
    cautions += power["doubts"]
    return Check("power", tuple(reasons), tuple(cautions), action)


def _problems(rows: list[dict]) -> list[str]:
    return list(dict.fromkeys(text for row in rows for text in row["problems"]))


def _surfaces(found: dict) -> Check:
    answer = found["surfaces"]
    if answer is None:
        return Check("surfaces", ("it has no control surface",), (), "Give it elevons.")
    sticks = found["directions"]["sticks"]
    reasons, cautions = _problems(sticks), []
    if not any(row["answers"] for row in sticks if row["stick"] != "pitch"):
        reasons.append("neither the roll nor the yaw stick moves anything: it cannot be steered")
    for row in answer["surfaces"]:
        servo, facts = row["servo"], row["linkage"]
        for when in ("launch", "level"):
            if servo["torque_needed_N_m"][when] > servo["torque_available_N_m"]:
                reasons.append(f"{row['name']}: the servo cannot hold it in {when} flight")
        if facts["servo_for_throw_deg"] is None:
            reasons.append(f"{row['name']}: the linkage locks before the throw that is asked")
    texts = [(row["name"], text) for row in answer["surfaces"] for text in row["cautions"]]
    cautions += _gathered(t for t in texts if "locks before the throw" not in t[1])
    supply = answer["supply"]
    if supply["held_verdict"] == "over":
        reasons.append(
            f"the servos together draw {supply['held_A']:.1f} A in a dive, the supply gives "
            f"{supply['limit_A']:.1f} A"
        )
    elif supply["stalled_verdict"] == "over":
        cautions.append(
            f"all servos stalled would draw {supply['stalled_A']:.1f} A of the supply's "
            f"{supply['limit_A']:.1f} A"
        )
    action = "Put linkage and servos right: see firstthrow surfaces." if reasons else ""
    return Check("surfaces", tuple(reasons), tuple(cautions), action)


def _gathered(texts: Iterable[tuple[str, str]]) -> list[str]:
    """The same words about several surfaces said once."""
    by_text: dict[str, list[str]] = {}
    for name, text in texts:
        by_text.setdefault(text, []).append(name.replace("_", " "))
    return [f"{', '.join(names)}: {text}" for text, names in by_text.items()]


def _launch(found: dict) -> Check:
    plan, reasons, cautions, action = found["launch"], [], [], ""
    if found["weigh"]["static_margin_percent"] < 0.0:
        reasons.append("not before it balances")
    throw, piloted, hands = plan["throw_over_stall"], plan["steady_pilot"], plan["hands"]
    if throw is not None and throw < LEAST_THROW:
        reasons.append(
            f"a throw of {plan['throw_m_s']:.1f} m/s is {throw:.2f} times the stall speed: "
            f"{LEAST_THROW} is the least (common practice)"
        )
        action = "Throw it faster, or build it lighter."
    if not piloted["survives"]:
        reasons.append(f"flown by the steady pilot it fails: {piloted['text'].rstrip('.')}")
        action = action or "Rehearse the launch: firstthrow fly, with other throttle and pitch."
    if hands and hands["fraction"] < LEAST_SURVIVED:
        cause = next(iter(hands["causes"]), "")
        reasons.append(
            f"of {hands['flown']} launches by practised hands {hands['survived']} survive "
            f"({cause}): at least four of five are wanted"
        )
        action = action or "Find what helps: firstthrow odds --improve."
    cautions.append(f"stay on the ground in more than {plan['wind_limit_m_s']:.1f} m/s of wind")
    return Check("launch", tuple(reasons), tuple(cautions), action)
