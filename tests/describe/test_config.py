"""Reading the builder's files: places of problems, their whole text, overrides, finding."""

import json
from pathlib import Path
from random import Random

import pytest

from firstthrow.sim.describe.config import (
    ConfigError,
    find,
    fingerprint,
    load_airframe,
    load_field,
)
from firstthrow.sim.describe.edit import Edit, edited
from firstthrow.sim.describe.problems import dotted
from firstthrow.sim.describe.toml_lines import key_lines

PANTRY = find("airframes", "pantry")


def problems(path, *overrides):
    with pytest.raises(ConfigError) as error:
        load_airframe(path, overrides)
    return [text.removeprefix(f"{path}:") for text in error.value.problems]


@pytest.fixture
def plank(tmp_path):
    """Write pantry.toml with some texts replaced; give the path and a finder of lines."""

    def write(*changes):
        text = PANTRY.read_text()
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        path = tmp_path / "plank.toml"
        path.write_text(text)
        return path

    return write


def line_of(path, text):
    return next(n for n, line in enumerate(path.read_text().splitlines(), 1) if text in line)


def test_bare_number_has_file_line_and_key(plank):
    path = plank(('chord = "350 mm"', 'chord = "900"'))
    line = line_of(path, '"900"')
    with pytest.raises(ConfigError) as error:
        load_airframe(path)
    wanted = f"{path}:{line}: sheets.slab.outline.chord: '900': say a unit, such as '900 mm'"
    assert str(error.value) == wanted


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        (
            'span = "700 mm"',
            'sapn = "700 mm"',
            [
                "sheets.slab.outline.sapn: unknown key; did you mean 'span'?",
                "sheets.slab.outline: no span: wanted chord and span, or corners",
            ],
        ),
        (
            'material = "foam board"',
            'material = "foam bord"',
            ["sheets.slab.material: 'foam bord': no such material; did you mean 'foam board'?"],
        ),
        (
            'servo = "elevon"',
            'servo = "elevn"',
            ["sheets.slab.surfaces.elevon.servo: 'elevn': no such servo; did you mean 'elevon'?"],
        ),
        (
            'inner = "30 mm"',
            'inner = "345 mm"',
            ["sheets.slab.surfaces.elevon.inner: 345 mm: wanted less than outer, 345 mm"],
        ),
        (
            'outer = "345 mm"',
            'outer = "355 mm"',
            ["sheets.slab.surfaces.elevon.outer: 355 mm: the sheet ends at 350 mm"],
        ),
        (
            'chord = "60 mm"',
            'chord = "360 mm"',
            ["sheets.slab.surfaces.elevon.chord: 360 mm: wanted less than the sheet's 350 mm"],
        ),
        (
            'thickness = "6 mm"',
            'thickness = "0 mm"',
            ["sheets.slab.thickness: '0 mm': must be more than 0"],
        ),
        (
            'role = "elevon"',
            'role = "elevons"',
            [
                "sheets.slab.surfaces.elevon.role: 'elevons': wanted 'elevon', 'elevator', "
                "'aileron', 'flaperon', 'rudder' or 'ruddervator'; did you mean 'elevon'?"
            ],
        ),
        (
            'role = "elevon"',
            'role = "rudder"',
            ["sheets.slab.surfaces.elevon.role: 'rudder' on a flat sheet: wanted an upright sheet"],
        ),
        (
            "mirrored = true",
            'mirrored = "yes"',
            ["skids.rear.mirrored: 'yes': wanted true or false, without quotes"],
        ),
        ("cells = 3", "cells = 3.5", ["pack.cells: 3.5: wanted a whole number, without quotes"]),
        ("cells = 3", "cells = 0", ["pack.cells: 0: wanted 1 or more"]),
        (
            "cells = 3",
            'cells = "3S2P"',
            [
                "pack.cells: '3S2P': write cells = 3, and capacity and limit of all 2 strands "
                "together"
            ],
        ),
        (
            'kind = "hand"',
            'kind = "ground"',
            [
                "launch.kind: 'ground' without wheels: wanted wheels, or kind = \"hand\"",
                "launch: kind is 'ground' but there is no table [launch.ground]",
            ],
        ),
        (
            'blade_thickness = "2.2 mm"',
            'blade_thickness = "22 mm"',
            ["motors.motor.propeller.blade_thickness: 22 mm: wanted less than blade_width, 19 mm"],
        ),
        (
            '["60 mm", "160 mm"]',
            '["60 mm", 160]',
            [
                "sheets.fin.outline.corners[1][1]: 160: say a unit and put it in quotes, "
                "such as '160 mm'"
            ],
        ),
        (
            '["60 mm", "160 mm"]',
            '["130 mm", "160 mm"]',
            [
                "sheets.fin.outline.corners: an edge that crosses another: wanted the corners in "
                "order round the edge"
            ],
        ),
        (
            'outline = { chord = "350 mm", span = "700 mm" }',
            'outline = { corners = [["0 mm", "-9 mm"], ["0 mm", "9 mm"], ["350 mm", "350 mm"]] }',
            [
                "sheets.slab.outline.corners: a corner left of the centreline: wanted the right "
                "half only of a mirrored sheet",
                "sheets.slab: lies in its own mirror image, over 3 x 15 mm: move it, or give it "
                "another height",
            ],
        ),
        (
            'blade_width = "19 mm"',
            "",
            [
                "motors.motor.propeller.blade_width: missing: wanted a value, such as "
                'blade_width = "19 mm"'
            ],
        ),
        (
            'kv = "850 rpm/V"',
            "",
            ['motors.motor.kv: missing: wanted a value, such as kv = "1400 rpm/V"'],
        ),
        (
            "[controller]",
            "[controler]",
            [
                "controller: missing: wanted a table [controller]",
                "controler: unknown key; did you mean 'controller'?",
            ],
        ),
        (
            "[items.pack]",
            '[items."pa ck"]',
            ["items.pa ck: 'pa ck': a name takes letters, digits, _ and - only"],
        ),
    ],
)
def test_each_problem_in_words(plank, old, new, wanted):
    told = [text.split(": ", 1)[1] for text in problems(plank((old, new)))]
    assert sorted(told) == sorted(wanted)


