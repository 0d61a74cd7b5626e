"""How kernels are compiled, and where the compiled code is kept.

A kernel's cached machine code depends on every kernel it calls, but numba's cache watches
only the file of the outermost one. The cache folder is therefore named by a hash of all of
`sim.kernels`, so that an edit of any kernel starts a new one and old ones are swept away.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from pathlib import Path

import numba

_FLAGS = {"reassoc", "contract", "nsz", "arcp"}  # NaN and infinity keep their meaning


def _sources_hash() -> str:
    digest = hashlib.sha256()
    digest.update(f"{numba.__version__} {os.cpu_count()}".encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _cache_root() -> Path:
    """The user's cache folder; the temporary folder where that cannot be written."""
    named = os.environ.get("FIRSTTHROW_CACHE")
    if named:
        return Path(named)
    home = Path(
        os.environ.get("LOCALAPPDATA") or os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    )
    root = home / "firstthrow"
    return root if _writable(root) else Path(tempfile.gettempdir()) / "firstthrow-cache"


CACHE = _cache_root() / _sources_hash()


def cache_is_cold() -> bool:
    """True when the next first flight has to compile its kernels."""
    return not any(CACHE.rglob("*.nbc"))


def _use_cache() -> None:
    if not _writable(CACHE):
        return
    numba.config.CACHE_DIR = str(CACHE)
    for old in CACHE.parent.iterdir():
        # Another process may still be using an older one: only those a day older go.
        ours = old.is_dir() and len(old.name) == len(CACHE.name)
        if ours and old.stat().st_mtime < CACHE.stat().st_mtime - 86400:
            shutil.rmtree(old, ignore_errors=True)


_use_cache()


def kernel(function):
    """Compile `function` with the project's flags; plain Python under NUMBA_DISABLE_JIT=1."""
    return numba.njit(
        cache=True,
        fastmath=_FLAGS,
        error_model="numpy",
        nogil=True,
        boundscheck=False,
        no_cfunc_wrapper=True,
        forceinline=True,
    )(function)
