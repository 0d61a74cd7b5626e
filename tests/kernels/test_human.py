"""Simulated hands: the crossover model they are made by, and how they fly."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from bodies import meadow, shipped

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.model import build
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.pilot import hands_off, launch_throttle
from firstthrow.sim.flight.record import PLAIN_COLUMNS, Rows, load, reading_type
from firstthrow.sim.flight.simulated_hands import Human, skill_of
from firstthrow.sim.flight.skills import (
    CHANCES,
    MOST_LEAD,
    SKILLS,
    chance_moves,
    gain_and_lead,
    hands,
)
from firstthrow.sim.flight.trims import Kind, Trim, balanced_at, trims
from firstthrow.sim.kernels import human
from firstthrow.sim.kernels.integrate import LANDED, LEFT
from firstthrow.sim.study.odds import launches, varied
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.sweep import vary

FRAME = 1.0 / 60.0
RATE = 3.0  # of the element K/s: attitude rate at full stick [rad/s]
STILL = Scatter(parts="none", boards="none", surfaces="none", air="none", drive="none").model_copy(
    update=dict.fromkeys(
        ("speed", "pitch", "bank", "slip", "height", "roll_rate", "throttle", "build"), 0.0
    )
)


def tuned(skill, gain: float, lead: float = 0.0) -> np.record:
    """Hands of a skill with neither dead zone nor stick limit, so that they are linear."""
    hands = np.zeros(1, human.HANDS)[0]
    hands.delay, hands.lag = skill.delay, skill.lag
    hands.stick_speed = 1e3
    hands.gain_pitch = hands.gain_roll = gain
    hands.lead_pitch = hands.lead_roll = lead
    hands.wrong_pitch = hands.wrong_roll = 1.0
    return hands


def see_and_act(mind, hands, pitch: float, bank: float, q: float, p: float, since: float) -> None:
    """One frame of the hands alone, which hold what `mind` aims at."""
    shown = np.zeros(human.SEEN)
    shown[: human.ROLL_RATE + 1] = pitch, bank, q, p
    human.look(mind, shown)
    human.act(mind, hands, since, FRAME, np.zeros(2))


def open_loop(hands: np.record, frequency: float, axis: str, slow: float = 0.0) -> complex:
    """Attitude over attitude error of hands and K/(s (slow s + 1)) at a frequency [rad/s], with
    the loop closed.

    What the hands see is moved by a small sine; both signals are then correlated with it
    over whole periods after it has settled.
    """
    periods = max(6, int(20.0 * frequency / 6.283) + 1)
    frames = round(2.0 * np.pi / frequency / FRAME)
    frequency = 2.0 * np.pi / (frames * FRAME)
    mind, attitude, rate = np.zeros(1, human.MIND)[0], 0.0, 0.0
    kept = np.exp(-FRAME / slow) if slow else 0.0
    seen = np.zeros((periods * frames, 2))
    for k in range(len(seen)):
        phase = frequency * k * FRAME
        angle = attitude + 0.05 * np.sin(phase)
        spin = rate + 0.05 * frequency * np.cos(phase)
        seen[k] = attitude, -angle
        pitch, bank = (angle, 0.0) if axis == "pitch" else (0.0, angle)
        q, p = (spin, 0.0) if axis == "pitch" else (0.0, spin)
        see_and_act(mind, hands, pitch, bank, q, p, phase / frequency)
        rate = kept * rate + (1.0 - kept) * RATE * mind[axis]
        attitude += FRAME * rate
    kept = seen[-2 * frames :]
    turning = np.exp(-1j * frequency * FRAME * np.arange(len(kept)))
    out, error = turning @ kept
    return complex(out / error)


@pytest.mark.kernel
@pytest.mark.parametrize("axis", ["pitch", "roll"])
@pytest.mark.parametrize("name", SKILLS)
def test_crossover_and_phase_margin_are_those_of_the_model(name, axis):
    """Source: McRuer and Jex (1967): with K/s the loop is w_c e^(-d s)/s, which crosses over
    at w_c and keeps 90 deg - w_c (delay + lag)."""
    skill = SKILLS[name]
    gain, lead = gain_and_lead(RATE / (1j * skill.crossover), skill.crossover)
    assert lead == pytest.approx(0.0, abs=1e-9)
    hands = tuned(skill, gain)
    tried = skill.crossover * np.array([0.8, 0.9, 1.0, 1.1])
    found = np.array([open_loop(hands, w, axis) for w in tried])
    s = 1j * tried
    lagged = skill.crossover / s * np.exp(-s * skill.delay) / (1.0 + s * skill.lag)
    np.testing.assert_allclose(found, lagged, rtol=0.03)
    size = np.abs(found)
    assert np.all(np.diff(size) < 0.0)
    crossed = float(np.exp(np.interp(0.0, -np.log(size), np.log(tried))))
    margin = float(np.interp(crossed, tried, 180.0 + np.degrees(np.angle(found))))
    wanted = 90.0 - np.degrees(skill.crossover * (skill.delay + skill.lag))
    print(f"w_c {crossed:.2f} of {skill.crossover} rad/s, margin {margin:.1f} of {wanted:.1f} deg")
    # The lag is no pure delay: it also takes a few percent of the size near crossover.
    assert crossed == pytest.approx(skill.crossover, rel=0.06)
    assert margin == pytest.approx(wanted, abs=4.0)


@pytest.mark.kernel
@pytest.mark.parametrize("axis", ["pitch", "roll"])
def test_the_hands_lead_a_slow_airframe(axis):
    """Source: McRuer and Jex (1967), adjustment rules: K/(s (T s + 1)) led by T is the loop of
    K/s, on either axis."""
    skill, slow = SKILLS["club"], 0.3
    s = 1j * skill.crossover
    gain, lead = gain_and_lead(RATE / (s * (1.0 + slow * s)), skill.crossover)
    found = open_loop(tuned(skill, gain, lead), skill.crossover, axis, slow)
    wanted = np.exp(-s * skill.delay) / (1j * (1.0 + s * skill.lag))
    print(f"loop {found:.3f}, of the model {wanted:.3f}")
    assert abs(found / wanted - 1.0) < 0.06


def test_lead_makes_up_for_the_airframe_s_lag():
    """Source: McRuer and Jex (1967), adjustment rules: for K/(s (T s + 1)) the lead equals T."""
    w, slow = 2.0, 0.3
    gain, lead = gain_and_lead(5.0 / (1j * w * (1.0 + slow * 1j * w)), w)
    assert lead == pytest.approx(slow)
    loop = gain * (1.0 + lead * 1j * w) * 5.0 / (1j * w * (1.0 + slow * 1j * w))
    assert abs(loop) == pytest.approx(1.0)
    assert np.degrees(np.angle(loop)) == pytest.approx(-90.0)


def test_lead_has_a_limit():
    """K/s^2 would need endless lead."""
    _, lead = gain_and_lead(5.0 / (1j * 2.0) ** 2, 2.0)
    assert lead == MOST_LEAD


@pytest.mark.kernel
def test_hands_wait_then_move_no_faster_than_they_can():
    skill = SKILLS["club"]
    hands = tuned(skill, 10.0)
    hands.stick_speed = 4.0
    mind, sticks = np.zeros(1, human.MIND)[0], []
    mind.aim_pitch = 1.0
    for k in range(60):
        see_and_act(mind, hands, 0.0, 0.0, 0.0, 0.0, k * FRAME)
        sticks.append(mind.pitch)
    waits = round(skill.delay / FRAME)
    assert np.all(np.array(sticks[:waits]) == 0.0)
    assert sticks[waits] > 0.0
    assert np.max(np.diff(sticks)) <= 4.0 * FRAME + 1e-12
    assert sticks[-1] == pytest.approx(1.0, abs=0.05)


@pytest.mark.kernel
def test_small_errors_go_unseen():
    hands = tuned(SKILLS["club"], 2.0)
    hands.dead_zone = 0.05
    mind = np.zeros(1, human.MIND)[0]
    for k in range(60):
        see_and_act(mind, hands, 0.049, -0.049, 0.0, 0.0, k * FRAME)
    assert mind.pitch == mind.roll == 0.0


@pytest.mark.kernel
def test_first_correction_may_go_wrong_and_is_taken_back():
    skill = SKILLS["club"]
    hands = tuned(skill, 1.0)
    hands.wrong_roll, hands.wrong_for = -1.0, 0.4
    mind, sticks = np.zeros(1, human.MIND)[0], []
    for k in range(120):
        see_and_act(mind, hands, 0.0, 0.2, 0.0, 0.0, k * FRAME)
        sticks.append(mind.roll)
    at = round((skill.delay + 0.35) / FRAME)
    assert sticks[at] > 0.1  # to the right, with the right wing low already
    assert sticks[-1] == pytest.approx(-0.2, abs=0.01)


def unstable(percent: float, skill: str):
    field = load_field(find("fields", "water-meadow"))
    plan = launches.Plan(Scatter(skill=skill), "human", 5.0, 3)
    path = find("airframes", "pantry")
    at = vary(f"cg={percent}..{percent + 1}%:2")
    return varied.setups(path, [], [at], plan, field)[0], plan


def test_delay_costs_an_unstable_slab_its_odds():
    """Behind its neutral point it diverges; theory: what must be caught cannot be seen late."""
    ready, plan = unstable(23.5, "expert")
    fractions = []
    for delay in (0.1, 0.35, 0.6):
        late = ready.hands.copy()
        late.delay = delay
        fractions.append(launches.run([ready._replace(hands=late)], plan, 48)[0].fraction)
    print("survived with delays of 0.1, 0.35, 0.6 s:", fractions)
    assert fractions[0] > fractions[1] + 0.1 or fractions[1] > fractions[2] + 0.1
    assert fractions[0] > 0.8
    assert fractions[2] < 0.5
    assert fractions[0] >= fractions[1] >= fractions[2]


def test_hands_that_have_nothing_to_correct_do_nothing():
    """From a trimmed glide, held at its own attitude, hands and no hands fly the same path."""
    airframe = load_airframe(find("airframes", "pantry"))
    field = load_field(find("fields", "water-meadow"))
    flight = Flight(airframe, field)
    model = flight.model
    trim = trims(model, airframe, [1.4 * flight.stall_speed], ("glide",))[0]
    assert isinstance(trim, Trim)
    still = hands(SKILLS["club"], model, airframe, 0.0)
    ends = []
    for use in (True, False):
        one, mind = Flight(airframe, field, model=model), np.zeros(1, human.MIND)[0]
        state = trim.state.copy()
        state[2] = -60.0
        one.start_at(state, trim.sticks)
        mind.aim_pitch = np.radians(one.reading().pitch_deg)
        while one.time < 6.0:
            now = one.reading()
            seen = np.radians([now.pitch_deg, now.roll_deg, now.q_deg_s, now.p_deg_s])
            see_and_act(mind, still, *seen, one.time)
            sticks = trim.sticks
            if use:
                sticks = sticks._replace(
                    roll=sticks.roll + float(mind.roll), pitch=sticks.pitch + float(mind.pitch)
                )
            one.advance(FRAME, sticks)
        ends.append(one.reading())
    assert ends[0].height_m == pytest.approx(ends[1].height_m, abs=0.1)
    assert ends[0].roll_deg == pytest.approx(ends[1].roll_deg, abs=2.0)
    assert ends[1].height_m < 59.0  # and it did glide


@pytest.mark.kernel
def test_what_is_always_needed_is_trimmed_out():
    """Source: McRuer and Krendel (1974): low-frequency trimming beside the crossover model. A
    stick needed for good leaves no error behind; without it an error has to hold the stick."""
    left = []
    for trimming in (0.0, 0.2):
        mine, mind, attitude = tuned(SKILLS["club"], 1.0), np.zeros(1, human.MIND)[0], 0.0
        mine.trimming = trimming
        for k in range(1800):
            see_and_act(mind, mine, attitude, 0.0, 0.0, 0.0, k * FRAME)
            attitude += FRAME * (0.8 * (mind.pitch - 0.1) - 0.5 * attitude)
        left.append(attitude)
    assert left[0] < -0.03
    assert abs(left[1]) < 0.003


@pytest.mark.kernel
def test_the_remnant_has_its_size_and_no_drift():
    """By its definition: a root mean square, about nothing."""
    mine = np.zeros(1, human.HANDS)
    chance_moves(mine, SKILLS["club"], np.random.default_rng(3).standard_normal((1, CHANCES)))
    mine = mine[0]
    mine.stick_speed, mine.gain_pitch, mine.wrong_pitch = 1e3, 1.0, 1.0
    mind, sticks = np.zeros(1, human.MIND)[0], []
    for k in range(12000):
        see_and_act(mind, mine, 0.0, 0.0, 0.0, 0.0, 2.0 + k * FRAME)
        sticks.append(float(mind.pitch))
    assert np.std(sticks) == pytest.approx(SKILLS["club"].wander, rel=0.05)
    assert abs(np.mean(sticks)) < 0.1 * SKILLS["club"].wander


def flown(name: str, *changes: str, field: str = "water-meadow", seed: int = 0):
    """The record of a whole flight by club hands."""
    airframe = load_airframe(find("airframes", name), changes)
    meadow = load_field(find("fields", field))
    model, rows = build(airframe, meadow), Rows()
    pilot = Human(airframe, meadow, "club", seed=seed, model=model)
    flight = fly(airframe, meadow, pilot, 150.0, seed=seed, record=rows, model=model)
    told = flight.end._asdict()
    return rows.record(flight.columns, {"pilot": "human", "outcome": told})


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("pantry", ()),
        ("allotment", ()),
        ("glasshouse", ("items.pack.aft=-130 mm", "items.pack.up=0 mm")),
    ],
)
def test_a_whole_flight_from_the_launch_to_the_grass_ahead(name, changes):
    """Elevons from the hand, a bare rudder's turns, and wheels: up, round both ways, home."""
    record = flown(name, *changes)
    column = record.column
    time, north, east = column("time_s"), column("north_m"), column("east_m")
    assert record.outcome.word == "landed"
    assert column("height_m").max() > 10.0
    heading = np.unwrap(np.radians(column("heading_deg")))
    turned = np.degrees(heading - heading[0])
    lowest = int(turned.argmin())
    assert turned[lowest] < -300.0  # round to the left,
    assert turned[lowest:].max() > turned[lowest] + 300.0  # then round to the right
    last = column("throttle")[time > time[-1] - 2.0]
    assert last.max() < 0.05
    assert column("throttle").min() < 0.7 * column("throttle")[time > 0.0][0]
    assert np.hypot(north, east).max() < 180.0
    assert 0.0 < north[-1] < 60.0
    assert abs(east[-1]) < 20.0
    assert abs(turned[-1]) < 30.0