def test_as_people_write_it(plank):
    """Each of these has one meaning."""
    path = plank(
        ('kv = "850 rpm/V"', 'kv = "850kv"'),
        ("cells = 3", 'cells = "3S"'),
        ('capacity = "1300 mAh"', "capacity = 1300"),
        ('size = "8x4 in"', 'size = "8x4"'),
        ('turns = "clockwise"', 'turns = "cw"'),
        ('torque = "1.5 kgcm"', 'torque = "1.5 kg-cm"'),
    )
    assert load_airframe(path) == load_airframe(PANTRY)
    assert load_airframe(plank(("cells = 3", 'cells = "3"'))) == load_airframe(PANTRY)


def test_decimal_commas_where_the_file_says_so(plank):
    said = ('name = "pantry"', 'name = "pantry"\ndecimals = "comma"')
    commas = (('horn = "0.63 in"', 'horn = "0,63 in"'), ('up = "-7 mm"', 'up = "-7,0 mm"'))
    path = plank(said, *commas)
    assert load_airframe(path) == load_airframe(PANTRY)
    assert fingerprint(load_airframe(path)) == fingerprint(load_airframe(PANTRY))
    assert "no comma" in problems(plank(*commas))[0]
    told = problems(plank(said, ('chord = "350 mm"', 'chord = "1.350 mm"')))
    assert any("outline.chord: '1.350 mm': a thousand, or a decimal?" in text for text in told)


