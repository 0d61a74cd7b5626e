"""Who takes the sticks over from the person: simulated hands, made when they are first asked."""

from __future__ import annotations

from functools import cached_property

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import Sticks


class Relief:
    """A pilot, as `rehearsal.Rehearsal` takes one. A `model` of the same airframe and field, once
    there is one, saves building it again."""

    model: Model | None = None

    def __init__(self, airframe, field, launch: str | None, seed: int) -> None:
        self._who = airframe, field, launch, seed

    @cached_property
    def _hands(self):
        from firstthrow.sim.flight.simulated_hands import Human

        airframe, field, launch, seed = self._who
        return Human(airframe, field, launch=launch, seed=seed, model=self.model)

    def __call__(self, reading) -> Sticks:
        return self._hands(reading)
