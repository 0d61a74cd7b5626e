"""What must move where: by the moments, against the live flight, and on the page."""

from __future__ import annotations

import json
from functools import lru_cache

import matplotlib.image
import numpy as np
import pytest
from bodies import called_otherwise, shipped, still

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks, command, mixer
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.evaluate import air_load
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.trims import Trim, trims
from firstthrow.sim.kernels.layout import MAX_SURFACES
from firstthrow.sim.paper.airframe_drawing import seen
from firstthrow.sim.paper.benchsheet import field_page
from firstthrow.sim.paper.directions import page
from firstthrow.sim.paper.page import Area, Words
from firstthrow.sim.paper.printing import write
from firstthrow.sim.study import directions, faults
from firstthrow.sim.study.band.limits import limits
from firstthrow.sim.study.directions import Directions
from firstthrow.sim.study.subject import Subject

NAMES = ("pantry", "glasshouse", "pantry-swept", "allotment")


@lru_cache
def found(name: str, fault: str = "") -> Directions:
    airframe = shipped(name)
    if fault:
        airframe, _ = faults.apply(fault, airframe, STANDARD)
    return directions.study(Subject(airframe))


@pytest.mark.parametrize("name", NAMES)
def test_the_shipped_airframes_move_as_they_must(name):
    answer = found(name)
    assert answer.verdict == "ok"
    assert answer.problems == ()
    assert {"stick right", "stick back"} <= {way.name for way in answer.sticks}
    assert all(way.right_way for way in answer.sticks)
    for way, axis in (("stick right", "roll_right"), ("stick back", "nose_up")):
        if answer.stick(way).turns == ("roll right" if axis == "roll_right" else "nose up"):
            assert answer.stick(way).moment > 0.0


def test_stick_right_raises_the_right_elevon_and_lowers_the_left():
    """A raised trailing edge loses lift: that wing goes down."""
    right = found("pantry").stick("stick right").surfaces
    assert right["elevon_right"].moves == "up"
    assert right["elevon_left"].moves == "down"
    back = found("pantry").stick("stick back").surfaces
    assert back["elevon_right"].moves == back["elevon_left"].moves == "up"
    chord = 0.060
    assert back["elevon_left"].edge_up_m == pytest.approx(
        chord * np.sin(np.radians(back["elevon_left"].angle_up_deg))
    )


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
@pytest.mark.parametrize("fault", ["", "reversed-roll"])
def test_the_flight_rolls_the_way_the_check_says(name, fault):
    airframe = shipped(name)
    if fault:
        airframe, _ = faults.apply(fault, airframe, STANDARD)
    model = build(airframe, STANDARD)
    rolls = []
    for roll in (0.0, 1.0):
        stick_now = Sticks(roll=roll, throttle=0.5)
        flight = fly(airframe, STANDARD, lambda _, s=stick_now: s, 0.5, "hand", model=model)
        rolls.append(flight.reading().roll_deg)
    flown = "roll right" if rolls[1] > rolls[0] + 3.0 else "roll left"
    told = directions.study(Subject(airframe)).stick("stick right")
    assert told.turns == flown
    assert told.right_way == (fault == "")


def test_a_rudder_swings_the_nose_and_the_dihedral_rolls_it():
    way = found("allotment").stick("stick right")
    assert way.turns == "nose right"
    assert way.moment_nose_right_N_m > 0.05
    assert way.roll_moment_of_5_deg_sideslip_N_m > 0.0
    flat = shipped("allotment")
    wing = next(name for name, sheet in flat.sheets.items() if sheet.dihedral > 0.0)
    level = flat.sheets[wing].model_copy(update={"dihedral": -flat.sheets[wing].dihedral})
    flat = flat.model_copy(update={"sheets": {**flat.sheets, wing: level}})
    wrong = directions.study(Subject(flat)).stick("stick right")
    assert not wrong.right_way  # a wing that droops rolls the other way
    assert "does not roll with it" in wrong.problems[0]


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("reversed-roll", "stick right makes it roll left"),
        ("reversed-pitch", "stick back makes it nose down"),
        ("swapped-elevons", "stick right makes it roll left"),
        ("propeller-backwards", "back to front"),
        ("motor-reversed", "turns anticlockwise"),
        ("elevon-stuck", "the left elevon does not move with stick right"),
        ("elevon-off", "the left elevon is not there"),
    ],
)
def test_every_fault_of_the_directions_is_named(fault, words):
    answer = found("pantry", fault)
    assert answer.verdict == "wrong"
    assert any(words in text for text in answer.problems)


def test_one_reversed_servo_is_told_from_a_reversed_stick():
    airframe = shipped("pantry")
    slab = airframe.sheets["slab"]
    elevon = slab.surfaces["elevon"].model_copy(update={"reversed_left": True})
    sheet = slab.model_copy(update={"surfaces": {**slab.surfaces, "elevon": elevon}})
    airframe = airframe.model_copy(update={"sheets": {**airframe.sheets, "slab": sheet}})
    answer = directions.study(Subject(airframe))
    assert "the left elevon moves the wrong way with stick back" in answer.problems
    assert not any("right elevon" in text for text in answer.problems)


