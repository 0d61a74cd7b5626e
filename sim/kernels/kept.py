"""Where compiled code is kept between runs: a folder of the user's own, files checked when read.

Whoever can write a file here has code run by whoever reads it. The folder is therefore the
user's own, closed to everybody else and no link, or nothing is kept at all. Every file ends in
its checksum: one that was cut short or damaged is thrown away unread and compiled anew.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import re
import shutil
import stat
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import platformdirs
from numba.core.caching import FunctionCache, IndexDataCacheFile
from numba.core.runtime import rtsys

# Symbols that kept code may call, and what brings each into memory (see `compiled.apart`).
NEEDED: dict[bytes, Callable[[], object]] = {}

_DAY = 86400
_SUM = hashlib.sha256().digest_size
_OURS = re.compile(r"kernels-[0-9a-f]{16}")
_OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH


def folder_for(version: str) -> Path | None:
    """The folder for compiled code of this version, there and private; None when none can be."""
    for root in _roots():
        folder = root / f"kernels-{version}"
        if _private(root, shared=True) and _private(folder):
            _sweep(folder)
            return folder
    return None


def _roots() -> Iterator[Path]:
    """The folder that the user names, or else the user's cache, or else a temporary one."""
    named = os.environ.get("FIRSTTHROW_CACHE")
    if named:
        yield Path(named).resolve()
        return
    cache = platformdirs.user_cache_path("firstthrow", appauthor=False)
    if cache.is_absolute():  # a user without a home has none
        yield cache
    yield Path(tempfile.gettempdir()) / f"firstthrow-{_user()}"


def _user() -> int:
    return os.geteuid() if hasattr(os, "geteuid") else 0  # Windows: the folder is the user's own


def _private(folder: Path, shared: bool = False) -> bool:
    """Made if it is missing; whether it is the user's, can be written, and by nobody else.

    `shared`: a folder of the system's in which nobody can move another's files will do, too.
    """
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with contextlib.suppress(FileExistsError):
            folder.mkdir(mode=0o700)
        found = folder.lstat()
        if not stat.S_ISDIR(found.st_mode):
            return False
        if hasattr(os, "geteuid"):
            sticky = shared and found.st_mode & stat.S_ISVTX
            if found.st_uid != os.geteuid() and not (sticky and found.st_uid == 0):
                return False
            if found.st_mode & _OTHERS_WRITE and not sticky:
                return False
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _sweep(folder: Path) -> None:
    """Folders of other versions go, when they are a day older: another process may use one."""
    with contextlib.suppress(OSError):
        newest = folder.stat().st_mtime
        for old in folder.parent.iterdir():
            if _OURS.fullmatch(old.name) and old.stat().st_mtime < newest - _DAY:
                shutil.rmtree(old, ignore_errors=True)


class KeptCode(FunctionCache):
    """The compiled code of one kernel, in `numba.config.CACHE_DIR`."""

    def __init__(self, function) -> None:
        super().__init__(function)
        stamp = self._impl.locator.get_source_stamp()
        self._cache_file = _CheckedFiles(self._cache_path, self._impl.filename_base, stamp)

    def load_overload(self, sig, target_context):
        """As numba's own, but that the compiler is not made ready first: all that it can compile
        would be brought in, half a second of processor. Kept code needs the runtime alone, and
        whatever has to be compiled makes the compiler ready by itself."""
        rtsys.initialize(target_context)
        with self._guard_against_spurious_io_errors():
            return self._load_overload(sig, target_context)

    def save_overload(self, signature, compiled) -> None:
        """What cannot be kept, on a full disk say, is flown all the same."""
        with contextlib.suppress(OSError):
            super().save_overload(signature, compiled)


class _CheckedFiles(IndexDataCacheFile):
    """numba's two files of a kernel, each with its checksum at the end."""

    @contextlib.contextmanager
    def _open_for_write(self, path):
        with super()._open_for_write(path) as file:
            content = io.BytesIO()
            yield content
            file.write(content.getvalue() + hashlib.sha256(content.getvalue()).digest())

    def _load_index(self):
        return super()._load_index() if _whole(Path(self._index_path)) else {}

    def _load_data(self, name):
        if not _whole(Path(self._data_path(name))):
            raise OSError("compiled code is missing or damaged")  # which numba takes for missing
        content = Path(self._data_path(name)).read_bytes()
        for symbol, bring in NEEDED.items():
            if symbol in content:
                bring()
        return super()._load_data(name)


_told = False


def _whole(path: Path) -> bool:
    """Whether a kept file is there and as it was written; a damaged one is removed, which is
    said once."""
    global _told
    try:
        content = path.read_bytes()
        if hashlib.sha256(content[:-_SUM]).digest() == content[-_SUM:]:
            return True
    except FileNotFoundError:
        return False
    except OSError:
        pass
    if not _told:
        _told = True
        print("The compiled physics kept here is damaged: compiling it anew.", file=sys.stderr)
    with contextlib.suppress(OSError):
        if path.is_dir():
            shutil.rmtree(path)
        path.unlink(missing_ok=True)
    return False
