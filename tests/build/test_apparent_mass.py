"""Apparent mass of rectangular plates against published coefficients and closed forms."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from bodies import plate_model, rectangle, shipped_model
from checks import compare, rows

from firstthrow.sim.build.apparent import CHORDWISE, mass_matrix
from firstthrow.sim.build.strips import FINE

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


def test_theodorsen_heaving_and_pitching():
    """Non-circulatory lift of a plate that heaves and pitches, frequency by frequency.

    Theodorsen, NACA TR 496 (1935), reference at mid-chord (a = 0): the lift per span beside the
    circulatory one is pi rho b^2 (h'' + V alpha'), h down, alpha nose up. What the program
    has of it in the mass matrix is minus the apparent mass times the rate of the body-axis
    normal velocity at mid-chord. That velocity is h' + V alpha for small angles, so both must
    be the same function of time; and the moment is -pi rho b^4 / 8 alpha''. Through a very
    long plate (AR 60), per span.
    """
    ratio, density, speed, chord = 60.0, 1.2, 9.0, 1.0
    strips = rectangle(ratio)
    matrix = mass_matrix(strips, np.array([0.5, 0.0, 0.0]), density)
    half = 0.5 * chord
    for frequency in (3.0, 17.0):
        t = np.linspace(0.0, 2.0 * np.pi / frequency, 50)
        heave, pitch = 0.02, np.radians(2.0)
        plunge_rate = heave * frequency * np.cos(frequency * t)  # h'
        plunge_accel = -heave * frequency**2 * np.sin(frequency * t)
        alpha = pitch * np.sin(frequency * t + 0.7)
        alpha_rate = pitch * frequency * np.cos(frequency * t + 0.7)
        alpha_accel = -pitch * frequency**2 * np.sin(frequency * t + 0.7)
        wanted = np.pi * density * half**2 * (plunge_accel + speed * alpha_rate)
        normal_velocity = plunge_rate + speed * alpha  # of the plate through the air, downward
        normal_accel = np.gradient(normal_velocity, t, edge_order=2)
        found = matrix[2, 2] / ratio * normal_accel
        inside = slice(2, -2)
        compare(
            f"lift at {frequency} rad/s",
            wanted[inside] / np.abs(wanted).max(),
            found[inside] / np.abs(wanted).max(),
            absolute=0.03,
        )
        moment = -np.pi * density * half**4 / 8.0 * alpha_accel
        compare(
            f"moment at {frequency} rad/s",
            moment / np.abs(moment).max(),
            -matrix[4, 4] / ratio * alpha_accel / np.abs(moment).max(),
            absolute=0.03,
        )
