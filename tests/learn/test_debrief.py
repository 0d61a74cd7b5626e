"""Findings of synthetic flights whose faults are put in by hand, and the plot page of one.

The expected words and numbers follow from the synthetic columns, not from any flight.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from matplotlib import image
from synthetic import LANDED, NAMES, RATE, between, flight

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.flight.flown import Summary, flown, spans, summary
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.flight.record import Record, load
from firstthrow.sim.learn import debrief
from firstthrow.sim.learn.compare import numbers
from firstthrow.sim.learn.finding import Kind, worst_first
from firstthrow.sim.learn.sentence import verdict
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.paper.plots import debrief as debrief_plot


def texts(record: Record) -> list[str]:
    return [finding.text for finding in debrief.findings(record)]


def only(record: Record) -> debrief.Finding:
    """The one finding beside the outcome."""
    found = debrief.findings(record)
    assert len(found) == 2, [finding.text for finding in found]
    return found[1]


def test_a_quiet_flight_has_only_its_outcome():
    assert texts(flight()) == ["It landed after 20.0 s."]


def test_stall_is_found_with_its_time_and_depth():
    finding = only(
        flight(
            separated_fraction=between(5.0, 6.0, 0.8, 0.0), alpha_deg=between(5.0, 6.0, 24.0, 5.0)
        )
    )
    assert finding.text == (
        "At 5.0 s, for 1.0 s: stalled, 80 % of the wing separated at 24 deg angle of attack, "
        "10.0 m up."
    )
    assert finding.as_json() == {
        "kind": "stalled",
        "text": finding.text,
        "severity": "danger",
        "start_s": 5.0,
        "end_s": 6.0,
        "value": 0.8,
        "limit": 0.5,
    }


def test_a_stall_on_the_ground_is_none():
    record = flight(height_m=0.1, separated_fraction=0.9)
    record.meta["launch"] = "ground"
    assert texts(record) == ["It landed after 20.0 s."]


def test_the_mush_at_the_end_of_a_landing_is_a_note():
    finding = only(
        flight(
            seconds=10.0,
            height_m=lambda time: np.where(time < 9.0, 3.0, np.maximum(0.05, 10.0 - time)),
            separated_fraction=between(9.2, 10.0, 0.7, 0.0),
        )
    )
    assert finding.severity == "note"
    assert finding.start_s == pytest.approx(9.2, abs=0.02)


def test_low_stall_margin():
    finding = only(flight(airspeed_m_s=between(8.0, 9.0, 8.4, 12.0)))
    assert finding.text == (
        "At 8.0 s, for 1.0 s: slow, 8.4 m/s is 5 % over the stall speed of 8.0 m/s."
    )
    assert (finding.severity, finding.limit) == ("caution", 10.0)
    assert finding.value == pytest.approx(5.0)


def test_elevon_asked_to_its_travel():
    asked = between(3.0, 4.0, -30.0, -4.0)
    record = flight(surface_elevon_left_asked_deg=asked, surface_elevon_left_deg=asked)
    assert only(record).text == (
        "At 3.0 s, for 1.0 s: ran out of up left elevon, asked for its whole travel of 30 deg."
    )
    short = between(3.0, 3.2, -30.0, -4.0)
    record = flight(surface_elevon_left_asked_deg=short, surface_elevon_left_deg=short)
    assert len(debrief.findings(record)) == 1


def test_a_surface_whose_role_was_lost_is_passed_over():
    asked = between(3.0, 4.0, -30.0, -4.0)
    record = flight(surface_elevon_left_asked_deg=asked, surface_elevon_left_deg=asked)
    for left in ({"elevon_right": "elevon"}, {}):
        assert len(texts(with_limits(record, {"roles": left}))) == 1


def test_full_back_stick():
    finding = only(
        flight(
            stick_pitch=between(3.0, 4.0, 1.0, 0.1),
            surface_elevon_left_asked_deg=-22.0,
            surface_elevon_left_deg=-22.0,
        )
    )
    assert finding.text == (
        "At 3.0 s, for 1.0 s: the stick was fully back, asking 22 deg: no up elevon was left."
    )


@pytest.mark.parametrize(
    ("load", "moves", "why"),
    [
        (1.0, 0.0, "the air held it back"),
        (0.3, 4.0, "the servo is slower than the stick"),
        (0.3, 0.0, "it did not move"),
    ],
)
def test_surface_that_does_not_arrive(load, moves, why):
    """Slow is what moves: a surface that has come off or is stuck does not."""
    record = flight(
        surface_elevon_right_asked_deg=-20.0,
        surface_elevon_right_deg=lambda time: np.where(
            (time >= 6.0) & (time < 6.5), -15.0 + moves * (6.0 - time), -20.0
        ),
        servo_elevon_right_load=load,
    )
    assert only(record).text == (
        f"At 6.0 s, for 0.5 s: the right elevon stood 5 deg short of the -20 deg asked; {why}."
    )


def test_steep_bank_both_ways():
    assert only(flight(roll_deg=between(6.0, 7.0, -70.0, 0.0))).text == (
        "At 6.0 s, for 1.0 s: 70 deg of bank to the left."
    )
    twice = only(flight(roll_deg=lambda time: np.where((time % 10 > 3) & (time % 10 < 4), 95, 0)))
    assert twice.severity == "danger"
    assert "95 deg of bank to the right (2 times in all; this is the worst)." in twice.text


def test_height_lost_after_the_release():
    finding = only(flight(height_m=lambda time: np.where(time < 2, 1.8 - 0.5 * time, 0.8 + time)))
    assert finding.text == "It lost 1.0 m of height after the release, down to 0.8 m."
    assert finding.severity == "danger"
    assert finding.value == pytest.approx(1.0, abs=0.02)


def test_pitching_up_by_itself():
    record = flight(
        seconds=5.0,
        stick_pitch=between(0.0, 1.5, 0.0, 0.2),
        pitch_deg=lambda time: 10.0 + 20.0 * np.minimum(time, 1.5),
    )
    finding = next(f for f in debrief.findings(record) if f.value > debrief.PITCH_UP)
    assert finding.text.startswith(
        "With the pitch stick let go it raised its nose by 30 deg in 1.5 s after the release"
    )
    held = flight(seconds=5.0, stick_pitch=0.2, pitch_deg=lambda time: 10.0 + 20.0 * time)
    assert len(debrief.findings(held)) == 1


def test_pack_supply_and_currents():
    assert only(flight(pack_V=between(4.0, 5.0, 9.2, 11.0))).text == (
        "At 4.0 s, for 1.0 s: the pack sagged to 9.2 V, under the cut-off of 9.9 V."
    )
    assert only(flight(supply_V=between(4.0, 5.0, 4.2, 5.0))).text == (
        "At 4.0 s, for 1.0 s: the servo supply sagged to 4.20 V; 4.50 V is the least."
    )
    assert texts(flight(motor_main_A=between(4.0, 5.0, 33.0, 12.0)))[1:] == [
        "At 4.0 s, for 1.0 s: 33.0 A through the motor, which is rated 25 A.",
        "At 4.0 s, for 1.0 s: 33.0 A through the controller of the motor, which is rated 30 A.",
    ]


def test_a_motor_spinning_up_is_no_overload():
    assert texts(flight(motor_main_A=between(4.0, 4.2, 90.0, 12.0)))[1:] == []


LIMITING = {"controller_limits": True, "controller_bears_s": 5.0, "motor_A": {"main": 99.0}}
PASSING = LIMITING | {"controller_limits": False}


def with_limits(record: Record, limits: dict) -> Record:
    meta = record.meta | {"limits": record.meta["limits"] | limits}
    return Record(record.columns, record.rows, meta)


def test_a_controller_that_gave_up():
    """1.21 - 1 of overload a second for 25 s: of 5 s of it something is left, then it ends."""
    amps = between(2.0, 15.0, 33.0, 12.0)
    said = (
        "At 2.0 s, for 13.0 s: 33.0 A through the controller of the motor, which is rated 30 A; "
        "it burns or cuts out after about 24 s of that."
    )
    record = flight(seconds=30.0, motor_main_A=amps)
    assert texts(with_limits(record, PASSING))[1:] == [said]
    ends = lambda time: np.where(time <= 26.0, 33.0, 0.0)  # noqa: E731
    told = texts(with_limits(flight(seconds=30.0, motor_main_A=ends), PASSING))[1:]
    assert told[1] == (
        "At 26.0 s the controller of the motor burnt or cut out after 33 A on a rating of 30 A: "
        "no thrust from there on."
    )
    shut = lambda time: np.where(time <= 26.0, 0.5, 0.0)  # noqa: E731
    by_hand = flight(seconds=30.0, motor_main_A=ends, throttle=shut)
    assert len(texts(with_limits(by_hand, PASSING))) == 2


def test_a_controller_that_limits_is_never_over():
    """Held at its own value by itself, on every ground launch of a large slab."""
    record = flight(motor_main_A=between(2.0, 9.0, 30.0000001, 12.0))
    assert texts(with_limits(record, LIMITING))[1:] == []


def test_bending():
    finding = only(flight(bending_fraction=between(4.0, 4.05, 0.9, 0.1), load_factor=4.2))
    assert (
        finding.text
        == "At 4.0 s the root carried 90 % of its bending strength at 4.2 times the weight."
    )


def test_hands_off_stretch():
    finding = only(
        flight(
            stick_pitch=between(5.0, 10.0, 0.0, 0.1),
            pitch_deg=lambda time: 5.0 + 2.0 * np.clip(time - 5.0, 0.0, 5.0),
            height_m=lambda time: 10.0 - 0.4 * np.clip(time - 5.0, 0.0, 5.0),
        )
    )
    assert finding.text == (
        "Hands off from 5.0 to 10.0 s: its nose went up 10 deg, its bank wandered 0 deg, "
        "and it lost 2.0 m."
    )


@pytest.mark.parametrize("pilot", ["human", "human:expert", "steady"])
def test_simulated_hands_never_let_go(pilot):
    record = flight(stick_pitch=between(5.0, 10.0, 0.0, 0.1))
    assert any("Hands off" in text for text in texts(record))
    record.meta["pilot"] = pilot
    assert texts(record)[1:] == []


def test_outcome_comes_first_and_a_cut_record_says_so():
    broke = {"word": "broke", "text": "It broke on impact at 3.1 m/s."}
    found = debrief.findings(flight(outcome=broke, roll_deg=between(6.0, 7.0, 70.0, 0.0)))
    assert (found[0].text, found[0].severity) == ("It broke on impact at 3.1 m/s.", "danger")
    assert texts(flight(seconds=7.0, outcome=None)) == [
        "The recording ends at 7.0 s without an outcome: the program was cut off."
    ]


def test_without_a_sidecar_the_flight_is_still_judged():
    record = flight(roll_deg=between(6.0, 7.0, 70.0, 0.0))
    found = texts(Record(record.columns, record.rows, {}))
    assert found[1] == (
        "The record's sidecar is missing: currents, voltages and throws were not checked."
    )
    assert any("70 deg of bank" in text for text in found)


def test_an_empty_record_says_so():
    record = Record(NAMES, np.zeros((0, len(NAMES))), {"outcome": LANDED})
    assert texts(record) == ["It landed after 20.0 s."]
    assert summary(record) == Summary()
    with pytest.raises(ValueError, match="nothing was flown in this record"):
        debrief_plot.write(record, "never.png")


def test_summary_counts_from_the_release_and_in_the_air():
    record = flight(
        time_s=lambda time: time - 1.0,  # a second in the hand
        airspeed_m_s=lambda time: np.where(time > 19.0, 0.0, 12.0),
        height_m=lambda time: np.where(time > 19.0, 0.05, 10.0),
        load_factor=lambda time: np.where(time > 19.0, 40.0, 1.5),
    )
    numbers = summary(record)
    assert numbers.as_json() == {
        "flight_time_s": 19.0,
        "distance_m": pytest.approx(12.0 * 19.0, abs=0.3),
        "max_height_m": 10.0,
        "min_airspeed_m_s": 12.0,
        "max_load_factor": 1.5,
        "pack_used_mAh": pytest.approx(20.0 / 0.3, abs=1e-3),
    }
    assert flown(record).time[0] == pytest.approx(1.0 / RATE)


def test_spans_of_a_mask():
    time = np.arange(8) * 0.1
    mask = np.array([1, 1, 0, 1, 0, 1, 1, 1], dtype=bool)
    assert list(spans(time, mask)) == [slice(0, 2), slice(3, 4), slice(5, 8)]
    assert list(spans(time, mask, 0.15)) == [slice(5, 8)]


@pytest.mark.parametrize("suffix", [".png", ".pdf"])
def test_plot_page_is_drawn(tmp_path, suffix):
    place = tmp_path / f"page{suffix}"
    debrief_plot.write(flight(seconds=6.0, roll_deg=between(3.0, 4.0, 70.0, 0.0)), place)
    if suffix == ".pdf":
        assert place.read_bytes().startswith(b"%PDF")
        return
    page = image.imread(place)
    assert page.shape[:2] == (1075, 1519)
    white = (page[..., :3] > 0.99).all(axis=2).mean()
    assert 0.5 < white < 0.97  # neither empty nor a blot
    # The troubled second is shaded across the panels, in the colour of its severity.
    shade = np.abs(page[..., :3] - np.array([0xF7, 0xE9, 0xC6]) / 255.0).max(axis=2) < 0.01
    assert shade.mean() > 0.01


def test_every_kind_has_its_rule_and_every_ending_its_verdict():
    assert set(debrief.RULES) == set(Kind) - {Kind.OUTCOME}
    for word in Ending:
        told = verdict(flight(outcome={"word": word, "text": "."}))
        assert ("nothing came near a limit" in told) is word.survived
    assert len({verdict(flight(outcome={"word": word, "text": "."})) for word in Ending}) == 8


def test_stalled_and_slow_are_what_the_vocabulary_says(monkeypatch):
    """Moved for a test, the limits of `speeds` move findings, measures and numbers along."""
    record = flight(
        separated_fraction=between(3.0, 4.0, 0.4, 0.0),
        airspeed_m_s=between(8.0, 9.0, 9.2, 12.0),  # 1.15 stall speeds
    )
    assert numbers(record).stalled_s == numbers(record).slow_s == 0.0
    assert texts(record) == ["It landed after 20.0 s."]
    monkeypatch.setattr("firstthrow.sim.flight.flown.STALLED", 0.3)
    monkeypatch.setattr("firstthrow.sim.flight.flown.SLOW", 1.2)
    assert [finding.kind for finding in debrief.findings(record)][1:] == ["stalled", "slow"]
    assert numbers(record).stalled_s == pytest.approx(1.0, abs=0.05)
    assert numbers(record).slow_s == pytest.approx(1.0, abs=0.05)
    assert "it stalled" in verdict(record)
    assert "the stall margin was under" in verdict(record)


def test_the_worst_comes_first():
    record = flight(
        roll_deg=between(3.0, 4.0, 70.0, 0.0), separated_fraction=between(8.0, 9.0, 0.9, 0.0)
    )
    found = debrief.findings(record)[1:]
    assert [finding.kind for finding in found] == ["steep", "stalled"]
    assert [finding.kind for finding in worst_first(found)] == ["stalled", "steep"]


@pytest.mark.parametrize(("left", "told"), [(1, "Nothing was flown"), (200, "Landed in one piece")])
def test_a_record_cut_short_says_so_whatever_is_left_of_it(left, told):
    whole = flight()
    of = len(whole.rows)
    cut = Record(whole.columns, whole.rows[:left], {**whole.meta, "rows": of})
    assert verdict(cut).startswith(f"{told} (its record has lost {of - left} of {of} rows)")


def test_the_names_of_three_pairs_of_surfaces_fit_beside_their_title(tmp_path):
    path = tmp_path / "flight.csv"
    twin = Path(__file__).parents[1] / "airframes" / "twin-48in.toml"
    half_a_second = ["--no-window", "--pilot", "hands-off", "--seconds", "0.5"]
    assert not main(["fly", str(twin), *half_a_second, "--record", str(path)])
    with plt.rc_context(debrief_plot.STYLE):
        page = debrief_plot.page(load(path))
        page.canvas.draw()
        (panel,) = (one for one in page.axes if one.get_title("left").startswith("Surfaces"))
        names = panel.get_legend()
        ends = panel._left_title.get_window_extent().x1, names.get_window_extent().x0
        plt.close(page)
    assert len(names.get_texts()) == 6
    assert ends[0] < ends[1], ends
