"""How often the true cause comes first: made-up drives, read as meters show them.

    python benchmarks/causes.py

Three airframes with one thing wrong each, four readings at full throttle, rounded to what a
builder's meters show (0.1 A, 5 g, 50 rpm, 0.1 V), or with the errors of the meters on top.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.flight.drive_at_rest import equilibrium, refitted
from firstthrow.sim.flight.drive_measured import METERS, seen
from firstthrow.sim.study.propulsion import sizes
from firstthrow.sim.study.propulsion.causes import AS_DESCRIBED, explanations
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import GRAVITY, RPM

STEPS = {"current": 0.1, "thrust": 0.005 * GRAVITY, "rpm": 50.0 * RPM, "voltage": 0.1}


def cases(airframe: Airframe) -> Iterator[tuple[Airframe, str]]:
    """What is wrong, and how the true explanation begins."""
    motor = next(iter(airframe.motors.values()))
    for charge in (0.5, 0.2):
        yield sizes.with_pack(airframe, charge=charge), "the pack gives too little"
    for times in (4.0, 7.0):
        weak = airframe.pack.resistance * times
        yield sizes.with_pack(airframe, resistance=weak), "the pack gives too little"
    for share in (0.8, 1.2):
        yield sizes.with_motor(airframe, kv=share * motor.kv), "the motor has another kV"
    near = sizes.near_sizes(airframe)
    for size in (near[len(near) // 4], near[-len(near) // 4]):
        name = sizes.size_name(size)
        yield sizes.with_size(airframe, size), f"the propeller is another one, {name}"
    yield sizes.with_propeller(airframe, backwards=True), "the propeller is on backwards"
    yield sizes.with_motor(airframe, leads_swapped=True), "two motor leads are swapped"
    yield airframe, AS_DESCRIBED


def main() -> None:
    chance = np.random.default_rng(0)
    counted = {"rounded": 0, "with errors": 0}
    total = 0
    for name in ("pantry", "allotment", "glasshouse"):
        subject = Subject(load_airframe(find("airframes", name)))
        for wrong, begins in cases(subject.airframe):
            shown = seen(equilibrium(refitted(subject.model, wrong), 1.0))
            total += 1
            for how in counted:
                off = 0.0 if how == "rounded" else 1.0
                read = {
                    key: STEPS[key]
                    * round(value * (1.0 + off * METERS[key] * chance.normal()) / STEPS[key])
                    for key, value in shown.items()
                }
                first = explanations(subject, read)[0].text
                counted[how] += first.startswith(begins)
                if not first.startswith(begins):
                    print(f"  {name}, {how}: {begins} taken for: {first}")
    for how, right in counted.items():
        print(f"{how}: the true cause comes first in {right} of {total}")


if __name__ == "__main__":
    main()
