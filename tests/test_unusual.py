"""Airframes unlike the shipped ones: low wings, two surfaces on a half, tail wheels, round tips."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import meadow, shipped, shipped_model, still
from checks import compare

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.contacts import reach
from firstthrow.sim.build.model import build
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.sticks import Sticks, command, mixer
from firstthrow.sim.build.strips import CannotFly
from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.flight import polar
from firstthrow.sim.flight.evaluate import air_load, rates_of
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.skills import steers_by_rudder
from firstthrow.sim.flight.trims import trims
from firstthrow.sim.kernels import drive, ground, gusts, servo
from firstthrow.sim.kernels.layout import (
    BENDING,
    COMMAND_ASLEEP,
    COMMAND_SIZE,
    COMMAND_THROTTLE,
    GUST_SIZE,
    HINGE,
    MAX_CONTACTS,
    MAX_SURFACES,
    MOTOR_CURRENT,
    REPORT_SIZE,
    ROTOR,
    SEPARATED,
    SIZE,
    SPECIFIC_FORCE,
    SUPPLY_VOLTAGE,
    SURFACE,
)
from firstthrow.sim.kernels.rotation import to_body
from firstthrow.sim.paper.benchsheet.field_page import directions
from firstthrow.sim.study.alternatives import move_pack
from firstthrow.sim.study.balance import front_limits
from firstthrow.sim.study.ballast import weighed
from firstthrow.sim.study.odds import launches
from firstthrow.sim.study.odds.scatter import Drawn, Scatter

PANTRY = find("airframes", "pantry").read_text(encoding="utf-8")
ELEVON = PANTRY[PANTRY.index("[sheets.slab.surfaces.elevon]") : PANTRY.index("[sheets.fin]")]


@pytest.fixture
def written(tmp_path):
    def load(*changes: tuple[str, str]):
        text = PANTRY
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "odd.toml"
        path.write_text(text, encoding="utf-8")
        return load_airframe(path)

    return load


def tail(name: str, inner: float, outer: float) -> str:
    """An elevon of the pantry slab between two stations [mm]."""
    return (
        ELEVON.replace("surfaces.elevon]", f"surfaces.{name}]")
        .replace('inner = "30 mm"', f'inner = "{inner} mm"')
        .replace('outer = "345 mm"', f'outer = "{outer} mm"')
    )


def lift(model, surfaces=(0.0,) * MAX_SURFACES, height: float = 1e3, alpha: float = 0.0) -> float:
    air = -10.0 * np.array([np.cos(alpha), 0.0, np.sin(alpha)])
    return -float(air_load(model, air, surfaces=surfaces, height=height)[0][2])


def test_ground_effect_knows_how_low_the_sheets_lie(written):
    """The same slab 200 mm under its datum: as near to the ground, as much lift."""
    low = written(
        ("[sheets.slab]\n", '[sheets.slab]\nup = "-200 mm"\n'),
        ('aft = "222 mm"\nup = "3 mm"', 'aft = "222 mm"\nup = "-197 mm"'),
    )
    one, other = build(low, STANDARD), build(shipped(), STANDARD)
    for height in (0.08, 0.15, 0.3, 0.6):
        compare(
            f"lift {height} m over the ground",
            lift(other, height=height, alpha=0.1),
            lift(one, height=height + 0.2, alpha=0.1),
            relative=0.04,
        )
    assert np.abs(one.response).max() < 1.5 * np.abs(other.response).max()


@pytest.mark.parametrize("at", [0.25, 0.35, 0.6, 0.9])
def test_an_elevon_cut_in_two_is_still_the_elevon(written, at):
    """Both parts together move the air as the whole does, and each has its share."""
    cut = 30.0 + at * 315.0
    parts = written((ELEVON, tail("near", 30, cut) + tail("far", cut, 345)))
    whole, two = shipped_model(), build(parts, meadow())
    down = np.radians(2.0)
    every = lift(whole, [down, down, 0, 0, 0, 0, 0, 0])
    compare("both", every, lift(two, [down] * 4 + [0.0] * 4), relative=0.02)
    near = lift(two, [down, down, 0, 0, 0, 0, 0, 0])
    far = lift(two, [0, 0, down, down, 0, 0, 0, 0])
    compare("shares add up", every, near + far, relative=0.02)
    assert min(near, far) > 0.5 * min(at, 1.0 - at) * every


def test_a_surface_too_narrow_to_fly_is_refused(written):
    with pytest.raises(CannotFly, match=r"surfaces\.far: too narrow"):
        build(written((ELEVON, tail("near", 30, 344) + tail("far", 344.5, 345))), STANDARD)


@pytest.mark.parametrize("name", ["pantry", "glasshouse"])
def test_load_factor_is_what_a_weight_inside_would_feel(name):
    """Acceleration over the ground less gravity, also while the air is being pushed along."""
    flight = Flight(shipped(name), meadow(), model=shipped_model(name))
    state = np.zeros(SIZE)
    state[2], state[3], state[7], state[9] = -50.0, 1.0, 10.0, 0.2  # far from any trim
    command = mixer(shipped(name)).command(Sticks())
    state[SURFACE : SURFACE + MAX_SURFACES] = command[:MAX_SURFACES]
    state[10:13] = 0.3, -0.4, 0.2
    rates, report = rates_of(flight.model, state, command)
    felt = rates[7:10] + np.cross(state[10:13], state[7:10])
    felt -= np.array(to_body(*state[3:7], 0.0, 0.0, 9.80665))
    compare("specific force", felt, report[SPECIFIC_FORCE : SPECIFIC_FORCE + 3], absolute=1e-12)
    model = flight.model
    pushed = air_load(model, -state[7:10], state[10:13], command[:MAX_SURFACES])[0][2]
    apart = abs(pushed / model.balance.mass / felt[2] - 1.0)
    assert apart > 0.02  # so that force over mass would not pass for it


def test_wings_relief_is_its_own_weight_at_its_own_arm():
    """Half a rectangular board's mass at a quarter of its span, its elevons where they lie."""
    board, elevon = 0.090, 0.009
    arm = 0.5 * (0.030 + 0.345)
    # The board is what is left of 700 x 350 mm beside two strips of 315 x 60 mm.
    areas = np.array([0.35 * 0.35, -0.315 * 0.06])
    middle = areas @ np.array([0.175, arm]) / areas.sum()
    wanted = 0.5 * board * middle + elevon * arm
    compare("half moment kg m", wanted, shipped_model().record.half_moment, relative=0.02)


