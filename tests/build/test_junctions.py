"""Fins that stand on a flat sheet or cross it, against what symmetry makes of them."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_airframe, shipped
from checks import compare

from firstthrow.sim.build.model import build
from firstthrow.sim.build.strips import fine
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.sheets import Sheet
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.study.spreads import neutral_spread
from firstthrow.sim.study.subject import Subject

SMALL = 0.02  # angle of the stream [rad]
SPAN, CHORD = 0.6, 0.35  # of the board [m]


def fin(chord: float, lowest: float, height: float, **changes) -> Sheet:
    """From `lowest` up, with its leading edge 0.14 m aft."""
    corners = [(0.0, 0.0), (0.0, height), (chord, height), (chord, 0.0)]
    written = {
        "stance": "upright",
        "outline": {"corners": [[f"{aft} m", f"{up + lowest} m"] for aft, up in corners]},
        "aft": "140 mm",
        "thickness": "4 mm",
        "material": "foam board",
    }
    return Sheet.model_validate(written | changes)


def with_sheets(airframe: Airframe, **sheets: Sheet) -> Airframe:
    return airframe.model_copy(update={"sheets": {**airframe.sheets, **sheets}})


def load(airframe: Airframe, *stream: float) -> np.ndarray:
    """Force over dynamic pressure and the small angle [m2]; stream: its direction across."""
    model = build(airframe, STANDARD)
    right, down = stream
    air = -10.0 * np.array([1.0, right * SMALL, down * SMALL])
    return air_load(model, air)[0] / (50.0 * model.record.density * SMALL)


def side(airframe: Airframe) -> float:
    """Of all but the board, whose friction is across the stream as well [m2]."""
    board = airframe.model_copy(update={"sheets": {"plate": airframe.sheets["plate"]}})
    return load(board, 1.0, 0.0)[1] - load(airframe, 1.0, 0.0)[1]


@pytest.mark.parametrize("above", [0.0, 0.002, 0.004])
@pytest.mark.parametrize("height", [0.06, 0.1, 0.16])
def test_a_fin_on_a_board_acts_as_half_of_a_wing_of_twice_its_height(height, above):
    """The method of images (textbook, from memory): short of it by what such a board lacks to a
    plane without end, and a low fin by strips that are wide beside it. A fin that stands on the
    board's skin, half its thickness above its middle, is as tight."""
    board = plate_airframe(SPAN / CHORD, CHORD)
    half = -0.5 * load(plate_airframe(2.0 * height / 0.1, 0.1), 0.0, 1.0)[2]
    found = side(with_sheets(board, fin=fin(0.1, above, height)))
    compare(f"side force of a fin {height} m high", half, found, relative=0.07)


@pytest.mark.parametrize("thickness", ["3 mm", "6 mm", "20 mm"])
def test_a_fin_on_the_skin_of_a_thick_board_is_as_tight_however_thin_it_is(thickness):
    plate = plate_airframe(SPAN / CHORD, CHORD).sheets["plate"]
    board = with_sheets(
        plate_airframe(SPAN / CHORD, CHORD), plate=plate.model_copy(update={"thickness": 0.02})
    )
    half = -0.5 * load(plate_airframe(2.0, 0.1), 0.0, 1.0)[2]
    found = side(with_sheets(board, fin=fin(0.1, 0.01, 0.1, thickness=thickness)))
    compare(f"side force of a fin of {thickness}", half, found, relative=0.07)


@pytest.mark.parametrize("half", [0.05, 0.06, 0.08, 0.1])
def test_a_board_across_the_middle_of_a_fin_changes_nothing_in_sideslip(half):
    """By symmetry no air goes through it."""
    board = plate_airframe(SPAN / CHORD, CHORD)
    alone = -load(plate_airframe(2.0 * half / 0.1, 0.1), 0.0, 1.0)[2]
    found = side(with_sheets(board, fin=fin(0.1, -half, 2.0 * half)))
    compare(f"side force of a fin {half} m up and down", alone, found, relative=0.02)


