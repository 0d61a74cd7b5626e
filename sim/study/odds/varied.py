"""Odds over one or two varied values, and the sentence that a builder takes from them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import load_airframe
from firstthrow.sim.describe.edit import get
from firstthrow.sim.describe.field import Field
from firstthrow.sim.flight.trims import balanced_at
from firstthrow.sim.study.odds import launches
from firstthrow.sim.study.odds.launches import Plan, Setup
from firstthrow.sim.study.odds.survival import WANTED
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.sweep import Vary, points

CG = "cg"  # a key of its own: the balance in % of the mean chord, all items moved together
ENOUGH = f"{100.0 * WANTED:.0f} of 100"

_WORDS = (
    (0.0, "next to none"),
    (1 / 20, "one in twenty"),
    (1 / 10, "one in ten"),
    (1 / 5, "one in five"),
    (1 / 4, "one in four"),
    (1 / 3, "one in three"),
    (1 / 2, "half"),
    (2 / 3, "two of three"),
    (3 / 4, "three of four"),
    (4 / 5, "four of five"),
    (9 / 10, "nine of ten"),
    (19 / 20, "nineteen of twenty"),
    (1.0, "nearly all"),
)


class Axis(NamedTuple):
    """One varied value: its points as numbers where they are, and where the file's own lies."""

    vary: Vary
    own: float | None

    @property
    def places(self) -> tuple[float, ...]:
        return self.vary.numbers or tuple(range(len(self.vary.values)))

    @property
    def name(self) -> str:
        return self.vary.words

    @property
    def label(self) -> str:
        if self.vary.key == CG:
            return "CG [% of mean chord]"
        return self.vary.label

    def told(self, value: float | str) -> str:
        """A value of this axis in a sentence: '14 % chord', '8 m/s'."""
        text = f"{value:.3g} {self.vary.unit}".strip() if isinstance(value, float) else value
        return f"{text} chord" if self.vary.key == CG else text


def check(varied: Sequence[Vary]) -> None:
    """Raises ValueError with a sentence for what the odds cannot be taken over."""
    if len(varied) > 2:
        raise ValueError("one or two values can be varied")
    for one in varied:
        if one.key == CG and (one.unit != "%" or one.numbers is None):
            raise ValueError("cg: wanted percent of the mean chord, such as cg=12..28%:9")
    points(varied)


def setups(
    path: Path | str, overrides: Sequence[str], varied: Sequence[Vary], plan: Plan, field: Field
) -> list[Setup]:
    """One for each of `sweep.points`. Raises ConfigError, and ValueError when it cannot fly."""
    own = Subject(load_airframe(path, overrides), field)
    if not varied:
        return [launches.setup(own, plan)]
    return [
        launches.setup(_at(path, overrides, varied, values, own), plan) for values in points(varied)
    ]


def _at(path, overrides, varied, values, own: Subject) -> Subject:
    pairs = list(zip(varied, values, strict=True))
    texts = [f"{one.key}={value}" for one, value in pairs if one.key != CG]
    airframe = load_airframe(path, [*overrides, *texts])
    for one, value in pairs:
        if one.key == CG:
            percent = float(value.removesuffix(one.unit))
            airframe = balanced_at(airframe, own.at_percent(percent))
    return own.changed(airframe)


def axes(path: Path | str, overrides: Sequence[str], varied: Sequence[Vary]) -> list[Axis]:
    """The varied values with the file's own value placed among them."""
    airframe = load_airframe(path, overrides)
    found = []
    for one in varied:
        own = None
        if one.key == CG:
            subject = Subject(airframe)
            own = subject.percent(subject.cg)
        elif one.numbers is not None:
            ends = [
                _value(load_airframe(path, [*overrides, f"{one.key}={text}"]), one.key)
                for text in (one.values[0], one.values[-1])
            ]
            own = _between(_value(airframe, one.key), ends, one.numbers)
        elif str(_value(airframe, one.key)) in one.values:
            own = float(one.values.index(str(_value(airframe, one.key))))
        found.append(Axis(one, own))
    return found


