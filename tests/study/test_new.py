"""New airframe files: from answers and from known airframes at other sizes; they fly."""

from __future__ import annotations

import io
import json
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build import stock
from firstthrow.sim.build.model import build
from firstthrow.sim.build.scaled import Factors, main_size, scaled
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.drawing.strokes import area
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.flight.polar import reference
from firstthrow.sim.flight.speeds import neutral_stall_speed
from firstthrow.sim.flight.trims import Trim, trims
from firstthrow.sim.study import draft
from firstthrow.sim.study.odds.arm import most_speed
from firstthrow.sim.study.servos import hinges
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.weigh import weigh
from firstthrow.sim.units import to_unit

pytestmark = pytest.mark.usefixtures("brief")

SHIPPED = ("pantry", "glasshouse", "pantry-swept", "allotment")


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", io.StringIO())  # nothing is piped in


EXIT = {"go": 0, "no-go": 3}


def made(capsys, *words: str) -> tuple[int, dict]:
    code = main(["new", *words, "--json"])
    return code, json.loads(capsys.readouterr().out)


def refused(capsys, *words: str) -> str:
    code = main(["new", *words])
    said = capsys.readouterr()
    assert (code, said.out) == (2, "")
    return said.err


def flies(answer: dict) -> None:
    """Loads, is in balance for steady flight (what launches make of it is told in the verdict),
    comes home under the steady pilot: from the file that was written."""
    airframe = load_airframe(answer["file"])
    weighed = weigh(Subject(airframe), launches=0)
    assert weighed.verdict == "ok"
    assert weighed.static_margin_percent == pytest.approx(100.0 * airframe.margin, abs=0.5)
    assert answer["flies"]
    assert answer["outcome_text"].startswith("Landed in one piece")


def test_defaults_give_a_file_that_flies_and_says_what_it_means(capsys):
    code, answer = made(capsys, "first", "--defaults")
    assert code == 0
    flies(answer)
    text = Path(answer["file"]).read_text(encoding="utf-8")
    assert "file:" not in text  # whoever it is passed on to has it elsewhere
    assert "firstthrow schema > airframe.json" in text
    assert text.count("#") > 25
    assert 'chord = "350 mm"' in text
    assert "weighed" not in json.dumps(tomllib.loads(text))


@pytest.mark.parametrize(
    "words",
    [
        ("--sheet", "500x300", "--thickness", "5 mm", "--cells", "2", "--capacity", "800 mAh"),
        ("--sheet", "2400x1200", "--material", "XPS"),
        ("--sheet", "36x24in", "--propeller", "9x5", "--kv", "900kv", "--nose", "120 mm"),
    ],
)
def test_answers_as_options(capsys, words):
    code, answer = made(capsys, "slab", *words)
    assert code == EXIT[answer["verdict"]]
    airframe = load_airframe(answer["file"])
    if "2400x1200" in words:  # no arm throws 14 kg
        assert not answer["flies"]
        assert "times the stall speed" in answer["sentence"]
    else:
        flies(answer)
    if "--cells" in words:
        assert (airframe.pack.cells, airframe.pack.capacity) == (2, 2880.0)
    if "36x24in" in words:
        assert airframe.motors["motor"].aft == pytest.approx(-0.12, abs=1e-6)
        assert main_size(airframe) == pytest.approx((0.9144, 0.6096))
    if "2400x1200" in words:  # bare foam of that size would fold
        assert "carbon tube" in answer["spar"]
        assert weigh(Subject(airframe)).strength.limit_load_factor > 7.9


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_ones_at_another_size(capsys, name):
    code, answer = made(capsys, "--from", name, "--scale", "1.4")
    assert code == EXIT[answer["verdict"]]
    flies(answer)
    assert answer["law"] == "Froude"
    by = {row["what"]: row for row in answer["scaled"]}
    assert by["mass"]["exponent"] == 3.0
    for row in answer["scaled"]:
        assert row["ratio"] == pytest.approx(row["after"] / row["before"])
        assert row["ratio_by_law"] == pytest.approx(1.4 ** row["exponent"])
    assert by["mass"]["ratio"] == pytest.approx(1.4**3, rel=0.12)


