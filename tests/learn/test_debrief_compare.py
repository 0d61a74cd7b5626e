"""Verdicts, flights held side by side, and re-flies that tell which change would have helped."""

from __future__ import annotations

import json
import re

import numpy as np
import pypdf
import pytest
from synthetic import between, flight

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.describe.config import find, fingerprint, load_airframe, load_field
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.describe.restore import restored
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.flown import flown
from firstthrow.sim.flight.pilot import hands_off, launch_throttle
from firstthrow.sim.flight.record import Recorder, flight_meta, load
from firstthrow.sim.flight.refly import NoSource, refly, remarks, source, start_of
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.learn.advice import advise
from firstthrow.sim.learn.advice import told as advice_told
from firstthrow.sim.learn.compare import NUMBERS, course, differences, numbers
from firstthrow.sim.learn.debrief import findings
from firstthrow.sim.learn.finding import Kind
from firstthrow.sim.learn.measures import MEASURES
from firstthrow.sim.learn.sentence import verdict

AFT = "items.pack.aft=20 mm"  # 55 mm behind where the pack belongs: it rears up when let go


def flown_to(path, pilot, who: str, overrides=(), seconds=30.0, field="water-meadow", seed=0):
    airframe = load_airframe(find("airframes", "pantry"), overrides)
    place = load_field(find("fields", field))
    meta = flight_meta(place, overrides=overrides, seed=seed, launch="hand", pilot=who)
    recorder = Recorder(path, airframe, meta)
    recorder.close(
        fly(airframe, place, pilot(airframe), seconds, seed=seed, record=recorder).outcome
    )
    return path


def let_go(airframe):
    return hands_off(launch_throttle(airframe))


@pytest.fixture(scope="module")
def evening(tmp_path_factory):
    """Records of a flight that rears up hands off, of a good one, and of the same by thumbs."""
    folder = tmp_path_factory.mktemp("flights")
    return {
        "reared": flown_to(folder / "reared.csv", let_go, "hands-off", [AFT]),
        "good": flown_to(folder / "good.csv", lambda a: Steady(), "steady"),
        "thumbs": flown_to(
            folder / "thumbs.csv", lambda a: Steady(), "thumbs", field="water-meadow-breeze", seed=5
        ),
    }


def test_verdict_in_words():
    """The two sentences of a flight whose faults are put in by hand."""

    def up(time):
        return np.where(((time > 6) & (time < 7)) | ((time > 9) & (time < 10)), -30.0, 0.0)

    record = flight(
        airspeed_m_s=between(0.5, 3.5, 8.4, 12.0),
        surface_elevon_left_asked_deg=up,
        surface_elevon_left_deg=up,
    )
    assert verdict(record) == (
        "Landed in one piece: the stall margin was under 10 % for 3 s after the release; "
        "you ran out of up-elevon twice."
    )


def test_verdict_of_a_quiet_flight_and_of_none():
    assert verdict(flight()) == "Landed in one piece, and nothing came near a limit."
    assert verdict(flight(seconds=0.0)) == "Nothing was flown."


def test_a_stick_held_to_its_end_is_near_a_limit():
    held = flight(stick_roll=between(3.0, 5.0, 1.0, 0.1))
    assert verdict(held) == "Landed in one piece: you held full right roll for 2.0 s."
    assert Kind.HELD_OVER in {finding.kind for finding in findings(held)}


def test_the_worst_comes_first_in_the_verdict():
    record = flight(
        airspeed_m_s=between(2.0, 3.0, 8.4, 12.0),
        separated_fraction=between(8.0, 9.0, 0.9, 0.0),
        outcome={"word": "broke", "text": "It broke."},
    )
    record.meta["pilot"] = "human:beginner"
    told = verdict(record)
    assert told.startswith("Broke on the ground: it stalled once from 8 s on; the stall margin")


