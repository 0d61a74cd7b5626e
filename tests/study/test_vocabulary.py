"""One stall speed for one airframe, whoever says it: printed, as JSON, in flight, on paper."""

from __future__ import annotations

import io
import json
import re
from contextlib import redirect_stdout

import pytest
from bodies import copied
from printed import pages

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.describe.builder_units import METRIC
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.speeds import APPROACH, CRUISE, LEAST_THROW, SLOWEST_SAFE
from firstthrow.sim.flight.trims import Trim
from firstthrow.sim.study import servos
from firstthrow.sim.study.gist import headline
from firstthrow.sim.study.launch import launch_plan
from firstthrow.sim.study.margins import flown_margins
from firstthrow.sim.study.odds import launches
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.power import level_flight
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.sweep import work_out
from firstthrow.sim.study.trim import trim_study

AIRFRAMES = ("pantry", "pantry-swept", "glasshouse", "allotment")


def told(*words: str) -> str:
    out = io.StringIO()
    with redirect_stdout(out):
        main(words)
    return out.getvalue()


@pytest.fixture(scope="module", params=AIRFRAMES)
def subject(request):
    return Subject(load_airframe(find("airframes", request.param)))


@pytest.mark.usefixtures("brief")
def test_commands_print_the_same(subject, tmp_path):
    name, slow = copied(subject.airframe.name, tmp_path), subject.stall_speed
    weighed = json.loads(told("weigh", name, "--json"))
    ballast = json.loads(told("weigh", name, "--margin", "8%", "--json"))
    trimmed = json.loads(told("trim", name, "--speed", f"{subject.cruise:.2f} m/s", "--json"))
    assert weighed["stall_speed_m_s"] == pytest.approx(slow, rel=1e-9)
    assert ballast["now"]["stall_speed_m_s"] == pytest.approx(slow, rel=1e-9)
    assert trimmed["stall_speed_m_s"] == pytest.approx(slow, rel=1e-9)
    text = told("trim", name, "--speed", f"{subject.cruise:.2f} m/s")
    assert re.search(r"stall +([0-9.]+) m/s", text)[1] == f"{slow:.1f}"
    # With the surfaces neutral it is another word, and differs.
    assert trimmed["stall_speed_neutral_m_s"] == pytest.approx(subject.neutral_stall_speed)
    assert abs(subject.neutral_stall_speed / slow - 1.0) > 0.01


def test_flights_and_their_records_say_the_same(subject):
    launch = subject.airframe.launch.kind
    flight = Flight(subject.airframe, STANDARD, launch)
    assert flight.stall_speed == pytest.approx(subject.stall_speed, rel=1e-9)
    assert flight.reading().stall_speed_m_s == pytest.approx(subject.stall_speed, rel=1e-9)


def test_studies_say_the_same(subject):
    slow = subject.stall_speed
    plan = launch_plan(subject, launches=1)
    assert plan.stall_speed_m_s == slow
    if plan.throw_m_s:
        assert plan.throw_over_stall == pytest.approx(plan.throw_m_s / slow)
        ready = launches.setup(subject, launches.Plan(Scatter(), "human", 1.0, 0))
        assert ready.stall_speed == slow
    path = str(find("airframes", subject.airframe.name))
    row = work_out(path, (), ["margin"], ["8 %"], ["stall_speed_m_s"])
    assert row.results["stall_speed_m_s"] == pytest.approx(slow, rel=1e-9)


def test_speeds_named_after_it(subject):
    slow = subject.stall_speed
    named = (subject.least_throw, subject.slowest_safe, subject.approach, subject.cruise)
    wanted = [much * slow for much in (LEAST_THROW, SLOWEST_SAFE, APPROACH, CRUISE)]
    assert named == pytest.approx(wanted)
    assert subject.level.airspeed_m_s == pytest.approx(subject.cruise)
    assert subject.glide.airspeed_m_s == pytest.approx(subject.approach)


def test_level_flight_of_least_current_is_one_flight(subject):
    level, told_by_trim = level_flight(subject), trim_study(subject).level
    assert (told_by_trim.airspeed_m_s, told_by_trim.throttle, told_by_trim.current_A) == (
        level.speed,
        level.throttle,
        level.current,
    )


def test_the_throttle_of_the_cruise_is_one_figure(subject):
    """`trim` works at whole half metres a second, the pre-flight at the cruise itself."""
    whole, one = trim_study(subject), trim_study(subject, subject.cruise)
    assert headline.of_trim(whole, METRIC) == headline.of_trim(one, METRIC)
    level = subject.level
    if isinstance(level, Trim) and not whole.no_go:
        assert f"with {100.0 * level.throttle:.0f} % throttle" in headline.of_trim(whole, METRIC)


def test_the_launch_has_one_speed(subject):
    throw = subject.airframe.launch.thrown
    assert subject.launch_speed == (throw.speed if throw else subject.slowest_safe)
    assert servos.speeds(subject)["launch"] == subject.launch_speed
    at = [one.airspeed_m_s for one in flown_margins(subject) if one.where == "launch"]
    assert at == [pytest.approx(subject.launch_speed)]


@pytest.mark.usefixtures("brief")
def test_the_bench_sheet_prints_the_same(subject, tmp_path):
    path = tmp_path / "sheet.pdf"
    told("benchsheet", copied(subject.airframe.name, tmp_path), "--out", str(path))
    slow = subject.stall_speed
    texts = [text for page in pages(path) for text in page.texts()]
    assert f"{slow:.1f} m/s; never fly slower than {SLOWEST_SAFE * slow:.1f} m/s" in texts