def test_sheet_size_sets_chord_and_span_apart(capsys):
    _, answer = made(capsys, "--from", "pantry", "--sheet", "1200x500", "--thickness", "10 mm")
    airframe = load_airframe(answer["file"])
    assert main_size(airframe) == pytest.approx((1.2, 0.5))
    assert airframe.sheets["slab"].thickness == pytest.approx(0.01)
    assert airframe.name == "pantry-1200x500"


def test_a_square_finds_its_band(capsys):
    """As wide as it is long, it is held at the stall speed that its elevons can hold; it is
    planned to be thrown no faster than an arm does, and the verdict says what comes of it."""
    main(["new", "stub", "--sheet", "24x24in", "--defaults"])
    told = capsys.readouterr().out
    subject = Subject(load_airframe("stub.toml"))
    assert weigh(subject, launches=0).verdict == "ok"
    throw = subject.airframe.launch.thrown
    assert throw.speed <= most_speed(subject, throw) < 1.1 * subject.stall_speed
    assert "doubt" not in told
    assert "Do not fly: " in told


def test_froude_scaling_of_the_whole_description():
    """Twice the size: stall speed by the square root of wing loading, hinge moment at the scaled
    speed by the fourth power. Source: Froude's similarity (see `scaled`); what is bought in
    sizes is rounded and the receiver stays, which makes up the rest."""
    base = load_airframe(find("airframes", "pantry"))
    grown = scaled(base, Factors(2.0, 2.0, 2.0))
    small, large = build(base, STANDARD), build(grown, STANDARD)
    mass = float(large.balance.mass / small.balance.mass)
    assert mass == pytest.approx(8.0, rel=0.03)
    assert reference(large)[0] == pytest.approx(4.0 * reference(small)[0])
    ratio = neutral_stall_speed(large) / neutral_stall_speed(small)
    assert ratio == pytest.approx((mass / 4.0) ** 0.5, rel=0.02)
    angles = [-0.2, -0.2]
    fast, slow = hinges(large, 9.0 * 2.0**0.5, 0.1, angles), hinges(small, 9.0, 0.1, angles)
    assert fast[0] / slow[0] == pytest.approx(16.0, rel=0.03)


@pytest.mark.parametrize("name", SHIPPED)
def test_written_and_read_again_it_is_the_same(name):
    """Every value to four digits."""
    airframe = load_airframe(find("airframes", name))
    again = draft.as_written(airframe)
    same(airframe.model_dump(), again.model_dump(), name)


def same(one, other, path: str) -> None:
    if isinstance(one, dict):
        assert one.keys() == other.keys(), path
        for key in one:
            same(one[key], other[key], f"{path}.{key}")
    elif isinstance(one, (list, tuple)):
        assert len(one) == len(other), path
        for a, b in zip(one, other, strict=True):
            same(a, b, path)
    elif isinstance(one, float):
        assert other == pytest.approx(one, rel=1e-3, abs=1e-9), path
    else:
        assert one == other, path


class Person(io.StringIO):
    """Types at a terminal."""

    def isatty(self) -> bool:
        return True


def test_questions(capsys, monkeypatch):
    """Enter takes what is offered; a wrong answer is asked again, with the reason."""
    monkeypatch.setattr(sys, "stdin", Person("shed\n800x400\nfoam\nEPP\n\n" + "\n" * 9))
    code = main(["new", "--json"])
    said = capsys.readouterr()
    answer = json.loads(said.out)
    assert code == EXIT[answer["verdict"]]
    flies(answer)
    airframe = load_airframe("shed.toml")
    assert main_size(airframe) == pytest.approx((0.8, 0.4))
    assert airframe.sheets["slab"].material == "EPP"
    assert "what is it called? [my-slab]" in said.err
    assert "'foam': no such material" in said.err
    assert said.err.count("of what?") == 2


PIPED = """\
shed
24 in x 18 in

1/4 in


1000kv
40 g
1300

8x4
3S
"""


def test_answers_from_a_pipe(capsys, monkeypatch):
    """As people write them, a line a question; what was taken is said."""
    monkeypatch.setattr(sys, "stdin", io.StringIO(PIPED))
    code = main(["new"])
    said = capsys.readouterr()
    assert code == EXIT["no-go" if "Do not fly" in said.out else "go"]
    assert "of what? foam board (as offered)" in said.err
    assert "the motor's speed per volt? 1000kv" in said.err
    airframe = load_airframe("shed.toml")
    assert main_size(airframe) == pytest.approx((0.6096, 0.4572))
    assert airframe.sheets["slab"].thickness == 0.00635
    assert to_unit(airframe.motors["motor"].kv, "rpm/V") == pytest.approx(1000.0)
    assert airframe.items["motor"].mass == pytest.approx(0.04, abs=1e-5)
    assert (airframe.pack.cells, to_unit(airframe.pack.capacity, "mAh")) == (3, 1300.0)


