"""Apparent mass of rectangular plates as flown: coarser strips, closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, shipped_model
from checks import compare, named

from firstthrow.sim.build.apparent import CHORDWISE
from firstthrow.sim.build.strips import FINE
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
    found = apparent.let_go(sink, pitch_rate)
    compare("m/s2", found.down_wanted, found.down, relative=0.025)
    within = 1e-9 + 0.02 * found.damping
    compare("rad/s2", found.pitch_wanted, found.pitch, relative=0.02, absolute=within)
