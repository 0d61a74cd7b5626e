"""The cache of compiled kernels: named by all that they are made of, private, and checked."""

from __future__ import annotations

import errno
import os
import pickle
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import numba
import numpy as np
import pytest

from firstthrow.sim.kernels import compiled
from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.machine import calls, kept
from firstthrow.sim.kernels.machine.by_numba import KeptKernel
from firstthrow.sim.kernels.parameters import record_type

ROOT = Path(__file__).parents[2]


def cache_of(root: Path, **environment: str) -> Path | None:
    run = subprocess.run(
        [sys.executable, "-c", "from firstthrow.sim.kernels.compiled import CACHE; print(CACHE)"],
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(root), **environment},
    )
    return None if run.stdout.strip() == "None" else Path(run.stdout.strip())


def test_any_kernel_file_names_the_cache(tmp_path):
    """A changed callee must not meet the compiled code of an unchanged caller."""
    copy = tmp_path / "firstthrow" / "sim"
    shutil.copytree(ROOT / "sim", copy, ignore=shutil.ignore_patterns("__pycache__"))
    folder = str(tmp_path / "kept")
    before = cache_of(tmp_path, FIRSTTHROW_CACHE=folder)
    assert before == cache_of(tmp_path, FIRSTTHROW_CACHE=folder)
    assert before.parent == Path(folder)
    with (copy / "kernels" / "plate.py").open("a", encoding="utf-8") as file:
        file.write("# changed\n")
    assert cache_of(tmp_path, FIRSTTHROW_CACHE=folder) != before


@pytest.fixture
def places(tmp_path, monkeypatch):
    """A user's cache and a temporary folder to try with: (cache, temporary)."""
    home, temporary = tmp_path / "home", tmp_path / "tmp"
    temporary.mkdir()
    for name in ("FIRSTTHROW_CACHE", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(home))
    monkeypatch.setattr(kept.tempfile, "tempdir", str(temporary))
    return home / "firstthrow", temporary / f"firstthrow-{os.geteuid()}"


VERSION = "0123456789abcdef"


def test_the_users_own_folder_is_closed_to_others(places):
    found = kept.folder_for(VERSION)
    assert found == places[0] / f"kernels-{VERSION}"
    for folder in (found, found.parent):
        assert folder.stat().st_mode & 0o777 == 0o700


def test_a_home_that_cannot_be_written(places):
    """Then a folder of the user's own in the temporary one serves."""
    places[0].parent.write_text("not a folder")
    found = kept.folder_for(VERSION)
    assert found.parent == places[1]
    assert found.parent.stat().st_mode & 0o777 == 0o700


def test_a_folder_that_others_can_write_is_not_used(places):
    """Somebody may have put code there that would be run."""
    places[0].parent.write_text("not a folder")
    places[1].mkdir()
    places[1].chmod(0o777)
    assert kept.folder_for(VERSION) is None
    places[1].chmod(0o700)
    inner = places[1] / f"kernels-{VERSION}"
    inner.mkdir()
    inner.chmod(0o770)
    assert kept.folder_for(VERSION) is None
    inner.chmod(0o700)
    assert kept.folder_for(VERSION) == inner


def test_a_folder_of_somebody_else_is_not_used(places, monkeypatch):
    found = kept.folder_for(VERSION)
    assert found
    other = os.geteuid() + 1
    monkeypatch.setattr(kept.os, "geteuid", lambda: other)
    places[0].parent.joinpath("elsewhere").mkdir()
    assert kept.folder_for(VERSION) is None


def test_a_link_is_not_followed(places, tmp_path):
    places[0].parent.write_text("not a folder")
    (tmp_path / "theirs").mkdir(mode=0o700)
    places[1].symlink_to(tmp_path / "theirs")
    assert kept.folder_for(VERSION) is None