def test_every_half_of_a_spar_relieves(written):
    """Two spars, one a side, weigh on the root as their two halves do."""
    spar = (
        '[sheets.slab.spars.tube]\nmaterial = "carbon tube"\nsection = "tube"\n'
        'length = "300 mm"\noutside = "6 mm"\ninside = "4 mm"\naft = "120 mm"\n'
        'right = "160 mm"\n\n[sheets.fin]'
    )
    with_, without = written(("[sheets.fin]", spar)), shipped()
    mass = MATERIALS["carbon tube"].density * np.pi / 4.0 * (0.006**2 - 0.004**2) * 0.3
    gain = build(with_, STANDARD).record.half_moment - build(without, STANDARD).record.half_moment
    compare("spar's relief kg m", mass * 0.16, gain, relative=1e-6)


def test_a_sheet_of_one_piece_stalls_and_folds_as_well(written):
    one = written(("[sheets.slab]\n", "[sheets.slab]\nmirrored = false\n"), (ELEVON, ""))
    model = build(one, STANDARD)
    for degrees, least, most in ((5.0, 0.0, 0.01), (30.0, 0.9, 1.0), (60.0, 0.9, 1.0)):
        a = np.radians(degrees)
        _, report = air_load(model, -10.0 * np.array([np.cos(a), 0.0, np.sin(a)]))
        assert least <= report[SEPARATED] <= most, degrees
    assert np.isfinite(model.record.root_strength)
    compare(
        "root strength",
        shipped_model().record.root_strength,
        model.record.root_strength,
        relative=1e-6,
    )
    state = np.zeros(SIZE)
    state[2], state[3], state[7], state[9] = -50.0, 1.0, 20.0, 3.0
    _, report = rates_of(model, state, np.zeros(COMMAND_SIZE))
    assert report[BENDING] > 0.05


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


