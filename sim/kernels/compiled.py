"""How kernels are compiled, and which compiled code is kept for them.

A kernel's cached machine code depends on every kernel it calls, but numba's cache watches
only the file of the outermost one. The cache folder is therefore named by a hash of all of
`sim.kernels`, so that an edit of any kernel starts a new one and old ones are swept away.
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import numba

from firstthrow.sim.kernels.kept import KeptCode, folder_for

_FLAGS = {"reassoc", "contract", "nsz", "arcp"}  # NaN and infinity keep their meaning


def _sources_hash() -> str:
    digest = hashlib.sha256()
    digest.update(f"{numba.__version__} {os.cpu_count()}".encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


CACHE = folder_for(_sources_hash())
if CACHE:
    numba.config.CACHE_DIR = str(CACHE)


def cache_is_cold() -> bool:
    """True when the next first flight has to compile its kernels."""
    return CACHE is None or not any(CACHE.rglob("*.nbc"))


def _compile(function, **how):
    compiled = numba.njit(
        fastmath=_FLAGS,
        error_model="numpy",
        nogil=True,
        boundscheck=False,
        no_cfunc_wrapper=True,
        **how,
    )(function)
    if CACHE and compiled is not function:
        compiled._cache = KeptCode(function)
    return compiled


def kernel(function):
    """Compile `function` with the project's flags, and into all that call it; plain Python under
    NUMBA_DISABLE_JIT=1."""
    return _compile(function, forceinline=True)


def called(function):
    """The same for what is large and called from several places: not copied into them."""
    return _compile(function)


def woven(function):
    """The same for what is small and calls what is large: its source goes into its callers, so
    that the large is not gone through once more on its account."""
    return _compile(function, inline="always")
