"""Whole flights: glide, an independent solver, energy, endings, and how the slab feels."""

from __future__ import annotations

import itertools
from functools import lru_cache

import numpy as np
import pytest
from bodies import Motion, lump, meadow, shipped, shipped_model
from checks import compare
from scipy.integrate import solve_ivp

from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks, command
from firstthrow.sim.build.strips import CannotFly
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import Flight, fly
from firstthrow.sim.flight.polar import neutral_point, polar, reference
from firstthrow.sim.flight.speeds import neutral_stall_speed
from firstthrow.sim.kernels import derivative, held, integrate
from firstthrow.sim.kernels.gusts import NOISE_SIZE
from firstthrow.sim.kernels.layout import (
    COMMAND_THROTTLE,
    DEFLECTION,
    MAX_SURFACES,
    REPORT_SIZE,
    SIZE,
)
from firstthrow.sim.kernels.moving import moving, scratch
from firstthrow.sim.kernels.rotation import from_angles, to_field

NO_PLAY = ("servos.elevon.slop=0 deg", "servos.elevon.dead_band=0 deg")
EVEN = ("mixing.roll_trim=0 deg", "items.controller.right=0 mm", "items.receiver.right=0 mm")


@lru_cache
def glider():
    """The pantry slab without its motor, left and right alike."""
    airframe = shipped("pantry", *EVEN, *NO_PLAY)
    return airframe.model_copy(update={"motors": {}})


@lru_cache
def glider_model():
    return build(glider(), STANDARD)


def gliding(pitch: float = 0.0, speed: float = 9.0, height: float = 500.0) -> Flight:
    flight = Flight(glider(), STANDARD, "hand", model=glider_model())
    flight.release()
    flight.state[2] = -height
    flight.state[3:7] = from_angles(0.0, np.radians(pitch), 0.0)
    flight.state[7:10] = speed, 0.0, 0.0
    return flight


def glide(lift: float, drag: float, mass: float, area: float, density: float, gravity=9.80665):
    """L/D, angle [rad], speed, sink of a steady glide: tan(angle) = CD/CL."""
    angle = np.arctan2(drag, lift)
    speed = np.sqrt(2.0 * mass * gravity * np.cos(angle) / (density * area * lift))
    return lift / drag, angle, speed, speed * np.sin(angle)


def test_stall_speed():
    """Level flight at one g at the largest lift of the slab's own polar."""
    model = shipped_model()
    found = polar(model, np.radians(np.arange(5.0, 45.0, 0.25)))
    pull = model.record.density * 0.35 * 0.70 * found.lift.max()
    wanted = np.sqrt(2.0 * model.record.mass * 9.80665 / pull)
    compare("stall m/s", [wanted], [neutral_stall_speed(model)], relative=0.005)


def test_steady_glide():
    """Let go without power it settles where its own polar says, angle and speed."""
    flight = gliding()
    flight.advance(60.0, Sticks())
    assert flight.outcome is None
    state, report = flight.state.copy(), flight.report
    assert np.abs(state[10:13]).max() < 1e-4  # steady
    surfaces = report[DEFLECTION : DEFLECTION + MAX_SURFACES]
    alpha = np.arctan2(state[9], state[7])
    model = flight.model
    speed = float(np.hypot(state[7], state[9]))
    found = polar(model, [alpha], surfaces, speed)
    lift, drag, moment = (float(c[0]) for c in (found.lift, found.drag, found.moment))
    m = model.record
    ratio, _, wanted_speed, sink = glide(lift, drag, m.mass, found.area, m.density)
    north, _, down = to_field(*state[3:7], *state[7:10])
    print(f"alpha {np.degrees(alpha):.2f} deg, CL {lift:.3f}, CD {drag:.4f}")
    compare("tan(angle)", [1.0 / ratio], [down / north], relative=0.01)
    compare("speed m/s", [wanted_speed], [speed], relative=0.01)
    compare("sink m/s", [sink], [down], relative=0.01)
    assert abs(moment) < 1e-4  # trimmed


