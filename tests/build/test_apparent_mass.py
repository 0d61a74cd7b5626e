"""Apparent mass of rectangular plates as flown: coarser strips, closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, shipped_model
from checks import compare, named

from firstthrow.sim.build.apparent import CHORDWISE
from firstthrow.sim.build.strips import FINE
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.kernels.layout import COMMAND_SIZE, SIZE
from firstthrow.sim.proof import apparent


def test_strips_as_flown():
    """The strips and stations that every airframe is set up with: coarser, cheap.

    Worst in roll at aspect ratio 10, 1.6 % low; within 1 % up to aspect ratio 4.
    """
    for name, column in (("A01", 0), ("A02", 1), ("A03", 2)):
        row = named(apparent)[name]
        found = [apparent.coefficients(r, FINE, CHORDWISE)[column] for r in row.at]
        compare(f"{name} as flown b/a {row.at}", row.outside, found, relative=0.02)


def test_matrix_is_a_mass():
    for model in (plate_model(2.0), shipped_model(), shipped_model("glasshouse")):
        record = model.record
        mass = np.linalg.inv(record.mass_inverse)
        assert np.allclose(mass, mass.T, rtol=1e-9, atol=1e-12)
        mass[:3, :3] -= record.mass * np.eye(3)
        mass[3:, 3:] -= record.inertia
        assert np.linalg.eigvalsh(mass).min() > -1e-6 * np.abs(mass).max()


@pytest.mark.parametrize(("sink", "pitch_rate"), [(0.0, 0.0), (0.0, 1.0), (0.2, 1.0)])
def test_theodorsen_in_free_flight(sink, pitch_rate):
    """The accelerations of a wide plate let go in flight are those of Theodorsen's plate.

    NACA TR 496 (1935), about mid-chord (a = 0), the wake long blown away (C = 1), h down, per
    span: lift pi rho b^2 (h'' + V alpha') + 2 pi rho V b (h' + V alpha + b/2 alpha'), moment
    pi rho b^2 V (h' + V alpha) - pi rho b^4/8 alpha''. The plate's own velocity in body axes is
    w = h' + V alpha, so h'' + V alpha' is its rate. Aspect ratio 240: 2.5 % is left for its
    ends, of the pitching moment of the two damping terms, which cancel, as of the rest.
    """
    ratio, chord, speed = 240.0, 0.2, 8.0
    model = plate_model(ratio)
    m, b, span = model.record, 0.5 * chord, ratio * chord
    state = np.zeros(SIZE)
    state[2], state[3] = -1e4, 1.0
    state[7], state[9], state[11] = speed, sink, pitch_rate
    rates, _ = rates_of(model, state, np.zeros(COMMAND_SIZE))
    lift = 2.0 * np.pi * m.density * speed * b * (sink + 0.5 * b * pitch_rate) * span
    carried = np.pi * m.density * b**2 * span
    down = m.mass * (m.gravity + speed * pitch_rate) - lift
    turn = np.pi * m.density * b**2 * speed * sink * span
    heavy = m.inertia[1, 1] + np.pi * m.density * b**4 / 8.0 * span
    compare("m/s2", down / (m.mass + carried), rates[9], relative=0.025)
    damping = 0.5 * np.pi * m.density * b**3 * speed * pitch_rate * span
    compare(
        "rad/s2", turn / heavy, rates[11], relative=0.02, absolute=1e-9 + 0.02 * damping / heavy
    )