def test_only_folders_of_ours_are_swept(places, monkeypatch, tmp_path):
    """A user may name a folder that holds other things."""
    own, old = tmp_path / "sixteen-letters-", tmp_path / "kernels-fedcba9876543210"
    for folder in (own, old):
        folder.mkdir()
        os.utime(folder, (0, 0))
    monkeypatch.setenv("FIRSTTHROW_CACHE", str(tmp_path))
    assert kept.folder_for(VERSION).parent == tmp_path
    assert own.exists()
    assert not old.exists()


def half(number):
    return 0.5 * number


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """Runs `half` as in a fresh process: (the answer, whether it was kept, what was said)."""
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path / "kept"))

    def run():
        monkeypatch.setattr(kept, "_told", set())
        made = numba.njit(half)
        made._cache = KeptKernel(half)
        answer = made(3.0)
        return answer, sum(made.stats.cache_hits.values()) == 1, capsys.readouterr().err

    return run


class Crafted:
    """What runs code of its own when it is unpickled."""

    def __init__(self, proof: Path) -> None:
        self.proof = proof

    def __reduce__(self):
        return (Path.touch, (self.proof,))


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:100])


def flip(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


def linked(path: Path) -> None:
    """To the very same, where others may change it."""
    aside = path.parent.parent / "aside"
    os.replace(path, aside)
    path.symlink_to(aside)


SAID = "The compiled physics kept here is damaged: compiling it anew.\n"


def spoilt(proof: Path) -> tuple:
    """Ways to damage a file, the last so that `proof` would appear were it unpickled."""
    return (
        lambda path: path.write_bytes(b""),
        cut,
        flip,
        lambda path: path.write_bytes(b"garbage " * 100),
        lambda path: path.write_bytes(pickle.dumps(Crafted(proof))),
    )


def test_a_damaged_cache_heals(run, tmp_path):
    """Empty, cut short, one bit wrong, garbage, crafted, a folder, a link, open to others:
    compiled anew, said once."""
    folder, proof = tmp_path / "kept", tmp_path / "proof"
    assert run() == (1.5, False, "")
    assert run() == (1.5, True, "")
    ways = (
        *spoilt(proof),
        lambda path: (path.unlink(), path.mkdir()),
        linked,
        lambda path: path.chmod(0o666),
    )
    for pattern in ("*.nbi", "*.nbc"):
        for way in ways:
            (path,) = folder.rglob(pattern)
            way(path)
            assert run() == (1.5, False, SAID)
            assert run() == (1.5, True, "")
    path.unlink()  # gone is not damaged
    assert run() == (1.5, False, "")
    assert not proof.exists()


def halved(row):
    return 0.5 * row[0]


def raised(row):
    return row[0] + 1.0


@pytest.fixture
def fresh(tmp_path, monkeypatch, capsys):
    """Runs a kernel as in a fresh process: (the answer, whether its code was kept, what was
    said); and the folder where it is kept."""
    folder = tmp_path / f"kernels-{VERSION}"
    folder.mkdir(mode=0o700)
    monkeypatch.setattr(compiled, "CACHE", folder)
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(folder))

    def run(function):
        monkeypatch.setattr(kept, "_told", set())
        made = compiled.Kernel(function, {})
        answer = made(np.array([3.0]))
        return answer, "dispatcher" not in vars(made), capsys.readouterr().err

    return run, folder