def energy(model, states: np.ndarray) -> np.ndarray:
    """Height, motion and rotation, the air carried along included."""
    m = model.record
    mass = np.linalg.inv(m.mass_inverse)
    motion = states[:, 7:13]
    return -m.mass * m.gravity * states[:, 2] + 0.5 * np.einsum("ni,ij,nj->n", motion, mass, motion)


@pytest.mark.parametrize(("pitch", "speed"), [(0.0, 9.0), (40.0, 14.0), (-30.0, 8.0)])
def test_energy_does_not_grow_without_power(pitch, speed):
    flight = gliding(pitch, speed)
    rows_ = []
    for _ in range(60 * 10):
        rows_.append(flight.state.copy())
        flight.advance(1.0 / 60.0, Sticks())
    have = energy(flight.model, np.array(rows_))
    weight = flight.model.record.mass * flight.model.record.gravity
    growth = np.diff(have).max() / weight
    print(
        f"energy: {(have[0] - have[-1]) / weight:.1f} m of height lost, most gained in a"
        f" sixtieth of a second {1e3 * growth:.3f} mm"
    )
    assert growth < 1e-4  # a tenth of a millimetre of height
    assert have[-1] < have[0] - 5.0 * weight


SECONDS = 4.0


@lru_cache
def launched():
    """A released pantry well above the ground, its sticks held: state, command, model."""
    airframe = shipped("pantry", *NO_PLAY)
    model = shipped_model("pantry", *NO_PLAY)
    flight = Flight(airframe, meadow(), "hand", model=model)
    flight.advance(1.0, Sticks(throttle=0.7))
    flight.release()
    flight.state[2] = -60.0
    return flight.state.copy(), command(airframe, Sticks(0.15, 0.1, 0.0, 0.7)), model


def by_steps(h: float, by_slopes: bool = False) -> np.ndarray:
    state, asked, model = launched()
    motion = Motion(model)
    motion.state[:], motion.command[:] = state, asked
    motion.rates_of(state)  # the servos' load is that of the evaluation before
    return motion.run(SECONDS, h, by_slopes)[-1]


@lru_cache
def by_solver() -> np.ndarray:
    state, asked, model = launched()
    motion = Motion(model)
    motion.command[:] = asked

    def slope(_, now: np.ndarray) -> np.ndarray:
        motion.rates_of(now)
        return motion.rates_of(now)

    found = solve_ivp(slope, (0.0, SECONDS), state, method="DOP853", rtol=1e-9, atol=1e-9)
    assert found.success
    return found.y[:, -1]


def test_independent_solver():
    """A climbing, rolling flight with servos, motor and pack by scipy's DOP853."""
    found, wanted = by_steps(integrate.STEP), by_solver()
    apart = np.abs(found - wanted)
    print(
        f"after {SECONDS:g} s: {1e3 * apart[:3].max():.4f} mm, {apart[7:10].max():.1e} m/s,"
        f" {apart[10:13].max():.1e} rad/s, rotor {apart[13]:.1e} rad/s"
    )
    assert np.linalg.norm(wanted[:3] - launched()[0][:3]) > 20.0
    assert apart[:3].max() < 1e-3
    assert apart[3:13].max() < 1e-3
    assert apart[13] < 0.05


def test_order_of_a_whole_flight():
    """Better than second order down to a micrometre in four seconds.

    Coarse steps show fourth order; what is left at the program's own step comes from the
    corners of the tables, which are joined by straight lines, and from the solver's tolerance.
    """
    wanted = by_solver()
    steps = np.array([60.0, 120.0, 240.0, 480.0])
    errors = np.array([np.linalg.norm(by_steps(1.0 / n)[:3] - wanted[:3]) for n in steps])
    print(f"errors m {errors}, orders {np.log2(errors[:-1] / errors[1:]).round(1)}")
    assert errors[0] < 0.02
    assert errors[1] < errors[0] / 4.0
    assert errors[2] < errors[1] / 4.0
    assert errors[2] < 5e-6
    assert errors[3] < errors[2]