def test_thrust_and_turning_are_those_of_the_drive():
    sound, back = found("pantry").propellers[0], found("pantry", "motor-reversed")
    back, half = back.propellers[0], found("pantry", "propeller-backwards").propellers[0]
    assert (sound.turns_from_behind, sound.pulls) == ("clockwise", "forward")
    assert (back.turns_from_behind, back.pulls) == ("anticlockwise", "back")
    assert back.speed_rpm < 0.0
    assert half.thrust_N == pytest.approx(0.5 * sound.thrust_N, rel=0.15)
    assert half.must_thrust_N == pytest.approx(sound.thrust_N)


def test_two_motors_that_yaw_are_told_apart():
    airframe = shipped("pantry")
    motor = airframe.motors["motor"]
    pair = {
        "left": motor.model_copy(update={"right": -0.2}),
        "right": motor.model_copy(update={"right": 0.2}),
    }
    mixing = airframe.mixing.model_copy(update={"yaw_to_throttle": 0.3})
    airframe = airframe.model_copy(update={"motors": pair, "mixing": mixing})
    answer = directions.study(Subject(airframe))
    way = answer.stick("rudder right")
    assert way.motors["left"].throttle_change > 0.1
    assert way.motors["right"].throttle_change < -0.1
    assert way.moment_nose_right_N_m > 0.0
    assert [drive.motor for drive in answer.propellers] == ["left", "right"]


@pytest.mark.parametrize("name", NAMES)
def test_the_page_has_a_box_to_tick_for_every_movement_and_nothing_runs_off_it(name, tmp_path):
    whole = page(shipped(name), found(name))
    told = [part.text for part in whole.parts if isinstance(part, Words)]
    boxes = [
        part
        for part in whole.parts
        if isinstance(part, Area) and part.edge == 0.5 and part.grey == 1.0
    ]
    sticks = found(name).sticks
    assert len(boxes) == len(sticks) + len(found(name).propellers) + 4
    assert all(way.name.capitalize() in told for way in sticks)
    write(whole, tmp_path / "page.png")
    picture = matplotlib.image.imread(tmp_path / "page.png")[..., :3]
    assert np.ptp(picture, axis=2).max() == 0.0  # greys only
    edge = 30  # pixels: 5 mm
    for strip in (picture[:edge], picture[-edge:], picture[:, :edge], picture[:, -edge:]):
        assert strip.min() == 1.0
    assert (picture < 0.3).mean() > 0.005


def test_the_page_tells_a_rudder_by_its_sheet_and_not_by_its_name():
    tree = shipped("allotment", "mixing.yaw_trim=5 deg")
    (fin,) = (name for name, sheet in tree.sheets.items() if "rudder" in sheet.surfaces)
    tip = called_otherwise(tree, fin, "rudder", "tip")
    for airframe, name in ((tree, "rudder"), (tip, "tip")):
        answer = directions.study(Subject(airframe))
        assert answer.neutral[name].edge_up_m > 0.001
        told = [part.text for part in page(airframe, answer).parts if isinstance(part, Words)]
        assert f"{name} {1e3 * answer.neutral[name].edge_up_m:.0f} mm right" in told


def test_seen_from_behind_right_is_right_and_up_is_up():
    points = seen(np.array([[0.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]))
    assert points[1, 0] > points[0, 0]
    assert points[2, 1] > points[0, 1]
    assert points[3, 1] < points[0, 1]  # the tail is nearer to who stands behind


def test_the_command_prints_draws_and_says_no_go(tmp_path, capsys):
    assert main(["directions", "pantry", "--plot", str(tmp_path / "p.pdf")]) == 0
    told = capsys.readouterr().out
    assert "stick right" in told
    assert "roll right" in told
    assert (tmp_path / "p.pdf").read_bytes().startswith(b"%PDF")
    assert main(["directions", "pantry", "--fault", "reversed-roll", "--json"]) == 3
    answer = json.loads(capsys.readouterr().out)
    assert answer["verdict"] == "wrong"
    assert main(["directions", "pantry", "--plot", "p.gif"]) == 2
    assert "--plot p.gif" in capsys.readouterr().err


CANARD = (
    "sheets.tailplane.aft=-300 mm",
    "sheets.tailplane.incidence=3 deg",
    "items.pack.aft=-230 mm",
)


def test_a_canard_moves_down_to_lift_the_nose():
    """In the flight, the reports and on the sheet alike."""
    airframe, model = still("allotment", CANARD)
    back = command(airframe, Sticks(pitch=1.0))[:MAX_SURFACES]
    assert back[0] > 0.0  # trailing edge down
    air = np.array([-10.0, 0.0, -0.5])
    change = air_load(model, air, (0.0, 0.0, 0.0), back)[0] - air_load(model, air)[0]
    assert change[4] > 0.0 > change[2]  # nose up, and lifts
    (row,) = [r for r in field_page.directions(airframe)["sticks"] if r["stick"] == "stick back"]
    assert set(row["moves"].values()) == {"down"}
    assert row["does"] == "nose up"
    (trim,) = trims(model, airframe, [10.0], ("glide",))
    assert isinstance(trim, Trim)
    asked = mixer(airframe).angles(trim.sticks)[0]
    assert trim.elevator == pytest.approx(asked)
    front = limits(Subject(airframe, model=model)).front
    assert front.aft < polar.neutral_point(model)
