"""What a reconciliation has to tell, and the change of the airframe's file that it offers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.shape import main_name
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.edit import Edit
from firstthrow.sim.describe.notes import Notes
from firstthrow.sim.learn.believed import SCALES, WORDS, corrected, new_ballast
from firstthrow.sim.learn.expected import shown
from firstthrow.sim.learn.log_winds import Winds
from firstthrow.sim.learn.reconcile import ODD, Fitted, Reconciled

SHORT = ("cg", "reflex", "bow", "twist")  # said by what stands before the comma
WORTH = 0.5  # of its own spread: a smaller offset is not offered
CORRECTED = (
    ("balance", "mm"),
    ("reflex", "deg"),
    ("effect", "%"),
    ("propeller", "%"),
    ("drag", "%"),
)  # keys of [corrections], and the unit they are written in
SI = {"mm": "m", "in": "m", "g": "kg", "oz": "kg", "deg": "rad", "%": "fraction"}  # of answers


def offered(found: Reconciled) -> list[Fitted]:
    """The quantities that the notes tell about and that are off; none while a figure is odd,
    since a fit strained to meet it is no measure of anything."""
    if (abs(found.misses(found.after)) > ODD).any():
        return []
    return [one for one in found.fitted if one.learnt and abs(one.offset) >= WORTH * one.after]


def edits(airframe: Airframe, notes: Notes, found: Reconciled) -> list[Edit]:
    """The change of the airframe's file: what is offered, and ballast that was added."""
    off = {one.name: one.offset for one in offered(found)}
    now = corrected(airframe, off)
    changes = []
    for name, motor in now.motors.items():
        for key in ("down", "right_tilt"):
            if getattr(motor, key) != getattr(airframe.motors[name], key):
                changes.append(Edit(("motors", name, key), getattr(motor, key), "deg"))
    main = main_name(airframe)
    for key, unit in (("bow", "mm"), ("twist_left", "deg"), ("twist_right", "deg")):
        if main is not None:
            was, value = (getattr(a.sheets[main], key) for a in (airframe, now))
            if value != was:
                changes.append(Edit(("sheets", main, key), value, unit))
    for key, unit in CORRECTED:
        value = getattr(now.corrections, key)
        if value != getattr(airframe.corrections, key):
            changes.append(Edit(("corrections", key), value, unit))
    for key, lump in new_ballast(airframe, notes).items():
        changes.append(Edit(("items", key, "mass"), lump.mass, "g"))
        changes.append(Edit(("items", key, "known"), "measured", ""))
        changes += [
            Edit(("items", key, axis), getattr(lump, axis), "mm")
            for axis in ("aft", "right", "up")
            if getattr(lump, axis)
        ]
    own = {"mm": airframe.units.lengths, "g": airframe.units.masses}
    return [one._replace(unit=own.get(one.unit, one.unit)) for one in changes]


def history(notes: Notes, source: str, found: Reconciled, today: str, u: Units) -> str:
    """One line for the end of the file."""
    told = "; ".join(f"{WORDS[one.name][0]} {_offset(one, u)}" for one in offered(found))
    told = told or "nothing but ballast"
    when = notes.date or today
    return f"{when}, from {source}: {told}."


def _offset(one: Fitted, u: Units) -> str:
    unit = WORDS[one.name][1]
    if unit == "mm":
        digits = 1 + u.inches
        return f"{u.bare_length(one.offset, digits, '+')} ± {u.length(one.after, digits)}"
    scale = SCALES[unit]
    return f"{one.offset / scale:+.1f} ± {one.after / scale:.1f} {unit}"


def sentences(found: Reconciled, winds: Winds | None, worth: str, u: Units) -> list[str]:
    """What cannot be told apart, what the notes do not tell, what does not fit, what next."""
    said = []
    for one, other, r in found.alike:
        way = "less" if r > 0.0 else "more"
        said.append(
            f"Not told apart: {_word(one)} and {_word(other)} (correlation {r:+.2f}); if the one "
            f"is really smaller, the other is {way}."
        )
    unknown = [_word(one.name) for one in found.fitted if not one.learnt]
    if unknown:
        said.append(f"The notes say next to nothing about: {', '.join(unknown)}.")
    misses = found.misses(found.after)
    for seen, miss, value in zip(found.seen, misses, found.after, strict=True):
        if abs(miss) > ODD:
            said.append(
                f"Odd: {seen.note}, {seen.what} seen {shown(seen, seen.value, u)}, but nothing "
                f"believable comes nearer than {shown(seen, float(value), u)}: measure it again. "
                "Until then no correction is offered."
            )
    cg = next((one for one in found.fitted if one.name == "cg"), None)
    if cg is not None and cg in offered(found):
        said.append(
            "A flight feels the CG against the neutral point only: balance it on the bench. If "
            "the file's CG is right there, it is the neutral point that lies further "
            f"{'forward' if cg.offset > 0.0 else 'aft'}; the correction serves for both."
        )
    if winds is not None:
        speed = float(np.hypot(*winds.wind))
        bearing = float(np.degrees(np.arctan2(-winds.wind[1], -winds.wind[0]))) % 360.0
        sure = float(np.sqrt(np.trace(winds.covariance) / 2.0))
        said.append(
            f"Wind in the log: {u.bare_speed(speed)} ± {u.speed(sure)} from {bearing:.0f} deg."
        )
        said += [f"Of the log, {remark}." for remark in winds.remarks]
    return [*said, worth] if worth else said


