"""Mass, balance, inertia and root strength against closed forms and sums done another way."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import shipped, shipped_model
from checks import compare

from firstthrow.sim.build.shape import Piece
from firstthrow.sim.build.strength import root_strength
from firstthrow.sim.build.weights import Part, balance, item_part, parts, plate
from firstthrow.sim.describe.airframe import Item
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.weigh import weigh


def quad(corners) -> np.ndarray:
    return np.array(corners, float)


def test_rectangle():
    """m b^2 / 12 and the like, with the thickness of a slab."""
    chord, span, thick, mass = 0.35, 0.7, 0.01, 0.2
    corners = quad(
        [[0, -span / 2, 0], [0, span / 2, 0], [chord, span / 2, 0], [chord, -span / 2, 0]]
    )
    piece = Piece("slab", corners, np.array([0.0, 0.0, 1.0]), thick, -1, None)
    found = plate("slab", [piece], mass / (chord * span), "measured")
    assert found.mass == pytest.approx(mass)
    assert found.place == pytest.approx([chord / 2, 0.0, 0.0], abs=1e-12)
    wanted = mass / 12.0 * np.diag([span**2 + thick**2, chord**2 + thick**2, span**2 + chord**2])
    compare("slab kg m2", wanted, found.inertia, relative=1e-12, absolute=1e-15)


def test_triangle():
    """Legs a and b: centroid at a third, m a^2 / 18 about it."""
    a, b, mass = 0.3, 0.2, 0.05
    corners = quad([[0, 0, 0], [0, b, 0], [a, 0, 0], [a, 0, 0]])
    piece = Piece("fin", corners, np.array([0.0, 0.0, 1.0]), 0.0, -1, None)
    found = plate("fin", [piece], mass / (0.5 * a * b), "measured")
    assert found.place == pytest.approx([a / 3, b / 3, 0.0])
    compare("triangle", [mass * b * b / 18, mass * a * a / 18], found.inertia.diagonal()[:2], 1e-9)
    compare("product", [mass * a * b / 36], [found.inertia[0, 1]], 1e-9)


def item(**values) -> Item:
    return Item.model_validate({"mass": "120 g", **values})


def test_items():
    box = item_part("box", item(shape="box", length="60 mm", width="30 mm", height="20 mm"))
    square = np.square([0.06, 0.03, 0.02])
    compare("box", 0.01 * (square.sum() - square), box.inertia.diagonal(), 1e-12)
    for along, axis in (("aft", 0), ("right", 1), ("up", 2)):
        rod = item_part("rod", item(shape="rod", length="500 mm", along=along))
        wanted = np.full(3, 0.12 * 0.25 / 12.0)
        wanted[axis] = 0.0
        compare(f"rod {along}", wanted, rod.inertia.diagonal(), 1e-12)
    assert not item_part("point", item()).inertia.any()


def test_parallel_axes():
    """Two lumps on a bar: the reduced mass times the distance squared."""
    none = np.zeros((3, 3))
    found = balance(
        (
            Part("a", 1.0, np.array([0.0, 0.0, 0.0]), none, "measured"),
            Part("b", 3.0, np.array([0.4, 0.3, 0.0]), none, "measured"),
        )
    )
    assert found.mass == 4.0
    assert found.place == pytest.approx([0.3, 0.225, 0.0])
    x, y, reduced = 0.4, 0.3, 0.75
    wanted = reduced * np.array([[y * y, -x * y, 0], [-x * y, x * x, 0], [0, 0, x * x + y * y]])
    compare("two lumps", wanted, found.inertia, 1e-12, 1e-15)
    with pytest.raises(ValueError, match="weighs nothing"):
        balance((Part("air", 0.0, np.zeros(3), none, "guessed"),))


def test_all_up_mass_is_what_is_written():
    airframe = shipped()
    slab = airframe.sheets["slab"]
    written = slab.mass + 2.0 * slab.surfaces["elevon"].mass + airframe.sheets["fin"].mass
    written += sum(entry.mass for entry in airframe.items.values())
    written += sum(motor.propeller.mass for motor in airframe.motors.values())
    assert weigh(Subject(airframe)).mass_kg == pytest.approx(written, rel=1e-12)


def test_balance_of_the_slab_by_a_grid():
    """The board with elevons and fin cut into little lumps, and added up without the program."""

    def board(aft: tuple, right: tuple, mass: float) -> tuple[np.ndarray, np.ndarray]:
        x, y = (low + (high - low) * (np.arange(200) + 0.5) / 200 for low, high in (aft, right))
        place = np.stack(np.broadcast_arrays(x[:, None], y[None, :], 0.0), axis=-1).reshape(-1, 3)
        return place, np.full(len(place), mass / len(place))

    airframe = shipped()
    slab = airframe.sheets["slab"]
    chord, half = slab.outline.chord, 0.5 * slab.outline.span
    elevon = slab.surfaces["elevon"]
    hinge = chord - elevon.chord
    fixed = [
        ((0.0, hinge), (-half, half)),
        ((hinge, chord), (-elevon.inner, elevon.inner)),
        ((hinge, chord), (elevon.outer, half)),
        ((hinge, chord), (-half, -elevon.outer)),
    ]
    size = [(a[1] - a[0]) * (b[1] - b[0]) for a, b in fixed]
    boxes = [(*box, slab.mass * s / sum(size)) for box, s in zip(fixed, size, strict=True)]
    for side in (1.0, -1.0):
        span = (side * elevon.inner, side * elevon.outer)
        boxes.append(((hinge, chord), span, elevon.mass))
    lumps = [board(*box) for box in boxes]
    place, mass = (np.concatenate([pair[k] for pair in lumps]) for k in (0, 1))
    centre = mass @ place / mass.sum()
    off = place - centre
    second = (off * mass[:, None]).T @ off
    wanted = np.trace(second) * np.eye(3) - second
    mine = {"slab", "elevon_left", "elevon_right"}
    found = balance(tuple(part for part in parts(airframe) if part.name in mine))
    assert found.mass == pytest.approx(mass.sum())
    compare("board m", centre, found.place, absolute=1e-9)
    # The grid has no thickness: 6 mm of board add 3e-7 kg m2.
    compare("board kg m2", wanted, found.inertia, relative=2e-4, absolute=5e-7)


def test_moving_the_pack_moves_the_balance():
    near, far = (weigh(Subject(shipped("pantry", f"items.pack.aft={aft} mm"))) for aft in (20, 60))
    moved = far.cg_m[0] - near.cg_m[0]
    pack = shipped().items["pack"].mass
    compare("moved m", [0.040 * pack / near.mass_kg], [moved], relative=1e-9)
    margin = near.static_margin_percent - far.static_margin_percent
    compare("margin %", [100.0 * moved / near.mean_chord_m], [margin], relative=0.01)


def test_product_of_inertia_has_the_sign_of_body_axes():
    """A mass moved to the right, ahead of the centre of gravity: Ixy = -sum m x y falls."""
    base, right = (
        weigh(Subject(shipped("pantry", f"items.ballast.right={y} mm"))).inertia_kg_m2
        for y in (0, 200)
    )
    assert right[0][1] < base[0][1] - 1e-4
    assert right[0][1] == right[1][0]
    record = shipped_model().record
    assert np.allclose(record.inertia, np.array(weigh(Subject(shipped())).inertia_kg_m2))


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "pantry-swept", "allotment"])
def test_inertia_can_belong_to_a_body(name):
    moments = np.linalg.eigvalsh(balance(parts(shipped(name))).inertia)
    assert np.all(moments > 0.0)
    assert moments[2] <= moments[0] + moments[1] + 1e-12


def test_neutral_point_of_the_slab():
    """Aspect ratio 2: near 21 % of the chord (the lattice's 0.209; fin and elevon gaps aside)."""
    found = weigh(Subject(shipped())).neutral_point_percent_mac
    compare("neutral point %", [20.9], [found], absolute=1.0)


def test_root_strength():
    """Bare board: strength times section modulus.

    Board and tube: one curvature about the neutral axis, the tube 2 mm below the middle; the
    moduli and strengths are those the materials state.
    """
    board = root_strength(shipped().sheets["slab"])
    compare("pantry N m", [2.5e6 * 0.35 * 0.006**2 / 6.0], [board], relative=1e-6)
    tube, foam = 127e9, 15e6
    tube_area, foam_area = 0.25 * np.pi * (0.016**2 - 0.014**2), 0.8 * 0.02
    axis = -0.002 * tube * tube_area / (tube * tube_area + foam * foam_area)
    stiffness = tube * (np.pi / 64.0 * (0.016**4 - 0.014**4) + tube_area * (-0.002 - axis) ** 2)
    stiffness += foam * (0.8 * 0.02**3 / 12.0 + foam_area * axis**2)
    curvature = min(800e6 / (tube * (0.008 + 0.002 + axis)), 0.45e6 / (foam * (0.01 - axis)))
    found = root_strength(shipped("glasshouse").sheets["slab"])
    compare("glasshouse N m", [curvature * stiffness], [found], relative=1e-6)
