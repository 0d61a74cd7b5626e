"""Odds: many launches by simulated hands over scatter in throw, build, balance and air.

Every case goes through the compiled derivative of the live flight (`batch`). A case is
settled by the seed and its number alone, so that the answer does not depend on cores,
batches or how many cases are asked for; different set-ups meet the same cases, which
makes their comparison sharper than either figure.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ALL_COMPLETED, FIRST_COMPLETED, ThreadPoolExecutor, wait
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.skills import CLIMB_AIM, SKILLS, hands
from firstthrow.sim.flight.speeds import stall_speed
from firstthrow.sim.kernels import batch, integrate
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.human import HANDS_SIZE, MIND_SIZE
from firstthrow.sim.kernels.integrate import STEP
from firstthrow.sim.kernels.layout import COMMAND_SIZE, GUST_SIZE, MAX_SURFACES, REPORT_SIZE, SIZE
from firstthrow.sim.kernels.workspace import Workspace
from firstthrow.sim.study.odds.scatter import Drawn, Guesses, Scatter

OUT_OF_CONTROL = 100  # beside the words of `integrate`
CAUSES = {
    integrate.BROKE: "broke on the ground",
    integrate.FOLDED: "folded",
    integrate.STRUCK: "propeller strike",
    integrate.LEFT: "left the field",
    integrate.DIVERGED: "numbers broke down",
    OUT_OF_CONTROL: "out of control",
}
KNIFE_EDGE = 0.5 * float(np.pi)  # who has rolled past this has lost it, our assumption
CHUNK = 16  # cases a thread takes at a time


class Setup(NamedTuple):
    """One airframe as it is set up, ready to be flown many times."""

    airframe: Airframe
    model: Model
    hands: np.ndarray
    stall_speed: float
    lag: int  # steps between command and servo
    guesses: Guesses


class Plan(NamedTuple):
    field: Field
    scatter: Scatter
    pilot: str  # human or hands-off
    seconds: float
    seed: int


class Odds(NamedTuple):
    """results: (cases, RESULT_SIZE), see `batch`; cases: (cases,) their numbers, rising."""

    results: np.ndarray
    cases: np.ndarray

    @property
    def words(self) -> np.ndarray:
        """(cases,) how each ended; what still flies but has rolled over is out of control."""
        word = self.results[:, batch.WORD].astype(int)
        over = (word == integrate.FLYING) & (self.results[:, batch.MOST_BANK] > KNIFE_EDGE)
        return np.where(over, OUT_OF_CONTROL, word)

    @property
    def alive(self) -> np.ndarray:
        """(cases,) whether each landed in one piece or still flew in hand when time was up."""
        word = self.words
        return (word == integrate.FLYING) | (word == integrate.LANDED)

    @property
    def survived(self) -> int:
        return int(np.sum(self.alive))

    @property
    def flown(self) -> int:
        return len(self.results)

    @property
    def fraction(self) -> float:
        return self.survived / max(self.flown, 1)

    def interval(self) -> tuple[float, float]:
        return wilson(self.survived, self.flown)

    def causes(self) -> dict[str, int]:
        """How many were lost by each cause, most frequent first."""
        word = self.words
        counts = {text: int(np.sum(word == code)) for code, text in CAUSES.items()}
        return dict(sorted(((k, v) for k, v in counts.items() if v), key=lambda kv: -kv[1]))

    def typical(self, column: int, worst: float) -> tuple[float | None, float | None]:
        """Median of a result and what the worst tenth goes beyond; `worst` 0.1: low is bad.

        None where no flight lasted long enough to have it.
        """
        values = self.results[:, column]
        values = values[values < 1e8]
        if not len(values):
            return None, None
        return float(np.median(values)), float(np.quantile(values, worst))


def wilson(survived: int, flown: int, z: float = 1.959963984540054) -> tuple[float, float]:
    """95 % interval of a fraction. Source: Wilson, J. Am. Stat. Assoc. 22 (1927) 209."""
    if flown == 0:
        return 0.0, 1.0
    p, n = survived / flown, flown
    centre = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return float(max(0.0, centre - half)), float(min(1.0, centre + half))


def setup(airframe: Airframe, plan: Plan, base: Setup | None = None) -> Setup:
    """Raises ValueError when the airframe has no hand launch.

    base: another set-up of the same sheets and motors, whose air is used again when only
    masses or the launch differ.
    """
    if airframe.launch.hand is None:
        raise ValueError(f"{airframe.name} has no [launch.hand] in its file")
    if base is not None and _same_but_items(base.airframe, airframe):
        model = rebalanced(base.model, balance(parts(airframe)))
    else:
        model = build(airframe, plan.field)
    own = np.zeros(HANDS_SIZE)
    if plan.pilot == "human":
        throttle = airframe.launch.hand.throttle
        own = hands(SKILLS[plan.scatter.skill], model, airframe, throttle, CLIMB_AIM)
    delays = [servo.delay for servo in airframe.servos.values()]
    lag = round(max(delays, default=0.0) / STEP)
    return Setup(airframe, model, own, stall_speed(model, airframe), lag, Guesses(airframe))


def _same_but_items(one: Airframe, other: Airframe) -> bool:
    """Whether two airframes differ in their items' masses and places and the launch only."""
    ignored = {"items", "launch", "name", "about", "margin", "least_margin"}
    return all(
        getattr(one, field) == getattr(other, field)
        for field in type(one).model_fields
        if field not in ignored
    )


