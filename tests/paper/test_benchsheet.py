"""The printed bench sheet: every number as in the JSON reports, legible, and to scale."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stdout
from itertools import pairwise
from pathlib import Path

import pytest
from bodies import copied, shortened
from printed import Page, pages

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.flight.speeds import SLOWEST_SAFE
from firstthrow.sim.paper.benchsheet import gauge as benchsheet_gauge
from firstthrow.sim.paper.benchsheet.pages import pages as bench_pages
from firstthrow.sim.paper.benchsheet.pages import write
from firstthrow.sim.paper.benchsheet.sheet import contents
from firstthrow.sim.paper.layout import SIZES
from firstthrow.sim.paper.page import Words
from firstthrow.sim.study.check import preflight, reports
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.units import from_unit

G = 9.80665
TWIN = str(Path(__file__).parents[1] / "airframes" / "twin-48in.toml")
CORNERS = {
    "all neutral": "neutral",
    "stick back": "back",
    "stick forward": "forward",
    "stick left": "left",
    "stick right": "right",
}


def answer(*words: str) -> dict:
    """The JSON that a command prints."""
    told = io.StringIO()
    with redirect_stdout(told):
        main(words)
    return json.loads(told.getvalue())


@pytest.fixture(scope="module", params=["pantry", "glasshouse"])
def printed(request, tmp_path_factory):
    """(JSON of the commands, the pages) of one airframe; launches are short of the one that is a
    no-go for its balance, however they end."""
    folder = tmp_path_factory.mktemp("sheet")
    path = folder / f"{request.param}.pdf"
    with pytest.MonkeyPatch.context() as patch:
        name = request.param
        if name == "glasshouse":
            shortened(patch)
            name = copied(name, folder)
        told = {key: answer(key, name, "--json") for key in ("weigh", "surfaces", "power")}
        told["trim"] = answer("trim", name, "--speed", "9 m/s", "--json")
        told["ballast"] = answer("weigh", name, "--margin", "8%", "--json")
        told["check"] = answer("check", name, "--json")
        found = answer("benchsheet", name, "--out", str(path), "--full-size", "--json")
    assert found["out"] == str(path)
    return request.param, told, pages(path)


def after(page: Page, text: str, many: int = 1) -> str:
    return " ".join(page.after(text, many))


def grams(kg: float) -> str:
    g = 1000.0 * kg
    return f"{g:.1f} g" if g < 99.95 else f"{g:.0f} g"


def test_masses(printed):
    _, told, sheet = printed
    texts = sheet[0].texts()
    rows = texts[texts.index("Masses") : texts.index("Balance and ballast")]
    for part in told["weigh"]["parts"]:
        name = part["name"].replace("_", " ")
        known = "" if part["source"] == "measured" else f" ({part['source']})"
        at = rows.index(f"{name}{known}")
        assert rows[at + 1] == grams(part["mass_kg"]), name


def meant(weighed: dict) -> float:
    """At the margin of the file, 8 %, where the band has that; else in the band's middle [m]."""
    wanted = weighed["neutral_point_m"] - 0.08 * weighed["mean_chord_m"]
    front, rear = weighed["cg_front_limit_m"], weighed["cg_rear_limit_m"]
    return wanted if front < wanted < rear else 0.5 * (front + rear)


def test_balance(printed):
    name, told, sheet = printed
    weighed, page = told["weigh"], sheet[0]
    wanted = meant(weighed)
    margin = 100.0 * (weighed["neutral_point_m"] - wanted) / weighed["mean_chord_m"]
    place = f"{1e3 * wanted:.0f} mm behind the datum ({margin:.0f} % margin"
    assert after(page, "balance here").startswith(place)
    front, rear = 1e3 * weighed["cg_front_limit_m"], 1e3 * weighed["cg_rear_limit_m"]
    assert after(page, "allowed") == f"{front:.0f} mm to {rear:.0f} mm"
    assert after(page, "by the file", 3).count(f"{1e3 * weighed['cg_m'][0]:.0f}") == 1
    texts = page.texts()
    below = texts[texts.index("Balance and ballast") :]
    at = below.index("by the file")
    assert below[at + 1] == (
        f"{1e3 * weighed['cg_m'][0]:.0f} mm behind the datum, "
        f"margin {weighed['static_margin_percent']:.1f} %"
    )
    at = below.index("neutral point")
    assert below[at + 1] == (
        f"{1e3 * weighed['neutral_point_m']:.0f} mm behind the datum, "
        f"± {1e3 * weighed['neutral_point_spread_m']:.0f} mm"
    )
    assert below[below.index("all-up") + 1] == grams(weighed["mass_kg"])
    drawn = f"BALANCE {1e3 * wanted:.0f}"
    assert drawn in texts
    if name == "glasshouse":
        assert below[below.index("to get there") + 1] in told["check"]["next"]
        (ballast,) = [s["place_m"] for s in told["check"]["advice"]["steps"] if s["place_m"]]
        assert f"ballast {-1e3 * ballast[0]:.0f} ahead" in texts


