"""What is said to be compiled before a first flight is what it takes."""

from __future__ import annotations

import subprocess
import sys

from firstthrow.sim.flight.compiling import STAGES

TAKES = """
from firstthrow.sim.kernels.compiled import Kernel
brought, names = Kernel._brought, []

def noted(self, kinds, arguments):
    found = brought(self, kinds, arguments)
    names.append(self.name)  # after what stands apart in it
    return found

Kernel._brought = noted
from firstthrow.scenes.flight.rehearsal import Rehearsal
from firstthrow.sim.describe.config import find, load_airframe, load_field
airframe = load_airframe(find("airframes", "pantry"))
Rehearsal(airframe, load_field(find("fields", "water-meadow")))
print(*names)
"""


def test_stages_are_the_kernels_of_a_first_flight_in_their_order():
    told = subprocess.check_output([sys.executable, "-c", TAKES], text=True)
    assert told.split() == [stage.kernel for stage in STAGES]
    begins = [stage.begins for stage in STAGES]
    assert begins[0] == 0.0
    assert begins == sorted(begins)