def _word(name: str) -> str:
    return WORDS[name][0].split(",")[0] if name in SHORT else WORDS[name][0]


@frozen
class Learnt(Answer):
    """One quantity, in `unit`, with its standard deviations; `offered`: the file should change."""

    name: str
    unit: str
    spread_before: float
    offset: float
    spread_after: float
    learnt: bool
    offered: bool


@frozen
class Alike(Answer):
    """Two quantities that these notes cannot tell apart."""

    one: str
    other: str
    correlation: float


@frozen
class Figure(Answer):
    """What was seen, SI, and what the model expects before and after the fit."""

    note: str
    what: str
    seen: float
    spread: float
    expected_before: float
    expected_after: float


@frozen
class Changed(Answer):
    """A value of the airframe's file, SI."""

    key: str
    value: float | str
    unit: str


@frozen
class Lessons(Answer):
    """Everything for a program, SI with the unit in each name. No wind without a log."""

    airframe: str
    quantities: tuple[Learnt, ...]
    correlation: np.ndarray  # (quantities, quantities)
    not_told_apart: tuple[Alike, ...]
    figures: tuple[Figure, ...]
    airspeeds_m_s: Mapping[str, float]  # by the note
    wind_to_north_m_s: float | None
    wind_to_east_m_s: float | None
    wind_covariance: np.ndarray | None  # (2, 2)
    words: tuple[str, ...]
    changes: tuple[Changed, ...]


def answer(
    airframe: Airframe,
    found: Reconciled,
    winds: Winds | None,
    said: Sequence[str],
    changes: Sequence[Edit],
) -> Lessons:
    offers = offered(found)
    figures = zip(found.seen, found.before, found.after, strict=True)
    return Lessons(
        airframe=airframe.name,
        quantities=tuple(
            Learnt(
                name=one.name,
                unit=SI[WORDS[one.name][1]],
                spread_before=one.before,
                offset=one.offset,
                spread_after=one.after,
                learnt=one.learnt,
                offered=one in offers,
            )
            for one in found.fitted
        ),
        correlation=found.correlation,
        not_told_apart=tuple(Alike(*pair) for pair in found.alike),
        figures=tuple(
            Figure(seen.note, seen.what, seen.value, seen.spread, float(before), float(after))
            for seen, before, after in figures
        ),
        airspeeds_m_s=found.speeds,
        wind_to_north_m_s=float(winds.wind[0]) if winds else None,
        wind_to_east_m_s=float(winds.wind[1]) if winds else None,
        wind_covariance=winds.covariance if winds else None,
        words=tuple(said),
        changes=tuple(Changed(".".join(e.path), e.value, SI.get(e.unit, "")) for e in changes),
    )


def table(found: Reconciled, u: Units) -> list[str]:
    """For a person: each quantity before and after, then each figure."""
    said = [f"  {'':<20} {'before':>10} {'after':>18}"]
    for one in found.fitted:
        words, after = WORDS[one.name][0], _offset(one, u)
        before = _offset(one._replace(after=one.before), u).partition(" ")[2]
        mark = "" if one.learnt else "  not told"
        said.append(f"  {words:<20} {before:>10} {after:>18}{mark}")
    said += ["", f"  {'seen':<30} {'':>10} {'before':>10} {'after':>10}"]
    for seen, before, after in zip(found.seen, found.before, found.after, strict=True):
        said.append(
            f"  {f'{seen.note}, {seen.what}':<30} {shown(seen, seen.value, u):>10} "
            f"{shown(seen, float(before), u):>10} {shown(seen, float(after), u):>10}"
        )
    return said
