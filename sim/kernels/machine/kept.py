"""Where compiled code is kept between runs: a folder of the user's own, files checked when read.

Whoever can write a file here has code run by whoever reads it. The folder is therefore the
user's own, closed to everybody else and no link, or nothing is kept at all. So is every file, which
ends in a checksum of what it holds and of its place: one that was cut short, damaged, or put there
for another kernel is thrown away unread and compiled anew.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import os
import re
import shutil
import stat
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import platformdirs

APART = "firstthrow_apart_"  # how the symbols begin that are brought by `compiled.apart`
_NEEDED: dict[str, Callable[[], object]] = {}  # what brings each

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


class Code(NamedTuple):
    """Machine code that stands by itself but for the C library and what stands apart."""

    symbol: str  # of what is called
    returns: str  # by it, see `compiled`
    needs: tuple[str, ...]  # symbols that it calls
    machine: bytes  # an object file


def provide(symbol: str, bring: Callable[[], object]) -> None:
    """Who brings what stands apart under a symbol, once kept code calls it."""
    _NEEDED[symbol] = bring


def bring_for(content: bytes) -> None:
    """What stands apart and is named in it."""
    for symbol, bring in _NEEDED.items():
        if symbol.encode() in content:
            bring()


@functools.cache
def target():
    """What code is loaded for; the C library's mathematics are there."""
    import llvmlite.binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    if sys.platform == "linux":
        llvm.load_library_permanently("libm.so.6")
    return llvm.Target.from_triple(llvm.get_process_triple())


@functools.cache
def _machine() -> str:
    """The processor, as far as code depends on it."""
    import llvmlite.binding as llvm

    told = f"{llvm.get_process_triple()} {llvm.get_host_cpu_name()} "
    told += llvm.get_host_cpu_features().flatten()
    return hashlib.sha256(told.encode()).hexdigest()[:8]


def _file(folder: Path, name: str) -> Path:
    return folder / f"{name}-{_machine()}.code"


def kept(folder: Path | None, name: str) -> Code | None:
    """What was kept under a name, None when there is nothing whole."""
    content = whole(_file(folder, name)) if folder is not None else None
    if content is None:
        return None
    head, _, machine = content.partition(b"\n")
    symbol, returns, needs = json.loads(head)
    return Code(symbol, returns, tuple(needs), machine)


_held: list = []  # code in memory, and what it was loaded by


def loaded(code: Code) -> int | None:
    """The address of its symbol, in memory with all that it needs; None where that is not to be
    had without numba."""
    import llvmlite.binding as llvm

    for symbol in code.needs:
        _NEEDED.get(symbol, lambda: None)()
        if llvm.address_of_symbol(symbol) is None:
            return None
    machine = target().create_target_machine()  # the engine's own: it lets go of it
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)
    engine.set_object_cache(lambda *_: None, lambda _: code.machine)
    engine.finalize_object()
    _held.append((engine, code))
    return engine.get_function_address(code.symbol)


def keep(folder: Path | None, name: str, code: Code) -> None:
    """Keep machine code; a full disk keeps nothing."""
    if folder is None or os.name != "posix":
        return
    content = json.dumps([code.symbol, code.returns, code.needs]).encode() + b"\n" + code.machine
    with contextlib.suppress(OSError):
        put(_file(folder, name), content)


def put(path: Path, content: bytes) -> None:
    """Keep it with its checksum, at once or not at all. Raises OSError."""
    own = path.with_name(f"{path.name}.{os.getpid()}-{threading.get_ident()}")
    own.unlink(missing_ok=True)  # left by one that was killed
    own.touch(mode=0o600, exist_ok=False)
    try:
        own.write_bytes(summed(path, content))
        os.replace(own, path)
    finally:
        own.unlink(missing_ok=True)


DAMAGED = "The compiled physics kept here is damaged: compiling it anew."
_told: set[str] = set()


def summed(path: Path, content: bytes) -> bytes:
    """What a file at that place is to hold: the content, and a checksum of both."""
    parts = path.parts
    version = next((n for n, part in enumerate(parts) if _OURS.fullmatch(part)), len(parts) - 2)
    place = "/".join(parts[version:]).encode()
    return content + hashlib.sha256(place + b"\n" + content).digest()


def _own(path: Path) -> bytes:
    """What a file of the user's own holds. Raises OSError for anything else."""
    how = ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY")  # no link, no pipe that is waited for
    number = os.open(path, os.O_RDONLY | sum(getattr(os, name, 0) for name in how))
    try:
        found = os.fstat(number)
        theirs = hasattr(os, "geteuid") and (
            found.st_uid != os.geteuid() or found.st_mode & _OTHERS_WRITE
        )
        if theirs or not stat.S_ISREG(found.st_mode):
            raise PermissionError(f"{path}: is not the user's own file")
        with open(number, "rb", closefd=False) as file:
            return file.read()
    finally:
        os.close(number)


def whole(path: Path, damaged: str = DAMAGED) -> bytes | None:
    """What a kept file holds, if it is there as it was written; what else is there is removed,
    which is said once."""
    try:
        found = _own(path)
        content = found[:-_SUM]
        if summed(path, content) == found:
            return content
    except FileNotFoundError:
        return None
    except OSError:
        pass
    if damaged not in _told:
        _told.add(damaged)
        print(damaged, file=sys.stderr)
    with contextlib.suppress(OSError):
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
        path.unlink(missing_ok=True)
    return None
