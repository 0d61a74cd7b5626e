"""A drafted airframe made ready to fly: strong enough, balanced, set up; then flown and judged.

The description is built like any other, and what is said of it is of the file as written.
"""

from __future__ import annotations

from math import degrees, floor, radians
from pathlib import Path
from typing import ClassVar, NamedTuple

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.scaled import LAWS, Factors, main_size
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.build.stock import TUBES, handy
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import load_airframe
from firstthrow.sim.describe.sheets import Role, Spar
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.trims import Trim, Untrimmed, surface_word
from firstthrow.sim.kernels.root import crossing
from firstthrow.sim.study.alternatives import move_pack
from firstthrow.sim.study.ballast import NoBallast, at_place, lump, with_item
from firstthrow.sim.study.band.band import limits_verdict
from firstthrow.sim.study.band.flare import has_pitch
from firstthrow.sim.study.band.limits import limits
from firstthrow.sim.study.check import ruling
from firstthrow.sim.study.draft import as_written
from firstthrow.sim.study.loads import load_limits, main_sheet
from firstthrow.sim.study.odds.arm import most_speed
from firstthrow.sim.study.odds.steady import steady_pilot
from firstthrow.sim.study.places import place_words
from firstthrow.sim.study.servos import loads
from firstthrow.sim.study.subject import Subject, subject_of
from firstthrow.sim.study.verdict import BalanceVerdict, Verdict

NEAR = 0.002  # of the wanted margin that needs no further ballast
FLOWN = 120.0  # by the steady pilot [s]
MOST_THROTTLE = 0.95
MORE_THROWS = 7  # of two degrees, at most
STRONG = 8.0  # load factor, common practice for a slab that is thrown about
TUBE_SPAN, TUBE_AFT = 0.8, 0.26  # of span and chord, as in the example slabs


class Trimmed(NamedTuple):
    """An airframe brought to the margin that it wants."""

    airframe: Airframe
    words: str  # what was moved or added
    doubt: str  # why the margin cannot be had; empty when it is


@frozen
class Figures(Answer):
    """What is compared between sizes; SI. Torque: the most in level flight; power: from the pack
    in level flight at the cruise, None without one."""

    span_m: float
    chord_m: float
    mass_kg: float
    wing_loading_kg_m2: float
    stall_speed_m_s: float
    servo_torque_N_m: float | None
    level_power_W: float | None


@frozen
class Compared(Answer):
    """One figure at both sizes, their ratio, and what Froude's law would have made of it."""

    what: str
    key: str
    before: float | None
    after: float | None
    ratio: float | None
    exponent: float
    ratio_by_law: float


@frozen
class Draft(Answer):
    """What came out, read again from the file; the last three only from a known airframe."""

    left_out_when_none: ClassVar = frozenset({"size_factor", "law", "scaled"})

    airframe: str
    file: str
    balance: str
    static_margin_percent: float
    balance_verdict: BalanceVerdict
    verdict: Verdict
    sentence: str  # the verdict, and what decides it
    doubt: str
    spar: str
    flies: bool
    outcome_text: str
    figures: Figures
    size_factor: float | None = None
    law: str | None = None
    scaled: tuple[Compared, ...] | None = None


def strengthened(airframe: Airframe) -> tuple[Airframe, str]:
    """With a carbon tube along the main sheet's span where the sheet alone would bear less than
    STRONG times its weight; and words, empty when none is needed."""
    sheet = main_sheet(airframe)
    if sheet is None or sheet.spars or _bears(airframe) >= STRONG:
        return airframe, ""
    name = next(n for n, s in airframe.sheets.items() if s is sheet)
    for outside, inside in TUBES:
        tube = Spar.model_construct(
            material="carbon tube",
            section="tube",
            length=TUBE_SPAN * main_size(airframe)[0],
            outside=outside,
            inside=inside,
            width=0.0,
            right=0.0,
            up=0.0,
            aft=sheet.aft + TUBE_AFT * main_size(airframe)[1],
        )
        stronger = sheet.model_copy(update={"spars": {"tube": tube}})
        found = airframe.model_copy(update={"sheets": {**airframe.sheets, name: stronger}})
        if _bears(found) >= STRONG:
            break
    u = airframe.units
    size = f"{u.bare_length(outside)} x {u.length(inside)}"
    return as_written(found), f"a carbon tube of {size} let into the {name}"