def test_a_wrong_answer_from_a_pipe_is_refused_and_nothing_written(capsys, monkeypatch):
    answers = PIPED.replace("1300\n", "2.2\n") + "one too many\n"
    monkeypatch.setattr(sys, "stdin", io.StringIO(answers))
    assert main(["new"]) == 2
    said = capsys.readouterr()
    assert "the answer to 'the pack's capacity?': '2.2': say a unit" in said.err
    assert "'one too many': an answer to no question" in said.err
    assert not Path("shed.toml").exists()


@pytest.mark.parametrize("name", SHIPPED)
def test_what_is_drafted_can_be_bought_and_measured(name):
    """At a size that divides nothing evenly: boards, wires, tubes and packs from the lists,
    every other length in half millimetres at the finest from 5 mm on."""
    base = load_airframe(find("airframes", name))
    by = draft.factors(base, 1.1427 * main_size(base)[0], 1.1427 * main_size(base)[1], None)
    drafted = draft.resized(base, "other", by, "")
    for sheet in drafted.sheets.values():
        sold = stock.BOARDS[sheet.material]
        assert min(abs(1000.0 * sheet.thickness - one) for one in sold) < 1e-9
        for spar in sheet.spars.values():
            assert any(spar.outside == pytest.approx(outside) for outside, _ in stock.TUBES)
    assert round(to_unit(drafted.pack.capacity, "mAh")) in stock.PACKS
    assert drafted.controller.limit in stock.CONTROLLERS
    for item in drafted.items.values():
        for length in (item.aft, item.right, item.up, item.length, item.diameter):
            halves = 2000.0 * length
            assert abs(halves) < 10.0 or halves == pytest.approx(round(halves), abs=1e-6)


def test_never_writes_over_a_file_unasked(capsys):
    Path("mine.toml").write_text("precious", encoding="utf-8")
    err = refused(capsys, "mine", "--defaults")
    assert err == "mine.toml: is there already; --force writes over it\n"
    assert Path("mine.toml").read_text(encoding="utf-8") == "precious"
    code, answer = made(capsys, "mine", "--defaults", "--force")
    assert code == EXIT[answer["verdict"]]
    flies(answer)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--from", "pantri", "--scale", "2"), "did you mean 'pantry'?"),
        (("--from", "pantry"), "say how large, either --scale 1.5 or --sheet 1200x600"),
        (("--from", "pantry", "--scale", "x"), "--scale: 'x': wanted a number from 0.2 to 5"),
        (("--from", "pantry", "--scale", "2", "--kv", "3"), "--kv: goes without --from"),
        (("--scale", "2"), "--scale: goes with --from"),
        (("q", "--sheet", "12"), "--sheet: '12': write span x chord"),
        (("q", "--material", "foam bord"), "did you mean 'foam board'?"),
        (("q", "--cells", "0"), "--cells: '0': wanted a whole number"),
        (("q", "--cells", "3S2P"), "--cells: '3S2P': write cells = 3, and capacity and limit"),
        (("q", "--capacity", "2.2"), "--capacity: '2.2': say a unit, '2.2 Ah' or '2.2 mAh'"),
        (("a/b",), "'a/b': wanted letters"),
        (("q", "--out", "q.txt"), "wanted a name that ends in .toml"),
    ],
)
def test_wrong_options(capsys, words, told):
    assert told in refused(capsys, *words, "--defaults")


def test_what_a_person_reads(capsys):
    code = main(["new", "--from", "pantry", "--sheet", "1200x600"])
    told = capsys.readouterr().out
    assert code == EXIT["no-go" if "Do not fly" in told else "go"]
    assert "beside it what comes of the size alone" in told
    assert "size^0.5 = 1.31" in told
    mass = Subject(load_airframe("pantry-1200x600.toml")).mass
    assert f"{to_unit(mass, 'g'):.0f} g" in told


