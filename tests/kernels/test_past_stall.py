"""Plates past the attached range: when low aspect ratios stall, slip and rates past it."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, rectangle
from checks import compare

from firstthrow.sim.build import lattice, section
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


def edge_suction(ratio: float, half: int = 12) -> tuple[float, float]:
    """How the force of the side edges' vortices, and its moment nose down about mid-chord, grow
    with a wash that grows along the chord by 1: over the force in an even wash of 1, in chords.

    In-plane force on the chordwise vortices of the lattice, station by station, whose bound ones
    answer an even wash and one that grows aft.
    """
    strips = rectangle(ratio, half)
    grid = lattice.lattice(strips)
    n, k = grid.vortex_at.shape
    washes = np.column_stack([np.ones(n * k), grid.point_at.ravel() - 0.5])
    strength = np.linalg.solve(lattice.influence(strips, grid, 1.0), -washes)
    station = np.append(grid.vortex_at[-1], 1.0)
    middle, length = 0.5 * (station[1:] + station[:-1]), np.diff(station)
    front, rear = strips.quad[-1][1], strips.quad[-1][2]
    met = lattice.horseshoes(
        front + middle[:, None] * (rear - front),
        np.tile(strips.normal[-1], (k, 1)),
        grid.a,
        grid.b,
        1.0,
    )
    at = middle - 0.5
    through = met @ strength + np.column_stack([np.ones(k), at])
    carried = np.cumsum(strength.reshape(n, k, 2)[-1], axis=0) * length[:, None]
    even = through[:, 0] * carried[:, 0]
    grown = through[:, 0] * carried[:, 1] + through[:, 1] * carried[:, 0]
    return float(grown.sum() / even.sum()), float(grown @ at / even.sum())


@pytest.mark.parametrize("ratio", [1.0, 2.0])
def test_side_edges_damp_pitch(ratio):
    """Beyond what the attached load does at the same speed along the plate, which the rates at no
    incidence tell: as the suction of the lattice's own side edges grows with the wash."""
    alpha, rate = np.radians(10.0), 0.5
    along = [
        0.5 * (blown(ratio, a, rates=(0.0, rate, 0.0)) - blown(ratio, a, rates=(0.0, -rate, 0.0)))
        for a in (0.0, 10.0)
    ]
    more = along[1] - np.cos(alpha) * along[0]
    force, moment = edge_suction(ratio)
    scale = section.rectangle(ratio)[1] * np.sin(alpha) * rate * 0.2 / SPEED
    compare(f"force, AR {ratio:g}", -scale * force, more[2], relative=0.15)
    compare(f"moment, AR {ratio:g}", -scale * moment / ratio, more[4], relative=0.1)


@pytest.mark.parametrize("alpha", [5.0, 15.0, 30.0])
def test_a_square_plate_that_turns_is_the_same_from_the_side(alpha):
    """Roll and pitch of a rate about the way it flies, and of one about its normal, at headings of
    0 and 90 degrees."""
    for roll, spin in ((1.0, 0.0), (0.0, 1.0)):
        ahead = (blown(1.0, alpha, 0.0, (roll, 0.0, spin)) - blown(1.0, alpha))[3:5]
        across = (blown(1.0, alpha, -90.0, (0.0, -roll, spin)) - blown(1.0, alpha, -90.0))[3:5]
        wanted = np.array([ahead[1], -ahead[0]])
        print(f"{alpha:g} deg, {roll:g} and {spin:g} rad/s: wanted {wanted}, found {across}")
        assert np.abs(across - wanted).max() < 0.05 * np.abs(wanted).max()


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
