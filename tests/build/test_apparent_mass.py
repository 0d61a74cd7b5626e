"""Apparent mass of rectangular plates against published coefficients and closed forms."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from bodies import plate_model, rectangle, shipped_model
from checks import compare, rows

from firstthrow.sim.build.apparent import CHORDWISE, mass_matrix
from firstthrow.sim.build.strips import FINE
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.kernels.layout import COMMAND_SIZE, SIZE

ROWS = rows("apparent_mass")
MIDDLE = np.array([0.5, 0.0, 0.0])


@lru_cache
def coefficients(ratio: float, half: int = 16, chordwise: int = 12) -> tuple[float, float, float]:
    """Normal, about the long axis, about the short axis, over their two-dimensional values."""
    m = mass_matrix(rectangle(ratio, half), MIDDLE, 1.0, chordwise)
    return (
        m[2, 2] / (0.25 * np.pi * ratio),
        m[4, 4] / (np.pi / 128.0 * ratio),
        m[3, 3] / (np.pi / 48.0 * ratio**3),
    )


def test_normal_to_the_plate():
    row = ROWS["A01"]
    found = [coefficients(ratio)[0] for ratio in row["at"]]
    compare(f"A01 b/a {row['at']}", row["values"], found, absolute=0.005)


@pytest.mark.parametrize(("name", "column"), [("A02", 1), ("A03", 2)])
def test_rotation(name, column):
    row = ROWS[name]
    found = [coefficients(ratio)[column] for ratio in row["at"]]
    compare(f"{name} b/a {row['at']}", row["values"], found, relative=0.01)


def test_two_dimensions():
    """A very wide plate, per length that the rings cover: the tips are inset by 1.5 % of it."""
    covered = 32.0 / 32.5
    found = np.array(coefficients(400.0)[:2]) / covered
    compare("A04", ROWS["A04"]["values"], found, relative=0.002)


def test_worked_example():
    found = 1.225 * coefficients(4.0)[0] * 0.25 * np.pi * 0.25**2
    compare("A05 kg", ROWS["A05"]["values"], [found], relative=0.01)


def test_strips_as_flown():
    """The strips and stations that every airframe is set up with: coarser, cheap.

    Worst in roll at aspect ratio 10, 1.6 % low; within 1 % up to aspect ratio 4.
    """
    for name, column in (("A01", 0), ("A02", 1), ("A03", 2)):
        row = ROWS[name]
        found = [coefficients(ratio, FINE, CHORDWISE)[column] for ratio in row["at"]]
        compare(f"{name} as flown b/a {row['at']}", row["values"], found, relative=0.02)


def test_matrix_is_a_mass():
    for model in (plate_model(2.0), shipped_model(), shipped_model("glasshouse")):
        record = model.record
        mass = np.linalg.inv(record.mass_inverse)
        assert np.allclose(mass, mass.T, rtol=1e-9, atol=1e-12)
        mass[:3, :3] -= record.mass * np.eye(3)
        mass[3:, 3:] -= record.inertia
        assert np.linalg.eigvalsh(mass).min() > -1e-6 * np.abs(mass).max()


def test_plate_model_carries_it():
    """Through the whole set-up: heave of a 0.2 x 0.4 m plate."""
    record = plate_model(2.0).record
    heave = np.linalg.inv(record.mass_inverse)[2, 2] - record.mass
    wanted = 0.757 * record.density * 0.25 * np.pi * 0.2**2 * 0.4
    compare("heave kg", [wanted], [heave], relative=0.02)


@pytest.mark.parametrize("pitch_rate", [0.0, 1.0])
@pytest.mark.parametrize("sink", [0.0, 0.2])
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