def test_a_steered_wheel_wants_a_rudder(written):
    wheel = (
        '[wheels.tail]\naft = "300 mm"\nup = "-50 mm"\nstiffness = "1 N/mm"\nfriction = 0.6\n'
        'breaks_at = "4 m/s"\nradius = "10 mm"\nsteers = true\n\n[launch]'
    )
    with pytest.raises(ConfigError, match=r"wheels\.tail\.steers: true without a rudder"):
        written(("[launch]", wheel))


def test_round_tips_touch_the_ground_on_both_sides(written):
    """More corners than there is room for: the farthest are kept."""
    angle = np.linspace(-np.pi / 2.0, np.pi / 2.0, 40)
    tip = [(175.0 + 175.0 * np.sin(a), 175.0 + 175.0 * np.cos(a)) for a in angle]
    corner = [(0.0, 0.0), *tip, (350.0, 0.0)]
    listed = ", ".join(f'["{a:.3f} mm", "{o:.3f} mm"]' for a, o in corner)
    round_ = written(
        (
            'outline = { chord = "350 mm", span = "700 mm" }',
            f"outline = {{ corners = [{listed}] }}",
        ),
        (ELEVON, ""),
    )
    record = build(round_, STANDARD).record
    place = record.contact_place[: record.n_contacts]
    assert record.n_contacts <= MAX_CONTACTS
    assert place[:, 1].max() > 0.345
    assert place[:, 1].min() < -0.345
    assert place[:, 2].min() < -0.15  # the fin's top among them


def test_reach_does_not_grow_with_every_shift():
    model = shipped_model()
    moved = model
    for k in range(20):
        shift = np.array([0.03 * (k % 2), 0.0, 0.0])
        to = model.balance._replace(place=model.balance.place + shift)
        moved = rebalanced(moved, to)
    back = rebalanced(moved, model.balance)
    assert back.record.reach == pytest.approx(float(model.record.reach), rel=1e-9)
    assert reach(back.record) == back.record.reach


def test_it_blows_from_the_first_moment():
    """Over many seeds the turbulence is as strong at the start as it will be later."""
    field = load_field(find("fields", "water-meadow-breeze"))
    record = build(shipped(), field).record
    first = []
    for seed in range(1500):
        gust = np.zeros(GUST_SIZE)
        noise = np.random.default_rng(seed).standard_normal((3, gusts.NOISE_SIZE))
        gusts.start(noise[:2], gust)
        gusts.update(record, 10.0, 9.0, 0.0, noise[2], 1.0 / 240.0, gust)
        along = gust[0] * record.wind_from_cos + gust[1] * record.wind_from_sin
        across = -gust[0] * record.wind_from_sin + gust[1] * record.wind_from_cos
        first.append((along, across, gust[2]))
    strong, weak = gusts.intensities(10.0, float(record.gust_wind))
    compare("rms at the release", [strong, strong, weak], np.std(first, axis=0), relative=0.06)
    flight = Flight(shipped(), field, seed=3)
    assert np.abs(flight._gust[4:]).max() > 0.1


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
    assert flight._lag.maxlen == fresh._lag.maxlen == 25
    flight.release()
    flight.advance(0.05, Sticks(pitch=1.0, throttle=0.7))
    late = flight.reading()
    assert late.surface_elevon_left_asked_deg == pytest.approx(-3.45, abs=0.01)  # not yet there
    assert flight._command[COMMAND_THROTTLE] == pytest.approx(0.7)  # the motor is not delayed
    flight.advance(0.1, Sticks(pitch=1.0, throttle=0.7))
    assert flight.reading().surface_elevon_left_asked_deg < -15.0


def test_a_case_does_not_depend_on_what_else_is_drawn():
    hands = np.zeros(13)
    cases = [Drawn(shipped(), Scatter(), hands, False, 7, 5, 3, n) for n in (0, 8, 9)]
    for other in cases[1:]:
        np.testing.assert_array_equal(cases[0].case, other.case)
    np.testing.assert_array_equal(cases[1].parts, cases[2].parts[:, :8])
    assert cases[1].parts.std() > 0.5


