"""A file in inches and ounces is answered in them, one in millimetres and grams in those."""

from __future__ import annotations

import json
import re

import matplotlib
import pytest

from firstthrow.scenes.commands import check, weigh
from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.commands.drafting.sizes import sheet
from firstthrow.scenes.pages.bench_rows import Setup, said, stepped, value
from firstthrow.scenes.pages.bench_rows import rows as bench_rows
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.describe.config import find, fingerprint, load_airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.write import toml
from firstthrow.sim.flight.record import Record
from firstthrow.sim.flight.trims import Kind, Untrimmed
from firstthrow.sim.paper.benchsheet import gauge
from firstthrow.sim.paper.benchsheet.sheet import contents
from firstthrow.sim.paper.page import Words
from firstthrow.sim.paper.template.plan import Balance, plan
from firstthrow.sim.study.advice.slips import slips
from firstthrow.sim.study.check import preflight, reports
from firstthrow.sim.study.gist.throw import level_reach
from firstthrow.sim.study.subject import Subject

OURS = Units(lengths="in", masses="oz")
# A number with a unit behind it; propellers are in inches everywhere, and so is a word "in".
METRICAL = re.compile(r"[0-9] ?(mm|cm|g|kg|gf|m/s|N|N m|kgcm|g/dm2|km/h|m)(?![\w/])")
INCHES = re.compile(r"(?<!x)\b[0-9.]+ (in(?= (aft|right|left|behind|ahead|wide)|,)|oz|mph|ft)\b")


SECTIONS = (
    "balance",
    "masses",
    "throws",
    "boards",
    "linkages",
    "power",
    "launch",
    "asked",
    "trouble",
)


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """The same airframe in both: converted, it is the same to four digits."""
    folder = tmp_path_factory.mktemp("units")
    airframe = load_airframe(find("airframes", "pantry"))
    airframe = airframe.model_copy(update={"datum": "leading edge"})
    found = {}
    for name, units in (("metric", METRIC), ("inches", OURS)):
        path = folder / f"{name}.toml"
        text = toml(airframe.model_copy(update={"units": units, "about": "a slab"}), "", {})
        # Said by nothing but the quantities themselves.
        path.write_text(re.sub(r"(?m)^units = .*\n", "", text))
        found[name] = path
    return found


def test_most_of_a_file_decides_and_the_file_may_say_it(files, tmp_path):
    assert load_airframe(files["metric"]).units == METRIC
    assert load_airframe(files["inches"]).units == OURS
    mixed = files["metric"].read_text()
    for was in re.findall(r'mass = "[0-9.]+ g"', mixed):
        ounces = float(was.split('"')[1].split()[0]) / 28.349523125
        mixed = mixed.replace(was, f'mass = "{ounces:.4f} oz"', 1)
    path = tmp_path / "mixed.toml"
    path.write_text(mixed)
    assert load_airframe(path).units == Units(lengths="mm", masses="oz")
    assert load_airframe(path, ['units.masses="g"']).units == METRIC


def test_units_are_no_part_of_what_is_flown(files):
    """The same airframe told in other units is the same, and its record knows the units."""
    one = load_airframe(files["metric"])
    other = one.model_copy(update={"units": OURS})
    assert fingerprint(one) == fingerprint(other)
    described = json.loads(other.model_dump_json())
    assert Record((), None, {"airframe_si": described}).units == OURS
    assert Record((), None, {}).units == METRIC


def test_a_quantity_is_written_in_both():
    """NIST SP 811: 25.4 mm an inch, 28.349523 g an ounce, 0.44704 m/s a mile an hour."""
    assert (METRIC.length(0.0254), OURS.length(0.0254)) == ("25 mm", "1.00 in")
    assert (METRIC.mass(0.02835), OURS.mass(0.02835)) == ("28 g", "1.00 oz")
    assert (METRIC.speed(8.0), OURS.speed(0.44704)) == ("8.0 m/s", "1.0 mph")
    assert OURS.throw(8.0) == "17.9 mph (26 ft/s)"
    assert (METRIC.pull(4.448222), OURS.pull(4.448222)) == ("454 gf", "16.0 oz")
    assert (METRIC.torque(0.0706155), OURS.torque(0.0706155)) == ("0.7 kgcm", "10.0 oz in")
    assert (METRIC.loading(1.0), OURS.loading(1.0)) == ("10.0 g/dm2", "3.3 oz/ft2")


@pytest.mark.parametrize("command", ["trim", "power", "surfaces", "directions"])
def test_commands_answer_in_the_units_of_the_file(files, command, capsys):
    told = {}
    for name, path in files.items():
        main([command, str(path)])
        told[name] = capsys.readouterr().out
    assert not METRICAL.search(told["inches"]), METRICAL.search(told["inches"])
    assert not INCHES.search(told["metric"]), INCHES.search(told["metric"])
    assert METRICAL.search(told["metric"])


