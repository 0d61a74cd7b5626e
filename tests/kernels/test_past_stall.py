"""Plates past the attached range: when low aspect ratios stall, slip and rates past it."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model
from checks import compare

from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.polar import polar

SPEED = 10.0  # [m/s]


def blown(ratio: float, alpha: float, slip: float = 0.0, rates=(0.0, 0.0, 0.0)) -> np.ndarray:
    """Force over q S, moment over q S and span, body axes, of a bare plate; angles [deg]."""
    model = plate_model(ratio)
    a, b = np.radians([alpha, slip])
    air = -SPEED * np.array([np.cos(a) * np.cos(b), np.cos(a) * np.sin(b), np.sin(a)])
    pressure = 0.5 * model.record.density * SPEED**2 * ratio * 0.2**2
    load = air_load(model, air, rates)[0] / pressure
    load[3:] /= ratio * 0.2
    return load


def test_stall_comes_later_the_lower_the_aspect_ratio():
    """With no jump from one ratio to the next."""
    ratios = [1.0, 1.25, 1.5, 1.75, 2.0, 3.0, 6.0]
    degrees = np.arange(5.0, 50.0)
    share = [polar(plate_model(r), np.radians(degrees)).separated for r in ratios]
    begins = [float(degrees[np.argmax(s > 0.05)]) for s in share]
    print(dict(zip(ratios, begins, strict=True)))
    assert begins[0] > 35.0
    assert np.all(np.diff(begins) < 0.0)
    assert np.abs(np.diff(begins)).max() < 10.0


def test_a_square_plate_damps_roll_short_of_its_stall():
    """The slope of its lift grows until then (K01), and with it the damping."""
    damping = [blown(1.0, a, rates=(0.2, 0.0, 0.0))[3] for a in (20.0, 30.0, 33.0)]
    print("C_l of 0.2 rad/s at 20, 30, 33 degrees:", damping)
    assert damping[2] < damping[1] < damping[0] < 0.0


@pytest.mark.parametrize("ratio", [2.0, 3.0])
@pytest.mark.parametrize("alpha", [35.0, 45.0, 60.0])
def test_a_stalled_plate_still_rolls_away_from_the_slip(ratio, alpha):
    """A separated load acts ahead of the middle on the side that the air comes from, by the
    free-streamline plate's 3/4 cos a / (4 + pi sin a) of the length along the flow (P09)."""
    slip = 5.0
    load = blown(ratio, alpha, slip)
    a, b = np.radians([alpha, slip])
    wanted = 0.75 * np.cos(a) * np.sin(b) / (4.0 + np.pi * np.sin(a)) * load[2]
    compare(f"C_l, AR {ratio:g}, {alpha:g} deg", wanted, load[3], relative=0.02)


@pytest.mark.parametrize("ratio", [2.0, 3.0])
def test_roll_by_slip_falls_past_the_stall(ratio):
    """To a fraction, but not to nothing."""
    found = np.array([-blown(ratio, a, 3.0)[3] for a in np.arange(5.0, 50.0, 2.5)])
    print(f"AR {ratio:g}: {found.round(4)}")
    assert 0.3 < found[-1] / found.max() < 0.6


@pytest.mark.parametrize("alpha", [5.0, 10.0, 20.0, 30.0, 40.0, 60.0])
def test_a_square_plate_is_the_same_from_all_sides(alpha):
    """Force, and moment about the edge that leads, at headings of 0, 90, 180 and 270 degrees."""
    ahead = blown(1.0, alpha)
    for heading, moment in ((90.0, 3), (180.0, 4), (270.0, 3)):
        found = blown(1.0, alpha, heading)
        compare(f"N over q S at {heading:g}", ahead[2], found[2], relative=0.02)
        sign = 1.0 if heading == 270.0 else -1.0
        compare(f"moment at {heading:g}", ahead[4], sign * found[moment], absolute=0.005)


@pytest.mark.parametrize("ratio", [0.5, 2.0])
def test_an_oblong_plate_from_the_side(ratio):
    """At 90 degrees it is a plate of the inverse aspect ratio."""
    found = blown(ratio, 10.0, 90.0)[2]
    compare("N over q S", blown(1.0 / ratio, 10.0)[2], found, relative=0.03)


@pytest.mark.parametrize("alpha", [10.0, 30.0])
def test_nothing_jumps_as_a_plate_turns(alpha):
    found = np.array([blown(1.0, alpha, heading) for heading in np.arange(0.0, 361.0, 3.0)])
    print(found[:31, 2].round(3))
    assert np.abs(np.diff(found, axis=0)).max() < 0.08 * np.abs(found[:, 2]).max()
    assert np.abs(found[:, 2]).min() > 0.6 * np.abs(found[:, 2]).max()
