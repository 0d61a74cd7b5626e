"""Slips of the file: told with what is usual and what they may have been; nothing is refused."""

from __future__ import annotations

import pytest
import twelve
from bodies import shipped, shipped_subject

from firstthrow.sim.study.advice.slips import RULES, slips
from firstthrow.sim.study.ballast import NoBallast, at_place, places
from firstthrow.sim.study.places import body, holds, is_clear, nose, place_words, stretches, tail

# What is written, what is said of it.
WRITTEN = [
    ("sheets.slab.thickness=200 mm", "sheets.slab.thickness = 200 mm", "cm for mm?"),
    ("sheets.slab.outline.span=7 m", "outline.span = 7000 mm: 30 to 3000 mm", "cm for mm?"),
    ("sheets.slab.bow=30 mm", "sheets.slab.bow = 30 mm: up to 20 mm", "cm for mm?"),
    ("items.pack.mass=110 kg", "items.pack.mass = 110000 g", "kg for g?"),
    ("items.pack.mass=0.1 g", "items.pack.mass = 0.1 g", "g for kg?"),
    ("sheets.fin.aft=4.3 m", "sheets.fin.aft = 4300 mm: up to 1400 mm", "cm for mm?"),
    ("motors.motor.propeller.size=40x20 in", "size = 40 in across", "in for cm?"),
    ("motors.motor.kv=12 rpm/V", "motors.motor.kv = 12 rpm/V", "a slip?"),
    ("pack.capacity=13 mAh", "pack.capacity = 13 mAh", "mAh for Ah?"),
    ("servos.elevon.torque=900 kgcm", "servos.elevon.torque = 900 kgcm", "N m for kgcm?"),
    ("launch.hand.speed=30 m/s", "launch.hand.speed = 30 m/s", "m/s for km/h?"),
    ("mixing.high.pitch=0.3 deg", "mixing.high.pitch = 0.3 deg", "deg for rad?"),
    ("motors.motor.aft=90 mm", "its propeller turns inside the slab", "a minus lost?"),
    ("items.receiver.right=500 mm", "items.receiver: 60 mm aft, 500 mm right", "holds it there?"),
]


@pytest.mark.parametrize(("written", "said", "slip"), WRITTEN)
def test_a_slip_is_told_with_what_it_may_have_been(written, said, slip):
    found = slips(shipped("pantry", written))
    assert [text for text in found if said in text and text.endswith(slip)], found


def test_every_rule_is_tried_and_none_speaks_of_what_is_meant(tmp_path):
    keys = {written.split("=")[0] for written, _, _ in WRITTEN}
    for rule in RULES:
        assert keys & {key for key, _ in rule.values(shipped())} or rule.low == 0.0, rule
    for name in twelve.NAMES:
        assert slips(twelve.airframe(name, tmp_path)) == (), name


@pytest.mark.parametrize("name", twelve.NAMES)
def test_nose_and_tail_lie_on_something_and_clear_of_propellers_and_motors(name, tmp_path):
    airframe = twelve.airframe(name, tmp_path)
    for at in (nose(airframe), tail(airframe)):
        assert holds(airframe, at), at
        for motor, known in airframe.motors.items():
            front, rear = body(airframe, motor)
            beside = abs(at[1] - known.right) < 0.01 and abs(at[2] - known.up) < 0.01
            assert not (beside and front + 1e-6 < at[0] < rear - 1e-6)
            assert abs(at[0] - known.aft) >= 0.00999 or abs(at[1] - known.right) > 0.03
    for place, at in places(airframe).items():
        assert is_clear(airframe, at), place


def test_what_bears_is_told_by_whole_words_and_by_its_height():
    """A sticker and a gearbox bear nothing; nothing is fixed a hand above the slab."""
    named = shipped("pantry")
    for name in ("sticker", "gearbox", "pushrods"):
        items = {**named.items, name: named.items["receiver"].model_copy(update={"aft": -0.3})}
        after = named.model_copy(update={"items": items})
        assert not [one for one in stretches(after) if name in one.words]
    assert holds(named, (0.15, 0.0, 0.0)) == "on the slab"
    assert holds(named, (0.15, 0.0, -0.1)) == ""
    assert holds(named, (0.30, 0.0, 0.1)) == "on the fin"


@pytest.mark.parametrize("name", ["motor", "outrunner", ""])
def test_the_mount_of_a_pusher_is_ahead_of_its_disc(name, tmp_path):
    """Whatever the part is called that turns it, and where the file has none."""
    pusher = twelve.airframe("pusher", tmp_path)
    items = {key: item for key, item in pusher.items.items() if key != "motor"}
    if name:
        items[name] = pusher.items["motor"]
    after = pusher.model_copy(update={"items": items})
    disc = pusher.motors["motor"].aft
    front = disc - 0.036 if name else disc - 0.010  # where its body of 32 mm ends, or clear of it
    assert places(after)["motor"][0] == pytest.approx(front, abs=1e-6)
    assert not [one for one in stretches(after) if name and name in one.words.split()[-1:]][1:]


def test_ballast_is_put_where_it_is_said():
    """The motor of pantry sits 86 to 54 mm ahead on its stick: the nose is where it ends; a motor
    is no place, its mount is; its own ballast hangs under the motor."""
    now = shipped_subject("pantry")
    ahead = at_place(now, 0.12, "nose")
    assert ahead.place[0] == pytest.approx(-0.054, abs=1e-6)
    told = "54 mm ahead of the datum, along the nose stick"
    assert place_words(now.airframe, ahead.place) == told
    mount = at_place(now, 0.12, "motor")
    assert mount.place[0] == pytest.approx(-0.054, abs=1e-6)
    own = now.airframe.items["ballast"]
    assert holds(now.airframe, (own.aft, own.right, own.up)) == "under the motor"
    with pytest.raises(NoBallast):
        at_place(now, 0.12, "tail")
    assert not is_clear(now.airframe, (-0.090, 0.0, -0.05))  # in the disc
    assert holds(now.airframe, (-0.2, 0.0, 0.0)) == ""
