"""Values from outside the program, and how far the program is from them.

A file in `references/` holds rows: id, what, values (with `at`: the conditions they belong to),
source, sure. 'derived' and 'from memory' rows are no published values and are never called so.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np

HERE = Path(__file__).parent / "references"


def rows(name: str) -> dict[str, dict]:
    """The rows of references/NAME.toml by id; each must say where it comes from."""
    found = {row["id"]: row for row in tomllib.loads((HERE / f"{name}.toml").read_text())["check"]}
    for row in found.values():
        assert row["source"], row["id"]
        assert row["sure"], row["id"]
    return found


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
