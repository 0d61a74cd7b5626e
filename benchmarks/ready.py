"""What the benchmarks fly: an airframe in trimmed flight, high up, and how it is timed."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.speeds import CRUISE, stall_speed
from firstthrow.sim.flight.trims import Untrimmed, trims
from firstthrow.sim.kernels import integrate
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.layout import SUPPLY_VOLTAGE
from firstthrow.sim.kernels.moving import moving, scratch

HEIGHT = 500.0  # [m] so that no ground effect and no landing gets in


class Cruise(NamedTuple):
    """An airframe in trimmed level flight; see `integrate.advance` for the arrays."""

    airframe: object
    field: object
    model: Model
    state: np.ndarray
    command: np.ndarray
    sticks: object


def cruise(name: str = "pantry", model: Model | None = None) -> Cruise:
    airframe = load_airframe(find("airframes", name))
    field = load_field(find("fields", "water-meadow"))
    model = model or build(airframe, field)
    trim = trims(model, airframe, [CRUISE * stall_speed(model, airframe)], ("level",))[0]
    if isinstance(trim, Untrimmed):
        raise SystemExit(f"{name}: no level flight to measure in: {trim.words(airframe.units)}")
    state = trim.state.copy()
    state[2] = -HEIGHT
    return Cruise(airframe, field, model, state, trim.command.copy(), trim.sticks)


class Stepper:
    """Flies a cruise through the kernel, `steps` ticks of h at a call, by steps of at most so many
    of them; owns its arrays."""

    def __init__(
        self, at: Cruise, steps: int, h: float = integrate.STEP, most_ticks: int = 1
    ) -> None:
        self.at, self.h, self.noise = at, h, np.zeros((steps, NOISE_SIZE))
        self.body = at.model.with_body(at.model.record.copy()).body
        self.body.record[0].most_ticks = most_ticks
        self.moving, self.scratch = moving(), scratch()
        self.moving.command[:] = at.command

    def __call__(self) -> np.ndarray:
        """The state after the steps, from the start each time."""
        body, moving = self.body, self.moving
        moving.state[:], moving.gust[:], moving.report[:] = self.at.state, 0.0, 0.0
        moving.events[:], moving.late[:], moving.before[:] = 0, 0.0, 0.0
        moving.report[SUPPLY_VOLTAGE] = body.record[0].supply_voltage
        flown = integrate.advance(body, moving, self.noise, self.h, 0.0, self.scratch)
        if flown != len(self.noise):
            raise SystemExit(f"the flight ended after {flown} steps: nothing to measure")
        return moving.state


def in_flight(at: Cruise) -> Flight:
    flight = Flight(at.airframe, at.field, model=at.model)
    flight.start_at(at.state, at.sticks)
    return flight


def interleaved(repeats: int, *works: Callable[[], object]) -> list[float]:
    """Median seconds of each, run in turns, so that a busy machine slows them alike."""
    times: list[list[float]] = [[] for _ in works]
    for work in works:
        work()
    for _ in range(repeats):
        for taken, work in zip(times, works, strict=True):
            start = time.perf_counter()
            work()
            taken.append(time.perf_counter() - start)
    return [statistics.median(taken) for taken in times]


class Line(NamedTuple):
    """One line of the table; `met` None where there is no target."""

    what: str
    value: str
    target: str
    met: bool | None
