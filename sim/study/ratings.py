"""A value against its rating: what there is of it, and the word for that."""

from __future__ import annotations

from enum import StrEnum
from typing import ClassVar

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.controller import bears_for
from firstthrow.sim.describe.drive import Controller

TIGHT = 0.8  # share of a rating beyond which there is little left, common practice


class Fit(StrEnum):
    OK = "ok"
    TIGHT = "tight"
    OVER = "over"


@frozen
class Rating(Answer):
    """In amperes or in volts."""

    left_out_when_none: ClassVar = frozenset({"value_A", "limit_A", "value_V", "limit_V"})

    what: str
    value_A: float | None
    limit_A: float | None
    value_V: float | None
    limit_V: float | None
    share: float
    verdict: Fit

    @property
    def unit(self) -> str:
        return "V" if self.value_A is None else "A"

    @property
    def value(self) -> float:
        value = self.value_V if self.value_A is None else self.value_A
        assert value is not None, "one of the two is there"
        return value

    @property
    def limit(self) -> float:
        limit = self.limit_V if self.limit_A is None else self.limit_A
        assert limit is not None, "one of the two is there"
        return limit


@frozen
class Overload(Answer):
    """A controller over its rating at full throttle, standing still; by which rule it gives up,
    see `kernels.drive`."""

    current_A: float  # of a motor, if nothing limited it
    over_percent: float
    lasts_s: float | None  # cool, until it burns or cuts out; None for one that limits

    @property
    def words(self) -> str:
        if self.lasts_s is None:
            return "full throttle would overload the controller, which takes off throttle itself"
        return (
            f"at full throttle standing still the controller is {self.over_percent:.0f} % over its "
            f"rating: it bears that for about {self.lasts_s:.0f} s, then burns or cuts out "
            "(common practice)"
        )


def overload(controller: Controller, current: float) -> Overload | None:
    """Of a motor's current; None within the rating."""
    if current <= controller.limit:
        return None
    lasts = None if controller.limits_current else bears_for(controller, current)
    return Overload(current, 100.0 * (current / controller.limit - 1.0), lasts)


def fit(share: float) -> Fit:
    """Of a share of a rating."""
    return Fit.OVER if share > 1.0 else Fit.TIGHT if share > TIGHT else Fit.OK


def amperes(what: str, value: float, limit: float) -> Rating:
    share = value / limit
    return Rating(what, value, limit, None, None, share, fit(share))


def volts(what: str, value: float, limit: float) -> Rating:
    share = value / limit
    return Rating(what, None, None, value, limit, share, fit(share))
