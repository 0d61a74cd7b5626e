"""One airframe in one field, and everything a study may ask of it, worked out once.

Studies take a subject and build no model of their own, so that no two of them can differ about
the same airframe. A changed copy shares what the change leaves alone: another balance keeps the
shape, the lattice and the tables.
"""

from __future__ import annotations

from functools import cached_property, lru_cache

import numpy as np

from firstthrow.sim.build.deviated import Off, deviated
from firstthrow.sim.build.model import OWN, Model, built
from firstthrow.sim.build.moved import altered
from firstthrow.sim.build.shape import Piece, SurfaceSpan, pieces, surface_spans
from firstthrow.sim.build.sticks import Mixer, mixer
from firstthrow.sim.build.unknowns import Unknown, unknowns
from firstthrow.sim.build.weights import Balance, Part, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import fingerprint
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.modes import Mode, modes_about
from firstthrow.sim.flight.speeds import (
    APPROACH,
    CRUISE,
    LEAST_THROW,
    SLOWEST_SAFE,
    held_stall_speed,
    neutral_stall_speed,
)
from firstthrow.sim.flight.trims import Kind, Trim, Untrimmed, balanced_at, trims

WING = (
    0.5  # of the largest flat sheet's area: less is a tail or a canard (common practice, no source)
)


