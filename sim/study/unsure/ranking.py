"""What to measure next: every unknown by what it does to the balance and to launches, and how one
measures it.

A measured value goes into the file, and the builder trims or balances for it; what was off then no
longer is, but for what measuring leaves open. So the launches that an unknown costs are those that
fail in a sample with everything off, and survive when flown again, the same throw and all, with
that one unknown brought down to its measured spread.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.deviated import each_deviated
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import Key, Unknown
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.polar import neutral_point_about
from firstthrow.sim.flight.trims import Trim
from firstthrow.sim.kernels.layout import COMMAND_SURFACE, RATE, SURFACE, VELOCITY
from firstthrow.sim.once import once_for
from firstthrow.sim.study.odds.launches import Odds, drawn, fly
from firstthrow.sim.study.odds.survival import Sample, sample
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import to_unit

LOST = 16  # of those lost, at most so many are flown again
TRIED = 8  # unknowns for which they are, those that move the balance most
TOO_FEW = 1.5  # launches of the sample: what saves fewer is chance
TOLD = 5  # rows that a report shows
LITTLE = 1e-4  # of the balance [m]: less is not told
PLACES = (What.AFT, What.RIGHT, What.UP)
DRIVE = (What.THRUST, What.TORQUE)  # what a drive's report rests on


class Moves(NamedTuple):
    """What an unknown does, as if the balance lay so much further aft and to the right [m]."""

    aft: float
    right: float

    @property
    def size(self) -> float:
        return float(np.hypot(*self))


@frozen
class ToMeasure(Answer):
    """One act of measuring, of one unknown or of several alike. Moves: as one standard deviation
    of it does, as a shift of the balance; `least`: what measuring leaves of the spread, None where
    only flights tell; `launches_saved`: of a hundred, None where it was not flown."""

    name: str
    how: str
    unit: str
    spread: float
    least: float | None
    moves_balance_m: float
    moves_balance_sideways_m: float
    launches_saved: float | None


@frozen
class MeasureNext(Answer):
    """The most worth measuring first. `launches_flown` of the sample, and how many survived."""

    rows: tuple[ToMeasure, ...]
    launches_flown: int
    launches_survived: int

    def words(self, units: Units = METRIC) -> list[str]:
        return [_words(row, units) for row in self.rows[:TOLD]]

    @property
    def order(self) -> str:
        """What decided the order."""
        if any(row.launches_saved is not None for row in self.rows):
            return "what costs most launches first, then what moves the balance most"
        return "what moves the balance most first"

    def first(self, units: Units = METRIC) -> str:
        """The one most worth it, with what would then be known; empty where there is none."""
        return f"{_words(self.rows[0], units)}{_then(self.rows[0], units)}" if self.rows else ""


def _words(row: ToMeasure, units: Units) -> str:
    size = max(row.moves_balance_m, row.moves_balance_sideways_m)
    unsure = f"{_size(row.spread, row.unit, units)} unsure"
    moves = f"{units.length(size, 1)} of balance" if size else unsure
    if row.moves_balance_sideways_m > row.moves_balance_m:
        moves += " sideways"
    saved = row.launches_saved
    saves = f", costs {saved:.0f} of 100 launches" if saved is not None and saved >= 0.5 else ""
    return f"{row.name} ({moves}{saves}): {row.how}"


def _then(row: ToMeasure, units: Units) -> str:
    """What would be known of it, one standard deviation."""
    if row.least is None or row.least >= row.spread:
        return ""
    now, then = (_size(one, row.unit, units) for one in (row.spread, row.least))
    return f"; it is then known to {then}, now to {now}"


SHOWN = {"rad": ("deg", 1), "fraction": ("%", 0)}


def _size(spread: float, unit: str, units: Units) -> str:
    own = {"m": units.length, "kg": units.mass}
    if unit in own:
        return own[unit](spread, 1)
    shown, digits = SHOWN.get(unit, (unit, 1))
    value = spread if shown == unit else to_unit(spread, shown)
    return f"{value:.{digits}f} {shown}"


def _act(row: Unknown) -> tuple[str, str]:
    """What is measured in one go, in words: the place of a part every way, both tips, all
    neutrals."""
    if row.what in PLACES:
        return f"place of the {row.of.replace('_', ' ')}", row.of
    if row.what in (What.TWIST_LEFT, What.TWIST_RIGHT):
        return f"twist of the {row.of.replace('_', ' ')}", row.of
    if row.what is What.NEUTRAL:
        return "neutral of the surfaces", ""
    return row.words, row.of


def _steady(subject: Subject) -> Trim | None:
    """Where forces are compared: level flight in cruise, or the glide."""
    return next((one for one in (subject.level, subject.glide) if isinstance(one, Trim)), None)


def moves(subject: Subject, rows: Sequence[Unknown], trim: Trim) -> dict[Key, Moves]:
    """Of each unknown what it does, off by one spread."""
    offs = [{row.key: row.spread} for row in rows]
    models = each_deviated(subject.model, subject.airframe, offs)
    return {row.key: _moves(subject, row, trim, one) for row, one in zip(rows, models, strict=True)}


def _moves(subject: Subject, row: Unknown, trim: Trim, model: Model) -> Moves:
    """The shift of the balance that an unknown off by one spread is felt as; model: with it off.

    Sticks, speed and incidence of a steady flight kept, the moment it makes about the neutral
    point, so that the lift it costs or gives is flown away at the same sticks, over the force that
    holds the airframe up. To first order.
    """
    turned = np.array(
        [row.key == (What.NEUTRAL, span.name) for span in subject.surfaces], dtype=float
    )
    before, behind = _as_it_is(subject, trim)
    after = _loads(model, trim, row.spread * turned)
    # A neutral point or a balance elsewhere is the arm of the lift itself.
    place = model.balance.place - subject.model.balance.place
    weight = subject.weight
    pitch = (after[4] - before[4]) - behind * (after[2] - before[2])
    return Moves(
        float(place[0]) if abs(place[0]) > 1e-12 else float(pitch) / weight,
        float(place[1]) if abs(place[1]) > 1e-12 else float(after[3] - before[3]) / weight,
    )


@once_for(16)
def _as_it_is(subject: Subject, trim: Trim) -> tuple[np.ndarray, float]:
    """Loads of a trim with nothing off, and how far behind the balance its neutral point lies."""
    behind = neutral_point_about(subject.model, trim.state, trim.command) - subject.cg
    return _loads(subject.model, trim, np.zeros(len(subject.surfaces))), behind


def _loads(model: Model, trim: Trim, turned: np.ndarray) -> np.ndarray:
    """(6,) force and moment at a trim with its surfaces turned by so much more [rad]."""
    state, command, n = trim.state.copy(), trim.command.copy(), len(turned)
    state[SURFACE : SURFACE + n] += turned
    command[COMMAND_SURFACE : COMMAND_SURFACE + n] += turned
    rates, _ = rates_of(model, state, command)
    return np.linalg.solve(model.record.mass_inverse, rates[VELOCITY : RATE + 3])


def _together(rows: list[Unknown], found: Mapping[Key, Moves]) -> Moves:
    """What rows that are measured in one go do, by the root of the sum of squares; nothing where
    there was no steady flight to compare."""
    size = np.linalg.norm([found.get(row.key, (0.0, 0.0)) for row in rows], axis=0)
    return Moves(float(size[0]), float(size[1]))


def _acts(subject: Subject) -> Iterator[tuple[str, list[Unknown]]]:
    by_act: dict[tuple[str, str], list[Unknown]] = {}
    for row in subject.unknowns:
        if not row.what.startswith("thro"):  # an arm scatters however well it is known
            by_act.setdefault(_act(row), []).append(row)
    for (name, _), rows in by_act.items():
        if any(row.least is None or row.spread > row.least for row in rows):
            yield name, rows


def _saved(flown: Sample, lost: np.ndarray, rows: list[Unknown]) -> int:
    """How many of these cases survive with some unknowns brought down to what measuring leaves."""
    surer = {row.key: (row.least or 0.0) / row.spread for row in rows}
    return Odds(fly(drawn(flown.ready, flown.plan, lost.tolist(), surer)), lost).survived


def measure_drive(subject: Subject) -> MeasureNext:
    """What a drive's report rests on, the least sure first."""
    still = Moves(0.0, 0.0)
    told = [one for one in _acts(subject) if one[1][0].what in DRIVE]
    rows = [_row(name, rows, still, None) for name, rows in told]
    return MeasureNext(tuple(sorted(rows, key=lambda row: -row.spread)), 0, 0)