def test_swapped_leads_do_not_brake_a_shut_motor():
    model = build(shipped("pantry", "motors.motor.leads_swapped=true"), meadow())
    state, report, command = np.zeros(SIZE), np.zeros(REPORT_SIZE), np.zeros(COMMAND_SIZE)
    state[ROTOR] = 500.0
    drive.electric(model.record, state, command, 0.0, report)
    assert report[MOTOR_CURRENT] == 0.0


def test_sleeping_servos_only_idle():
    record = shipped_model().record
    command, report = np.zeros(COMMAND_SIZE), np.zeros(REPORT_SIZE)
    report[HINGE : HINGE + 2] = 0.8 * record.servo_torque[:2]
    awake = servo.current(record, command, report)
    command[COMMAND_ASLEEP] = 1.0
    asleep = servo.current(record, command, report)
    assert asleep == pytest.approx(float(record.servo_idle[:2].sum()))
    assert awake > 10.0 * asleep
    assert report[SUPPLY_VOLTAGE] == record.supply_voltage


def test_a_surface_on_a_flat_sheet_of_one_piece_is_refused(written):
    with pytest.raises(ConfigError, match="wanted mirrored"):
        written(
            ("[sheets.slab]\n", "[sheets.slab]\nmirrored = false\n"),
            ('role = "elevon"', 'role = "elevator"'),
        )


def test_a_negative_seed_is_refused(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["fly", "--seed", "-1"])
    assert ended.value.code == 2
    assert "wanted a whole number" in capsys.readouterr().err


CANARD = (
    "sheets.tailplane.aft=-300 mm",
    "sheets.tailplane.incidence=3 deg",
    "items.pack.aft=-230 mm",
)


def test_a_canard_moves_down_to_lift_the_nose():
    """In the flight, the reports and on the sheet alike."""
    airframe, model = still("allotment", CANARD)
    back = command(airframe, Sticks(pitch=1.0))[:MAX_SURFACES]
    assert back[0] > 0.0  # trailing edge down
    air = np.array([-10.0, 0.0, -0.5])
    change = air_load(model, air, (0.0, 0.0, 0.0), back)[0] - air_load(model, air)[0]
    assert change[4] > 0.0 > change[2]  # nose up, and lifts
    (row,) = [r for r in directions(airframe)["sticks"] if r["stick"] == "stick back"]
    assert set(row["moves"].values()) == {"down"}
    assert row["does"] == "nose up"
    (trim,) = trims(model, airframe, [10.0], ("glide",))
    asked = mixer(airframe).angles(trim.sticks)[0]
    assert not trim.reason
    assert trim.elevator == pytest.approx(asked)
    front = front_limits(airframe, model)[0]
    assert front.aft < polar.neutral_point(model)


def test_a_high_field_has_its_standard_air():
    """Density at 3000 m and at 1500 m [kg/m3]: ISO 2533:1975, table 1 (from memory)."""
    for height, wanted in ((3000.0, 0.90925), (1500.0, 1.05807)):
        ground = STANDARD.ground.model_copy(update={"elevation": height})
        high = STANDARD.model_copy(update={"ground": ground})
        compare(f"density at {height} m", wanted, build(shipped(), high).record.density, 2e-4)


def test_hands_use_the_rudder_where_nothing_else_turns_it():
    """The same airframe, whether the radio or the pilot takes the roll stick to the rudder."""
    mixed = shipped("allotment")
    plain = shipped("allotment", "mixing.roll_to_yaw=0 %")
    assert not steers_by_rudder(mixed)
    assert not steers_by_rudder(shipped())
    assert steers_by_rudder(plain)
    plan = launches.Plan(meadow(), Scatter(), "human", 6.0, 5)
    with_it, without = launches.run([launches.setup(a, plan) for a in (mixed, plain)], plan, 64)
    print(f"survived, of 64: {with_it.survived} mixed, {without.survived} by the yaw stick")
    assert without.survived >= with_it.survived - 6


def test_a_pack_ahead_of_a_pusher_can_move_to_the_nose():
    pusher = shipped("pantry", "motors.motor.aft=380 mm", "items.pack.aft=150 mm")
    now = weighed(pusher, STANDARD)
    change = move_pack(pusher, 0.08, now, STANDARD)
    assert change is not None
    assert change.amount < 0.0
    assert "propeller" not in change.words