def test_hands_at_once_fly_home_too():
    """Through the batch: whole flights of a case, scattered throws and hands that wander."""
    subject = Subject(
        load_airframe(find("airframes", "pantry")), load_field(find("fields", "water-meadow"))
    )
    plan = launches.Plan(Scatter(), "human", 110.0, 2)
    ends = launches.run([launches.setup(subject, plan)], plan, 16)[0]
    print(ends.causes(), ends.results["time"])
    assert int(np.sum(ends.words == LANDED)) >= 12
    assert LEFT not in ends.words


def test_steady_flight_does_not_depend_on_the_wind():
    """Galilean relativity: in a steady wind a trim is the same relative to the air."""
    airframe = load_airframe(find("airframes", "pantry"))
    calm = load_field(find("fields", "water-meadow"))
    windy = calm.model_copy(update={"wind": calm.wind.model_copy(update={"speed": 6.0})})
    found = [
        trims(build(airframe, field), airframe, [9.0], (Kind.GLIDE,))[0] for field in (calm, windy)
    ]
    assert found[1].sink == pytest.approx(found[0].sink, rel=1e-9)
    assert found[1].alpha == pytest.approx(found[0].alpha, rel=1e-9)


@pytest.mark.parametrize(("name", "seconds"), [("pantry", 5.0), ("glasshouse", 8.0)])
def test_human_pilot_flies_as_the_batch_does(name, seconds, monkeypatch):
    """The same launch, thrown or off the wheels, through the live flight and through the batch
    ends in the same place, to the last bit."""
    airframe = load_airframe(find("airframes", name))
    airframe = balanced_at(airframe, Subject(airframe).at_margin(0.08))
    field = load_field(find("fields", "water-meadow"))
    plan = launches.Plan(STILL, "human", seconds, 0)
    sure = {"wrong_chance": 0.0, "wander": 0.0, "misjudged": 0.0}
    monkeypatch.setitem(SKILLS, "club", SKILLS["club"]._replace(**sure))
    ready = launches.setup(Subject(airframe, field), plan)
    batched = launches.run([ready], plan, 1)[0].results[0]
    pilot = Human(airframe, field, "club", model=ready.subject.model, seed=1)
    flight = fly(airframe, field, pilot, seconds, model=ready.subject.model)
    live = flight.reading()
    print(f"end height {live.height_m:.3f} m live, {batched.end_height:.3f} m batch")
    assert flight.outcome.word == "time-up"
    assert live.height_m > 1.5
    assert live.height_m == batched.end_height


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
def test_a_launch_is_the_same_flight_live_and_in_the_batch(name):
    """The same hold and throw, or the same stand on its wheels, nobody at the sticks: the same
    bits."""
    airframe, field = shipped(name), meadow()
    ready = launches.setup(Subject(airframe, field), launches.Plan(STILL, "hands-off", 4.0, 0))
    batched = launches.fly_cases(ready, launches.Plan(STILL, "hands-off", 4.0, 0), 0, 1)[0]
    pilot = hands_off(launch_throttle(airframe))
    flight = fly(airframe, field, pilot, 4.0, model=ready.subject.model)
    assert flight.time == batched["time"]
    assert -flight.state[2] == batched["end_height"]


