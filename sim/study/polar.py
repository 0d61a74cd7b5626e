"""The polar of a whole airframe, propeller stopped and left out: a row an angle of attack."""

from __future__ import annotations

import numpy as np

from firstthrow.sim.answer import Answer, frozen
from firstthrow.sim.build.fittings import fittings
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import spread_of
from firstthrow.sim.flight import polar as flow
from firstthrow.sim.study.subject import Subject

ALPHAS = np.arange(-180.0, 181.0)  # [deg]
LITTLE = 0.02  # coefficient of normal force below which it has no place


@frozen
class PolarRow(Answer):
    """Coefficients over the main sheet's area and mean chord, the moment about the centre of
    gravity; None for what has no value there."""

    alpha_deg: float
    CL: float
    CD: float
    Cm: float
    L_over_D: float | None
    centre_of_pressure_percent_mac: float | None


@frozen
class PartDrag(Answer):
    """A part that is no sheet, flown nose first; CD over the main sheet's area."""

    name: str
    drag_area_m2: float
    CD: float


@frozen
class PolarStudy(Answer):
    airframe: str
    trailing_edge_up_deg: float
    reference_area_m2: float
    mean_chord_m: float
    parts_CD: float  # of all that is no sheet, part of CD
    parts_CD_spread: float
    parts: tuple[PartDrag, ...]  # the largest first; what has no size in the file has none here
    polar: tuple[PolarRow, ...]


def polar_study(subject: Subject, up: float = 0.0) -> PolarStudy:
    """`up`: trailing edge of every surface that takes pitch [rad]."""
    surfaces = flow.pitch_surfaces(subject.airframe, -up)
    found = flow.polar(subject.model, np.radians(ALPHAS), surfaces)
    parts = part_drags(subject, found.area)
    whole = sum(part.CD for part in parts)
    return PolarStudy(
        airframe=subject.airframe.name,
        trailing_edge_up_deg=float(np.degrees(up)),
        reference_area_m2=found.area,
        mean_chord_m=found.chord,
        parts_CD=whole,
        parts_CD_spread=spread_of(subject.unknowns, What.PART_DRAG) * whole,
        parts=parts,
        polar=tuple(_row(found, i) for i in range(len(ALPHAS))),
    )


def part_drags(subject: Subject, area: float) -> tuple[PartDrag, ...]:
    """Mirrored parts of one name together; `area`: of the main sheet [m2]."""
    sizes: dict[str, float] = {}
    for part in fittings(subject.airframe):
        size = subject.airframe.corrections.drag * float(part.area[0])
        sizes[part.name] = sizes.get(part.name, 0.0) + size
    largest = sorted(sizes.items(), key=lambda pair: -pair[1])
    return tuple(PartDrag(name, size, size / area) for name, size in largest)


def _row(found: flow.Polar, i: int) -> PolarRow:
    lift, drag = float(found.lift[i]), float(found.drag[i])
    place = float(100.0 * found.pressure_place[i])
    return PolarRow(
        alpha_deg=round(float(np.degrees(found.alpha[i])), 6),
        CL=round(lift, 9) + 0.0,
        CD=round(drag, 9),
        Cm=round(float(found.moment[i]), 9) + 0.0,
        L_over_D=round(lift / drag, 6) + 0.0 if drag > 0.0 else None,
        centre_of_pressure_percent_mac=place if abs(found.normal[i]) > LITTLE else None,
    )