def test_every_measure_moves_past_its_limit_with_its_finding():
    """A finding of a rule, and the measure of that name beyond the rule's own limit."""
    faults = {
        "stalled": {"separated_fraction": between(5.0, 6.0, 0.8, 0.0)},
        "slow": {"airspeed_m_s": between(8.0, 9.0, 8.4, 12.0)},
        "ran_out": {
            "surface_elevon_left_asked_deg": between(8.0, 9.0, -30.0, 0.0),
            "surface_elevon_left_deg": between(8.0, 9.0, -30.0, 0.0),
        },
        "full_stick": {"stick_pitch": between(8.0, 9.0, 1.0, 0.1)},
        "blown_back": {"surface_elevon_left_asked_deg": between(8.0, 9.0, -12.0, 0.0)},
        "steep": {"roll_deg": between(8.0, 9.0, 75.0, 0.0)},
        "bent": {"bending_fraction": between(8.0, 9.0, 0.9, 0.1)},
        "height_lost": {"height_m": lambda t: np.where((t > 1) & (t < 2), 5.0, 10.0)},
        "pitched_up": {"stick_pitch": 0.0, "pitch_deg": lambda t: np.where(t > 1, 25.0, 5.0)},
    }
    assert set(faults) == set(MEASURES)
    for kind, columns in faults.items():
        record = flight(**columns)
        assert kind in [finding.kind for finding in findings(record)], kind
        measure = MEASURES[kind]
        assert measure.excess(measure.of(flown(record))) > 0.0, kind
        assert measure.excess(measure.of(flown(flight()))) < 0.0, kind


def test_the_sidecar_holds_all_that_was_flown(evening):
    meta = load(evening["reared"]).meta
    airframe = load_airframe(find("airframes", "pantry"), [AFT])
    again = restored(type(airframe), meta["airframe_si"])
    assert again == airframe
    assert fingerprint(again) == meta["fingerprint"]


def test_a_value_that_must_be_there_is_not_null():
    field = STANDARD.model_dump(mode="json")
    assert restored(Field, field) == STANDARD
    wind = field["wind"] | {"from_bearing": None}
    with pytest.raises(ValueError, match="wind: from_bearing: wanted a value, found null"):
        restored(Field, field | {"wind": wind})


def test_a_program_flies_the_same_again(evening):
    """Unchanged, to the last digit that a record keeps."""
    record = load(evening["good"])
    origin = source(record)
    assert remarks(record) == []
    again = refly(record, origin.airframe, origin.field)
    rows = min(len(again.rows), len(record.rows))
    assert rows > 1000
    assert np.allclose(again.rows[:rows], record.rows[:rows], rtol=1e-6, atol=1e-6)


def test_sticks_replayed_fly_the_same_again(evening):
    """A person's, from the release, gusts and all by their seed: metres after half a minute."""
    record = load(evening["thumbs"])
    origin = source(record)
    again = refly(record, origin.airframe, origin.field, 0.0, 10.0)
    place = ("north_m", "east_m", "height_m")
    apart = np.array([again.column(n)[-1] - record.column(n)[len(again.rows) - 1] for n in place])
    assert np.linalg.norm(apart) < 0.01


def test_a_late_finding_is_taken_up_from_the_record(evening):
    """From the state of the record in still air two seconds on: within a hand's breadth."""
    path = evening["good"]
    record = load(path)
    record.meta["pilot"] = "thumbs"
    origin = source(record)
    start = start_of(record, 12.5)
    assert start == 10.0
    again = refly(record, origin.airframe, origin.field, start, 12.0)
    assert again.column("time_s")[0] == pytest.approx(10.0, abs=0.02)
    at = int(np.searchsorted(record.column("time_s"), again.column("time_s")[-1] - 1e-3))
    for name, near in (("north_m", 0.1), ("height_m", 0.1), ("pitch_deg", 1.0), ("roll_deg", 1.5)):
        assert again.column(name)[-1] == pytest.approx(record.column(name)[at], abs=near), name


def test_advice_is_what_the_refly_gave(evening):
    """Reared up: further forward helps, each figure is that of a flight with the change."""
    record = load(evening["reared"])
    origin = source(record)
    advice = next(one for one in advise(record, origin) if one.finding.kind == "pitched_up")
    assert advice.again
    assert advice.figure == pytest.approx(advice.finding.value, abs=0.1)
    assert advice.best.gone
    balance = min((one for one in advice.tried if one.name == "CG"), key=lambda one: one.figure)
    assert balance.amount < 0.0
    assert balance.figure < advice.figure - 3.0
    from firstthrow.sim.build.weights import balance as weighed
    from firstthrow.sim.build.weights import parts
    from firstthrow.sim.flight.trims import balanced_at

    aft = float(weighed(parts(origin.airframe)).place[0]) + balance.amount
    again = refly(record, balanced_at(origin.airframe, aft), origin.field)
    assert MEASURES["pitched_up"].of(flown(again)) == balance.figure
    found = "pitched_up" in [finding.kind for finding in findings(again)]
    assert found is not balance.gone
    lines = advice_told([advice], record)
    shown = f"CG {-1000 * balance.amount:.0f} mm further forward: nose up by {balance.figure:.1f}"
    assert any(shown in line for line in lines)