def test_an_edit_keeps_the_commas():
    text = 'decimals = "comma"\n[launch.hand]\nspeed = "8,5 m/s"\n'
    assert 'speed = "9,25 m/s"' in edited(
        text, [Edit(("launch", "hand", "speed"), 9.25, "m/s")], "then"
    )


def test_a_line_without_end_is_no_work(tmp_path):
    """Looked through from each of its letters on it would take minutes."""
    path = tmp_path / "long.toml"
    path.write_text("a" * 100_000)
    assert problems(path) == ["1: not TOML: expected '=' after a key in a key/value pair"]


def test_curly_quotes_are_named(plank):
    (told,) = problems(plank(('thickness = "6 mm"', "thickness = “6 mm”")))
    assert told.endswith('“ is a curly quote, which word processors put in: write straight ones, "')


def test_all_problems_at_once_in_the_order_of_the_file(plank):
    path = plank(
        ('chord = "350 mm"', 'chord = "0,35 m"'),
        ('servo = "elevon"', 'servo = "elevn"'),
        ('size = "8x4 in"', 'size = "40x20"'),
        ('mass = "118 g"', 'mass = "118 V"'),
        ("friction = 0.35", 'friction = "0.35"'),
    )
    assert problems(path) == [
        f"{line_of(path, '0,35 m')}: sheets.slab.outline.chord: '0,35 m': write the number with a "
        "decimal point and no comma, such as '900 mm'; a file that writes commas says decimals = "
        '"comma"',
        f"{line_of(path, 'elevn')}: sheets.slab.surfaces.elevon.servo: 'elevn': no such servo; "
        "did you mean 'elevon'?",
        f"{line_of(path, '40x20')}: motors.motor.propeller.size: '40x20': say a unit, '40x20 in' "
        "or '40x20 mm'",
        f"{line_of(path, '118 V')}: items.pack.mass: '118 V': 'V' is a voltage; a mass is wanted, "
        "such as '182 g'",
        f"{line_of(path, '0.35')}: skids.nose.friction: '0.35': wanted a plain number, "
        "without quotes",
    ]


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ('limit = "40 A"', "limit = 40 A", 'limit: 40 A: put it in quotes, such as limit = "40 A"'),
        ("cells = 3", "cells = 3\ncells = 4", "this key stands twice"),
        ("[controller]", "[pack]", "the table [pack] stands twice"),
        ("[controller]", "[controller", "expected ']' at the end of a table declaration"),
    ],
)
def test_syntax_has_a_line(plank, old, new, wanted):
    path = plank((old, new))
    line = line_of(path, new.splitlines()[-1])
    if new == "[pack]":
        line = [n for n, text in enumerate(path.read_text().splitlines(), 1) if text == "[pack]"][1]
    assert problems(path) == [f"{line}: not TOML: {wanted}"]


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(ConfigError) as error:
        load_airframe(tmp_path / "none.toml")
    assert str(error.value) == f"{tmp_path}/none.toml: no such file"
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'name = "a"\nabout = "\xfc"\n')
    assert problems(latin) == ["2: not UTF-8 text; save the file as UTF-8"]


def test_overrides_are_read_like_the_file():
    airframe = load_airframe(
        PANTRY,
        [
            'items.pack.aft="95 mm"',
            "items.receiver.aft=1 in",
            "sheets.slab.surfaces.elevon.reversed=true",
            "mixing.expo.yaw=10 %",
            "motors.motor.propeller.size=9x4.5 in",
            "pack.cells=4",
            "skids.nose.friction=.5",
            'sheets.fin.outline.corners=[["0 mm","0 mm"],["60 mm","100 mm"],["60 mm","0 mm"]]',
        ],
    )
    assert airframe.items["pack"].aft == 0.095
    assert airframe.items["receiver"].aft == 0.0254
    assert airframe.sheets["slab"].surfaces["elevon"].reversed is True
    assert airframe.mixing.expo.yaw == 0.1
    assert airframe.motors["motor"].propeller.size == pytest.approx((0.2286, 0.1143))
    assert airframe.pack.cells == 4
    assert airframe.skids["nose"].friction == 0.5
    assert len(airframe.sheets["fin"].outline.corners) == 3