@once_for(16)
def measure_next(subject: Subject) -> MeasureNext:
    """By the launches that decide on the airframe: the same in every report. Raises ValueError
    when the airframe weighs nothing."""
    return ranked_by(subject, sample(subject))


def ranked_by(subject: Subject, flown: Sample) -> MeasureNext:
    """`flown`: launches, those lost of which are flown again."""
    told = _told(subject)
    rows = [_row(name, rows, size, None) for name, rows, size in told]
    odds = flown.odds
    lost = odds.cases[~odds.alive]
    again = lost[:LOST]
    if len(again):
        share = 100.0 * len(lost) / (odds.flown * len(again))
        able = [k for k, (_, some, _) in enumerate(told) if some[0].least is not None][:TRIED]
        for k in able:
            name, some, size = told[k]
            rows[k] = _row(name, some, size, share * _saved(flown, again, some))
        # What saves no more than chance does goes by what it moves.
        chance = TOO_FEW * 100.0 / odds.flown
        rows.sort(key=lambda row: -max(0.0, (row.launches_saved or 0.0) - chance))
    return MeasureNext(tuple(rows), odds.flown, odds.survived)


def _told(subject: Subject) -> list[tuple[str, list[Unknown], Moves]]:
    """Acts that are worth telling with what they do, what moves the balance most first."""
    trim = _steady(subject)
    acts = list(_acts(subject))
    every = [row for _, rows in acts for row in rows]
    keyed = moves(subject, every, trim) if trim else {}
    sized = [(name, rows, _together(rows, keyed)) for name, rows in acts]
    sized.sort(key=lambda one: -one[2].size)
    return [one for one in sized if one[2].size > LITTLE or one[1][0].what is What.STRENGTH]


def _row(name: str, rows: list[Unknown], size: Moves, saved: float | None) -> ToMeasure:
    first = rows[0]
    return ToMeasure(
        name=name,
        how=first.how,
        unit=first.unit,
        spread=first.spread,
        least=first.least,
        moves_balance_m=abs(size.aft),
        moves_balance_sideways_m=abs(size.right),
        launches_saved=saved,
    )
