"""All checks, by subject, and how they are run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from types import ModuleType

import numpy as np

from firstthrow.sim.proof import (
    air,
    apparent,
    around,
    gusts,
    hinges,
    lattice,
    linkage,
    low_aspect,
    materials,
    modes,
    motor,
    parts,
    plate,
    propeller,
    propeller_spread,
    rigid_body,
    slipping,
    tumbling,
)
from firstthrow.sim.proof.check import Check, Curve, Proved

SUBJECTS: dict[str, ModuleType] = {
    "Flat plates": plate,
    "Attached flow": lattice,
    "Low aspect ratio": low_aspect,
    "Plates in slip and stall": slipping,
    "Hinge moments": hinges,
    "Air dragged along": apparent,
    "Air, stream, arm, hands": around,
    "Propellers": propeller,
    "How sure propellers are": propeller_spread,
    "Motor and pack": motor,
    "Gusts and ground": gusts,
    "Falling plates": tumbling,
    "Rigid bodies": rigid_body,
    "Natural modes": modes,
    "Air": air,
    "Linkages": linkage,
    "Materials": materials,
    "Parts and counts": parts,
}


def checks() -> list[tuple[str, Check]]:
    """Every check with its subject."""
    return [(subject, check) for subject, module in SUBJECTS.items() for check in module.CHECKS]


def curves(subject: str) -> Sequence[Curve]:
    """The plots of a subject."""
    return getattr(SUBJECTS[subject], "CURVES", ())


@cache
def run(subject: str, check: Check) -> Proved:
    """One check worked out, once. Raises ValueError for one that does not answer value by value."""
    ours = tuple(float(value) for value in np.ravel(check.ours()))
    if len(ours) != len(check.outside):
        raise ValueError(f"{check.name}: {len(check.outside)} values, {len(ours)} worked out")
    return Proved(subject, check, ours)


def run_all(told: Callable[[str], None] = lambda _: None) -> list[Proved]:
    """All of them, the furthest off first, for what is allowed; `told` hears each subject."""
    found, before = [], ""
    for subject, check in checks():
        if subject != before:
            told(subject)
        before = subject
        found.append(run(subject, check))
    return sorted(found, key=lambda one: -float(np.abs(one.gaps).max()))