def test_twin_fins_may_reach_below_the_board():
    corners = '[["0 mm", "-80 mm"], ["60 mm", "160 mm"], ["120 mm", "160 mm"]]'
    fins = [
        f"sheets.fin.{key}"
        for key in ("mirrored=true", "right=200 mm", f"outline.corners={corners}")
    ]
    airframe = load_airframe(find("airframes", "pantry"), fins)
    assert airframe.sheets["fin"].outline.corners[0][1] == -0.08


@pytest.mark.parametrize(
    ("override", "wanted"),
    [
        ("items.pak.aft=95 mm", "items.pak.aft: no 'pak' in items; did you mean 'pack'?"),
        ("items.pack.atf=95 mm", "items.pack.atf: no 'atf' in items.pack; did you mean 'aft'?"),
        (
            "items.pack.aft=95",
            "items.pack.aft: 95: say a unit and put it in quotes, such as '95 mm'",
        ),
        (
            "items.pack.aft",
            'items.pack.aft: wanted key=value, such as --set items.pack.aft="95 mm"',
        ),
        (
            "mixing.expo=30 %",
            "mixing.expo: is a table; set one of its values, such as mixing.expo.pitch",
        ),
        (
            "items.pack.aft.x=1 mm",
            "items.pack.aft.x: 'items.pack.aft' has no parts; set it as a whole",
        ),
        ('name="open', 'name: "open: cannot be read as a value'),
        (
            "sheets.slab.surfaces.elevon.servo=left",
            "sheets.slab.surfaces.elevon.servo: 'left': no such servo; choose from 'elevon'",
        ),
    ],
)
def test_override_refused_in_words(override, wanted):
    assert problems(PANTRY, override) == [f"--set {wanted}"]


def test_fingerprint_follows_values_and_not_their_spelling(tmp_path):
    same = tmp_path / "same.toml"
    same.write_text("# a comment\n" + PANTRY.read_text().replace('"350 mm"', '"35 cm"'))
    first = fingerprint(load_airframe(PANTRY))
    assert len(first) == 64
    assert fingerprint(load_airframe(same)) == first
    assert fingerprint(load_airframe(PANTRY, ["pack.cells=2"])) != first
    json.loads(load_airframe(PANTRY).model_dump_json())


