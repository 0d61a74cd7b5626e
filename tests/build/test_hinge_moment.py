"""What the air presses on a surface's hinge, attached and broadside, by the whole set-up."""

from __future__ import annotations

from math import radians

import numpy as np
import pytest
from bodies import shipped_model
from checks import compare, named

from firstthrow.sim.build.model import build
from firstthrow.sim.build.section import EFFECT
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.kernels.layout import HINGE
from firstthrow.sim.proof import lattice
from firstthrow.sim.proof.hinges import hinge, wide, wide_airframe

pytestmark = pytest.mark.kernel


def test_the_hinge_feels_the_whole_angle():
    """What a large angle loses of its lift (F09: a quarter at 30 degrees) it does not lose at the
    hinge: plain flaps' hinge moments grow on to 30 degrees and more (from memory, no gate). A
    wide plate has begun to stall there, which presses on the surface a little more."""
    small = hinge(0.0, radians(5.0)) / radians(5.0)
    large = hinge(0.0, radians(30.0)) / radians(30.0)
    print(f"hinge moment by angle at 30 deg over that at 5 deg: {large / small:.3f}")
    assert 0.95 < large / small < 1.10


@pytest.mark.parametrize("gap", ["taped", "open"])
def test_a_gap_takes_some_of_the_effect_and_nothing_of_the_hinge_moment(gap):
    """Lift by angle, over thin-aerofoil theory of a flap of a fifth of the chord (F04)."""
    plate = wide_airframe(gap)
    model = build(plate, STANDARD)
    lifts = []
    for alpha, delta in ((0.0, 0.0), (0.01, 0.0), (0.0, 0.01)):
        air = -20.0 * np.array([np.cos(alpha), 0.0, np.sin(alpha)])
        lifts.append(-air_load(model, air, surfaces=[delta, delta, 0, 0, 0, 0, 0, 0])[0][2])
    tau = (lifts[2] - lifts[0]) / (lifts[1] - lifts[0])
    row = named(lattice)["F04"]
    theory = row.outside[row.at.index(0.2)]
    compare("effect over theory", EFFECT[gap], tau / theory, relative=0.01)
    turned = radians(2.0)
    _, report = air_load(model, [-20.0, 0.0, 0.0], surfaces=[turned] * 2 + [0.0] * 6)
    compare("hinge", hinge(0.0, turned), report[HINGE] * 0.35 / 30.0, relative=0.01)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_broadside_the_whole_flap_is_pressed_alike(side):
    """A plate square to the flow is pressed by CD q (1.17 at AR 1, 1.20 at AR 5: P01, P02), and
    its rear most evenly: the base pressure is even (Fage and Johansen, 1927, from memory), the
    front's falls to nothing at the edge, so the elevon's share is less than even, not by half.
    """
    _, report = air_load(shipped_model(), [0.0, 0.0, -side * 10.0])
    even = 1.18 * 0.5 * shipped_model().record.density * 100.0 * 0.315 * 0.06**2 / 2.0
    for found in report[HINGE : HINGE + 2]:
        print(f"hinge moment broadside: {side * found / even:.2f} of an even load's")
        assert 0.6 < side * found / even < 1.05


def test_a_deflected_flap_drags_by_its_own_load():
    """Pressure stands square to the flap: aft goes its load times the sine of its angle.

    Its load in two dimensions is Glauert's series, as for F04 to F07, integrated over the flap.
    """
    delta = radians(5.0)
    hinge = np.arccos(2.0 * 0.2 - 1.0)
    n = np.arange(2, 4000)
    over = 0.5 * (np.sin((n + 1) * hinge) / (n + 1) - np.sin((n - 1) * hinge) / (n - 1))
    first = 0.5 * (np.pi - hinge + 0.5 * np.sin(2.0 * hinge))
    series = np.sin(hinge) * first + np.sum(np.sin(n * hinge) / n * over)
    ahead = 0.5 * (np.pi - hinge) * (np.pi - hinge - np.sin(hinge))
    load = 4.0 * delta / np.pi * (ahead + series)
    moved, still = (
        air_load(wide(), [-20.0, 0.0, 0.0], surfaces=[angle, angle, 0, 0, 0, 0, 0, 0])[0][0]
        for angle in (delta, 0.0)
    )
    area = 60.0 * 0.25
    wanted = -0.5 * 1.225 * 400.0 * area * load * np.sin(delta)
    wanted *= EFFECT["taped"]  # which takes as much from the surface's own load
    compare("N forward", wanted, moved - still, relative=0.04)
