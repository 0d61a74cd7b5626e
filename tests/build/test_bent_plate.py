"""A separated plate with a surface, against the free-streamline flow round a bent plate."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from firstthrow.sim.build import section
from firstthrow.sim.kernels.layout import ANGLES, DEFLECTIONS, MAX_DEFLECTION, MOMENT, NORMAL

PIECES = 1500
PLACE = 0.2  # about which moments are taken [chords]


class Bent:
    """Free-streamline flow round a plate whose rear part (a share `flap` of its length) is turned
    into the wind by delta, at an incidence alpha of the front part [rad].

    Derived: the wetted side is the upper half of the unit circle, e^{i s} from the leading edge
    (s = 0) to the trailing edge (pi), the free streamlines, of speed 1, are its diameter, and the
    wind comes from the origin. The potential is (cos s - cos a)^2 with the stagnation point at
    s = a. The speed is |sin((s - a)/2) / sin((s + a)/2)| for the stagnation point, times the same
    with the hinge's h to the power delta / pi; and alpha = a - delta (1 - h / pi). Kirchhoff's flat
    plate is the case without a hinge (Lamb, Hydrodynamics, art. 76).
    """

    def __init__(self, alpha: float, delta: float, flap: float) -> None:
        self.alpha, self.delta = alpha, delta
        self.hinge = brentq(lambda h: self._rear(h) - flap, alpha + 0.2, np.pi - 1e-3)

    def _piece(self, h: float, first: float, last: float) -> tuple[np.ndarray, np.ndarray]:
        """Lengths and pressures over density / 2 from one place of the circle to another."""
        a = self.alpha + self.delta * (1.0 - h / np.pi)
        t = np.pi * (np.arange(PIECES) + 0.5) / PIECES
        s = first + (last - first) * 0.5 * (1.0 - np.cos(t))
        width = (last - first) * 0.5 * np.sin(t) * np.pi / PIECES
        speed = np.abs(np.sin(0.5 * (s - a)) / np.sin(0.5 * (s + a)))
        speed *= np.abs(np.sin(0.5 * (s - h)) / np.sin(0.5 * (s + h))) ** (self.delta / np.pi)
        return 2.0 * np.abs(np.cos(s) - np.cos(a)) * np.sin(s) / speed * width, 1.0 - speed**2

    def _pieces(self, h: float) -> list[tuple[np.ndarray, np.ndarray]]:
        a = self.alpha + self.delta * (1.0 - h / np.pi)
        return [self._piece(h, *ends) for ends in ((0.0, a), (a, h), (h, np.pi))]

    def _rear(self, h: float) -> float:
        sizes = [lengths.sum() for lengths, _ in self._pieces(h)]
        return sizes[2] / sum(sizes)

    def loads(self) -> tuple[float, float]:
        """Force along the front part's normal, and moment nose up about PLACE, per density / 2."""
        ahead, middle, rear = self._pieces(self.hinge)
        lengths, pressures = (np.concatenate(both) for both in zip(ahead, middle, strict=True))
        size = lengths.sum() + rear[0].sum()
        at = (np.cumsum(lengths) - 0.5 * lengths) / size
        behind = (np.cumsum(rear[0]) - 0.5 * rear[0]) / size
        force, turned = lengths * pressures / size, rear[0] * rear[1] / size
        hinge, along = lengths.sum() / size, np.cos(self.delta)
        normal = force.sum() + along * turned.sum()
        moment = (force * at).sum() + (turned * (hinge * along + behind)).sum()
        return normal, PLACE * normal - moment


def flat(alpha: float) -> tuple[float, float]:
    normal = 2.0 * np.pi * np.sin(alpha) / (4.0 + np.pi * np.sin(alpha))
    return normal, (PLACE - section.centre_of_pressure(alpha)) * normal


def test_without_a_bend_it_is_kirchhoffs_plate():
    alpha = np.radians(25.0)
    assert Bent(alpha, 1e-9, 0.2).loads() == pytest.approx(flat(alpha), rel=1e-4)


@pytest.mark.parametrize("flap", [0.1, 0.17, 0.25, 0.35])
@pytest.mark.parametrize("degrees", [25.0, 40.0])
@pytest.mark.parametrize("down", [-14.0, 7.0, 14.0])
def test_small_angle_theory_gives_what_a_bend_adds(flap, degrees, down):
    """Force within 22 %, moment within 35 %."""
    alpha, delta = np.radians([degrees, down])
    true = np.subtract(Bent(alpha, delta, flap).loads(), flat(alpha))
    gain, lever = section.bent_plate(flap)
    felt = flat(alpha + gain * delta)
    added = felt[0] - flat(alpha)[0]
    found = added, felt[1] - flat(alpha)[1] - lever * added
    print("force {:.3f}, moment {:.3f} of the true one".format(*np.divide(found, true)))
    assert 0.78 < found[0] / true[0] < 1.0
    assert 0.85 < found[1] / true[1] < 1.35


def read(found: np.ndarray, degrees: float, down: float) -> np.ndarray:
    d = np.linspace(-2.0, 2.0, ANGLES + 1)
    row = int(np.argmin(np.abs(section.angle_of(d) - np.radians(degrees))))
    column = round((np.radians(down) / MAX_DEFLECTION + 1.0) * 0.5 * DEFLECTIONS)
    return found[row, column]


def test_a_finite_sheet_lies_between_a_plate_turned_and_a_plate_bent():
    """And nearer to the latter the higher its aspect ratio. 15 degrees down at 25, a sixth of the
    chord: the bent plate has some 4 times the force and 7 times the moment of the turned one."""

    def adds(slope, more=0.0):
        one = section.table(2.0, slope, 1.0 / 6.0, more=more)
        change = read(one, 25.0, 15.0) - read(one, 25.0, 0.0)
        return change[NORMAL], change[MOMENT] + (PLACE - 0.5) * change[NORMAL]

    turned, bent = adds(1.0, -1.0), adds(1.0, 1.0)
    low, high = adds(1.5), adds(3.5)
    print("turned", turned, "bent", bent, "slopes 1.5 and 3.5", low, high)
    assert 3.0 < bent[0] / turned[0] < 4.5
    assert 5.0 < bent[1] / turned[1] < 9.0
    assert turned[0] < low[0] < high[0] < bent[0]
    assert turned[1] > low[1] > high[1] > bent[1]
    assert adds(2.0 * np.pi) == pytest.approx(bent)
    # From behind, and broadside, it is a plate turned.
    one, other = section.table(2.0, 3.0, 0.2, more=-1.0), section.table(2.0, 3.0, 0.2)
    for degrees in (90.0, 150.0, -120.0):
        assert read(one, degrees, 15.0)[NORMAL:MOMENT] == pytest.approx(
            read(other, degrees, 15.0)[NORMAL:MOMENT], abs=0.02
        )