class Subject:
    """Asking for the model raises ValueError when the airframe weighs nothing or has too many
    sheets; so does everything that needs it."""

    def __init__(
        self,
        airframe: Airframe,
        field: Field = STANDARD,
        model: Model | None = None,
        kept_as: str = OWN,
    ) -> None:
        """`model`: that of this airframe in this field, where it has been made already; else the
        name under which it is kept (`built`)."""
        self.airframe, self.field = airframe, field
        self._kept_as = kept_as
        self._like: Subject | None = None  # whose model this one's is made from
        if model is not None:
            self.model = model

    def changed(self, airframe: Airframe | None = None, field: Field | None = None) -> Subject:
        """Another airframe, or another field, sharing what did not change."""
        found = Subject(airframe or self.airframe, field or self.field)
        found._like = self
        return found

    def balanced_at(self, aft: float) -> Subject:
        """The same with its centre of gravity there [m], all items moved together.
        Raises ValueError when there is no item to move."""
        return self.changed(balanced_at(self.airframe, aft))

    @cached_property
    def model(self) -> Model:
        like, self._like = self._like, None
        if like is None:
            return built(self.airframe, self.field, self._kept_as)
        before = (like.airframe, like.field)
        return altered(like.model, before, (self.airframe, self.field))

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        return parts(self.airframe)

    @cached_property
    def unknowns(self) -> tuple[Unknown, ...]:
        """What is not known of it."""
        return unknowns(self.airframe, self.chord)

    def deviated(self, off: Off) -> Subject:
        """The same if it is really off by so much: the file stays, the model does not. For what
        asks the model and the mixer alone, not the description."""
        return Subject(self.airframe, self.field, deviated(self.model, self.airframe, off))

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        return pieces(self.airframe)

    @cached_property
    def surfaces(self) -> tuple[SurfaceSpan, ...]:
        """Every control surface, in slot order."""
        return surface_spans(self.airframe)

    @cached_property
    def mixer(self) -> Mixer:
        return mixer(self.airframe)

    @property
    def balance(self) -> Balance:
        """Mass [kg], centre of gravity [m], inertia [kg m2], builder's frame."""
        return self.model.balance

    @property
    def mass(self) -> float:
        return float(self.balance.mass)

    @property
    def weight(self) -> float:
        """[N]"""
        return float(self.model.record.mass * self.model.record.gravity)

    @property
    def cg(self) -> float:
        """Aft of the datum [m]."""
        return float(self.balance.place[0])

    @cached_property
    def _reference(self) -> tuple[float, float, float]:
        return polar.reference(self.model)

    @property
    def wing_area(self) -> float:
        """Of the flat sheet that carries most area [m2]."""
        return self._reference[0]

    @cached_property
    def lifting_area(self) -> float:
        """Of all wings, both of a biplane: what wing loading is told by [m2]."""
        strips = self.model.strips
        flat = np.abs(strips.normal[:, 2]) > 0.5
        areas = np.bincount(strips.sheet[flat], strips.area[flat])
        return float(areas[areas >= WING * areas.max(initial=0.0)].sum())

    @property
    def chord(self) -> float:
        """Mean aerodynamic chord of the main sheet [m]."""
        return self._reference[1]

    @property
    def lead(self) -> float:
        """Leading edge of the mean chord, aft of the datum [m]."""
        return self._reference[2]

    @cached_property
    def neutral_point(self) -> float:
        """Aft of the datum [m]."""
        return polar.neutral_point(self.model)

    @property
    def margin(self) -> float:
        """Static margin, as a fraction of the mean chord."""
        return (self.neutral_point - self.cg) / self.chord

    def percent(self, aft: float) -> float:
        """A place aft of the datum [m] in percent of the mean chord from its leading edge."""
        return 100.0 * (aft - self.lead) / self.chord

    def at_percent(self, percent: float) -> float:
        """The place aft of the datum [m] of a percentage of the mean chord."""
        return self.lead + 0.01 * percent * self.chord

    def at_margin(self, margin: float) -> float:
        """Where the balance must lie aft of the datum [m] for a static margin."""
        return self.neutral_point - margin * self.chord

    @cached_property
    def held_stall_speed(self) -> float | None:
        """[m/s]; None when nothing holds the pitch."""
        return held_stall_speed(self.model, self.airframe)

    @cached_property
    def neutral_stall_speed(self) -> float:
        """What the plain polar gives with the surfaces neutral; not the one that is said [m/s]."""
        return neutral_stall_speed(self.model)

    @property
    def stall_speed(self) -> float:
        """The one that is said (see `flight.speeds`) [m/s]."""
        return self.held_stall_speed or self.neutral_stall_speed

    @property
    def least_throw(self) -> float:
        return LEAST_THROW * self.stall_speed

    @property
    def slowest_safe(self) -> float:
        return SLOWEST_SAFE * self.stall_speed

    @property
    def launch_speed(self) -> float:
        """As fast as it is thrown, or lifts off its wheels [m/s]."""
        throw = self.airframe.launch.thrown
        return throw.speed if throw else self.slowest_safe

    @property
    def approach(self) -> float:
        return APPROACH * self.stall_speed

    @property
    def cruise(self) -> float:
        return CRUISE * self.stall_speed

    @cached_property
    def glide(self) -> Trim | Untrimmed:
        """The glide at the approach speed, or why there is none."""
        return trims(self.model, self.airframe, [self.approach], (Kind.GLIDE,))[0]

    @cached_property
    def glide_modes(self) -> list[Mode]:
        """Modes about that glide. Raises ValueError where there is none."""
        glide = self.glide
        if isinstance(glide, Untrimmed):
            raise ValueError(glide.words(self.airframe.units))
        return modes_about(self.model, glide.state, glide.command)

    @cached_property
    def level(self) -> Trim | Untrimmed:
        """Level flight at the cruise, or why there is none."""
        return trims(self.model, self.airframe, [self.cruise], (Kind.LEVEL,))[0]


class _Told:
    """Equal to another that says the same, value by value."""

    __slots__ = ("airframe", "field", "print")

    def __init__(self, airframe: Airframe, field: Field) -> None:
        self.airframe, self.field = airframe, field
        self.print = fingerprint(airframe), airframe.units, fingerprint(field)

    def __hash__(self) -> int:
        return hash(self.print)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Told) and self.print == other.print


def subject_of(airframe: Airframe, field: Field = STANDARD) -> Subject:
    """The subject of a description that says the same, with all that is worked out of it already;
    a new one where none of the last few does."""
    return _kept(_Told(airframe, field))


@lru_cache(maxsize=8)
def _kept(told: _Told) -> Subject:
    return Subject(told.airframe, told.field)
