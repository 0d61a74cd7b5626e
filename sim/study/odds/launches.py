"""Odds: many launches by simulated hands over scatter in the throw and in all that is not known.

Every case goes through the compiled derivative of the live flight (`batch`). A case is
settled by the seed and its number alone, so that the answer does not depend on cores,
batches or how many cases are asked for; different set-ups meet the same cases, which
makes their comparison sharper than either figure.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import (
    ALL_COMPLETED,
    FIRST_COMPLETED,
    Executor,
    ThreadPoolExecutor,
    wait,
)
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.deviated import Deviated, all_deviated, common, room
from firstthrow.sim.flight.outcome import ENDINGS, SURVIVING
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.skills import SKILLS, Skill, hands
from firstthrow.sim.flight.standing import on_its_feet
from firstthrow.sim.kernels import batch, integrate
from firstthrow.sim.kernels.batch import Common
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.human import HANDS
from firstthrow.sim.kernels.integrate import STEP
from firstthrow.sim.study.odds.scatter import Drawn, Scatter, Surer
from firstthrow.sim.study.subject import Subject

OUT_OF_CONTROL, STAYED = 100, 101  # beside the words of `integrate`
CAUSES = {
    **{code: ending.plain for code, ending in ENDINGS.items() if not ending.survived},
    OUT_OF_CONTROL: "out of control",
    STAYED: "did not lift off",
}
KNIFE_EDGE = 0.5 * float(np.pi)  # who has rolled past this has lost it, our assumption
CHUNK = 64  # cases a worker takes at a time, at most
FEW = 16  # that a thread takes where there are few, so that all end together


class Setup(NamedTuple):
    """One airframe in its field as it is set up, ready to be flown many times."""

    subject: Subject
    hands: np.record  # HANDS of `human`
    stall_speed: float
    lag: int  # steps between command and servo


class Plan(NamedTuple):
    scatter: Scatter
    pilot: str  # human or hands-off
    seconds: float
    seed: int
    mine: Skill | None = None  # measured hands in place of the scatter's skill

    @property
    def skill(self) -> Skill:
        """Of simulated hands."""
        return self.mine or SKILLS[self.scatter.skill]

    @property
    def skill_name(self) -> str:
        return "mine" if self.mine else self.scatter.skill


class Odds(NamedTuple):
    """results: (cases,) RESULT of `batch`; cases: (cases,) their numbers, rising."""

    results: np.ndarray
    cases: np.ndarray

    @property
    def words(self) -> np.ndarray:
        """(cases,) how each ended."""
        return words(self.results)

    @property
    def alive(self) -> np.ndarray:
        """(cases,) whether each landed in one piece or still flew in hand when time was up."""
        return np.isin(self.words, SURVIVING)

    @property
    def survived(self) -> int:
        return int(np.sum(self.alive))

    @property
    def flown(self) -> int:
        return len(self.results)

    @property
    def fraction(self) -> float:
        return self.survived / max(self.flown, 1)

    def with_more(self, more: Odds) -> Odds:
        """These cases and those that were flown after them."""
        return Odds(
            np.concatenate([self.results, more.results]), np.concatenate([self.cases, more.cases])
        )

    def interval(self) -> tuple[float, float]:
        return wilson(self.survived, self.flown)

    def causes(self) -> dict[str, int]:
        """How many were lost by each cause, most frequent first."""
        return causes(Counter(self.words.tolist()))


UNFLOWN = Odds(np.zeros(0, batch.RESULT), np.zeros(0, dtype=int))


def words(results: np.ndarray) -> np.ndarray:
    """(n,) how each of (n,) RESULT ended; what still flies but has rolled over is out of control,
    what is whole but never left the ground has not lifted off."""
    word = results["word"]
    word = np.where(results["stayed"] & np.isin(word, SURVIVING), STAYED, word)
    over = (word == integrate.FLYING) & (results["most_bank"] > KNIFE_EDGE)
    return np.where(over, OUT_OF_CONTROL, word)


def causes(ends: Mapping[int, int]) -> dict[str, int]:
    """By each cause, most frequent first, how many were lost, where so many ended in each way."""
    counts = {text: ends.get(code, 0) for code, text in CAUSES.items()}
    return dict(sorted(((k, v) for k, v in counts.items() if v), key=lambda kv: -kv[1]))


def wilson(survived: int, flown: int, z: float = 1.959963984540054) -> tuple[float, float]:
    """95 % interval of a fraction. Source: Wilson, J. Am. Stat. Assoc. 22 (1927) 209."""
    if flown == 0:
        return 0.0, 1.0
    p, n = survived / flown, flown
    centre = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z / (1 + z * z / n) * np.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return float(max(0.0, centre - half)), float(min(1.0, centre + half))


def setup(subject: Subject, plan: Plan) -> Setup:
    """As the airframe's own launch says: thrown, or off its wheels."""
    airframe = subject.airframe
    own = np.zeros(1, HANDS)[0]
    if plan.pilot == "human":
        throttle = launch_throttle(airframe)
        own = hands(plan.skill, subject.model, airframe, throttle, subject.field.heading)
    delays = [servo.delay for servo in airframe.servos.values()]
    lag = round(max(delays, default=0.0) / STEP)
    return Setup(subject, own, subject.stall_speed, lag)