def _value(airframe: Airframe, key: str):
    return get(airframe, key.split("."))


def _between(value, ends: Sequence, numbers: Sequence[float]) -> float | None:
    """A value in SI as a number in the unit of `numbers`, whose ends are `ends` in SI."""
    if not all(isinstance(v, int | float) for v in (value, *ends)) or ends[0] == ends[1]:
        return None
    share = (value - ends[0]) / (ends[1] - ends[0])
    return float(numbers[0] + share * (numbers[-1] - numbers[0]))


def words(fraction: float) -> str:
    """A fraction as a builder says it: 'nine of ten'."""
    return min(_WORDS, key=lambda pair: abs(pair[0] - fraction))[1]


def bands(fractions: Sequence[float]) -> list[tuple[int, int]]:
    """First and last index of every run of points at which enough survive."""
    found: list[tuple[int, int]] = []
    for k, fraction in enumerate(fractions):
        if not fraction >= WANTED - 1e-9:
            continue
        if found and found[-1][1] == k - 1:
            found[-1] = (found[-1][0], k)
        else:
            found.append((k, k))
    return found


def sentence(axis: Axis, fractions: Sequence[float]) -> str:
    """'Between 14 % and 19 % chord 95 of 100 launches survive; at 25 % chord one in four.'"""
    values = axis.vary.values
    good = bands(fractions)
    if not good:
        best, worst = int(np.argmax(fractions)), int(np.argmin(fractions))
        return (
            f"Nowhere between {values[0]} and {axis.told(values[-1])} do {ENOUGH} launches "
            f"survive: at best {words(fractions[best])}, at {axis.told(values[best])}; at worst "
            f"{words(fractions[worst])}, at {axis.told(values[worst])}."
        )
    first, last = max(good, key=lambda run: run[1] - run[0])
    if (first, last) == (0, len(values) - 1):
        return (
            f"Everywhere between {values[0]} and {axis.told(values[-1])} {ENOUGH} launches "
            "or more survive."
        )
    low, high = (values[k] for k in sorted((first, last), key=lambda k: axis.places[k]))
    where = f"Between {low} and {axis.told(high)}"
    if first == last:
        where = f"At {axis.told(values[first])} only"
    outside = [k for k in (0, len(values) - 1) if not first <= k <= last]
    rest = "; ".join(f"at {axis.told(values[k])} {words(fractions[k])}" for k in outside)
    return f"{where} {ENOUGH} launches or more survive; {rest}."


def own_words(axis: Axis, fractions: Sequence[float]) -> str:
    """Where the file's own value lies among the points; empty when it is none of them."""
    if axis.own is None or axis.vary.numbers is None:
        return ""
    numbers = np.array(axis.places)
    order = np.argsort(numbers)
    if not numbers.min() - 1e-9 <= axis.own <= numbers.max() + 1e-9:
        return f"The file's own {axis.told(axis.own)} lies outside."
    here = float(np.interp(axis.own, numbers[order], np.array(fractions)[order]))
    return f"The file's own {axis.told(axis.own)}: {words(here)}."


def sentences(found: Sequence[Axis], fractions: np.ndarray) -> list[str]:
    """What a builder needs; fractions: (points of the first axis[, of the second])."""
    if len(found) == 1:
        own = own_words(found[0], fractions.tolist())
        return [sentence(found[0], fractions.tolist()), *([own] if own else [])]
    first, second = found
    last = len(second.vary.values) - 1
    near = last // 2
    if second.own is not None:
        near = int(np.argmin(np.abs(np.array(second.places) - second.own)))
    told = []
    for k in sorted({0, near, last}):
        with_it = f"With {second.name} {second.vary.values[k]}"
        told.append(f"{with_it}: {_small(sentence(first, fractions[:, k].tolist()))}")
    return told


def _small(text: str) -> str:
    return text[:1].lower() + text[1:]