def edge(metres: float) -> str:
    way = "down" if metres < 0.0 else "up"
    return "0" if abs(metres) < 5e-5 else f"{abs(1e3 * metres):.1f} {way}"


def test_throws(printed):
    _, told, sheet = printed
    corners = told["surfaces"]["corners"]
    for words, corner in CORNERS.items():
        wanted = [
            edge(corners[rate][corner][name]["edge_up_m"])
            for rate in ("high", "low")
            for name in ("elevon_left", "elevon_right")
        ]
        assert sheet[0].after(words, 4) == wanted, words
    share = told["surfaces"]["saturates_at"]["high"]
    limit = f"High rates: pitch and roll together meet the limit from {100 * share:.0f} % of both."
    assert limit in sheet[0].texts()


def test_transmitter_and_linkage(printed):
    _, told, sheet = printed
    page, answer_ = sheet[0], told["surfaces"]
    for axis in ("pitch", "roll"):
        high, low = (answer_["rates_deg"][rate][axis] for rate in ("high", "low"))
        assert after(page, f"{axis} rates") == (
            f"high {high:.1f}°, low {low:.1f}°, expo {100 * answer_['expo'][axis]:.0f} %, on elevon"
        )
    reflex = told["trim"]["reflex"]["trailing_edge_up_deg"]
    assert after(page, "reflex (up)") == f"{reflex:.2f}°"
    linkage = answer_["surfaces"][0]["linkage"]
    assert (
        after(page, "elevon", 2)
        .replace("°", " deg")
        .startswith(
            f"arm hole {1e3 * linkage['arm_m']:.0f} mm, "
            f"horn hole {1e3 * linkage['horn_m']:.0f} mm; "
            f"at the servo's ends {linkage['reach_up_deg']:.0f} deg up"
        )
    )


def test_drive(printed):
    _, told, sheet = printed
    power, page = told["power"], sheet[1]
    for row in power["static"][1:]:
        throttle = f"{100 * row['throttle']:.0f} %"
        assert page.after(throttle, 4) == [
            f"{row['pack_current_A']:.1f} A",
            f"{row['rpm']:.0f}",
            f"{1e3 * row['thrust_N'] / G:.0f} g",
            f"{row['pack_voltage_V']:.1f} V",
        ]
    level = power["level"]
    assert (
        f"Level flight: {level['least_current_A']:.1f} A at {level['its_speed_m_s']:.1f} m/s, "
        f"{100 * level['its_throttle']:.0f} % throttle."
    ) in page.texts()
    minutes = power["run_time_s"]["mixed"] / 60.0
    assert f"Set the timer to {minutes:.0f} min at most: 20 % stays in the pack." in page.texts()


def test_launch(printed):
    name, told, sheet = printed
    airframe, page = load_airframe(find("airframes", name)), sheet[1]
    stall = told["trim"]["stall_speed_m_s"]
    slowest = SLOWEST_SAFE * stall
    assert after(page, "stall") == f"{stall:.1f} m/s; never fly slower than {slowest:.1f} m/s"
    texts = page.texts()
    launch = texts[texts.index("Launch") :]
    throttle = launch[launch.index("throttle") + 1]
    own = airframe.launch.hand if name == "pantry" else airframe.launch.ground
    assert throttle.startswith(f"{100 * own.throttle:.0f} %")
    if name == "pantry":
        assert after(page, "throw").startswith(f"{own.speed:.1f} m/s through the air, nose 8° up")
    else:
        assert " m in still air, off at " in after(page, "ground roll")


def test_verdict(printed):
    name, told, sheet = printed
    words = sheet[0].texts()
    text = " ".join(words)
    for check in told["check"]["checks"]:
        assert f"{check['name']}: {check['verdict']}" in text
        for caution in check["cautions"]:
            assert caution[1:] in text
    assert told["check"]["next"] in text
    if name == "pantry":
        assert "GO" in words
        assert not any("Do not fly" in word for word in words)
    else:
        assert "NO-GO" in words
        assert any("Do not fly: the CG lies behind the neutral point" in w for w in words)
        assert "put page 1 right first, then print this sheet again" in sheet[1].texts()