def _bears(airframe: Airframe) -> float:
    """Load factor at which it folds."""
    limits = load_limits(Subject(airframe))
    return limits.limit_load_factor if limits and limits.limit_load_factor else STRONG


def trimmed(airframe: Airframe) -> Trimmed:
    """With the pack moved, and ballast in the nose where that is not enough, for the margin that
    the file wants. The words tell when it cannot be had."""
    margin, now, words, doubt = airframe.margin, Subject(airframe), [], ""
    if abs(now.margin - margin) > NEAR:
        moved = move_pack(now, margin)
        if moved is not None:
            now, way = moved.after, "aft" if moved.amount > 0.0 else "forward"
            by = airframe.units.length(abs(moved.amount))
            words.append(f"the {airframe.pack_item} was moved {by} {way}")
    airframe = now.airframe
    if abs(now.margin - margin) > NEAR:
        try:
            found = at_place(now, margin, "nose")
            item = lump(found.mass, found.place).model_copy(update={"known": "guessed"})
            airframe = with_item(airframe, "nose_ballast", item)
            at = place_words(airframe, found.place)
            put = airframe.units.mass(found.mass, 1)
            words.append(f"{put} of ballast was put at the nose, {at}")
        except NoBallast as none:
            doubt = str(none)
    airframe = airframe.model_copy(update={"items": handy(airframe.items)})
    return Trimmed(airframe, " and ".join(words) or "it balances as it is", doubt)


def set_up(airframe: Airframe, like: Airframe) -> Airframe:
    """Throw, launch throttle and reflex for this airframe, as `like` has them for itself: the
    throw by its stall speed but no faster than an arm's, the throttle by its thrust to weight, the
    reflex by its trim; and pitch throw enough for some balance, if there is such."""
    here, there = Subject(airframe), Subject(like)
    launch = airframe.launch
    hand, ground = launch.hand, launch.ground
    if hand is not None:
        thrown = like.launch.by_hand.speed * here.stall_speed / there.stall_speed
        throttle = _throttle(here.model, there.model, like.launch.by_hand.throttle)
        speed, most = round(10.0 * thrown) / 10.0, floor(10.0 * most_speed(here, hand)) / 10.0
        if speed > most:  # than an arm gives: the motor has to make up for it
            speed, throttle = most, MOST_THROTTLE
        hand = hand.model_copy(update={"speed": speed, "throttle": throttle})
    if ground is not None:
        throttle = _throttle(here.model, there.model, like.launch.from_ground.throttle)
        ground = ground.model_copy(update={"throttle": throttle})
    ready = _thrown(here.changed(reflexed(here)))
    launch = launch.model_copy(update={"hand": hand, "ground": ground})
    return as_written(ready.model_copy(update={"launch": launch}))


def _throttle(here: Model, there: Model, throttle: float) -> float:
    """The throttle, in hundredths, that gives the same thrust to weight standing still."""
    if here.record.n_motors == 0 or there.record.n_motors == 0:
        return throttle
    wanted = equilibrium(there, throttle).thrust * here.record.mass / there.record.mass

    def short(x: float) -> float:
        return equilibrium(here, x).thrust - wanted

    if short(MOST_THROTTLE) <= 0.0:
        return MOST_THROTTLE
    return round(crossing(short, 0.05, MOST_THROTTLE, 1e-3), 2)