def test_the_smallest_slab_holds_its_height(capsys):
    """Its rotor is quick and light: level flight is found all the same, with a motor quicker than
    the 4770 rpm/V that its size alone gives, which blades at a Reynolds number of 2.5e4 need."""
    said = ("--sheet", "200x100", "--thickness", "2 mm", "--kv", "5500 rpm/V")
    _, answer = made(capsys, "tiny", *said)
    assert answer["figures"]["level_power_W"] > 0.0
    airframe = load_airframe(answer["file"])
    found = trims(build(airframe, STANDARD), airframe, [6.0, 7.0], ("level",))
    assert all(isinstance(trim, Trim) for trim in found)
    assert 0.5 < found[0].throttle < found[1].throttle < 1.0


def test_a_motor_that_does_not_turn_is_doubted(capsys):
    code, answer = made(capsys, "slow", "--kv", "100 rpm/V")
    assert code == 3
    assert not answer["flies"]
    assert answer["doubt"] == "it cannot hold its height, see firstthrow power"


def test_what_no_file_may_say_is_refused_before_it_is_written(capsys):
    told = refused(capsys, "slow", "--kv", "1 rpm/V", "--defaults")
    assert "motors.motor.kv: '1 rpm/V': must lie between 10 rpm/V and 20000 rpm/V" in told
    assert not Path("slow.toml").exists()


HALF = """<svg xmlns="http://www.w3.org/2000/svg"
 width="400mm" height="300mm" viewBox="0 0 400 300">
<path d="M 0 0 L 0 250 L 330 250 C 340 250 350 240 350 210 L 330 90 Z"/>
<path d="M 100 150 l 30 0 l 0 40 l -30 0 z"/>
<line id="hinge-line" x1="30" y1="200" x2="320" y2="200"/></svg>"""


def test_an_outline_from_a_drawing_is_drawn_asked_about_and_flies(capsys, monkeypatch):
    """Area, hinge and hole as they were drawn; "no", and a wrong answer, leave nothing behind."""
    Path("half.svg").write_text(HALF)
    for person in (Person, io.StringIO):
        monkeypatch.setattr(sys, "stdin", person("shed\n" + 9 * "\n" + "no\n"))
        assert main(["new", "--outline", "half.svg", "--bow", "0 mm"]) == 2
        said = capsys.readouterr().err
        assert "the air does not see it (drawn in shed-outline.png): is that right?" in said
        assert "Nothing was written" in said
    assert main(["new", "shed", "--outline", "half.svg", "--defaults", "--kv", "no"]) == 2
    assert [path.name for path in Path().iterdir()] == ["half.svg"]
    capsys.readouterr()
    words = ("new", "shed", "--outline", "half.svg", "--defaults", "--json")
    assert main(words) in EXIT.values()
    assert Path("shed-outline.png").stat().st_size > 5000
    assert json.loads(capsys.readouterr().out)["flies"]
    airframe = load_airframe("shed.toml")
    slab, fin = airframe.sheets["slab"], airframe.sheets["fin"]
    assert main_size(airframe) == pytest.approx((0.7, 0.25), abs=1e-4)
    elevon = slab.surfaces["elevon"]
    sizes = (elevon.chord, elevon.inner, elevon.outer)
    assert sizes == pytest.approx((0.05, 0.03, 0.32), abs=1e-3)
    corners = np.array(slab.outline.corners)
    foam = 2.0 * (abs(area(corners)) - 0.03 * 0.04 - 0.05 * 0.29) * slab.thickness
    assert slab.mass == pytest.approx(foam * MATERIALS[slab.material].density, rel=2e-3)
    rear = fin.aft + max(aft for aft, _ in fin.outline.corners)
    assert rear == pytest.approx(0.25 * 342.0 / 350.0, abs=2e-3)  # as on the airframe it is like


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--outline", "none.svg"), "none.svg: cannot be read"),
        (("--outline", "none.gif"), "wanted a drawing that ends in .dxf or .svg"),
        (("--outline-span", "1 m"), "--outline-span: goes with --outline FILE"),
        (("--outline", "x.svg", "--sheet", "9x9"), "--sheet: not with --outline"),
        (("--from", "pantry", "--scale", "2", "--outline", "x.svg"), "--outline: goes without"),
    ],
)
def test_wrong_outlines(capsys, words, told):
    assert told in refused(capsys, "q", *words, "--defaults")
