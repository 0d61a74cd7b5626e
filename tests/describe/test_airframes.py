"""The airframes, fields and hands that come with the program: whole, plausible, as described."""

import math
from pathlib import Path

import pytest

from firstthrow.scenes.hands.hands import Hands, load_hands
from firstthrow.sim.build.shape import pieces
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field
from firstthrow.sim.describe.materials import MATERIALS

FOLDER = Path(__file__).parents[2] / "configs"
AIRFRAMES = sorted(path.stem for path in (FOLDER / "airframes").glob("*.toml"))
FIELDS = sorted(path.stem for path in (FOLDER / "fields").glob("*.toml"))
HANDS = sorted(path.stem for path in (FOLDER / "hands").glob("*.toml"))
GRAVITY = 9.80665


def shipped(name, *overrides):
    return load_airframe(find("airframes", name), overrides)


def test_the_four_airframes_are_there():
    assert AIRFRAMES == ["allotment", "glasshouse", "pantry", "pantry-swept"]


@pytest.mark.parametrize("name", AIRFRAMES)
def test_airframe_is_named_as_its_file_and_commented(name):
    assert shipped(name).name == name
    schema, first, *_ = find("airframes", name).read_text().splitlines()
    assert schema.startswith("#:schema ")
    assert first.startswith("# ")


@pytest.mark.parametrize("name", AIRFRAMES)
def test_left_and_right_weigh_the_same_within_a_millimetre(name):
    assert abs(balance(parts(shipped(name))).place[1]) < 1e-3


@pytest.mark.parametrize(
    ("name", "mass", "aft"),
    [
        # aft: where the centre of gravity lies [m], by the design of each airframe
        ("pantry", (0.38, 0.52), (0.042, 0.048)),  # 12-14 % of 350 mm
        ("pantry-swept", (0.33, 0.45), (0.100, 0.115)),
        ("glasshouse", (2.5, 3.6), (0.190, 0.210)),  # 24-26 % of 800 mm: tail-heavy as built
        ("allotment", (0.3, 0.4), (0.058, 0.072)),
    ],
)
def test_mass_and_balance_as_described(name, mass, aft):
    found = balance(parts(shipped(name)))
    print(f"{name}: {1e3 * found.mass:.0f} g, centre of gravity at {1e3 * found.place[0]:.1f} mm")
    assert mass[0] < found.mass < mass[1]
    assert aft[0] < found.place[0] < aft[1]


def test_glasshouse_can_be_balanced_by_the_pack_and_ballast_in_the_nose_box():
    moved = shipped("glasshouse", "items.pack.aft=-130 mm", "items.nose_box.mass=340 g")
    assert balance(parts(moved)).place[0] < 0.16 * 0.8


def test_pantry_reaches_a_quarter_chord_by_its_pack():
    moved = shipped("pantry", "items.pack.aft=115 mm")
    assert balance(parts(moved)).place[0] == pytest.approx(0.25 * 0.35, abs=0.003)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_weighed_sheets_agree_with_their_material(name):
    """A weighed sheet with tape and glue lies within a third of board density times volume."""
    airframe = shipped(name)
    for part in parts(airframe):
        sheet = airframe.sheets.get(part.name)
        if sheet is None:
            continue
        mine = [p for p in pieces(airframe) if p.sheet == part.name and p.surface < 0]
        volume = sum(quad_area(p.corners) * p.thickness for p in mine)
        ratio = part.mass / (volume * MATERIALS[sheet.material].density)
        assert 0.8 < ratio < 1.35, (part.name, ratio)


def quad_area(c):
    """Area of a plane quad from its diagonals: half the length of their cross product."""
    (a, b, d), (e, f, g) = c[2] - c[0], c[3] - c[1]
    return 0.5 * math.hypot(b * g - d * f, d * e - a * g, a * f - b * e)


def footing(airframe):
    """Front and rear contact of an airframe at rest: (aft, up, stiffness of both sides)."""
    contacts = list(airframe.wheels.values()) + list(airframe.skids.values())
    places = [(c.aft, c.up, c.stiffness * (2 if c.mirrored else 1)) for c in contacts]
    return min(places), max(places)


@pytest.mark.parametrize("name", AIRFRAMES)
def test_at_rest_it_sinks_a_few_millimetres_and_the_propeller_is_clear(name):
    airframe = shipped(name)
    found = balance(parts(airframe))
    front, rear = footing(airframe)
    share = (found.place[0] - front[0]) / (rear[0] - front[0])
    assert 0.0 < share < 0.6  # stands on both, most of it in front
    weight = found.mass * GRAVITY
    for load, stiffness in ((weight * (1 - share), front[2]), (weight * share, rear[2])):
        assert 0.2e-3 < load / stiffness < 8e-3
    slope = (rear[1] - front[1]) / (rear[0] - front[0])
    for motor in airframe.motors.values():
        ground = front[1] + slope * (motor.aft - front[0])
        clearance = motor.up - 0.5 * motor.propeller.size[0] - ground
        print(f"{name}: propeller clears the ground by {1e3 * clearance:.0f} mm")
        assert clearance > 0.02


@pytest.mark.parametrize("name", AIRFRAMES)
def test_pack_and_propeller_do_not_share_a_place(name):
    airframe = shipped(name)
    pack = airframe.items["pack"]
    for motor in airframe.motors.values():
        assert pack.aft - 0.5 * pack.length > motor.aft + 0.01


@pytest.mark.parametrize("name", AIRFRAMES)
def test_throws_fit_in_the_travel(name):
    airframe = shipped(name)
    high = airframe.mixing.high
    for sheet in airframe.sheets.values():
        for surface in sheet.surfaces.values():
            assert max(high.pitch, high.roll, high.yaw) <= surface.travel
            servo = airframe.servos[surface.servo]
            assert surface.arm / surface.horn * servo.travel >= max(high.pitch, high.roll)


@pytest.mark.parametrize("name", FIELDS)
def test_fields(name):
    field = load_field(find("fields", name))
    assert field.name == name
    assert field.ground.elevation == 40.0


def test_breeze_is_windy_and_meadow_is_calm():
    assert load_field(find("fields", "water-meadow")).wind.speed == 0.0
    breeze = load_field(find("fields", "water-meadow-breeze"))
    assert breeze.wind.speed == 4.0
    assert breeze.gusts.wind_at_6_m < breeze.wind.speed


@pytest.mark.parametrize("name", HANDS)
def test_hands(name):
    hands = load_hands(name)
    assert hands.name == name
    assert hands.has_axes is (name != "keyboard")


def test_hands_that_do_not_fit_together(tmp_path):
    path = tmp_path / "odd.toml"
    path.write_text(
        'name = "odd"\nabout = ""\n[roll]\nindex = 1\n[pitch]\nindex = 1\n'
        "[buttons]\nagain = 2\nrelese = 3\npause = 2\n"
    )
    with pytest.raises(ConfigError) as error:
        load_hands(path)
    assert error.value.problems == [
        f"{path}:1: throttle: missing: wanted a table [throttle], as other axes are given",
        f"{path}:6: pitch.index: 1: axis 1 serves roll already",
        f"{path}:9: buttons.relese: no such action; did you mean 'release'?",
        f"{path}:10: buttons.pause: 2: button 2 serves again already",
    ]
    assert set(Hands.model_fields) >= {"throttle", "roll", "pitch", "yaw", "buttons"}


def test_every_material_says_where_its_numbers_come_from():
    for name, material in MATERIALS.items():
        assert material.source, name
        assert 5.0 < material.density < 10000.0
        assert 0.0 < material.strength < material.modulus
