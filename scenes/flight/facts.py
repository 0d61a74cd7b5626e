"""What the words and the pictures need to know of an airframe, in the units they show."""

from __future__ import annotations

import math
from typing import NamedTuple

from firstthrow.sim.build.shape import SurfaceSpan, surface_spans
from firstthrow.sim.build.straight import Straight
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.study.advice.slips import slips
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import mah


class Facts(NamedTuple):
    """What the words need to know of the airframe, once."""

    name: str
    kind: str  # "hand" or "ground"
    motors: tuple[str, ...]
    surfaces: tuple[SurfaceSpan, ...]
    capacity_mAh: float
    cutoff_V: float  # whole pack
    launch_throttle: float
    supply_V: float = 0.0  # of receiver and servos, as built
    reflex: float = 0.0  # [deg] trailing edges up with the sticks let go
    units: Units = METRIC  # the builder's own
    behind: float = 0.0  # [m] the balance lies behind the neutral point; negative ahead of it
    slips: tuple[str, ...] = ()  # values of the file that are hardly meant


def facts_of(
    airframe, launch: str | None, subject: Subject | None = None, straight: Straight | None = None
) -> Facts:
    """What the instruments need to know of an airframe, in the units they show; how it balances is
    known from a `subject` only, and what reflex channels that go `straight` to the servos ought to
    bring from there."""
    kind = launch or airframe.launch.kind
    return Facts(
        name=airframe.name,
        kind=kind,
        motors=tuple(airframe.motors),
        surfaces=surface_spans(airframe),
        capacity_mAh=mah(airframe.pack.capacity),
        cutoff_V=airframe.controller.cutoff * airframe.pack.cells,
        launch_throttle=getattr(airframe.launch, kind).throttle,
        supply_V=airframe.controller.supply,
        reflex=math.degrees((straight or airframe.mixing).reflex),
        units=airframe.units,
        behind=subject.cg - subject.neutral_point if subject else 0.0,
        slips=slips(airframe) if subject else (),
    )


def surface_angles(reading, facts: Facts) -> tuple[float, ...]:
    """Degrees, in slot order."""
    return tuple(getattr(reading, f"surface_{surface.name}_deg") for surface in facts.surfaces)
