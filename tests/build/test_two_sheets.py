"""Sheets that fly in one another's wake, canards and tails, against a lattice whose strips line
up: lift slope and neutral point of the whole."""

from __future__ import annotations

import numpy as np
import plain_lattice
import pytest
from bodies import plate_airframe
from checks import compare
from odd import ELEVON

from firstthrow.sim.build.model import build
from firstthrow.sim.build.scaled import main_size
from firstthrow.sim.build.shape import main_name
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import spread_of, unknowns
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.polar import neutral_point, reference

WIDTH = 0.02  # of a strip in the lattice it is compared with [m]
WING = (0.2, 24.25 * WIDTH)  # chord, half span [m]
OTHERS = {  # chord, half span, leading edge aft of the wing's [m]
    "canard": (0.1, 10.25 * WIDTH, -0.4),
    "narrow canard": (0.1, 8.25 * WIDTH, -0.4),
    "tail": (0.12, 10.25 * WIDTH, 0.6),
    "tail wider than the wing": (0.12, 30.25 * WIDTH, 0.5),
}


def pair(other: tuple[float, float, float], up: float) -> Airframe:
    chord, half, aft = other
    airframe = plate_airframe(2.0 * WING[1] / WING[0], WING[0])
    wing = airframe.sheets["plate"]
    outline = type(wing.outline).model_validate({"chord": f"{chord} m", "span": f"{2.0 * half} m"})
    second = wing.model_copy(update={"outline": outline, "aft": aft, "up": up})
    return airframe.model_copy(update={"sheets": {"plate": wing, "other": second}})


@pytest.mark.parametrize("up", [0.0, 0.001, 0.006])
@pytest.mark.parametrize("name", OTHERS)
def test_lift_slope_and_neutral_point_of_two_sheets_in_line(name, up):
    chord, half, aft = OTHERS[name]
    plates = [
        plain_lattice.Plate((0.0, 0.0), (WING[0], WING[0]), WING[1]),
        plain_lattice.Plate((aft, aft), (aft + chord, aft + chord), half),
    ]
    wanted = plain_lattice.loads(plates, WIDTH, np.radians(0.5), aft=4)
    model = build(pair(OTHERS[name], up), STANDARD)
    air = -10.0 * np.array([np.cos(np.radians(0.5)), 0.0, np.sin(np.radians(0.5))])
    lift = -air_load(model, air)[0][2] / (50.0 * model.record.density)
    compare(f"lift of wing and {name}", wanted.lift, lift, relative=0.03)
    place = -wanted.pitch / wanted.lift
    compare(f"neutral point with {name}", place, neutral_point(model), absolute=0.02 * WING[0])


def test_one_sheet_is_the_main_one_for_every_question(written):
    """By area of the whole, whatever its rectangle and however many pieces it is made of."""
    airframe = plate_airframe(4.0, 0.2)
    wing = airframe.sheets["plate"]
    corners = [["0 m", "0 m"], ["0.2 m", "0.42 m"], ["0.36 m", "0 m"]]  # of less area
    kite = wing.model_copy(
        update={"outline": type(wing.outline).model_validate({"corners": corners}), "aft": 0.4}
    )
    both = airframe.model_copy(update={"sheets": {"kite": kite, "wing": wing}})
    assert main_name(both) == "wing"
    assert main_size(both) == pytest.approx((0.8, 0.2))
    assert reference(build(both, STANDARD))[1] == pytest.approx(0.2)
    one = written(("[sheets.slab]\n", "[sheets.slab]\nmirrored = false\n"), (ELEVON, ""))
    assert main_name(one) == "slab"
    assert spread_of(unknowns(one, 0.35), What.STRENGTH, "slab") > 0.0