class _Scratch(threading.local):
    """Arrays of one thread, made once."""

    def __init__(self) -> None:
        self.space = Workspace()
        self.state, self.mind = np.zeros(SIZE), np.zeros(MIND_SIZE)
        self.command, self.gust = np.zeros(COMMAND_SIZE), np.zeros(GUST_SIZE)
        self.events, self.report = np.zeros(integrate.EVENT_SIZE), np.zeros(REPORT_SIZE)


_scratch = _Scratch()


def fly_cases(ready: Setup, plan: Plan, first: int, count: int) -> np.ndarray:
    """(count, RESULT_SIZE) of the cases first .. first + count - 1."""
    own, space = _scratch, _scratch.space
    frames = round(plan.seconds * 60.0)
    drawn = Drawn(
        ready.airframe,
        plan.scatter,
        ready.hands,
        plan.pilot == "human",
        plan.seed,
        first,
        count,
        len(ready.guesses.parts),
    )
    noise = np.zeros((batch.noise_rows(frames), NOISE_SIZE))
    past = np.zeros((ready.lag // batch.FRAME_STEPS + 2, MAX_SURFACES))
    found = np.zeros((count, batch.RESULT_SIZE))
    gusty = ready.model.record.gust_wind > 0.0
    for k in range(count):
        model = ready.model
        if drawn.parts[k].any():
            model = rebalanced(model, balance(ready.guesses.scattered(drawn.parts[k])))
        if gusty:
            key = [plan.seed + (1 << 32), first + k]
            noise = np.random.Generator(np.random.Philox(key=key)).standard_normal(noise.shape)
        batch.fly_case(
            model.record,
            model.response,
            model.plates,
            model.propellers,
            drawn.case[k],
            drawn.hands[k],
            noise,
            frames,
            plan.field.heading,
            ready.stall_speed,
            ready.lag,
            own.state,
            own.mind,
            own.command,
            past,
            own.gust,
            own.events,
            own.report,
            space.work,
            space.stream,
            space.stages,
            found[k],
        )
    return found


def _chunks(flights: int) -> Iterator[tuple[int, int]]:
    for first in range(0, flights, CHUNK):
        yield first, min(CHUNK, flights - first)


def run(
    setups: list[Setup],
    plan: Plan,
    flights: int,
    progress: Callable[[int], None] = lambda flown: None,
    workers: int | None = None,
) -> list[Odds]:
    """Fly `flights` cases of every set-up on all cores; Ctrl-C keeps what is done.

    progress is told how many more flights have come in. Chunks go round the set-ups, so
    that a run cut short has flown about as many of each.
    """
    done: list[dict[int, np.ndarray]] = [{} for _ in setups]
    jobs = ((first, count, k) for first, count in _chunks(flights) for k in range(len(setups)))
    limit = 2 * (workers or os.cpu_count() or 1)
    waiting: dict = {}
    pool = ThreadPoolExecutor(workers or os.cpu_count())
    try:
        for first, count, k in jobs:
            waiting[pool.submit(fly_cases, setups[k], plan, first, count)] = (first, k)
            if len(waiting) >= limit:
                _collect(waiting, done, progress, FIRST_COMPLETED)
        _collect(waiting, done, progress, ALL_COMPLETED)
    except KeyboardInterrupt:
        waiting = {future: at for future, at in waiting.items() if not future.cancel()}
        _collect(waiting, done, progress, ALL_COMPLETED)  # those in the air come down first
    finally:
        pool.shutdown(cancel_futures=True)
    return [_gathered(rows) for rows in done]


def _gathered(rows: dict[int, np.ndarray]) -> Odds:
    numbers = [np.arange(first, first + len(rows[first])) for first in sorted(rows)]
    results = [rows[first] for first in sorted(rows)]
    return Odds(
        np.concatenate([np.zeros((0, batch.RESULT_SIZE)), *results]),
        np.concatenate([np.zeros(0, dtype=int), *numbers]),
    )


def _collect(waiting: dict, done: list, progress: Callable[[int], None], when) -> None:
    finished, _ = wait(waiting, return_when=when)
    for future in finished:
        first, k = waiting.pop(future)
        done[k][first] = future.result()
        progress(len(done[k][first]))
