"""Curved outlines keep their area in strips, and an airframe's size does not change its figures."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_airframe, rectangle

from firstthrow.sim.build.lattice import response, side_edges
from firstthrow.sim.build.shape import area, mean_edges, pieces
from firstthrow.sim.build.strips import Strips, cut, fine
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.sheets import Outline
from firstthrow.sim.kernels.layout import AHEAD

ROUND = np.linspace(0.0, np.pi, 65)
HALF_ELLIPSE = np.column_stack([0.1 - 0.1 * np.cos(ROUND), 0.4 * np.sin(ROUND)])
QUARTER = np.linspace(0.0, 0.5 * np.pi, 17)
CUT_OFF = np.array([[0.0, 0.0], [0.0, 0.34], [0.06, 0.4], [0.2, 0.4], [0.2, 0.0]])
ROUNDED = np.vstack(
    [
        [[0.0, 0.0]],
        np.column_stack([0.1 - 0.1 * np.cos(QUARTER), 0.3 + 0.1 * np.sin(QUARTER)]),
        np.column_stack([0.1 + 0.1 * np.sin(QUARTER[1:]), 0.3 + 0.1 * np.cos(QUARTER[1:])]),
        [[0.2, 0.0]],
    ]
)


def with_outline(corners: np.ndarray) -> Airframe:
    base = plate_airframe(4.0)
    outline = Outline.model_construct(
        chord=None, span=None, height=None, corners=tuple(map(tuple, corners))
    )
    sheet = base.sheets["plate"].model_copy(update={"outline": outline})
    return base.model_copy(update={"sheets": {"plate": sheet}})


@pytest.mark.parametrize(
    "corners", [HALF_ELLIPSE, ROUNDED, CUT_OFF], ids=["ellipse", "round", "cut"]
)
@pytest.mark.parametrize("strips_of", [cut, fine])
def test_an_outline_keeps_its_area_and_its_middle(corners, strips_of):
    airframe = with_outline(corners)
    quads = [piece.corners for piece in pieces(airframe)]
    sizes = np.array([area(quad) for quad in quads])
    strips = strips_of(airframe)
    assert strips.area.sum() == pytest.approx(sizes.sum(), rel=1e-6)
    if strips_of is cut:  # those of the lattice leave out the inset edge
        # Triangles of the fan about each quad's first corner.
        thirds = [
            (0.5 * np.linalg.norm(np.cross(b - a, c - a)), (a + b + c)[0] / 3.0)
            for quad in quads
            for a, b, c in ((quad[0], quad[1], quad[2]), (quad[0], quad[2], quad[3]))
        ]
        middle = sum(s * x for s, x in thirds) / sizes.sum()
        assert strips.chord == pytest.approx(strips.area / strips.width, rel=1e-9)
        lead, trail = strips.quad[:, :2, 0].mean(axis=1), strips.quad[:, 2:, 0].mean(axis=1)
        assert trail - lead == pytest.approx(strips.chord, rel=1e-9)
        # A strip acts at its own mid-chord: what is left is the bend of the edges within one.
        assert strips.area @ strips.middle[:, 0] / sizes.sum() == pytest.approx(middle, abs=0.002)


def test_the_mean_edges_of_a_corner_cut_off():
    """Half the interval lies ahead of the cut, half beside it: a triangle of 30 mm is gone."""
    lead, trail = mean_edges(CUT_OFF, 0.31, 0.37)
    assert lead == pytest.approx(0.5 * 0.03 * 0.03 / 0.06)
    assert trail == pytest.approx(0.2)


@pytest.mark.parametrize("size", [0.02, 0.005, 0.0005, 2e-5])
def test_the_lattice_knows_no_size(size):
    """A plate of any chord [m] has the response of one of 1 m, by its own lengths."""
    large = rectangle(2.0, 4)
    lengths = {"quad": size, "middle": size, "chord": size, "width": size, "area": size**2}
    small = Strips(*(column * lengths.get(name, 1.0) for name, column in large._asdict().items()))
    n = len(large.chord)
    one, other = (response(s)[AHEAD].reshape(n, 4, n, 3) for s in (large, small))
    scale = size ** np.array([1.0, 2.0, 1.0, 2.0])
    assert np.allclose(other, one * scale[None, :, None, None], rtol=1e-9, atol=0.0)
    assert np.allclose(side_edges(small), side_edges(large) * size**2, rtol=1e-9, atol=0.0)


@pytest.mark.parametrize("chord", [0.02, 0.005, 2e-5])
def test_a_small_sheet_has_the_same_tips(chord):
    """Nothing on it counts as joined because it lies within some millimetres."""
    one = fine(plate_airframe(2.0, chord=1.0))
    small = fine(plate_airframe(2.0, chord=chord, thickness=0.02 * chord))
    assert np.array_equal(small.tip, one.tip)
    assert np.allclose(small.area, one.area * chord**2, rtol=1e-9)
    assert np.allclose(small.quad, one.quad * chord, rtol=1e-9, atol=1e-15)
