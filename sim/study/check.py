"""The whole pre-flight in one: go or no-go for balance, strength, power, surfaces and launch.

Each verdict is drawn from the study that the command of the same name prints; nothing is worked
out anew here but the throttle that the ratings allow.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.sticks import Stick
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.flight.drive_at_rest import equilibrium, unlimited
from firstthrow.sim.flight.speeds import CRUISE, LEAST_THROW
from firstthrow.sim.kernels.root import crossing
from firstthrow.sim.once import once_for
from firstthrow.sim.study import directions, throws
from firstthrow.sim.study import power as power_study
from firstthrow.sim.study.advice.answer import Advice
from firstthrow.sim.study.advice.slips import slips
from firstthrow.sim.study.band.band import LAUNCHES as AT_ENDS
from firstthrow.sim.study.band.band import Band, band, limits_verdict
from firstthrow.sim.study.directions import Directions, Movement, StickRow
from firstthrow.sim.study.gist.headline import to_fly
from firstthrow.sim.study.gist.throw import Torque, throw_words, torque
from firstthrow.sim.study.launch import LaunchPlan, launch_plan
from firstthrow.sim.study.odds.survival import LAUNCHES, WANTED, ByHands, by_hands
from firstthrow.sim.study.power import Power
from firstthrow.sim.study.ratings import Fit
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.throws import Throws
from firstthrow.sim.study.trim import TrimStudy, trim_study
from firstthrow.sim.study.turning import PropellerRow
from firstthrow.sim.study.unsure.ranking import MeasureNext, measure_next
from firstthrow.sim.study.verdict import BalanceVerdict, Ruling, Verdict
from firstthrow.sim.study.weigh import Weighing, weigh

HELD = {"launch": "the launch", "level": "level flight", "dive": "a dive"}
NOT_BEFORE = "not before it balances"
ON_FINGERS = 1.0  # [kg], our assumption
LEAST_LOAD_FACTOR = 3.0  # that a slab should bear, common practice, no source


@frozen
class Check(Answer):
    """One part of the pre-flight. Reasons make it a no-go, cautions do not."""

    name: str
    verdict: Verdict
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]


@frozen
class Preflight(Answer):
    """Go: nothing forbids it, and enough of the launches by club hands survive."""

    airframe: str
    verdict: Verdict
    sentence: str  # the verdict and what decides it, in one
    fly: str  # how to fly it and where to balance it
    throw: str  # how hard and how fast
    torque: str  # what masters the motor's; empty where nothing is to master
    checks: tuple[Check, ...]
    band: Band
    odds: ByHands  # of the planned launch
    advice: Advice | None  # what would make it go, once it was looked for
    next: str  # what to do next
    remarks: tuple[str, ...]  # values of the file that look like slips; they forbid nothing
    measure_next: MeasureNext  # what is not known, the most worth measuring first

    @property
    def stopped(self) -> tuple[Check, ...]:
        """The parts that forbid it."""
        return tuple(check for check in self.checks if check.verdict is Verdict.NO_GO)

    def of(self, part: str) -> Check:
        return next(check for check in self.checks if check.name == part)

    @property
    def ruling(self) -> Ruling:
        """What other reports quote."""
        return Ruling(self.verdict, self.sentence, tuple(check.name for check in self.stopped))


@dataclass(frozen=True)
class Reports:
    """The answer of every study of one airframe; `power` and its `throttle_limit` None without
    motor, `surfaces` None without surfaces."""

    weigh: Weighing
    band: Band
    trim: TrimStudy
    power: Power | None
    throttle_limit: float | None
    surfaces: Throws | None
    directions: Directions
    launch: LaunchPlan
    measure: MeasureNext
    remarks: tuple[str, ...]
    torque: Torque | None  # the motor's, at the throw; None where it was not flown
    units: Units  # the builder's own


def reports(subject: Subject, launches: int = LAUNCHES, is_whole: bool = True) -> Reports:
    """Every study; `launches` decide, not whole: the ends of the band are not flown, nothing
    is ranked to be measured.
    Raises ValueError when the airframe weighs nothing or a rod does not reach.
    """
    airframe = subject.airframe
    at_ends = min(launches, AT_ENDS) if is_whole else 0
    motor = bool(airframe.motors) and bool(subject.surfaces)
    return Reports(
        weigh=weigh(subject, at_ends),
        band=band(subject, at_ends),
        trim=trim_study(subject, subject.cruise),
        power=power_study.study(subject) if motor else None,
        throttle_limit=throttle_limit(subject) if motor else None,
        surfaces=throws.study(subject) if subject.surfaces else None,
        directions=directions.study(subject),
        launch=launch_plan(subject, launches),
        measure=measure_next(subject) if is_whole else MeasureNext((), 0, 0),
        remarks=slips(airframe),
        torque=torque(subject) if is_whole else None,
        units=airframe.units,
    )


@once_for(8)
def whole(subject: Subject) -> Reports:
    """Every study, with the ends of the band and what to measure, as `check` has them."""
    return reports(subject)


@once_for(16)
def ruling(subject: Subject) -> Ruling:
    """The verdict that every report quotes. The ends of the band are flown only where that can
    bear on it: where steady flight allows the balance, and too few launches survive there.
    What cannot be worked out, such as a rod that does not reach, is no-go."""
    try:
        allowed = limits_verdict(subject) is BalanceVerdict.OK
        needs_ends = allowed and not by_hands(subject).is_enough
        return preflight(whole(subject) if needs_ends else reports(subject, is_whole=False)).ruling
    except ValueError as error:
        return Ruling(Verdict.NO_GO, f"Do not fly: {error}.", ())


def throttle_limit(subject: Subject) -> float:
    """Highest throttle, standing still, at which controller, motor and pack keep to their ratings.

    One when full throttle does.
    """
    airframe, free = subject.airframe, unlimited(subject.model)
    motor = min(m.limit for m in airframe.motors.values())
    limit = min(motor, airframe.controller.limit)

    def over(throttle: float) -> float:
        at = equilibrium(free, throttle)
        return max(at.motor_current / limit, at.pack_current / airframe.pack.limit) - 1.0

    return 1.0 if over(1.0) <= 0.0 else crossing(over, 0.05, 1.0, 1e-4)


def preflight(found: Reports) -> Preflight:
    """Verdicts drawn from the reports: overall, for each part with its reasons, what to do next."""
    checks = tuple(look(found) for look in PARTS.values())
    bad = [check for check in checks if check.reasons]
    next_ = found.weigh.weigh_first
    if found.measure.rows:
        next_ = f"Measure next: {found.measure.first(found.units)}."
    if bad:
        next_ = f"Put right first: {bad[0].reasons[0]}."
    if found.directions.verdict is not Movement.OK:
        next_ = "Put right what moves the wrong way: see firstthrow directions."
    return Preflight(
        airframe=found.weigh.airframe,
        verdict=Verdict.NO_GO if bad else Verdict.GO,
        sentence=_sentence(found, bad),
        # What is not to be flown is not told how.
        fly="" if bad else to_fly(found.weigh, found.trim, found.units),
        throw="" if bad else throw_words(found.launch, found.weigh.mass_kg, found.units),
        torque=found.torque.words if found.torque and not bad else "",
        checks=checks,
        band=found.band,
        odds=found.launch.hands,
        advice=None,
        next=next_,
        remarks=found.remarks,
        measure_next=found.measure,
    )


def _check(name: str, reasons: list[str], cautions: list[str]) -> Check:
    verdict = Verdict.NO_GO if reasons else Verdict.GO
    return Check(name, verdict, tuple(reasons), tuple(cautions))


def _sentence(found: Reports, bad: list[Check]) -> str:
    """The verdict in one; where analysis and launches differ it says why."""
    hands = found.launch.hands
    flown, flies = hands.words, hands.is_enough
    if not bad:
        return f"Go: nothing forbids it, and {flown}."
    first = [check.reasons[0] for check in bad]
    whole = "; ".join(reason for reason in first if reason != NOT_BEFORE) or NOT_BEFORE
    if not flies or any(check.name == "launch" for check in bad):
        return f"Do not fly: {whole}."
    if any(check.name == "balance" for check in bad):
        return (
            f"Do not fly: {whole}. Simulated, {flown}: a hand can balance for seconds what does "
            "not fly by itself, do not."
        )
    return f"Do not fly: {whole}. Simulated, {flown}, but they do not last long enough to meet it."


def _balance(found: Reports) -> Check:
    weighed, reasons = found.weigh, []
    if weighed.verdict is BalanceVerdict.NO_BAND:
        reasons.append(f"no balance suits: {found.band.closed_by}")
    elif weighed.verdict is not BalanceVerdict.OK:
        reasons.append(weighed.verdict.fact)
    reasons += [why for why in found.trim.no_go if "behind the neutral" not in why]
    unsure = [] if reasons else _unsure(found)
    return _check("balance", reasons, [*unsure, *_lopsided(weighed, found.units)])


def how_to_balance(mass: float) -> str:
    """What a hand holds is balanced on two fingers, what is heavier [kg] on two trestles."""
    if mass <= ON_FINGERS:
        return "balance it on two fingers"
    return "balance it on two trestles, one under each half of the wing"


def _unsure(found: Reports) -> list[str]:
    weighed = found.weigh
    front, rear = weighed.cg_front_limit_m, weighed.cg_rear_limit_m
    at, spread = weighed.cg_m[0], weighed.cg_spread_m[0]
    if front is None or front + 2.0 * spread < at < rear - 2.0 * spread:
        return []
    return [
        f"the CG is known give or take {found.units.length(spread)}, and twice that leaves the "
        f"allowed band: {how_to_balance(weighed.mass_kg)}"
    ]


def _lopsided(weighed: Weighing, units: Units) -> list[str]:
    wanted = abs(weighed.imbalance_at_tip_kg)
    if wanted <= 0.005 * weighed.mass_kg:  # half a percent of the mass
        return []
    side = "left" if weighed.imbalance_at_tip_kg > 0.0 else "right"
    return [f"it hangs to one side: {units.mass(wanted)} at the {side} tip balances it"]


def _strength(found: Reports) -> Check:
    strength = found.weigh.strength
    if strength is None:
        return _check("strength", [], ["no flat sheet with a root whose strength is known"])
    factor, pulled = strength.limit_load_factor, strength.full_elevator_speed_m_s
    reasons, cautions, u = [], [], found.units
    if factor is not None and factor < LEAST_LOAD_FACTOR:
        reasons.append(
            f"it folds at {factor:.1f} times its weight: {LEAST_LOAD_FACTOR:.0f} times is "
            "the least one flies with (common practice)"
        )
    usual = found.weigh.stall_speed_m_s * CRUISE
    slowest = max(usual, found.launch.throw_m_s or 0.0)
    if pulled is not None and pulled < slowest:
        reasons.append(
            f"full elevator folds it at {u.speed(pulled, 0)}, and it is flown at "
            f"{u.speed(slowest, 0)}"
        )
    elif pulled is not None and found.surfaces and pulled < found.surfaces.speeds_m_s["dive"]:
        from_ = u.speed(pulled, 0)
        cautions.append(f"full elevator folds it from {from_} on: no pulling in a dive")
    return _check("strength", reasons, cautions)


def _power(found: Reports) -> Check:
    power, limit = found.power, found.throttle_limit
    if power is None or limit is None:
        return _check("power", [], ["no motor: it is a glider"])
    reasons, cautions = _problems(found.directions.propellers), []
    level = power.level
    if level.reason:
        reasons.append(level.reason)
    needs = {"launch": found.launch.throttle, "level flight": level.its_throttle}
    for what, throttle in needs.items():
        if throttle is not None and throttle > limit + 1e-3:
            reasons.append(
                f"{what} takes {100 * throttle:.0f} % throttle, the ratings allow "
                f"{100 * limit:.0f} %"
            )
    over = [m for m in power.margins if m.verdict is Fit.OVER]
    drive = [m.what for m in over if m.what in ("controller", "motor", "pack")]
    if drive:
        cautions.append(
            f"full throttle overloads the {' and the '.join(drive)}: "
            f"at most {100 * limit:.0f} % throttle standing still"
        )
    if power.overload:
        cautions.append(power.overload.words)
    if any(m.what == "sag to cut-off" for m in over):
        reasons.append("at full throttle the pack sags below the controller's cut-off")
    cautions += power.doubts
    return _check("power", reasons, cautions)


def _problems(rows: Iterable[StickRow | PropellerRow]) -> list[str]:
    return list(dict.fromkeys(text for row in rows for text in row.problems))


def _surfaces(found: Reports) -> Check:
    answer = found.surfaces
    if answer is None:
        return _check("surfaces", ["it has no control surface"], [])
    sticks = found.directions.sticks
    reasons, cautions = _problems(sticks), []
    if not any(row.answers for row in sticks if row.stick is not Stick.PITCH):
        reasons.append("neither the roll nor the yaw stick moves anything: it cannot be steered")
    for row in answer.surfaces:
        servo, facts = row.servo, row.linkage
        needed, given = servo.torque_needed_N_m, servo.torque_available_N_m
        when = next((when for when in HELD if needed[when] > given), None)
        if when is not None:
            reasons.append(
                f"{row.name.replace('_', ' ')}: the servo gives {given / needed[when]:.1f} of the "
                f"torque that {HELD[when]} asks"
            )
        if facts.servo_for_throw_deg is None:
            reasons.append(f"{row.name}: {throws.LOCKS}")
    texts = [(row.name, text) for row in answer.surfaces for text in row.cautions]
    cautions += _gathered(t for t in texts if t[1] != throws.LOCKS)
    supply = answer.supply
    if supply.held_verdict is Fit.OVER:
        reasons.append(
            f"the servos together draw {supply.held_A:.1f} A in a dive, the supply gives "
            f"{supply.limit_A:.1f} A"
        )
    elif supply.stalled_verdict is Fit.OVER:
        cautions.append(
            f"all servos stalled would draw {supply.stalled_A:.1f} A of the supply's "
            f"{supply.limit_A:.1f} A"
        )
    return _check("surfaces", reasons, cautions)


def _gathered(texts: Iterable[tuple[str, str]]) -> list[str]:
    """The same words about several surfaces said once."""
    by_text: dict[str, list[str]] = {}
    for name, text in texts:
        by_text.setdefault(text, []).append(name.replace("_", " "))
    return [f"{', '.join(names)}: {text}" for text, names in by_text.items()]


def _launch(found: Reports) -> Check:
    plan = found.launch
    reasons: list[str] = []
    cautions: list[str] = []
    if found.weigh.static_margin_percent < 0.0:
        reasons.append(NOT_BEFORE)
    u = found.units
    throw, piloted, hands = plan.throw_over_stall, plan.steady_pilot, plan.hands
    if plan.throw_m_s and plan.arm_m_s and plan.throw_m_s > plan.arm_m_s + 0.05:
        reasons.append(
            f"a throw of {u.throw(plan.throw_m_s)} is asked for, an arm gives "
            f"{u.mass(found.weigh.mass_kg)} {u.throw(plan.arm_m_s)}"
        )
    if plan.throw_m_s and throw is not None and throw < LEAST_THROW:
        told = (
            f"a throw of {u.throw(plan.throw_m_s)} is {throw:.2f} times the stall speed: below "
            f"{LEAST_THROW} the motor has to carry it"
        )
        (cautions if hands.is_enough else reasons).append(told)
    if not piloted.survives:
        reasons.append(f"flown by the steady pilot it fails: {piloted.text.rstrip('.')}")
    if not hands.is_enough:
        reasons.append(
            f"{hands.words} by {hands.skill} hands, lost to {hands.cause}: at least "
            f"{100.0 * WANTED:.0f} of 100 are wanted"
        )
    cautions.append(f"stay on the ground in more than {u.speed(plan.wind_limit_m_s)} of wind")
    return _check("launch", reasons, cautions)


PARTS = {
    "balance": _balance,
    "strength": _strength,
    "power": _power,
    "surfaces": _surfaces,
    "launch": _launch,
}


def part(name: str, found: Reports) -> Check:
    """One part of the verdict by itself."""
    return PARTS[name](found)
