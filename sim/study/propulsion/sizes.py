"""Propellers other than the fitted one on an airframe's own drive, and what each gives."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.drive_at_rest import (
    Running,
    equilibrium,
    refitted,
    unlimited,
)
from firstthrow.sim.study.power import (
    Level,
    Propellers,
    Size,
    Wanted,
    fastest,
)
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import INCH

# Sizes in shops, diameter and pitch in inches. Common practice, no source.
SIZES = (
    (5, 3),
    (5, 4.5),
    (6, 3),
    (6, 4),
    (7, 3.5),
    (7, 4),
    (7, 5),
    (7, 6),
    (8, 3.8),
    (8, 4),
    (8, 6),
    (9, 4.7),
    (9, 5),
    (9, 6),
    (10, 4.7),
    (10, 5),
    (10, 7),
    (11, 4.7),
    (11, 5.5),
    (11, 7),
    (12, 6),
    (12, 8),
    (13, 4),
    (13, 6.5),
    (13, 8),
    (14, 7),
    (14, 8.5),
    (15, 6),
    (15, 8),
    (16, 6),
    (16, 8),
    (17, 8),
    (17, 10),
    (18, 6),
    (18, 8),
    (18, 10),
    (19, 10),
    (20, 8),
    (20, 10),
    (22, 10),
)
NEAR = 0.35  # of the diameter: sizes further off are not tried


class Choice(NamedTuple):
    """One propeller size on the airframe's own drive."""

    size: tuple[float, float]  # [m]
    static: Running  # at full throttle
    fits: bool  # within the current limits
    fastest: float | None  # level, at full throttle [m/s]


def near_sizes(airframe: Airframe) -> list[tuple[float, float]]:
    """Shop sizes [m] near the fitted one, itself left out."""
    own = next(iter(airframe.motors.values())).propeller.size
    sizes = [(d * INCH, p * INCH) for d, p in SIZES]
    return [
        s for s in sizes if abs(s[0] / own[0] - 1.0) < NEAR and not np.allclose(s, own, atol=0.002)
    ]


def size_name(size: tuple[float, float]) -> str:
    return f"{size[0] / INCH:.3g}x{size[1] / INCH:.3g} in"


def with_motor(airframe: Airframe, **changes) -> Airframe:
    """The same with every motor changed."""
    motors = {n: m.model_copy(update=changes) for n, m in airframe.motors.items()}
    return airframe.model_copy(update={"motors": motors})


def with_propeller(airframe: Airframe, **changes) -> Airframe:
    """The same with every propeller changed."""
    motors = {
        name: motor.model_copy(update={"propeller": motor.propeller.model_copy(update=changes)})
        for name, motor in airframe.motors.items()
    }
    return airframe.model_copy(update={"motors": motors})


def with_pack(airframe: Airframe, **changes) -> Airframe:
    return airframe.model_copy(update={"pack": airframe.pack.model_copy(update=changes)})


def with_size(airframe: Airframe, size: tuple[float, float]) -> Airframe:
    """Another propeller size; its blades as wide and thick for its diameter as the fitted one's,
    its mass with the cube of it. Common practice, no source."""
    blade = next(iter(airframe.motors.values())).propeller
    grown = size[0] / blade.size[0]
    return with_propeller(
        airframe,
        size=size,
        mass=blade.mass * grown**3,
        blade_width=blade.blade_width * grown,
        blade_thickness=blade.blade_thickness * grown,
    )


def choices(subject: Subject, level: Level | None = None) -> list[Choice]:
    """Every near shop size and the fitted one at full throttle; `level` gives the fastest level
    speed, with the drag of the fitted one's trims."""
    airframe = subject.airframe
    own = next(iter(airframe.motors.values())).propeller.size
    found = []
    for size in sorted([own, *near_sizes(airframe)]):
        fitted = refitted(subject.model, with_size(airframe, size))
        static = equilibrium(unlimited(fitted), 1.0)
        speed = fastest(fitted, level, level.speed) if level else None
        found.append(Choice(size, static, within_limits(airframe, static), speed))
    return found


def within_limits(airframe: Airframe, running: Running) -> bool:
    motor = min(m.limit for m in airframe.motors.values())
    return (
        running.motor_current <= min(motor, airframe.controller.limit)
        and running.pack_current <= airframe.pack.limit
    )


def best_choice(
    found: list[Choice], thrust: float | None = None, speed: float | None = None
) -> Choice | None:
    """The size of least current that gives the wanted static thrust [N] and level speed [m/s]
    within the limits; None when there is none."""
    able = [
        c
        for c in found
        if c.fits
        and (thrust is None or c.static.thrust >= thrust)
        and (speed is None or (c.fastest is not None and c.fastest >= speed))
    ]
    return min(able, key=lambda c: c.static.pack_current) if able else None


def propellers(subject: Subject, level: Level | None, wanted: Wanted) -> Propellers:
    """Sizes near the fitted one, and which of them gives what is wanted."""
    found = choices(subject, level)
    best = best_choice(found, wanted.thrust_N, wanted.speed_m_s)
    return Propellers(
        wanted=wanted,
        best=best and size_name(best.size),
        sizes=tuple(
            Size(
                size=size_name(choice.size),
                thrust_N=choice.static.thrust,
                current_A=choice.static.motor_current,
                fastest_level_m_s=choice.fastest,
                within_limits=choice.fits,
            )
            for choice in found
        ),
    )