def test_human_pilot_waits_for_the_throw_and_starts_over():
    airframe = load_airframe(find("airframes", "pantry"))
    pilot = Human(airframe, load_field(find("fields", "water-meadow")), "expert", seed=4)
    reading = reading_type(PLAIN_COLUMNS)

    def at(seconds: float, roll: float):
        half = math.radians(roll) / 2.0
        attitude = {"attitude_w": math.cos(half), "attitude_x": math.sin(half)}
        values = dict.fromkeys(PLAIN_COLUMNS, 0.0) | {"time_s": seconds} | attitude
        return pilot(reading(**values))

    throttle = airframe.launch.hand.throttle
    assert at(-0.5, 40.0) == hands_off(throttle)(None)
    for k in range(60):
        sticks = at(k * FRAME, 40.0)
    assert sticks.roll < -0.2
    assert sticks.throttle == throttle
    assert at(0.0, 40.0).roll == 0.0  # the next throw
    assert at(30.0, 40.0).roll == 0.0  # handed over in flight: they have to look first


def test_skill_by_name():
    assert skill_of("human") == "club"
    assert skill_of("human:expert") == "expert"
    with pytest.raises(ValueError, match=r"^human:ace: wanted human, or human: with beginner"):
        skill_of("human:ace")


def test_command_flies_by_simulated_hands(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = ["fly", "--no-window", "--pilot", "human:expert", "--seconds", "3", "--json"]
    assert main(words) == 0
    answer = json.loads(capsys.readouterr().out)
    rows = load(answer["record"])
    assert rows.meta["pilot"] == "human:expert"
    assert np.ptp(rows.column("stick_pitch")) > 0.01
    assert main(["fly", "--no-window", "--pilot", "human:ace"]) == 2
    assert "--pilot human:ace: wanted human, or human: with" in capsys.readouterr().err