class Lot(NamedTuple):
    """Cases of a set-up, drawn and ready to be flown; (n,) each."""

    ready: Setup
    frames: int
    case: np.ndarray  # CASE
    hands: np.ndarray  # HANDS
    noise: np.ndarray  # of the air, one for all where it is calm
    deviates: np.ndarray  # of the hands, one for all where they are steady
    common: Common  # what the tables of all are made from
    own: Deviated  # what is each one's own of its model

    def some(self, first: int, count: int) -> Lot:
        part = slice(first, first + count)
        return self._replace(
            case=self.case[part],
            hands=self.hands[part],
            noise=self.noise[part] if len(self.noise) > 1 else self.noise,
            deviates=self.deviates[part] if len(self.deviates) > 1 else self.deviates,
            own=Deviated(self.own.records[part], self.own.changes[part], None),
        )


def drawn(
    ready: Setup, plan: Plan, cases: Sequence[int] | np.ndarray, surer: Surer | None = None
) -> Lot:
    """Cases by their numbers, rising; with some unknowns less off by `surer`."""
    if not len(cases):
        return drawn(ready, plan, range(1), surer).some(0, 0)
    subject, first = ready.subject, int(cases[0])
    frames = round(plan.seconds * 60.0)
    rows = batch.noise_rows(frames)
    found = Drawn(
        subject.airframe,
        plan.scatter,
        ready.hands,
        plan.pilot == "human",
        plan.seed,
        first,
        int(cases[-1]) - first + 1,
        subject.unknowns,
        plan.mine,
        on_its_feet(subject.model),
    )
    if len(cases) < len(found.case):
        found.keep(np.asarray(cases) - first)
    if surer:
        found.make_surer(surer)
    noise, deviates = np.zeros((1, rows, NOISE_SIZE)), np.zeros((1, frames, 2))
    if subject.model.record.gust_wind > 0.0:
        noise = _normal(plan.seed + (1 << 32), cases, noise.shape[1:])
    if ready.hands.remnant > 0.0:
        deviates = _normal(plan.seed + (1 << 33), cases, deviates.shape[1:])
    own = all_deviated(subject.model, subject.airframe, found.offs(), len(cases))
    alike = common(subject.model, subject.airframe)
    return Lot(ready, frames, found.case, found.hands, noise, deviates, alike, own)


def fly(lot: Lot) -> np.ndarray:
    """(n,) RESULT of `batch` of each case."""
    ready, found = lot.ready, np.zeros(len(lot.case), batch.RESULT)
    subject = ready.subject
    batch.fly_cases(
        lot.common,
        lot.own.records,
        lot.own.changes,
        room(subject.model.body),
        batch.Setting(lot.frames, subject.field.heading, ready.stall_speed, ready.lag),
        lot.case,
        lot.hands,
        lot.noise,
        lot.deviates,
        batch.space(ready.lag, lot.frames),
        found,
    )
    return found


