"""Values held against one another, and the published ones by name."""

from __future__ import annotations

from types import ModuleType

import numpy as np

from firstthrow.sim.proof.check import Check

LLVM = 22  # that wrote the kernels that are shipped: an older one does not read them


def named(module: ModuleType) -> dict[str, Check]:
    """The checks of a file of `sim/proof` by name."""
    return {check.name: check for check in module.CHECKS}


def compare(what: str, wanted, found, relative: float = 0.0, absolute: float = 0.0) -> None:
    """Print every gap, then hold all of them to relative * |wanted| + absolute."""
    wanted, found = np.broadcast_arrays(np.asarray(wanted, float), np.asarray(found, float))
    allowed = relative * np.abs(wanted) + absolute
    gap = found - wanted
    for n, (want, have) in enumerate(zip(wanted.ravel(), found.ravel(), strict=True)):
        share = f" = {100.0 * (have / want - 1.0):+.2f} %" if want else ""
        print(f"{what}[{n}]: {want:.6g} wanted, {have:.6g} found: {have - want:+.3g}{share}")
    assert np.all(np.isfinite(found)), what
    worst = np.unravel_index(np.argmax(np.abs(gap) - allowed), gap.shape)
    assert np.all(np.abs(gap) <= allowed), (
        f"{what}: {wanted[worst]:.6g} wanted, {found[worst]:.6g} found, "
        f"{allowed[worst]:.3g} allowed"
    )