def test_kept_machine_code_is_run_only_where_it_was_kept(fresh, tmp_path, monkeypatch):
    """Empty, cut short, one bit wrong, garbage, crafted, another kernel's, another version's, a
    folder, a link, a pipe, open to others, somebody else's: thrown away, said once."""
    run, folder = fresh
    assert run(halved) == (1.5, False, "")
    assert run(halved) == (1.5, True, "")
    assert run(raised) == (4.0, False, "")
    (code,), (other,) = (folder.glob(f"*.{name}-*.code") for name in ("halved", "raised"))
    assert {path.stat().st_mode & 0o777 for path in folder.rglob("*.*")} == {0o600}
    sound, proof = code.read_bytes()[:-32], tmp_path / "proof"
    elsewhere = tmp_path / "kernels-fedcba9876543210" / code.name
    ways = (
        *spoilt(proof),
        lambda path: path.write_bytes(other.read_bytes()),
        lambda path: path.write_bytes(kept.summed(elsewhere, sound)),
        lambda path: (path.unlink(), path.mkdir()),
        linked,
        lambda path: (path.unlink(), path.symlink_to(tmp_path)),
        lambda path: (path.unlink(), os.mkfifo(path)),
        lambda path: path.chmod(0o660),
    )
    for number, way in enumerate(ways):
        way(code)
        assert run(halved) == (1.5, False, SAID), number
        assert run(halved) == (1.5, True, ""), number
    with monkeypatch.context() as somebody:
        mine = os.geteuid()
        somebody.setattr(kept.os, "geteuid", lambda: mine + 1)
        assert run(halved) == (1.5, False, SAID)
    assert not proof.exists()
    assert tmp_path.is_dir()


def test_what_numba_unpickles_lies_in_the_folder_that_was_checked(tmp_path):
    """It keeps what kernels are compiled from as pickles: only there, and nowhere where no folder
    is the user's own."""
    script = tmp_path / "script.py"
    script.write_text(UNPICKLES, encoding="utf-8")
    own = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}

    def told(**more: str) -> list[str]:
        run = [sys.executable, str(script)]
        return subprocess.check_output(run, env=own | more, cwd=tmp_path, text=True).split()

    safe = tmp_path / "safe"
    for _ in range(2):
        kinds = told(FIRSTTHROW_CACHE=str(safe), NUMBA_CACHE_DIR=str(tmp_path / "theirs"))
        assert kinds[0] == "1.5"
        (folder,) = safe.iterdir()
        assert all(Path(place).is_relative_to(folder) for place in kinds[1:]), kinds
    assert len(kinds) > 1  # the second time something was kept
    safe.chmod(0o777)
    assert told(FIRSTTHROW_CACHE=str(safe), NUMBA_CACHE_DIR=str(tmp_path / "theirs")) == ["1.5"]
    assert not (tmp_path / "theirs").exists()
    assert not list(tmp_path.glob("__pycache__/*.nb?"))


UNPICKLES = """
import os
import sys
import numba
import numpy as np
from firstthrow.sim.kernels.compiled import kernel

opened = []
def hook(event, arguments):
    if event == "open" and str(arguments[0]).endswith((".nbi", ".nbc")):
        opened.append(str(arguments[0]))
sys.addaudithook(hook)

@kernel
def halved(row):
    return 0.5 * row[0]

halved.dispatcher.compile((numba.float64[::1],))
print(halved(np.array([3.0])), *opened)
"""


def test_integers_of_few_bits_count_as_any_other():
    """By themselves and beside arrays: none goes round at its end."""
    few = np.int8(100), np.int32(2**30)
    assert product(*few) == product.py_func(*map(int, few)) == 100 * 2**30
    assert added(np.array([1.0]), *few) == added.py_func(np.array([1.0]), *map(int, few))
    assert len(added.signatures) == 1
    assert added(np.array([1.0]), 2**40, np.uint8(2)) == 2**41 + 1.0
    assert len(added.signatures) == 1


@kernel
def product(one, other):
    return one * other


@kernel
def added(row, one, other):
    return row[0] + one * other


def test_types_of_records_from_other_processes_are_not_gathered():
    """Each brings a type of its own, which says the same."""
    record = np.zeros(1, record_type([("first", "f8"), ("count", "i8")]))
    sent = pickle.dumps(record)
    assert len({calls.kind(pickle.loads(sent)) for _ in range(500)}) == 1
    assert len(calls._KNOWN) <= 100


def test_what_stands_apart_is_told_by_its_place_as_well():
    """Two of one name in two files."""

    def named(module: str) -> str:
        def twice(row):
            row[0] *= 2.0

        twice.__module__ = module
        return compiled.apart(lambda: (np.zeros(1),))(twice)[1]._symbol

    assert named("one") != named("other")


