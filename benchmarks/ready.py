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
from firstthrow.sim.flight.trims import trims
from firstthrow.sim.kernels import integrate
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.layout import COMMAND_SIZE, GUST_SIZE, REPORT_SIZE
from firstthrow.sim.kernels.workspace import Workspace

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
    if trim.reason:
        raise SystemExit(f"{name}: no level flight to measure in: {trim.reason}")
    state = trim.state.copy()
    state[2] = -HEIGHT
    return Cruise(airframe, field, model, state, trim.command.copy(), trim.sticks)


class Stepper:
    """Flies a cruise through the kernel, `steps` steps of h at a call; owns its arrays."""

    def __init__(self, at: Cruise, steps: int, h: float = integrate.STEP) -> None:
        self.at, self.steps, self.h = at, steps, h
        self.space, self.state = Workspace(), at.state.copy()
        self.command = np.zeros(COMMAND_SIZE)
        self.command[:] = at.command
        self.gust, self.events = np.zeros(GUST_SIZE), np.zeros(integrate.EVENT_SIZE)
        self.report, self.noise = np.zeros(REPORT_SIZE), np.zeros((steps, NOISE_SIZE))
        self.report[:] = 0.0

    def __call__(self) -> np.ndarray:
        """The state after the steps, from the start each time."""
        m, space = self.at.model, self.space
        self.state[:], self.events[:], self.gust[:] = self.at.state, 0.0, 0.0
        self.report[:] = 0.0
        self.report[integrate.SUPPLY_VOLTAGE] = m.record.supply_voltage
        flown = integrate.advance(
            m.record,
            m.response,
            m.plates,
            m.propellers,
            self.state,
            self.command,
            self.gust,
            self.noise,
            self.steps,
            self.h,
            0.0,
            self.events,
            self.report,
            space.work,
            space.stream,
            space.stages,
        )
        if flown != self.steps:
            raise SystemExit(f"the flight ended after {flown} steps: nothing to measure")
        return self.state


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