def fly_wave(lot: Lot, wave: range, threads: ThreadPoolExecutor) -> Odds:
    """Some of a lot whose cases are numbered from 0, shared out between all cores."""
    if not wave:
        return UNFLOWN
    count = -(-len(wave) // (os.cpu_count() or 1))
    parts = [lot.some(at, min(count, wave.stop - at)) for at in wave[::count]]
    return Odds(np.concatenate(list(threads.map(fly, parts))), np.arange(wave.start, wave.stop))


def fly_cases(ready: Setup, plan: Plan, first: int, count: int) -> np.ndarray:
    """(count,) RESULT of `batch` of the cases first .. first + count - 1."""
    return fly(drawn(ready, plan, range(first, first + count)))


def _normal(key: int, cases: Sequence[int] | np.ndarray, shape: tuple[int, ...]) -> np.ndarray:
    """(cases, *shape) normal deviates, each case from a stream of its own."""
    found = np.empty((len(cases), *shape))
    for k, case in enumerate(cases):
        np.random.Generator(np.random.Philox(key=[key, int(case)])).standard_normal(out=found[k])
    return found


def _chunks(runs: Iterable[range], chunk: int) -> Iterator[tuple[int, int]]:
    """First and count of the parts of every run, none longer than a chunk."""
    for run in runs:
        for first in run[::chunk]:
            yield first, min(chunk, run.stop - first)


def fly_each(
    setups: list[Setup],
    plan: Plan,
    runs: Sequence[range],
    keep: Callable[[int, int, np.ndarray], None],
    workers: int | None = None,
    pool: Executor | None = None,
) -> None:
    """Fly the cases of these runs, by number, of every set-up; Ctrl-C leaves out what is not done.

    On all cores, or by a `pool` of so many workers, which stays open; its workers may be other
    processes or machines. keep is given each lot as it comes down: which set-up, the number of
    the first, and the results, which are kept nowhere else. Chunks go round the set-ups, so that
    a run cut short has flown about as many of each.
    """
    workers = workers or os.cpu_count() or 1
    # Few are shared out between all workers.
    share = -(-sum(map(len, runs)) * len(setups) // workers)
    # To a given pool the airframe travels with every lot.
    few = share if pool else max(FEW, share // 4)
    chunk = max(1, min(CHUNK, few, share))
    jobs = ((first, count, k) for first, count in _chunks(runs, chunk) for k in range(len(setups)))
    waiting: dict = {}

    def collect(when: str) -> None:
        finished, _ = wait(waiting, return_when=when)
        for future in finished:
            first, k = waiting.pop(future)
            keep(k, first, future.result())

    fliers = pool or ThreadPoolExecutor(workers)
    try:
        for first, count, k in jobs:
            waiting[fliers.submit(fly_cases, setups[k], plan, first, count)] = (first, k)
            if len(waiting) >= 2 * workers:
                collect(FIRST_COMPLETED)
        collect(ALL_COMPLETED)
    except KeyboardInterrupt:
        waiting = {future: at for future, at in waiting.items() if not future.cancel()}
        collect(ALL_COMPLETED)  # those in the air come down first
    finally:
        if pool is None:
            fliers.shutdown(cancel_futures=True)


def run(
    setups: list[Setup],
    plan: Plan,
    cases: int,
    progress: Callable[[int], None] = lambda flown: None,
    workers: int | None = None,
    pool: Executor | None = None,
) -> list[Odds]:
    """Fly the first so many cases of every set-up, as `fly_each` does, and keep every result.

    progress is told how many more flights have come in."""
    done: list[dict[int, np.ndarray]] = [{} for _ in setups]

    def keep(k: int, first: int, results: np.ndarray) -> None:
        done[k][first] = results
        progress(len(results))

    fly_each(setups, plan, [range(cases)], keep, workers, pool)
    return [_gathered(flown) for flown in done]


def _gathered(chunks: dict[int, np.ndarray]) -> Odds:
    numbers = [np.arange(first, first + len(chunks[first])) for first in sorted(chunks)]
    results = [chunks[first] for first in sorted(chunks)]
    return Odds(
        np.concatenate([np.zeros(0, batch.RESULT), *results], dtype=batch.RESULT),
        np.concatenate([np.zeros(0, dtype=int), *numbers]),
    )
