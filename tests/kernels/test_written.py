"""Kernels that are shipped as numba wrote them: of these sources, the same numbers, numba else."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile

import numpy as np
import pytest
from checks import LLVM
from llvmlite.binding import llvm_version_info

from firstthrow.sim.kernels import compiled, mix
from firstthrow.sim.kernels.compiled import SOURCES, named
from firstthrow.sim.kernels.machine import written
from firstthrow.sim.kernels.machine.calls import call_of, kind
from firstthrow.sim.kernels.machine.kept import loaded
from firstthrow.sim.kernels.machine.written import SHIPPED, TOLD, store, translated

pytestmark = pytest.mark.skipif(os.name != "posix", reason="numba compiles there")
reads = pytest.mark.skipif(llvm_version_info[0] < LLVM, reason="an LLVM older than what is shipped")


def tripled(row):
    return 3.0 * row[0]


ROW = np.array([2.0])
TRIPLED = named("test_written.tripled", (kind(ROW),))


@pytest.fixture
def shipped(tmp_path, monkeypatch):
    """Ships nothing yet, and keeps nothing."""
    monkeypatch.setattr(written, "SHIPPED", tmp_path / "kernels.zip")
    monkeypatch.setattr(compiled, "CACHE", None)


def test_what_is_shipped_was_written_from_these_sources():
    """Else run `.ci/kernels`: numba would compile what is called first, for half a minute."""
    with zipfile.ZipFile(SHIPPED) as file:
        assert file.comment.decode() == SOURCES


@reads
def test_what_is_shipped_does_what_its_source_says():
    tables = np.zeros(1, mix.MIX_FIELDS)
    tables["mix_sense"], tables["mix_expo"] = (1.0, -1.0, 1.0), (0.3, 0.0, 0.5)
    tables["mix_rates"], tables["mix_trim"] = [(0.3, 0.2, 0.4), (0.2, 0.1, 0.2)], (0.01, -0.02, 0.0)
    tables = tables.view(np.dtype((np.record, tables.dtype)))
    given = (tables, 0.4, -0.7, 0.2, True)
    code = translated(SOURCES, named("mix.turned", tuple(kind(one) for one in given)))
    found = call_of(loaded(code), code.returns, given)(given)
    assert found == pytest.approx(mix.turned.py_func(*given), rel=1e-12)


HELD = """
import json, sys
from firstthrow.sim.build.model import build
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load
model = build(load_airframe(find("airframes", "pantry")), STANDARD)
turning, up = (0.3, -0.8, 0.5), (0.1, -0.2)
loads = [air_load(model, (-11.0, 1.5, v), turning, up)[0].tolist() for v in (0.3, -2.0, -6.0)]
print(json.dumps(["numba" in sys.modules, *sum(loads, [])]))
"""


@reads
def test_what_is_shipped_does_what_numba_compiles(tmp_path):
    """Who tells numba something of the code it is to make has it made by numba."""

    def held(folder: str, **told: str) -> tuple[bool, list[float]]:
        own = {name: value for name, value in os.environ.items() if name not in TOLD}
        own |= {"FIRSTTHROW_CACHE": str(tmp_path / folder)} | told
        by_numba, *found = json.loads(
            subprocess.check_output([sys.executable, "-c", HELD], env=own)
        )
        return by_numba, found

    not_read, found = held("shipped")
    by_numba, same = held("compiled", NUMBA_OPT="3")
    assert (not_read, by_numba) == (False, True)
    assert found == pytest.approx(same, rel=1e-9, abs=1e-12)


def test_what_was_written_from_other_sources_is_not_run(shipped):
    store("others", {TRIPLED: ("kernel", "d", [], b"")})
    assert translated(SOURCES, TRIPLED) is None
    assert compiled.Kernel(tripled, {})(ROW) == 6.0


@pytest.mark.parametrize("content", [b"", b"BC\xc0\xde of another time"])
def test_what_llvm_does_not_read_numba_compiles(shipped, content):
    store(SOURCES, {TRIPLED: ("kernel", "d", [], content)})
    assert compiled.Kernel(tripled, {})(ROW) == 6.0


def test_a_file_that_is_no_archive_ships_nothing(shipped):
    assert translated(SOURCES, TRIPLED) is None
    written.SHIPPED.write_bytes(b"cut short")
    assert translated(SOURCES, TRIPLED) is None
    with zipfile.ZipFile(written.SHIPPED, "w") as file:
        file.comment = SOURCES.encode()
        file.writestr(TRIPLED, b"")  # and nothing said of it
    assert translated(SOURCES, TRIPLED) is None


def test_what_is_kept_goes_with_what_is_shipped(shipped):
    before = compiled._version()
    store(SOURCES, {})
    assert compiled._version() != before