@pytest.mark.parametrize("lowest", [-0.015, -0.02, -0.03, -0.04, -0.05])
def test_a_board_across_a_fin_lets_it_act_between_one_wing_and_two_halves(lowest):
    """More than by itself, less than between planes without end above and below (images)."""
    board, highest = plate_airframe(SPAN / CHORD, CHORD), 0.1
    alone, above, below = (
        -load(plate_airframe(tall / 0.1, 0.1), 0.0, 1.0)[2]
        for tall in (highest - lowest, 2.0 * highest, -2.0 * lowest)
    )
    found = side(with_sheets(board, fin=fin(0.1, lowest, highest - lowest)))
    assert 0.98 * alone < found < 0.5 * (above + below)


def with_tail(**fins: Sheet) -> Airframe:
    """A wing of 0.25 m chord and 4 degrees of incidence before a tail of as much."""
    bare = plate_airframe(6.0, 0.25)
    plate = bare.sheets["plate"].model_copy(update={"incidence": np.radians(4.0)})
    outline = type(plate.outline).model_validate({"chord": "150 mm", "span": "400 mm"})
    tail = plate.model_copy(update={"outline": outline, "aft": 0.66})
    return with_sheets(bare, plate=plate, tail=tail, **fins)


@pytest.mark.parametrize("lowest", [-0.05, 0.0])
@pytest.mark.parametrize("right", [0.15, 0.19, 0.198])
def test_fins_at_any_place_of_a_tail_leave_its_neutral_point_known(right, lowest):
    """A lattice of twice the strips says the same, to a hundredth of the chord."""
    twin = fin(0.1, lowest, 0.12, mirrored=True, right=f"{right} m", aft="0.68 m")
    found = neutral_spread(Subject(with_tail(fin=twin)))
    assert found.lattice < 0.01 * 0.25


@pytest.mark.parametrize("right", [2, 3, 6])
def test_a_fin_beside_the_middle_leaves_the_halves_of_the_board_where_they_meet(right):
    board = fine(
        with_sheets(
            plate_airframe(SPAN / CHORD, CHORD), fin=fin(0.1, 0.0, 0.1, right=f"{right} mm")
        )
    )
    out = board.quad[board.sheet == 0][..., 1]
    widths = np.ptp(out, axis=1)
    assert widths.sum() == pytest.approx(np.ptp(out))  # neither apart nor over one another


@pytest.mark.parametrize("right", [340, 346, 350, 356])
def test_short_fins_near_the_tips_leave_the_neutral_point_known(right):
    """Beside most of the tip's edge there is no fin, and at its end there is."""
    fins = shipped("pantry", "sheets.fin.mirrored=true", f"sheets.fin.right={right} mm")
    subject = Subject(fins)
    assert neutral_spread(subject).lattice < 0.005 * subject.chord


def test_halves_of_a_wing_with_dihedral_meet_whatever_its_incidence():
    """As built they part by a hair at the trailing edge, which foam and tape close."""
    airframe = with_tail()
    plate = airframe.sheets["plate"].model_copy(update={"dihedral": np.radians(8.0)})
    found = neutral_spread(Subject(with_sheets(airframe, plate=plate)))
    assert found.lattice < 0.003 * 0.25


@pytest.mark.parametrize("beside", [0.0, 0.002, 0.004])
def test_a_fin_glued_to_the_end_of_a_wing_is_as_tight_as_one_on_it(beside):
    """Fins at the tips keep the wing's lift in; the wing is as wide as its foam all the same."""
    board = plate_airframe(SPAN / CHORD, CHORD)
    tips = [
        fin(0.2, -0.05, 0.1, mirrored=True, right=f"{0.5 * SPAN + at} m") for at in (0.0, beside)
    ]
    on_it, at_its_end = (-load(with_sheets(board, fin=one), 0.0, 1.0)[2] for one in tips)
    compare("lift with fins at the ends", on_it, at_its_end, relative=0.015)
