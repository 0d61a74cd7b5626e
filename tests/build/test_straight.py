"""Mixed channels straight to the servos."""

from __future__ import annotations

from math import asin, degrees, radians, sin

import numpy as np
import pytest
from bodies import shipped

from firstthrow.sim.build.shape import surface_names
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.build.straight import TooManyServos, fitted, servos, straight
from firstthrow.sim.describe.airframe import Expo
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.sheets import Role
from firstthrow.sim.flight.flight import Flight

HAND = ("pantry", "glasshouse", "allotment")


@pytest.mark.parametrize("name", HAND)
@pytest.mark.parametrize("sticks", [(0, 0, 0), (1, 0, 0), (0.4, -0.7, 0.5), (-1, 1, -1)])
def test_mixed_by_the_airframe_itself_the_surfaces_stand_where_they_did(name, sticks):
    airframe = shipped(name)
    given = Sticks(*map(float, sticks), throttle=0.4)
    led = straight(airframe)
    before = mixer(airframe).command(given)
    for slot, full in zip(led.slots, led.full, strict=True):
        before[slot] = np.clip(before[slot], -full, full)  # no channel asks more of a servo
    after = mixer(led.airframe).command(led.channels(given))
    assert after[list(led.slots)] == pytest.approx(before[list(led.slots)], abs=1e-9)
    assert after[8:] == pytest.approx(before[8:], abs=1e-9)  # throttles


@pytest.mark.parametrize("stick", ["roll", "pitch", "yaw"])
@pytest.mark.parametrize("name", HAND)
def test_a_stick_the_wrong_way_round_is_so_in_what_is_sent(name, stick):
    """As the airframe's own mixing has it: trims stay, other sticks do as they did."""
    sound = shipped(name)
    update = {"expo": Expo(), "differential": 0.0, "roll_to_yaw": 0.3}
    mixing = sound.mixing.model_copy(update=update)
    sound = sound.model_copy(update={"mixing": mixing})
    faulty = sound.model_copy(
        update={"mixing": sound.mixing.model_copy(update={"reversed": (stick,)})}
    )
    given = Sticks(0.0, -0.2, 0.3) if stick == "yaw" else Sticks(0.3, -0.2, 0.0)
    sent = straight(sound).channels(given)
    led = straight(faulty)
    assert led.channels(given) == sent
    own = mixer(faulty).angles(given)
    assert mixer(led.airframe).angles(sent) == pytest.approx(own, abs=1e-9)
    if stick != "yaw" or name == "allotment":  # the others have no rudder
        assert own != pytest.approx(mixer(sound).angles(given), abs=0.01)


def test_a_full_channel_is_the_whole_travel_of_the_servo():
    """With a long rod the horn follows the arm by the sine rule: arm sin(servo) = horn sin(a)."""
    airframe = shipped("pantry", "sheets.slab.surfaces.elevon.travel=45 deg")
    led = straight(airframe)
    angles = np.degrees(mixer(led.airframe).angles(Sticks(roll=1.0)))
    arm, horn, travel = 12.0, 16.0, radians(45.0)
    assert -angles[0] == pytest.approx(degrees(asin(arm * sin(travel) / horn)), abs=0.8)
    assert angles[1] == pytest.approx(0.0)


def test_in_flight_each_channel_moves_its_own_servo():
    led = straight(shipped("pantry"))
    flight = Flight(led.airframe, STANDARD)
    flight.advance(0.8, Sticks(roll=0.5, pitch=-0.25))
    reading = flight.reading()
    assert reading.surface_elevon_left_deg < -10.0
    assert reading.surface_elevon_right_deg > 5.0


def test_joined_surfaces_are_one_servo_and_four_are_too_many():
    names = [led.names for led in servos(shipped("allotment"))]
    assert names == [("elevator_left", "elevator_right"), ("rudder",)]
    airframe = shipped("allotment")
    tail = next(n for n, s in airframe.sheets.items() if "elevator" in s.surfaces)
    sheet = airframe.sheets[tail]
    one = sheet.surfaces["elevator"].model_copy(update={"joined": False})
    more = {"elevator": one, "flap": one.model_copy(update={"role": Role.FLAPERON})}
    sheet = sheet.model_copy(update={"surfaces": more})
    many = airframe.model_copy(update={"sheets": {**airframe.sheets, tail: sheet}})
    with pytest.raises(TooManyServos, match="5 servos"):
        straight(many)
    assert fitted(many, ()) is None


def test_channels_named_for_another_airframe_fall_back_to_the_order_of_servos():
    led = fitted(shipped("pantry"), (("rudder",), ("elevator",)))
    assert led.servos == (("elevon_left",), ("elevon_right",))
    turned = fitted(shipped("pantry"), (("elevon_right",), ("elevon_left",)))
    slot = surface_names(turned.airframe).index("elevon_right")
    assert mixer(turned.airframe).angles(Sticks(roll=1.0))[slot] < -0.3