def test_order_of_a_whole_flight_by_slopes():
    """Better than second order down to hundredths of a millimetre in four seconds."""
    wanted = by_solver()
    steps = np.array([120.0, 240.0, 480.0])
    errors = np.array([np.linalg.norm(by_steps(1.0 / n, True)[:3] - wanted[:3]) for n in steps])
    print(f"errors m {errors}, orders {np.log2(errors[:-1] / errors[1:]).round(1)}")
    assert errors[0] < 1e-3
    assert errors[1] < errors[0] / 4.0
    assert errors[2] < 5e-5


def test_long_steps_as_they_fly():
    """Steps of four ticks within a millimetre of scipy's DOP853: the sticks' jump takes surfaces to
    where they stay within a step or two, which counts with the mean."""
    state, asked, model = launched()
    motion, flight = Motion(model), moving()
    motion.state[:], motion.command[:] = state, asked
    motion.rates_of(state)
    flight.state[:], flight.command[:], flight.report[:] = state, asked, motion.report
    still = np.zeros((round(SECONDS / integrate.STEP), NOISE_SIZE))
    assert model.record.most_ticks == integrate.MOST_TICKS
    integrate.advance(model.body, flight, still, integrate.STEP, 0.0, scratch())
    apart = np.abs(flight.state - by_solver())
    print(f"{1e3 * apart[:3].max():.3f} mm, {apart[7:10].max():.1e} m/s, rotor {apart[13]:.1e}")
    assert apart[:3].max() < 1e-3
    assert apart[7:13].max() < 1e-3
    assert apart[13] < 0.05


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_what_is_no_number_ends_a_flight(value):
    """In whichever slot of the state; one without ends nothing."""
    record = shipped_model("pantry").record
    for slot in (None, *range(SIZE)):
        state, _, _, report, events, *_ = moving()
        state[2], state[3] = -60.0, 1.0
        if slot is not None:
            state[slot] = value
        integrate.judge(record, state, integrate.STEP, events[0], report)
        assert events["word"][0] == (integrate.FLYING if slot is None else integrate.DIVERGED), slot


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "allotment"])
def test_absurd_states_stay_numbers(name):
    """Tumbling at 60 m/s, upside down, stopped, surfaces hard over, deep in the ground."""
    model, random = shipped_model(name), np.random.default_rng(5)
    for _ in range(40):
        motion = Motion(model, random.uniform(-60.0, 60.0, 3), random.uniform(-5.0, 300.0))
        motion.state[3:7] = from_angles(*random.uniform(-3.0, 3.0, 3))
        motion.state[7:10] = random.uniform(-60.0, 60.0, 3) * random.integers(0, 2, 3)
        motion.state[13] = random.uniform(-500.0, 2500.0)
        surfaces = model.record.n_surfaces
        motion.state[15 : 15 + surfaces] = random.uniform(-0.6, 0.6, surfaces)
        motion.command[:surfaces] = random.uniform(-0.6, 0.6, surfaces)
        motion.command[8:10] = random.uniform(0.0, 1.0)
        assert np.all(np.isfinite(motion.rates_of(motion.state)))
        above = motion.state[2] < -100.0
        path = motion.run(0.5)
        assert np.all(np.isfinite(path)) or not above
        norm = np.linalg.norm(path[np.isfinite(path).all(axis=1), 3:7], axis=1)
        assert np.abs(norm[1:] - 1.0).max() < 1e-12
    motion = Motion(model, height=50.0)  # no wind, no speed, nothing turning
    assert np.all(np.isfinite(motion.rates_of(motion.state)))


def test_numbers_that_broke_down_end_the_flight():
    flight = gliding()
    flight.state[8] = np.nan
    flight.advance(0.1, Sticks())
    assert flight.outcome.word == "diverged"


