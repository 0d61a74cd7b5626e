"""What a record itself shows of throw, air, throttle and hands, held against the plan.

The evidence for each is how much better a scatter three times as wide explains it than the usual
one, both normal (a likelihood ratio, with how usual such a slip is); all our judgement.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees, log
from typing import NamedTuple

import numpy as np

from firstthrow.sim.flight.record import Record
from firstthrow.sim.kernels.gusts import intensities
from firstthrow.sim.kernels.wind import profile
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

WIDE = 3.0  # times the usual scatter, of a slip
SLIPS = 0.03  # flights on which each of these is what was wrong
CALM = 0.4  # wind that changes by less is none [m/s]
MOMENTS = 2.0  # in which the air at the throw is its own: eddies are 3 to 20 m long there
EARLY = 1.5  # seconds after the release that a gust at the throw counts
HELD = 0.5  # stick held back at the throw
OFF = 0.3  # of height, by which it has left the ground [m]


class Circumstance(NamedTuple):
    """One thing that was not as planned; `value` in the unit of its words."""

    name: str
    log_evidence: float
    at_s: float
    value: float
    words: str

    @property
    def told(self) -> bool:
        """Whether the record speaks for it at all: how usual a slip is left aside."""
        return self.log_evidence > log(SLIPS)

    @property
    def clear(self) -> bool:
        """Whether it was so rather than not."""
        return self.log_evidence > 0.0


def _evidence(z: float) -> float:
    """Of a deviate of z usual scatters, for a slip."""
    return 0.5 * z * z * (1.0 - WIDE**-2) - log(WIDE) + log(SLIPS)


def circumstances(
    record: Record, subject: Subject, unsure: tuple[float, float] = (0.0, 0.0)
) -> tuple[Circumstance, ...]:
    """Those that speak for themselves, each with its evidence against 'as planned'; unsure: how
    far a log leaves speeds [m/s] and angles [rad]."""
    found = [*_throw(record, subject, unsure), *_air(record, subject), *_sticks(record, subject)]
    return tuple(one for one in found if one.told)


def _throw(record: Record, subject: Subject, unsure: tuple[float, float]) -> Iterator[Circumstance]:
    hand = subject.airframe.launch.hand
    if record.meta.get("launch", "hand") == "ground" or hand is None:
        return
    units = subject.airframe.units
    usual, time = Scatter(), record.column("time_s")
    row = int(np.searchsorted(time, 1e-6))
    if row >= len(time):
        return
    u, v, w = (float(record.column(f"{axis}_m_s")[row]) for axis in "uvw")
    speed = float(np.sqrt(u * u + v * v + w * w))
    if speed < hand.speed:
        yield Circumstance(
            "slow-throw",
            _evidence((hand.speed - speed) / np.hypot(usual.speed, unsure[0])),
            0.0,
            speed,
            f"thrown at {units.throw(speed)}, {units.throw(hand.speed)} planned",
        )
    pitch, bank = float(record.column("pitch_deg")[row]), float(record.column("roll_deg")[row])
    off = pitch - degrees(hand.pitch)
    how = "steeply" if off > 0.0 else "nose down"
    yield Circumstance(
        "steep-throw",
        _evidence(off / degrees(np.hypot(usual.pitch, unsure[1]))),
        0.0,
        pitch,
        f"thrown {how}, nose at {pitch:.0f} deg, {degrees(hand.pitch):.0f} deg planned",
    )
    side = "right" if bank > degrees(hand.bank) else "left"
    yield Circumstance(
        "rolled-throw",
        _evidence((bank - degrees(hand.bank)) / degrees(np.hypot(usual.bank, unsure[1]))),
        0.0,
        bank,
        f"thrown with {abs(bank):.0f} deg of bank to the {side}",
    )


def _air(record: Record, subject: Subject) -> Iterator[Circumstance]:
    """The strongest departure from the field's steady wind, against its turbulence."""
    m, time = subject.model.record, record.column("time_s")
    early = (time > 0.0) & (time <= EARLY)
    if not early.any():
        return
    height = record.column("height_m")[early]
    share = np.array([profile(h, m.roughness) for h in height.tolist()])
    off = np.column_stack(
        [
            record.column("wind_north_m_s")[early] - m.wind_north * share,
            record.column("wind_east_m_s")[early] - m.wind_east * share,
            record.column("wind_down_m_s")[early],
        ]
    )
    across, up = intensities(max(float(height.mean()), 1.0), subject.field.gusts.wind_at_6_m)
    usual = np.hypot(CALM, [across, across, up])
    z = np.sqrt(np.sum((off / usual) ** 2, axis=1))
    worst = int(np.argmax(z))
    strength = float(np.linalg.norm(off[worst]))
    # Three directions, each as wide as the others over its own scatter; the largest of as many
    # moments as are their own.
    told = 0.5 * float(z[worst]) ** 2 * (1.0 - WIDE**-2) - 3.0 * log(WIDE) - log(MOMENTS)
    yield Circumstance(
        "gust-at-release",
        told + log(SLIPS),
        float(time[early][worst]),
        strength,
        f"a gust of {subject.airframe.units.speed(strength)} met it at {time[early][worst]:.1f} s",
    )


def _on_the_roll(record: Record) -> float:
    """The most throttle that it was given until it had left the ground, or could; a stick held back
    is no slip on a tail skid."""
    height = record.column("height_m")
    flies = record.column("airspeed_m_s") > record.column("stall_speed_m_s")
    rolling = (record.column("time_s") > 0.0) & (np.cumsum(flies | (height > height[0] + OFF)) == 0)
    return float(record.column("throttle")[rolling].max(initial=0.0))


def _sticks(record: Record, subject: Subject) -> Iterator[Circumstance]:
    launch = subject.airframe.launch
    kind = record.meta.get("launch") or launch.kind
    planned = getattr(launch, kind).throttle
    time = record.column("time_s")
    early = (time > 0.0) & (time <= 0.5)
    if not early.any():
        return
    rolls = kind == "ground"
    throttle = _on_the_roll(record) if rolls else float(record.column("throttle")[early].mean())
    when = "on the roll" if rolls else "at the release"
    if subject.airframe.motors:  # on a glider the stick moves nothing
        yield Circumstance(
            "low-throttle" if throttle < planned else "high-throttle",
            _evidence((throttle - planned) / Scatter().throttle),
            0.0,
            throttle,
            f"throttle {100 * throttle:.0f} % {when}, {100 * planned:.0f} % planned",
        )
    if rolls:
        return
    back = float(record.column("stick_pitch")[early].mean())
    if back > HELD:
        yield Circumstance(
            "up-held",
            _evidence(back / 0.2),
            0.0,
            back,
            f"the pitch stick was held back by {100 * back:.0f} % at the throw",
        )
