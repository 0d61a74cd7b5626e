"""What is said to be compiled before a first flight is what it takes."""

from __future__ import annotations

import os
import subprocess
import sys

from checks import LLVM
from llvmlite.binding import llvm_version_info

from firstthrow.sim.flight import compiling
from firstthrow.sim.flight.compiling import HANDS, STAGES
from firstthrow.sim.kernels.machine import kept

TAKES = """
import sys
from firstthrow.sim.kernels.compiled import Kernel
brought, names = Kernel._brought, []

def noted(self, kinds, arguments):
    found = brought(self, kinds, arguments)
    names.append(self.name)  # after what stands apart in it
    return found

Kernel._brought = noted
from multiprocessing import Pipe
from firstthrow.scenes.flight.prepare import COMPLETE, READY, prepare
from firstthrow.sim.describe.config import find, load_airframe, load_field
airframe = load_airframe(find("airframes", "pantry"))
ours, theirs = Pipe()
prepare(theirs, airframe, load_field(find("fields", "water-meadow")), None)
assert (ours.recv(), ours.recv()) == (READY, COMPLETE)
print(*names, "numba" in sys.modules)
"""


def test_stages_and_hands_are_all_kernels_of_a_first_flight_in_their_order(tmp_path):
    """None of them compiled by numba, where nothing is kept, but on Windows and where LLVM is older
    than the one that wrote them."""
    own = {**os.environ, "FIRSTTHROW_CACHE": str(tmp_path)}
    told = subprocess.check_output([sys.executable, "-c", TAKES], env=own, text=True)
    *kernels, by_numba = told.split()
    assert kernels == [*(stage.kernel for stage in STAGES), *HANDS]
    assert by_numba == str(os.name != "posix" or llvm_version_info[0] < LLVM)
    begins = [stage.begins for stage in STAGES]
    assert begins[0] == 0.0
    assert begins == sorted(begins)


def test_what_another_processor_has_kept_is_missing(tmp_path, monkeypatch):
    monkeypatch.setattr(compiling, "CACHE", tmp_path)
    kernels = [*(stage.kernel for stage in STAGES), *HANDS]
    for kernel in kernels:
        (tmp_path / f"{kernel}-0123456789abcdef-00000000.code").touch()
    assert compiling.missing() == STAGES
    assert compiling.hands_missing()
    for kernel in kernels:
        (tmp_path / f"{kernel}-0123456789abcdef-{kept._machine()}.code").touch()
    assert compiling.missing() == ()
    assert not compiling.hands_missing()
