"""What must not matter: left or right, which way up, which way it points."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import meadow, plate_model, shipped

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels.rotation import from_angles

LEFT_RIGHT = ("right",)  # places that change sign in a mirror
ANGLES = ("right_tilt", "roll_trim", "yaw_trim", "bank")


def mirrored(airframe: Airframe) -> Airframe:
    """The airframe seen in a mirror: everything on the right on the left."""

    def flip(entry, **more):
        changes = {
            name: -getattr(entry, name) for name in (*LEFT_RIGHT, *ANGLES) if hasattr(entry, name)
        }
        return entry.model_copy(update={**changes, **more})

    def flip_all(entries):
        return {name: flip(entry) for name, entry in entries.items()}

    motors = {}
    for name, motor in airframe.motors.items():
        turns = "anticlockwise" if motor.propeller.turns == "clockwise" else "clockwise"
        motors[name] = flip(motor, propeller=motor.propeller.model_copy(update={"turns": turns}))
    # Sheets that come in pairs are their own mirror image; a single one leans the other way.
    sheets = {
        name: sheet
        if sheet.mirrored or (sheet.stance == "flat" and sheet.mirrored is None)
        else flip(sheet, dihedral=-sheet.dihedral, bow=-sheet.bow, twist=-sheet.twist)
        for name, sheet in airframe.sheets.items()
    }
    sheets = {
        name: sheet.model_copy(
            update={"twist_left": sheet.twist_right, "twist_right": sheet.twist_left}
        )
        for name, sheet in sheets.items()
    }
    launch = airframe.launch
    if launch.hand is not None:
        launch = launch.model_copy(update={"hand": flip(launch.hand)})
    return airframe.model_copy(
        update={
            "sheets": sheets,
            "items": flip_all(airframe.items),
            "motors": motors,
            "mixing": flip(airframe.mixing),
            "launch": launch,
            "wheels": flip_all(airframe.wheels),
            "skids": flip_all(airframe.skids),
        }
    )


def sticks(time: float, side: float = 1.0) -> Sticks:
    """Some stirring, mild enough to stay in the air."""
    return Sticks(
        side * 0.4 * np.sin(2.0 * time),
        0.2 * np.sin(3.0 * time),
        side * 0.3 * np.cos(1.7 * time),
        0.8,
    )


def flown(
    airframe: Airframe,
    seconds: float,
    side: float = 1.0,
    heading: float = 0.0,
    launch: str = "hand",
    height: float | None = 40.0,
):
    """States 60 times a second, after half a second in the hand."""
    field = meadow().model_copy(update={"heading": heading})
    flight = Flight(airframe, field, launch)
    flight.advance(0.5, sticks(0.0, side))
    flight.release()
    if height is not None:
        flight.state[2] = -height
    rows = [flight.state.copy()]
    for n in range(round(60 * seconds)):
        flight.advance(1.0 / 60.0, sticks(n / 60.0, side))
        rows.append(flight.state.copy())
    assert flight.outcome is None, flight.outcome
    return np.array(rows)


MIRROR = np.ones(13)
MIRROR[[1, 4, 6, 8, 10, 12]] = -1.0  # east, quaternion x and z, v, p, r


PLAY = tuple(f"sheets.slab.surfaces.elevon.{what}" for what in ("slop=2.5 mm", "mass=25 g"))


@pytest.mark.parametrize(
    ("name", "launch", "overrides"),
    [
        ("pantry", "hand", ()),
        ("pantry", "hand", PLAY),  # it flutters
        ("allotment", "hand", ()),
        ("glasshouse", "ground", ()),
    ],
)
def test_mirrored_flight(name, launch, overrides):
    airframe = shipped(name, *overrides)
    height = 40.0 if launch == "hand" else None
    one = flown(airframe, 3.0, launch=launch, height=height)[:, :13]
    other = flown(mirrored(airframe), 3.0, side=-1.0, launch=launch, height=height)[:, :13]
    gap = np.abs(other * MIRROR - one).max()
    print(f"{name}: mirrored flight {gap:.1e} apart; {np.abs(one[:, 1]).max():.2f} m aside")
    assert np.abs(one[:, 1]).max() > 0.02  # the flight is no mirror image of itself
    assert gap < 1e-9


def test_heading_does_not_matter():
    turn = 1.234
    one, other = (flown(shipped(), 4.0, heading=h) for h in (0.0, turn))
    c, s = np.cos(turn), np.sin(turn)
    north = c * other[:, 0] + s * other[:, 1]
    east = -s * other[:, 0] + c * other[:, 1]
    places = max(
        np.abs(north - one[:, 0]).max(),
        np.abs(east - one[:, 1]).max(),
        np.abs(other[:, 2] - one[:, 2]).max(),
    )
    motion = np.abs(other[:, 7:] - one[:, 7:]).max()
    far = np.linalg.norm(one[-1, :3] - one[0, :3])
    # Quaternions are made unit after each step, not between its stages: what that leaves of
    # the truncation error depends on the heading.
    print(f"heading {turn} rad: places {places:.1e} m apart in {far:.0f} m, motion {motion:.1e}")
    assert motion < 1e-9
    assert places < 1e-9 * far
    turned = np.array(from_angles(0.0, 0.0, turn)) @ other[0, 3:7]
    assert abs(turned) > 0.5  # it did point elsewhere


def flow(degrees: float, speed: float = 10.0) -> np.ndarray:
    angle = np.radians(degrees)
    return -speed * np.array([np.cos(angle), 0.0, np.sin(angle)])


@pytest.mark.kernel
@pytest.mark.parametrize("degrees", [0.0, 3.0, 12.0, 24.0, 45.0, 80.0, 90.0, 120.0, 175.0])
def test_upside_down(degrees):
    """A bare slab has no upper side: turned over, the force is turned over."""
    for rates in ((0.0, 0.0, 0.0), (0.7, 1.5, -0.4)):
        up, _ = air_load(plate_model(2.0), flow(degrees), rates)
        # Half a turn about the x axis: y and z change sign.
        over = np.array([1.0, -1.0, -1.0])
        down, _ = air_load(plate_model(2.0), flow(degrees) * over, np.array(rates) * over)
        assert np.abs(down - up * np.tile(over, 2)).max() < 1e-12


@pytest.mark.kernel
@pytest.mark.parametrize("degrees", [0.0, 3.0, 12.0, 24.0, 45.0, 80.0, 90.0])
def test_turned_round(degrees):
    """A bare slab has no leading edge: from behind, the force comes from behind."""
    for rates in ((0.0, 0.0, 0.0), (0.7, 1.5, -0.4)):
        ahead, _ = air_load(plate_model(2.0), flow(degrees), rates)
        # Half a turn about the z axis: x and y change sign.
        round_ = np.array([-1.0, -1.0, 1.0])
        behind, _ = air_load(plate_model(2.0), flow(degrees) * round_, np.array(rates) * round_)
        assert np.abs(behind - ahead * np.tile(round_, 2)).max() < 1e-9


@pytest.mark.kernel
def test_left_and_right_of_a_slab():
    """Sideslip to the left is sideslip to the right in a mirror."""
    air = np.array([-9.0, 2.0, -2.0])
    one, _ = air_load(plate_model(2.0), air, (0.5, 1.0, 0.3))
    mirror = np.array([1.0, -1.0, 1.0])
    other, _ = air_load(plate_model(2.0), air * mirror, (-0.5, 1.0, -0.3))
    assert np.abs(other - one * np.concatenate([mirror, -mirror])).max() < 1e-12
