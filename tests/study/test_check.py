"""The whole pre-flight in one: verdicts, reasons, the next step, exit codes."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from own import FOUND

from firstthrow.scenes.commands.check import lines
from firstthrow.scenes.commands.cli import main
from firstthrow.scenes.hands import own_hands
from firstthrow.sim.describe.builder_units import METRIC
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.flight.drive_at_rest import equilibrium, unlimited
from firstthrow.sim.flight.speeds import CRUISE
from firstthrow.sim.kernels.gusts import intensities
from firstthrow.sim.study.check import preflight, throttle_limit, whole
from firstthrow.sim.study.launch import EYE, SIGMAS, launch_plan, wind_limit
from firstthrow.sim.study.ratings import Fit
from firstthrow.sim.study.subject import Subject, subject_of
from firstthrow.sim.study.verdict import BalanceVerdict

PARTS = ["balance", "strength", "power", "surfaces", "launch"]


def checked(capsys, *words: str) -> tuple[int, dict]:
    code = main(["check", *words, "--json"])
    return code, json.loads(capsys.readouterr().out)


@pytest.fixture(scope="module")
def pantry():
    return whole(subject_of(load_airframe(find("airframes", "pantry"))))


def having(answer, path: list[str], value):
    """The answer with another value at a path of names, numbers and keys."""
    name, *rest = path
    if isinstance(answer, dict):
        return answer | {name: having(answer[name], rest, value) if rest else value}
    if isinstance(answer, list | tuple):
        one = having(answer[int(name)], rest, value) if rest else value
        return type(answer)([*answer[: int(name)], one, *answer[int(name) + 1 :]])
    one = having(getattr(answer, name), rest, value) if rest else value
    return replace(answer, **{name: one})


def verdicts(answer) -> dict[str, str]:
    answer = answer if isinstance(answer, dict) else answer.as_json()
    return {check["name"]: check["verdict"] for check in answer["checks"]}


def test_pantry_is_a_go_and_own_hands_do_not_change_that(capsys, tmp_path, monkeypatch):
    monkeypatch.setattr(own_hands, "path", lambda: tmp_path / "hands.json")
    own_hands.add("pantry", "keyboard", FOUND)
    code, answer = checked(capsys, "pantry", "--pilot", "mine")
    assert (answer["mine"]["skill"], answer["mine"]["flown"]) == ("mine", 100)
    assert answer["odds"]["skill"] == "club"
    assert code == 0
    assert {"airframe", "verdict", "sentence", "checks", "band", "odds", "next"} <= set(answer)
    assert answer["odds"]["survived"] >= 95
    assert answer["sentence"].startswith("Go: nothing forbids it, and 9")
    assert verdicts(answer) == dict.fromkeys(PARTS, "go")
    assert all(check["reasons"] == [] for check in answer["checks"])


def test_glasshouse_as_built_is_a_no_go_for_its_balance(capsys):
    code, answer = checked(capsys, "glasshouse")
    assert (code, answer["verdict"]) == (3, "no-go")
    found = verdicts(answer)
    assert (found["balance"], found["launch"]) == ("no-go", "no-go")
    assert (found["strength"], found["power"], found["surfaces"]) == ("go", "go", "go")
    assert "behind the neutral point" in answer["checks"][0]["reasons"][0]
    assert answer["next"].startswith("Move the pack ")
    advice = answer["advice"]
    assert (advice["before"]["verdict"], advice["after"]["verdict"]) == ("no-go", "go")
    assert advice["after"]["static_margin_percent"] == pytest.approx(8.0, abs=0.1)
    assert advice["after"]["stopped_by"] == []
    assert advice["mass_change_kg"] == pytest.approx(
        sum(s["mass_change_kg"] for s in advice["steps"])
    )


def test_text_for_people(capsys):
    assert main(["check", "glasshouse"]) == 3
    told = capsys.readouterr().out.splitlines()
    assert told[0] == "glasshouse: NO-GO"
    assert told[1].startswith("  Do not fly: the CG lies behind the neutral point")
    at = told.index("  balance    no-go")
    assert told[at + 1] == "    ! the CG lies behind the neutral point: it cannot fly by itself"
    assert max(map(len, told)) <= 100


def test_surfaces_that_move_the_wrong_way_come_first(capsys):
    code, answer = checked(capsys, "pantry", "--set", "mixing.swapped=true")
    assert code == 3
    assert verdicts(answer)["surfaces"] == "no-go"
    assert answer["next"] == "Put right what moves the wrong way: see firstthrow directions."


def test_input_errors(capsys):
    assert main(["check", "pantri"]) == 2
    assert "did you mean 'pantry'?" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("path", "value", "part", "words"),
    [
        ("weigh.strength.limit_load_factor", 2.4, "strength", "it folds at 2.4 times its weight"),
        ("weigh.strength.full_elevator_speed_m_s", 7.0, "strength", "full elevator folds it at 7"),
        ("weigh.verdict", BalanceVerdict.TOO_FAR_AFT, "balance", "behind the rear limit"),
        ("weigh.verdict", BalanceVerdict.NO_BAND, "balance", "no balance suits"),
        ("surfaces.surfaces.0.servo.torque_needed_N_m.dive", 9.0, "surfaces", "a dive asks"),
        ("trim.no_go", ["the pitch is unstable"], "balance", "the pitch is unstable"),
        ("power.level.reason", "not enough thrust", "power", "not enough thrust"),
        ("throttle_limit", 0.3, "power", "the ratings allow 30 %"),
        ("surfaces.supply.held_verdict", Fit.OVER, "surfaces", "the supply gives"),
        ("launch.arm_m_s", 7.0, "launch", "an arm gives 415 g 7.0 m/s"),
        ("launch.steady_pilot.survives", False, "launch", "flown by the steady pilot it fails"),
        ("launch.hands.survived", 4, "launch", "4 of 100 launches survive by club hands"),
    ],
)
def test_each_reason_makes_its_part_a_no_go(pantry, path, value, part, words):
    answer = preflight(having(pantry, path.split("."), value))
    assert [name for name, verdict in verdicts(answer).items() if verdict == "no-go"] == [part]
    reasons = next(check.reasons for check in answer.checks if check.name == part)
    assert any(words in reason for reason in reasons), reasons
    assert answer.next
    assert lines(answer, METRIC)[0] == "pantry: NO-GO"


def test_a_servo_that_cannot_hold(pantry):
    path = ["surfaces", "surfaces", "0", "servo", "torque_needed_N_m", "level"]
    answer = preflight(having(pantry, path, 100.0))
    assert verdicts(answer)["surfaces"] == "no-go"
    assert "the servo gives" in answer.next


def test_cautions_do_not_stop_it(pantry):
    answer = preflight(having(pantry, ["weigh", "cg_spread_m", "0"], 0.02))
    assert answer.verdict == "go"
    assert any("balance it on two fingers" in c for c in answer.checks[0].cautions)
    assert answer.next == f"Measure next: {pantry.measure.first(pantry.units)}."


def test_throttle_limit_meets_a_rating():
    """At that throttle the most loaded rating is met, and nothing is beyond its own."""
    airframe = load_airframe(find("airframes", "pantry"), ["motors.motor.limit=6 A"])
    subject = Subject(airframe)
    at = equilibrium(unlimited(subject.model), throttle_limit(subject))
    assert at.motor_current == pytest.approx(6.0, rel=0.01)
    assert at.pack_current <= airframe.pack.limit
    generous = load_airframe(
        find("airframes", "pantry"), ["motors.motor.limit=90 A", "controller.limit=90 A"]
    )
    assert throttle_limit(Subject(generous)) == 1.0


def test_wind_limit_keeps_two_rms_gusts_within_the_speed_margin():
    """Gusts by MIL-F-8785C (see `gusts`); the rule itself is ours, with half the flying speed."""
    for slow in (4.0, 6.5, 10.0):
        wind, _ = wind_limit(slow)
        strong, _ = intensities(EYE, wind)
        assert slow + SIGMAS * strong <= CRUISE * slow + 1e-9
        assert wind <= 0.5 * CRUISE * slow + 1e-9


def test_ground_roll_shrinks_with_throttle():
    """The energy at lift-off comes from thrust times way: more thrust, less way."""
    rolls = []
    for throttle in ("60 %", "80 %"):
        airframe = load_airframe(
            find("airframes", "glasshouse"),
            [f"launch.ground.throttle={throttle}", "items.pack.aft=-200 mm"],
        )
        plan = launch_plan(Subject(airframe))
        assert plan.steady_pilot.survives
        assert plan.hands.flown > 1
        rolls.append(plan.steady_pilot.ground_roll_m)
    assert 1.0 < rolls[1] < rolls[0] < 60.0
