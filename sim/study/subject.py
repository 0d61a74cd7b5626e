"""One airframe in one field, and everything a study may ask of it, worked out once.

Studies take a subject and build no model of their own, so that no two of them can differ about
the same airframe. A changed copy shares what the change leaves alone: another balance keeps the
shape, the lattice and the tables.
"""

from __future__ import annotations

from functools import cached_property

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.moved import altered
from firstthrow.sim.build.shape import Piece, SurfaceSpan, pieces, surface_spans
from firstthrow.sim.build.sticks import Mixer, mixer
from firstthrow.sim.build.weights import Balance, Part, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.speeds import (
    APPROACH,
    CRUISE,
    LEAST_THROW,
    SLOWEST_SAFE,
    held_stall_speed,
    neutral_stall_speed,
)


class Subject:
    """Asking for the model raises ValueError when the airframe weighs nothing or has too many
    sheets; so does everything that needs it."""

    def __init__(
        self, airframe: Airframe, field: Field = STANDARD, like: Subject | None = None
    ) -> None:
        """`like`: a subject whose model this one's is made from where only masses, mixing, launch
        or wind differ."""
        self.airframe, self.field = airframe, field
        self._like = like if like is not None and "model" in vars(like) else None

    def changed(self, airframe: Airframe | None = None, field: Field | None = None) -> Subject:
        """Another airframe, or another field, sharing what did not change."""
        return Subject(airframe or self.airframe, field or self.field, self)

    @cached_property
    def model(self) -> Model:
        if self._like is None:
            return build(self.airframe, self.field)
        before = (self._like.airframe, self._like.field)
        return altered(self._like.model, before, (self.airframe, self.field))

    @cached_property
    def parts(self) -> list[Part]:
        return parts(self.airframe)

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

    @cached_property
    def held_stall_speed(self) -> float | None:
        """[m/s]; None when nothing holds the pitch."""
        return held_stall_speed(self.model, self.airframe)

    @cached_property
    def neutral_stall_speed(self) -> float:
        """What the plain polar gives with the surfaces neutral: for `polar` alone [m/s]."""
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
    def approach(self) -> float:
        return APPROACH * self.stall_speed

    @property
    def cruise(self) -> float:
        return CRUISE * self.stall_speed