def test_what_does_not_come_back_is_not_advised_on(evening):
    """A record that says it stalled, though no flight of this airframe does so."""
    record = load(evening["good"])
    rows = record.rows.copy()
    rows[600:660, record.columns.index("separated_fraction")] = 0.9
    false = record.__class__(record.columns, rows, record.meta)
    (advice,) = advise(false, source(false))
    assert not advice.again
    assert advice.tried == ()
    assert "nothing can be said" in advice_told([advice], false)[1]


def test_a_changed_or_missing_file_is_told(evening):
    record = load(evening["good"])
    changed = load(evening["good"])
    changed.meta["overrides"] = ["items.pack.aft=-30 mm"]
    (remark,) = remarks(changed)
    assert remark.startswith("The file of 'pantry' has changed since this flight")
    gone = load(evening["good"])
    gone.meta["airframe_file"] = "shed/none.toml"
    (remark,) = remarks(gone)
    assert remark.startswith("No usable airframe file 'shed/none.toml' was found")
    del gone.meta["airframe_si"]
    with pytest.raises(NoSource, match="does not hold its airframe"):
        source(gone)
    record.meta.clear()
    with pytest.raises(NoSource, match="sidecar is missing"):
        source(record)


def test_differences_name_what_changed():
    first, second = flight(), flight(separated_fraction=between(5.0, 6.0, 0.8, 0.0))
    second.meta["seed"] = 4
    assert differences(first, second) == [
        "Worse: stalled 1.0 s, was 0.0 s.",
        "Flown differently: seed 4, was none.",
    ]
    assert differences(second, first)[0] == "Better: stalled 0.0 s, was 1.0 s."
    assert differences(first, flight()) == ["No notable difference."]


def test_an_evening_has_a_course():
    slow = [flight(airspeed_m_s=between(5.0, 5.0 + n, 8.4, 12.0)) for n in (4, 3, 1)]
    crash = flight(outcome={"word": "broke", "text": "It broke."})
    lines = course([*slow, crash])
    assert lines[0] == "3 of 4 flights ended in one piece."
    assert "under 10 % margin 0.5 s on average, before 3.5 s: better" in lines[1]
    assert course([flight()])[0].startswith("Fewer than two")


def test_numbers_have_all_their_keys():
    found = numbers(flight())
    assert list(found.as_json()) == [number.key for number in NUMBERS]
    assert all(np.isfinite(value) for value in found.as_json().values())
    assert numbers(flight(seconds=0.0)) is None


def test_the_command_writes_pages_that_say_the_same(evening, tmp_path, capsys):
    page = tmp_path / "page.html"
    words = ("debrief", str(evening["reared"]), "--against", str(evening["good"]))
    assert main([*words, "--out", str(page)]) == 0
    out = capsys.readouterr().out
    first = out.splitlines()[0]
    assert "it raised its nose by itself after the release" in first
    assert "What to try next, each flown again:" in out
    html = page.read_text()
    assert first in html
    assert html.count("<svg") == 2
    assert len(re.findall(r'<svg role="img" aria-label="[^"]{40,}"', html)) == 2
    assert '<html lang="en">' in html
    assert len(re.findall(r"<title>[^<]+: debrief</title>|<h1>[^<]+: debrief</h1>", html)) == 2
    heads = re.findall(r"<th\b[^>]*>[^<]*", html)
    assert len(heads) > 20
    assert all(re.search(r"scope=.(row|col).", head) for head in heads)
    assert not [head for head in heads if head.endswith(">")][1:]  # but the corner of a table
    assert "http://" not in re.sub(r"http://(www\.w3\.org|purl\.org|creativecommons)", "", html)
    best = next(line for line in out.splitlines() if line.endswith("gone."))
    assert best.strip() in html
    pdf = tmp_path / "page.pdf"
    assert main([*words, "--no-refly", "--out", str(pdf)]) == 0
    pages = pypdf.PdfReader(pdf).pages
    assert len(pages) == 3
    text = pages[2].extract_text()
    assert first[:40] in text
    assert "least stall margin" in text


def test_the_command_in_json(evening, tmp_path, capsys):
    words = [str(evening["reared"]), str(evening["good"]), "--json"]
    assert main(["debrief", *words, "--out", str(tmp_path / "page.png")]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["name"] for one in told["flights"]] == ["reared", "good"]
    kinds = [f["kind"] for f in told["flights"][0]["findings"]]
    assert kinds[0] == "outcome"
    assert "pitched_up" in kinds
    assert told["next"] == []
    assert (tmp_path / "page.png").read_bytes().startswith(b"\x89PNG")