class Rows:
    def __init__(self) -> None:
        self.rows: list = []

    def write(self, reading) -> None:
        self.rows.append(reading)


def let_go(*overrides: str, seconds: float = 5.0) -> tuple[Flight, list]:
    """Hands off at the launch's own throttle; readings after the release."""
    airframe, kept = shipped("pantry", *overrides), Rows()
    sticks = Sticks(throttle=airframe.launch.hand.throttle)
    flight = fly(
        airframe,
        meadow(),
        lambda _: sticks,
        seconds,
        record=kept,
        model=shipped_model("pantry", *overrides),
    )
    return flight, [r for r in kept.rows if r.time_s > 0.0]


def balance_percent(*overrides: str) -> float:
    model = shipped_model("pantry", *overrides)
    _, chord, lead = reference(model)
    return 100.0 * (model.balance.place[0] - lead) / chord


TAIL_HEAVY = "items.pack.aft=115 mm"


def test_pantry_at_25_percent_pitches_up_and_mushes():
    """Let go with its balance behind its neutral point."""
    percent = balance_percent(TAIL_HEAVY)
    model = shipped_model("pantry", TAIL_HEAVY)
    assert percent == pytest.approx(25.0, abs=0.7)
    assert model.balance.place[0] > neutral_point(model)
    flight, readings = let_go(TAIL_HEAVY)
    steepest = max(r.pitch_deg for r in readings[:180])
    slowest = min(r.airspeed_m_s for r in readings[:180])
    print(
        f"CG {percent:.1f} %: pitches to {steepest:.0f} deg, slows to {slowest:.1f} m/s"
        f" (stall {flight.stall_speed:.1f} m/s)"
    )
    assert steepest > 40.0
    assert slowest < 0.9 * flight.stall_speed


def test_pantry_at_its_own_balance_holds():
    flight, readings = let_go()
    pitch = [r.pitch_deg for r in readings]
    slowest = min(r.airspeed_m_s for r in readings)
    end = readings[-1]
    print(
        f"CG {balance_percent():.1f} %: pitch {min(pitch):.0f} to {max(pitch):.0f} deg, slowest"
        f" {slowest:.1f} m/s (stall {flight.stall_speed:.1f}), after 5 s height"
        f" {end.height_m:.1f} m, bank {end.roll_deg:.0f} deg"
    )
    assert flight.outcome.word == "time-up"
    assert min(pitch) > -10.0
    assert max(pitch) < 35.0
    assert slowest > 1.1 * flight.stall_speed
    assert max(r.separated_fraction for r in readings) < 0.05
    assert min(r.height_m for r in readings) > 1.0


def test_huge_load_folds_the_slab():
    flight = Flight(shipped(), meadow(), "hand", model=shipped_model())
    flight.release()
    flight.state[2], flight.state[7], flight.state[9] = -80.0, 60.0, 12.0
    flight.advance(1.0, Sticks())
    assert flight.outcome.word == "folded"
    print(flight.outcome.text)
    load = float(flight.outcome.text.split("folded at ")[1].split(" times its weight")[0])
    assert load > 10.0


def test_what_folds_on_the_ground_is_told_so():
    """Skids that bear it pass all of a fall on to the roots."""
    stiff = "breaks_at=90 m/s", "stiffness=20 N/mm"
    skids = [f"skids.{one}.{key}" for one in shipped().skids for key in stiff]
    flight = Flight(shipped("pantry", *skids), meadow(), "hand")
    flight.release()
    flight.state[2], flight.state[7], flight.state[9] = -0.3, 0.0, 12.0
    flight.advance(1.0, Sticks())
    print(flight.outcome.text)
    assert flight.outcome.text.startswith("The wing folded on the ground, at ")