def test_code_that_cannot_be_kept_is_run_all_the_same(run, tmp_path, monkeypatch):
    """As on a full disk."""

    def full(*paths):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr(os, "replace", full)
        assert run() == (1.5, False, "")
    assert not list((tmp_path / "kept").rglob("*.nb?"))
    assert run() == (1.5, False, "")
    assert run() == (1.5, True, "")


APART = """
import sys
import numpy as np
from firstthrow.sim.kernels.compiled import apart, kernel

@apart(lambda: (np.zeros(1), 0.0))
def twice(row, number):
    row[0] += 2.0 * number

twice, twice_of = twice

@kernel
def caller(row, number):
    twice_of(row, number)
    return row[0] + 1.0, row.shape[0] == 2

print(*caller(np.array([0.5, 0.0]), 3.0), "numba" in sys.modules)
"""


def test_what_stands_apart_is_there_before_its_callers(tmp_path):
    """Compiled, from what is kept, and where of the two only the caller is still kept, by numba
    or at all. numba is loaded only where something is compiled."""
    script = tmp_path / "script.py"
    script.write_text(APART, encoding="utf-8")
    path = os.pathsep.join(sys.path)
    own = {"FIRSTTHROW_CACHE": str(tmp_path / "kept"), "PYTHONPATH": path}

    def told() -> str:
        run = [sys.executable, str(script)]
        return subprocess.check_output(run, env={**os.environ, **own}, text=True).strip()

    assert told() == "7.5 True True"
    assert told() == "7.5 True False"
    for pattern in ("*.twice-*.code", "*.caller-*.code", "*.twice-*"):
        files = list(tmp_path.rglob(pattern))
        assert files
        for file in files:
            file.unlink()
        assert told() == "7.5 True True"
        assert told() == "7.5 True False"
    (caller,) = tmp_path.rglob("*.caller-*.code")
    flip(caller)
    assert told() == "7.5 True True"


def test_arguments_reach_a_kernel_as_they_are():
    """Arrays of any layout, rows of records, named tuples, numbers of every kind; what it writes
    is there afterwards."""
    row = np.zeros(3, record_type([("first", "f8"), ("count", "i8"), ("rest", "f8", (2,))]))
    table = np.arange(12.0).reshape(3, 4)
    fixed = np.array([7.0])
    fixed.flags.writeable = False
    for one in (table, table.T, table[:, 1:3], table[::2]):
        row[:] = np.zeros((), row.dtype)
        given = Given(one, row[1]), fixed, True, 3, np.float64(0.5), np.int64(2), np.bool_(False)
        answer = gathered(*given)
        assert row["rest"].tolist() == [[0.0, 0.0], [0.0, 1.0], [0.0, 0.0]]
        assert row["count"].tolist() == [0, 3, 0]
        assert answer == (one[1, 0] + 7.0 + 0.5, 6, True)
        assert answer == gathered.py_func(*given)


class Given(NamedTuple):
    table: np.ndarray
    row: np.void


@kernel
def gathered(given, fixed, yes, count, number, times, no):
    given.row.count = count
    given.row.rest[1] = 0.0 if no else 1.0
    return given.table[1, 0] + fixed[0] + number, count * times, yes


class Pair(NamedTuple):
    numbers: np.ndarray
    factor: float


@kernel
def first_of(pair):
    return pair.factor * pair.numbers[0]


def test_what_is_handed_over_of_a_tuple_is_read_anew_in_every_call():
    """Where its arrays are is asked once; what they hold, and another of its kind, are not."""
    one = Pair(np.array([1.0, 2.0]), 2.0)
    assert first_of(one) == 2.0
    one.numbers[0] = 5.0
    assert first_of(one) == 10.0
    many = [first_of(Pair(np.array([float(n)]), 1.0)) for n in range(40)]
    assert many == list(range(40))
    strided = np.arange(6.0)[::-2]
    assert first_of(Pair(strided, 1.0)) == 5.0
