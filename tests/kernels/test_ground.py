"""Contact with the ground, and the endings that it brings."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import meadow, shipped, shipped_model

from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks, mixer
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels import ground
from firstthrow.sim.kernels.integrate import STEP
from firstthrow.sim.kernels.layout import REPORT_SIZE, ROTOR, SIZE, STRIKE, SURFACE
from firstthrow.sim.kernels.parameters import Body
from firstthrow.sim.kernels.rotation import from_angles
from firstthrow.sim.proof.bodies import Motion, lump

GRAVITY = 9.80665
FINE = 1.0 / 960.0


def sledge(rolling: float = 0.4, friction: float = 0.4) -> Body:
    """1 kg on four feet 0.1 m below its centre, 1 N/mm each."""
    body = lump(1.0, (0.02, 0.02, 0.03), GRAVITY)
    m = body.record[0]
    m.n_contacts = 4
    m.contact_place[:4] = [[0.3, 0.3, 0.1], [0.3, -0.3, 0.1], [-0.3, 0.3, 0.1], [-0.3, -0.3, 0.1]]
    m.contact_stiffness[:4], m.contact_damping[:4] = 1000.0, 12.0
    m.contact_friction[:4], m.contact_rolling[:4] = friction, rolling
    m.contact_breaks[:4], m.contact_steers[:4] = 5.0, -1
    m.contact_steer_ratio[:4] = 1.0
    return body


def standing(body: Body) -> Motion:
    return Motion(body, height=0.1 - GRAVITY / 4000.0)


@pytest.mark.kernel
def test_it_rests_where_the_springs_carry_it():
    motion = Motion(sledge(), height=0.1)
    path = motion.run(2.0, FINE)
    print(f"rests at {path[-1, 2]:.6f} m, wanted {GRAVITY / 4000.0 - 0.1:.6f}")
    assert path[-1, 2] == pytest.approx(GRAVITY / 4000.0 - 0.1, abs=2e-6)
    assert np.abs(path[-1, 7:13]).max() < 1e-3


@pytest.mark.kernel
@pytest.mark.parametrize("heading", [0.0, 2.0])
@pytest.mark.parametrize("along", [7, 8])
def test_friction_slows_it(heading, along):
    """A sledge loses mu g forwards and sideways, whichever way it points."""
    motion = standing(sledge())
    motion.state[3:7] = from_angles(0.0, 0.0, heading)
    motion.state[along] = 5.0
    speed = motion.run(0.5, FINE)[-1, along]
    wanted = 5.0 - 0.4 * GRAVITY * 0.5
    print(f"slows to {speed:.4f} m/s, wanted {wanted:.4f}")
    assert speed == pytest.approx(wanted, rel=0.01)


@pytest.mark.kernel
def test_wheels_roll_but_do_not_slide():
    body = sledge(rolling=0.0, friction=0.6)
    motion = standing(body)
    motion.state[7:9] = 3.0, 0.5
    after = motion.run(0.5, FINE)[-1]
    assert after[7] == pytest.approx(3.0, abs=0.1)
    assert abs(after[8]) < 0.02


@pytest.mark.kernel
def test_a_steered_wheel_turns_the_nose():
    """Rudder to the right (angle negative) takes the nose to the right."""
    body = sledge(rolling=0.0, friction=0.6)
    body.record[0].contact_steers[:2] = 0
    motion = standing(body)
    motion.state[7], motion.state[SURFACE] = 2.0, -0.1
    after = motion.run(0.5, FINE)[-1]
    assert after[12] > 0.1
    # Wheels 0.6 m apart at 0.1 rad: a circle of about 6 m.
    assert after[12] == pytest.approx(after[7] * np.tan(0.1) / 0.6, rel=0.15)


@pytest.mark.kernel
def test_a_bounce_gives_no_energy():
    path = Motion(sledge(), height=0.4).run(1.5, FINE)
    down = np.flatnonzero(path[:, 2] > -0.1)[0]
    print(f"from 0.3 m it bounces to {-path[down:, 2].min() - 0.1:.3f} m")
    assert 0.005 < -path[down:, 2].min() - 0.1 < 0.25


def flying(pitch: float, height: float, forward: float, sink: float, name="pantry") -> Flight:
    """In the air near the ground with speeds in field axes, motor off."""
    flight = Flight(shipped(name), meadow(), "hand", model=shipped_model(name))
    flight.release()
    angle = np.radians(pitch)
    flight.state[2] = -height
    flight.state[3:7] = from_angles(0.0, angle, 0.0)
    cos, sin = np.cos(angle), np.sin(angle)
    flight.state[7:10] = forward * cos - sink * sin, 0.0, forward * sin + sink * cos
    return flight


def ending(flight: Flight, seconds: float = 15.0, throttle: float = 0.0) -> str:
    for _ in range(round(60 * seconds)):
        flight.advance(1.0 / 60.0, Sticks(throttle=throttle))
        if flight.outcome:
            print(flight.outcome.text)
            return flight.outcome.word
    return "flying"


@pytest.mark.parametrize("sink", [0.0, 0.5])
def test_gentle_descent_on_the_skids_lands(sink):
    assert ending(flying(7.0, 0.35, 7.0, sink)) == "landed"


def test_falling_flat_breaks():
    flight = flying(0.0, 0.8, 0.5, 8.0)
    assert ending(flight) == "broke"
    assert "broke on the ground" in flight.outcome.text
    assert any(name in flight.outcome.text for name in flight.model.contact_names)


def test_turning_propeller_hits_the_ground():
    flight = flying(-50.0, 1.0, 6.0, 6.0)
    flight.state[ROTOR] = 800.0
    assert ending(flight, throttle=0.8) == "propeller-strike"
    assert flight.time < 1.0


def test_a_standing_propeller_breaks_nothing_by_turning():
    flight = flying(7.0, 0.35, 7.0, 0.3)
    flight.state[ROTOR] = 0.0
    assert ending(flight) == "landed"


def test_flying_beyond_the_edge_leaves_the_field():
    flight = flying(5.0, 30.0, 12.0, 0.0)
    flight.state[0] = -246.0
    flight.state[3:7] = from_angles(0.0, np.radians(5.0), np.pi)
    assert ending(flight) == "left-field"
    assert np.hypot(*flight.state[:2]) == pytest.approx(meadow().ground.radius, abs=0.2)


def test_it_stands_on_its_wheels():
    """The glasshouse slab on the ground, throttle shut, stays where it stands: no landing."""
    flight = Flight(shipped("glasshouse"), meadow(), "ground", model=shipped_model("glasshouse"))
    start = flight.state.copy()
    flight.advance(3.0, Sticks())
    assert flight.outcome is None
    assert flight.standing
    moved = np.abs(flight.state[:7] - start[:7]).max()
    print(f"settles by {1e3 * moved:.1f} mm")
    assert moved < 0.02


@pytest.mark.parametrize("aft", ["-70 mm", "600 mm"])
def test_right_stick_steers_right_with_the_wheel_at_either_end(tmp_path, aft):
    """A nose wheel turns with the nose, a tail wheel against it."""
    text = find("airframes", "allotment").read_text(encoding="utf-8")
    text += (
        f'\n[wheels.steered]\naft = "{aft}"\nup = "-150 mm"\nstiffness = "1 N/mm"\n'
        'friction = 0.6\nbreaks_at = "4 m/s"\nradius = "20 mm"\nsteers = true\n'
    )
    path = tmp_path / "odd.toml"
    path.write_text(text, encoding="utf-8")
    airframe = load_airframe(path)
    model = build(airframe, STANDARD)
    m = model.record
    wheel = next(k for k in range(m.n_contacts) if m.contact_steers[k] >= 0)
    state, report, total = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(8)
    state[3], state[7] = 1.0, 2.0
    asked = mixer(airframe).command(Sticks(yaw=1.0))
    state[SURFACE : SURFACE + m.n_surfaces] = asked[: m.n_surfaces]
    state[2] = -m.contact_place[wheel, 2] + 0.003
    for k in range(m.n_contacts):
        if k != wheel:
            m.contact_stiffness[k] = 1e-9
            m.contact_damping[k] = 0.0
    ground.add_contacts(m, state, total, report)
    assert total[5] > 0.05


def test_a_touch_down_is_stepped_finely_enough():
    """Stiff wheels meet the ground at 0.6 m/s: the flight against steps sixteen times as fine.

    With the whole step of 1/240 s the speed afterwards would be wrong by 12 mm/s, the pitch rate
    by 40 mrad/s; cut in four it is right within a fortieth of that.
    """
    airframe = shipped("glasshouse", "wheels.main.stiffness=80 N/mm", "servos.elevon.slop=0 deg")
    model = build(airframe, meadow())
    flight = Flight(airframe, meadow(), "ground", model=model)
    flight.release()
    flight.state[2] -= 0.02
    flight.state[9] = 0.6
    fine = Motion(model)
    fine.state[:] = flight.state
    flight.advance(0.25, Sticks())
    fine.command[:] = flight._command
    wanted = fine.run(0.25, STEP / 16)
    assert wanted[:, 9].min() < 0.1  # it has touched
    print(f"off by {np.abs(flight.state - wanted[-1])[[9, 11]]} m/s, rad/s")
    assert flight.state[9] == pytest.approx(wanted[-1, 9], abs=1e-3)
    assert flight.state[11] == pytest.approx(wanted[-1, 11], abs=4e-3)


@pytest.mark.kernel
@pytest.mark.parametrize(("bank", "pitch"), [(0.05, 0.0), (0.0, 0.05)])
def test_it_settles_level_from_a_tilt(bank, pitch):
    """Four feet alike carry alike only when it stands level."""
    motion = Motion(sledge(), height=0.13)
    motion.state[3:7] = from_angles(bank, pitch, 0.0)
    end = motion.run(2.0, FINE)[-1]
    assert np.abs(end[4:6]).max() < 1e-4
    assert end[2] == pytest.approx(GRAVITY / 4000.0 - 0.1, abs=1e-5)


@pytest.mark.kernel
@pytest.mark.parametrize(("pitch", "depth"), [(0.0, 0.02), (0.5 * np.pi, -0.08)])
def test_blades_reach_as_deep_as_the_disc_is_wide(pitch, depth):
    """A disc of 100 mm radius, its middle 80 mm over the ground, upright and lying flat."""
    body = lump()
    m = body.record[0]
    m.n_motors, m.motor_radius[0], m.motor_axis[0], m.motor_sense[0] = 1, 0.1, (1.0, 0.0, 0.0), 1.0
    m.rotor_inertia[0], m.motor_resistance[0], m.motor_kt[0] = 1e-5, 0.1, 0.01
    motion = Motion(body, height=0.08)
    motion.state[3:7], motion.state[ROTOR] = from_angles(0.0, pitch, 0.0), 500.0
    motion.rates_of(motion.state)
    assert motion.report[STRIKE] == pytest.approx(max(depth, 0.0), abs=1e-9)