def test_held_airframe_stays_in_the_hand():
    """Motor and servos live, nothing moves; released it leaves along its nose."""
    flight = Flight(shipped(), meadow(), "hand", model=shipped_model())
    start = flight.state.copy()
    flight.advance(1.0, Sticks(pitch=1.0, throttle=0.6))
    assert np.array_equal(flight.state[:13], start[:13])
    assert flight.state[13] > 300.0
    assert flight.report[DEFLECTION] < start[15] - 0.1  # stick back: trailing edge up
    flight.release()
    assert flight.state[7] == shipped().launch.hand.speed
    assert flight.time == 0.0


def test_surfaces_move_it_the_right_way():
    """Stick right rolls right, stick back raises the nose, rudder right swings it right."""
    for name, stick, slot in (
        ("pantry", "roll", 10),
        ("pantry", "pitch", 11),
        ("allotment", "pitch", 11),
        ("allotment", "yaw", 12),
    ):
        rates = []
        for side in (-0.5, 0.5):
            flight = Flight(shipped(name), meadow(), "hand", model=shipped_model(name))
            flight.release()
            flight.state[2] = -50.0
            flight.advance(0.4, Sticks(**{stick: side}))
            rates.append(flight.state[slot])
        assert rates[1] > rates[0] + 0.2, (name, stick, rates)


def test_one_compiled_version_of_each_kernel():
    """Every airframe is the same record to the kernels, so they are compiled once."""
    for name in ("pantry", "glasshouse", "pantry-swept", "allotment"):
        flight = Flight(shipped(name), meadow(), model=shipped_model(name))
        flight.release()
        flight.advance(0.05, Sticks(throttle=0.5))
    motion = Motion(lump())
    motion.run(0.05)
    motion.rates_of(motion.state)
    for kernel in (
        integrate.advance,
        integrate.step,
        derivative.derivative,
        held.most_held_lift,
    ):
        assert len(kernel.signatures) == 1, kernel


def test_steps_do_not_depend_on_the_frames():
    """Asked for 24, 60 or 240 times a second: the same steps, to the last bit."""
    states = []
    for frames in (24, 60, 240):
        flight = Flight(shipped(), meadow(), "hand", model=shipped_model())
        flight.release()
        for _ in range(2 * frames):
            flight.advance(1.0 / frames, Sticks(0.1, 0.0, 0.0, 0.6))
        states.append(flight.state.copy())
    for one, other in itertools.pairwise(states):
        assert np.array_equal(one, other)
    assert states[0].size == SIZE
    assert flight.report.size == REPORT_SIZE


def test_refit_takes_the_new_servos_along():
    model = shipped_model()
    other = shipped("pantry", "servos.elevon.torque=4.5 kgcm", "servos.elevon.delay=100 ms")
    flight = Flight(shipped(), meadow(), model=model)
    flight.state[2] -= 0.25  # the thrower holds it higher
    held = flight.state[2]
    flight.refit(other, meadow(), build(other, meadow()))
    fresh = Flight(other, meadow())
    assert flight.state[2] == held
    assert flight._servo_torque == fresh._servo_torque
    assert flight._lag.maxlen == fresh._lag.maxlen == 8  # 100 ms are six frames
    flight.release()
    flight.advance(0.05, Sticks(pitch=1.0, throttle=0.7))
    late = flight.reading()
    assert late.surface_elevon_left_asked_deg == pytest.approx(-4.45, abs=0.01)  # not yet there
    assert flight._command[COMMAND_THROTTLE] == pytest.approx(0.7)  # the motor is not delayed
    flight.advance(0.1, Sticks(pitch=1.0, throttle=0.7))
    assert flight.reading().surface_elevon_left_asked_deg < -15.0


def test_what_no_angle_of_attack_lifts_is_said():
    """A motor as wide as a door: its drag outweighs all lift, and no stall speed is a number."""
    with pytest.raises(CannotFly, match="no angle of attack lifts it"):
        Flight(shipped("pantry", 'items.motor.diameter="1388 mm"'), STANDARD)