def reflexed(subject: Subject) -> Airframe:
    """Reflex, in half degrees, that holds it level hands off at the cruise, for tailless slabs."""
    airframe = subject.airframe
    if surface_word(airframe, PITCHES) != Role.ELEVON or isinstance(subject.level, Untrimmed):
        return airframe
    half = round(2.0 * degrees(-subject.level.elevator)) / 2.0
    mixing = airframe.mixing.model_copy(update={"reflex": radians(half)})
    return airframe.model_copy(update={"mixing": mixing})


def _thrown(subject: Subject) -> Airframe:
    """With more pitch throw, two degrees at a time, where what there is trims it at no balance; as
    it was where that does not help."""
    tried = subject
    for _ in range(MORE_THROWS):
        front = limits(tried).front.aft
        if front is not None and front < subject.cg:
            return tried.airframe
        if not has_pitch(tried):
            break
        mixing = tried.airframe.mixing
        high = mixing.high.model_copy(update={"pitch": mixing.high.pitch + radians(2.0)})
        mixing = mixing.model_copy(update={"high": high})
        tried = subject.changed(tried.airframe.model_copy(update={"mixing": mixing}))
    return subject.airframe


def figures(subject: Subject) -> Figures:
    airframe = subject.airframe
    held = loads(subject).surfaces
    power = None
    if airframe.motors and isinstance(subject.level, Trim):
        volts = equilibrium(subject.model, subject.level.throttle).pack_voltage
        power = subject.level.current * volts
    span, chord = main_size(airframe)
    return Figures(
        span_m=span,
        chord_m=chord,
        mass_kg=subject.mass,
        wing_loading_kg_m2=subject.mass / subject.lifting_area,
        stall_speed_m_s=subject.stall_speed,
        servo_torque_N_m=max((s.held["level"].torque for s in held), default=None),
        level_power_W=power,
    )


KEYS = {
    "mass": "mass_kg",
    "wing loading": "wing_loading_kg_m2",
    "stall speed": "stall_speed_m_s",
    "servo torque": "servo_torque_N_m",
    "power": "level_power_W",
}


def compared(before: Figures, after: Figures, size: float) -> tuple[Compared, ...]:
    rows = []
    for what, key in KEYS.items():
        one, other = getattr(before, key), getattr(after, key)
        ratio = other / one if one and other else None
        rows.append(Compared(what, key, one, other, ratio, LAWS[what], size ** LAWS[what]))
    return tuple(rows)


def judged(
    path: Path, balance: Trimmed, spar: str, known: tuple[Airframe, Factors] | None
) -> Draft:
    """The written file read again, weighed and flown; `known`: what it was scaled from, and by."""
    subject = subject_of(load_airframe(path))
    home, outcome = _flown(subject)
    found, verdict = figures(subject), limits_verdict(subject)
    ruled = ruling(subject)
    holds = not subject.airframe.motors or found.level_power_W is not None
    doubt = "" if verdict is BalanceVerdict.OK else verdict.fact
    no_height = "" if holds else "it cannot hold its height, see firstthrow power"
    size, rows = None, None
    if known is not None:
        base, by = known
        size, rows = by.size, compared(figures(Subject(base)), found, by.size)
    return Draft(
        airframe=subject.airframe.name,
        file=str(path),
        balance=balance.words,
        static_margin_percent=100.0 * subject.margin,
        balance_verdict=verdict,
        verdict=ruled.verdict,
        sentence=ruled.sentence,
        doubt=doubt or balance.doubt or no_height,
        spar=spar,
        flies=home and holds,
        outcome_text=outcome,
        figures=found,
        size_factor=size,
        law=None if known is None else "Froude",
        scaled=rows,
    )


def _flown(subject: Subject) -> tuple[bool, str]:
    """Whether the steady pilot brings it home, or still flies it after so long; and the outcome
    in words."""
    flight = fly(subject.airframe, subject.field, steady_pilot(subject), FLOWN, model=subject.model)
    return flight.end.word.survived, flight.end.text