def test_find_looks_at_the_path_then_here_then_the_installed_copy(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    installed = find("airframes", "pantry")
    assert installed.is_file()
    own = Path("configs/airframes/pantry.toml")
    own.parent.mkdir(parents=True)
    own.write_text("")
    assert find("airframes", "pantry") == own
    Path("slab.toml").write_text("")
    assert find("airframes", "slab.toml") == Path("slab.toml")


def test_find_names_what_is_known(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ConfigError) as error:
        find("airframes", "pantri")
    assert str(error.value) == (
        "pantri: no airframe of that name; did you mean 'pantry'? "
        "known: allotment, glasshouse, pantry, pantry-swept"
    )
    with pytest.raises(ConfigError) as error:
        find("fields", "meadows/none.toml")
    assert str(error.value) == "meadows/none.toml: no such file"


def test_field_problems(tmp_path):
    path = tmp_path / "field.toml"
    path.write_text('name = "f"\nabout = ""\ntemperature = "200 C"\n[ground]\nradus = "3 m"\n')
    with pytest.raises(ConfigError) as error:
        load_field(path)
    assert error.value.problems == [
        f"{path}:3: temperature: '200 C': must lie between -50 C and 60 C",
        f'{path}:4: ground.radius: missing: wanted a value, such as radius = "150 m"',
        f"{path}:5: ground.radus: unknown key; did you mean 'radius'?",
    ]


def test_line_of_every_key():
    text = '''a = 1 # [no.table]
b.c = """
x = 1
"""
[t."q r"] # comment
list = [ # [
  "one]", 2,
  { k = 1.5, l = [3,
     4] },
]
[[rows]]
n = 'a "b'
[[rows]]
n = 1979-05-27T07:32:00Z
'''
    lines = {dotted(path): line for path, line in key_lines(text).items()}
    assert lines == {
        "a": 1,
        "b": 2,
        "b.c": 2,
        "t": 5,
        "t.q r": 5,
        "t.q r.list": 6,
        "t.q r.list[0]": 7,
        "t.q r.list[1]": 7,
        "t.q r.list[2]": 8,
        "t.q r.list[2].k": 8,
        "t.q r.list[2].l": 8,
        "t.q r.list[2].l[0]": 8,
        "t.q r.list[2].l[1]": 9,
        "rows": 11,
        "rows[0]": 11,
        "rows[0].n": 12,
        "rows[1]": 13,
        "rows[1].n": 14,
    }


def test_a_damaged_file_never_breaks_the_reader(tmp_path):
    text, path, random = PANTRY.read_text(), tmp_path / "damaged.toml", Random(5)
    refused = 0
    for _ in range(60):
        start = random.randrange(len(text))
        middle = "".join(random.choices("[]{}\"'=.,# \nab1", k=random.randrange(7)))
        path.write_text(text[:start] + middle + text[start + random.randrange(30) :])
        told = refusals(path)
        refused += bool(told)
        assert all(problem.startswith(f"{path}:") for problem in told)
    assert refused > 20


def refusals(path):
    try:
        load_airframe(path)
    except ConfigError as error:
        return error.problems
    return []


def test_more_sheets_than_can_fly(tmp_path, capsys):
    from firstthrow.scenes.commands.cli import main

    text = PANTRY.read_text()
    tails = "".join(
        f'[sheets.tail{k}]\noutline = {{ chord = "60 mm", span = "300 mm" }}\n'
        f'thickness = "3 mm"\nmaterial = "foam board"\naft = "{500 + 80 * k} mm"\n'
        f'up = "{60 + 20 * k} mm"\n\n'
        for k in range(7)
    )
    path = tmp_path / "many.toml"
    path.write_text(text.replace("[motors.motor]", tails + "[motors.motor]"))
    for words in (["weigh"], ["fly", "--no-window"], ["check"], ["trim"]):
        assert main([*words, str(path)]) == 2
        assert "too many" in capsys.readouterr().err


def test_a_steered_wheel_wants_a_rudder(written):
    wheel = (
        '[wheels.tail]\naft = "300 mm"\nup = "-50 mm"\nstiffness = "1 N/mm"\nfriction = 0.6\n'
        'breaks_at = "4 m/s"\nradius = "10 mm"\nsteers = true\n\n[launch]'
    )
    with pytest.raises(ConfigError, match=r"wheels\.tail\.steers: true without a rudder"):
        written(("[launch]", wheel))


def test_a_surface_on_a_flat_sheet_of_one_piece_is_refused(written):
    with pytest.raises(ConfigError, match="wanted mirrored"):
        written(
            ("[sheets.slab]\n", "[sheets.slab]\nmirrored = false\n"),
            ('role = "elevon"', 'role = "elevator"'),
        )


def test_a_fin_alone_does_not_fly(tmp_path):
    """Said at the door, not as a division by no area."""
    text = PANTRY.read_text()
    path = tmp_path / "fin.toml"
    path.write_text(text[: text.index("[sheets.slab]")] + text[text.index("[sheets.fin]") :])
    with pytest.raises(ConfigError) as error:
        load_airframe(path)
    (said,) = error.value.problems
    assert said.endswith(
        "sheets: none that lifts: wanted a flat one, with no stance or stance = 'flat'"
    )