def test_reports_that_fly_answer_in_the_units_of_the_file(files):
    """weigh, check and the bench sheet, out of one set of reports."""
    airframe = load_airframe(files["inches"])
    found = reports(Subject(airframe), launches=2, is_whole=False)
    checked = preflight(found)
    texts = [*weigh.lines(airframe, found.weigh), *check.lines(checked, OURS)]
    pages = contents(airframe, found, checked)
    texts += [str(pages[key]) for key in SECTIONS]
    for text in texts:
        assert not METRICAL.search(text), text


def test_pages_and_rows_are_in_the_units_of_the_file(files):
    """Cutting template, gauges, slips, and the rows of the bench."""
    airframe = load_airframe(files["inches"])
    told = [label.text for label in plan(airframe, Balance(0.083, 0.111, 0.071, 0.095)).labels]
    assert "balance here: 3.27 in aft" in told
    sheet_of = {
        "name": "a slab",
        "gauges": [{"title": "left", "role": "elevon", "marks": [(12.7, ["back high"])]}],
        "marks": {"front": 71.0, "target": 83.0, "rear": 95.0, "neutral": 111.0},
    }
    throws, template = gauge.pages(sheet_of, "a4", OURS)
    ticks = {word.text: word.y for word in template.parts if isinstance(word, Words)}
    assert abs(ticks["1"] - ticks["0"]) == pytest.approx(25.4)
    told += [w.text for w in (*throws.parts, *template.parts) if isinstance(w, Words)]
    assert "0.50 up  back high" in told
    slipped = put(put(airframe, ("sheets", "slab", "thickness"), 0.2), ("launch", "hand"), None)
    told += slips(slipped)
    assert any("thickness = 7.874 in: 0.039 to 2.4 in is usual" in text for text in told)
    setup = Setup(airframe, STANDARD)
    rows = bench_rows(setup, "pack")
    told += [f"{row.words} {said(row, value(setup, row))}" for row in rows[1:]]
    for text in told:
        assert not METRICAL.search(text), text
    place = next(row for row in rows if row.name == "place")
    nearer = stepped(setup, place, "pack", -1)
    assert value(nearer, place) == pytest.approx(-1.05)  # from -0.984, near -1.00, in twentieths


def test_tables_and_plots_of_a_sweep_and_the_drive(files, tmp_path, capsys):
    path = str(files["inches"])
    vary = ["--vary", "items.pack.aft=-2..0in:2", "--result", "stall_speed_m_s", "cg_m"]
    with matplotlib.rc_context({"svg.fonttype": "none"}):
        main(["sweep", path, *vary, "--plot", str(tmp_path / "sweep.svg")])
        main(["power", path, "--plot", str(tmp_path / "power.svg")])
    table = capsys.readouterr().out
    assert "place of the pack  stall speed [mph]  cg [in]" in table
    stall = Subject(load_airframe(path, ["items.pack.aft=-2 in"])).stall_speed
    assert f"{OURS.in_speeds(stall):.4g}" in table.splitlines()[2]
    for name in ("sweep", "power"):
        drawn = (tmp_path / f"{name}.svg").read_text(encoding="utf-8")
        assert "[mph]" in drawn
        assert not re.search(r"\[(m|mm|m/s|N|kg|g|gf)\]", drawn)


def test_why_there_is_no_trim_says_the_speed_in_the_units_of_the_file():
    missing = Untrimmed(Kind.LEVEL, 15.0, "not enough thrust to hold height")
    assert missing.words(METRIC) == "not enough thrust to hold height at 15.0 m/s"
    assert missing.words(OURS) == "not enough thrust to hold height at 33.6 mph"


def test_numbers_agree(files, capsys):
    """JSON is SI, and the same for both to what four digits of a file leave."""
    found = []
    for path in files.values():
        main(["trim", str(path), "--speed", "9 m/s", "--json"])
        found.append(json.loads(capsys.readouterr().out))
    for key in ("stall_speed_m_s", "neutral_point_percent_mac"):
        assert found[0][key] == pytest.approx(found[1][key], rel=2e-3), key


def test_a_sheet_given_in_inches_is_drafted_in_inches():
    assert sheet("24inx24in").units == OURS
    assert sheet("48x24").units == OURS  # no board is 48 mm wide
    assert sheet("1200x600 mm").units == METRIC
    assert sheet("24inx24in").text == "24x24in"


def test_a_ball_thrown_level_lands_where_free_fall_has_it():
    """By hand: 1.8 m take 0.606 s at 9.80665 m/s2, in which 8 m/s go 4.85 m."""
    assert level_reach(8.0, 1.8) == pytest.approx(8.0 * 0.6059, rel=1e-3)