def test_checks_and_cautions(printed):
    """Checks in order, and cautions that defer to rules and instructors."""
    text = " ".join(printed[2][1].texts())
    order = ["Directions: every stick", "Range check", "Fail-safe", "Propeller on", "people once"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    for words in ("country's rules", "club's rules", "instructor", "lithium", "people, animals"):
        assert words in text


def test_directions(printed):
    texts = printed[2][1].texts()
    assert texts[texts.index("stick back: nose up") + 1] == "elevon left up; elevon right up"
    assert texts[texts.index("stick left: rolls left") + 1] == "elevon left up; elevon right down"
    assert any(text.startswith("motor: turns clockwise seen from behind") for text in texts)


def line_from(page: Page, x: float, y: float) -> list[tuple[float, float, float, float]]:
    return [line for line in page.lines if abs(line[0] - x) < 0.01 and abs(line[1] - y) < 0.01]


def test_full_size_is_full_size(printed):
    """The check line is 100 mm on the page, and so are the rules' marks, in the page's own
    geometry (points of 1/72 in, no scaling of the page)."""
    _, told, sheet = printed
    weighed = told["weigh"]
    for page in sheet[2:]:
        check = [a for a in page.lines if a[1] == a[3] and abs(abs(a[2] - a[0]) - 100.0) < 0.01]
        assert len(check) == 1
    template = sheet[3]
    rule = benchsheet_gauge.FIRST
    place = {word.text: word.y for word in template.words}
    wanted = 1e3 * meant(weighed)
    zero = place["0"] - 1.0  # words sit a millimetre under their line
    for tick in (10, 20, 50):
        assert place[str(tick)] - 1.0 - zero == pytest.approx(tick, abs=0.01)
    assert line_from(template, rule, zero)
    assert any(
        line[2] - line[0] == pytest.approx(14.0, abs=0.01)
        for line in line_from(template, rule, zero + wanted)
    ), "a mark of the balance at its place"
    gauge, corners = sheet[2], told["surfaces"]["corners"]
    level = next(word.y for word in gauge.words if word.text == "0") - 1.0
    for corner in ("back", "forward", "left"):
        up = 1e3 * corners["high"][corner]["elevon_left"]["edge_up_m"]
        assert line_from(gauge, rule, level - round(up, 1)), corner


@pytest.fixture(scope="module")
def sheets():
    """Of every shipped airframe, and of one with more surfaces and parts, in inches; short
    launches: it is the pages that are looked at."""
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        shortened(patch)
        for name in ("pantry", "glasshouse", "pantry-swept", "allotment", TWIN):
            airframe = load_airframe(find("airframes", name))
            found[name] = sheet_of(airframe)
        glider = load_airframe(find("airframes", "allotment")).model_copy(update={"motors": {}})
        found["glider"] = sheet_of(glider)
    return found


def sheet_of(airframe):
    told = reports(Subject(airframe), launches=4)
    return airframe, contents(airframe, told, preflight(told))


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_words_stay_on_the_page_and_clear_of_each_other(sheets, size, tmp_path):
    for name, (airframe, sheet) in sheets.items():
        path = tmp_path / f"{airframe.name}.pdf"
        write(airframe, sheet, path, size, True)
        for number, page in enumerate(pages(path), 1):
            assert (page.width, page.height) == pytest.approx(SIZES[size], abs=0.01)
            assert page.off(4.0) == [], (name, number)
            assert page.crossed() == [], f"{name}, {size}, page {number}"


def test_one_page_speaks_one_unit(sheets):
    airframe, sheet = sheets[TWIN]
    words = [part.text for part in bench_pages(airframe, sheet)[0].parts if isinstance(part, Words)]
    assert "in from the datum" in words
    behind = airframe.units.bare_length(from_unit(sheet["marks"]["target"], "mm"))
    assert f"BALANCE {behind}" in words
    assert f"{behind} in behind the datum (8 % margin)" in words
    assert not any(" mm" in text for text in words)


def test_what_goes_wrong_is_what_the_motors_can_do(sheets):
    twin, one = (dict(sheets[name][1]["trouble"]) for name in (TWIN, "pantry"))
    assert "swings to one side" in twin  # its propellers turn against one another
    assert not any(sign.startswith("rolls") for sign in twin)
    assert "rolls left" in one
    assert "swings to one side" not in one


def test_a_glider_is_told_nothing_of_throttle_and_propeller(sheets):
    told, powered = (sheets[name][1] for name in ("glider", "pantry"))
    for part in ("launch", "trouble", "field", "cautions"):
        words = str(told[part]).lower()
        assert not [word for word in ("throttle", "propeller", "motor") if word in words], part
        assert any(word in str(powered[part]).lower() for word in ("throttle", "propeller"))
    assert "lithium" in str(told["cautions"])


def test_what_to_mind_has_a_page_more_where_there_is_no_room(sheets, tmp_path):
    airframe, sheet = sheets[TWIN]
    cautions = [f"{word} {'must not be left out ' * 5}" for word in "abcdefghijklmnopqrstuvwxyz"]
    longer = {**sheet, "verdict": {**sheet["verdict"], "cautions": cautions}}
    write(airframe, longer, tmp_path / "long.pdf", "letter")
    found = pages(tmp_path / "long.pdf")
    assert len(found) == 3
    assert [page.off(4.0) for page in found] == [[], [], []]
    told = " ".join(found[1].texts())
    assert all(f"{word.upper()} must not" in told for word in "abcdefghijklmnopqrstuvwxyz")


@pytest.mark.parametrize("minded", [True, False])
def test_many_linkages_stay_on_the_page(sheets, minded, tmp_path):
    """The drawing gives way to them; without a caution there is no page for cautions."""
    airframe, sheet = sheets[TWIN]
    cautions = sheet["verdict"]["cautions"] if minded else []
    many = {**sheet, "linkages": sheet["linkages"] * 3}
    write(
        airframe, many | {"verdict": sheet["verdict"] | {"cautions": cautions}}, tmp_path / "m.pdf"
    )
    found = pages(tmp_path / "m.pdf")
    assert [page.off(4.0) for page in found] == [[]] * (3 if minded else 2)


def test_without_surfaces_there_are_no_rates(sheets, tmp_path):
    airframe, sheet = sheets["pantry"]
    bare = {"columns": [], "rows": [(words, []) for words, _ in sheet["throws"]["rows"]]}
    write(airframe, sheet | {"throws": sheet["throws"] | bare}, tmp_path / "bare.pdf")
    first = pages(tmp_path / "bare.pdf")[0]
    assert first.crossed() == []
    assert "high rates" not in " ".join(first.texts())


def test_black_and_white_and_vectors(sheets, tmp_path):
    airframe, sheet = sheets["pantry"]
    write(airframe, sheet, tmp_path / "one.pdf", "a4", True)
    coloured = {"rg", "RG", "k", "K", "sc", "SC", "scn", "SCN", "Do", "BI", "sh"}
    for page in pages(tmp_path / "one.pdf"):
        assert page.operators & coloured == set()
    write(airframe, sheet, tmp_path / "two.pdf", "a4", True)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


def test_two_pages_without_full_size(sheets, tmp_path):
    airframe, sheet = sheets["allotment"]
    write(airframe, sheet, tmp_path / "a.pdf")
    assert len(pages(tmp_path / "a.pdf")) == 2


def test_the_directions_are_the_right_ones_even_with_a_fault(sheets):
    """A reversed channel in the file must not make the wrong movement look right."""
    airframe = load_airframe(find("airframes", "pantry"), ['mixing.reversed=["pitch"]'])
    told = reports(Subject(airframe), launches=1)
    checked = preflight(told)
    wrong = contents(airframe, told, checked)
    assert wrong["directions"] == sheets["pantry"][1]["directions"]
    assert wrong["verdict"]["word"] == "NO-GO"
    assert "firstthrow directions" in checked.next


def test_tiles_cover_a_long_rule():
    parts = benchsheet_gauge.tiles(-300.0, 420.0, 240.0)
    assert parts[0][0] == -300.0
    assert parts[-1][1] == 420.0
    assert all(end - start <= 240.0 for start, end in parts)
    for (_, end), (start, _) in pairwise(parts):
        assert end - start == pytest.approx(benchsheet_gauge.OVERLAP)
    assert benchsheet_gauge.tiles(0.0, 100.0, 240.0) == [(0.0, 100.0)]


def test_wrong_file_names(tmp_path, capsys):
    assert main(["benchsheet", "pantry", "--out", str(tmp_path / "x.png")]) == 2
    assert "wanted a name that ends in .pdf" in capsys.readouterr().err
    blocked = Path(tmp_path) / "file"
    blocked.write_text("x")
    assert main(["benchsheet", "pantry", "--out", str(blocked / "x.pdf")]) == 1
    assert capsys.readouterr().err.startswith("firstthrow: ")
