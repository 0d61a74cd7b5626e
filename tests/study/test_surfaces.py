"""Mixing, throws, saturation, servo loads, blow-back, play, supply."""

from __future__ import annotations

from math import cos, degrees, inf, radians, sin

import numpy as np
import pytest
from bodies import shipped, shipped_model, shipped_subject

from firstthrow.scenes.commands.cli import main
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks, command, mixer, surface_angles
from firstthrow.sim.describe.airframe import Airframe, Mix
from firstthrow.sim.describe.config import ConfigError, find, load_airframe
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.sheets import Role
from firstthrow.sim.flight.evaluate import air_load, rates_of
from firstthrow.sim.kernels.layout import (
    COMMAND_SIZE,
    COMMAND_THROTTLE,
    DEFLECTION,
    MAX_SURFACES,
    SIZE,
    SURFACE,
)
from firstthrow.sim.kernels.mix import mix as mix_kernel
from firstthrow.sim.kernels.mix import softened
from firstthrow.sim.study import directions, servos
from firstthrow.sim.study.servos import blow_back, hinges, level_alpha, loads, words
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.throws import corners, curves, edge_height, saturation, study

NAMES = ["pantry", "glasshouse", "pantry-swept", "allotment"]


def mixed(airframe: Airframe, **changes) -> Airframe:
    return airframe.model_copy(update={"mixing": airframe.mixing.model_copy(update=changes)})


def plain(name: str = "pantry", **changes) -> Airframe:
    """Without trims, so that left and right mirror each other."""
    return mixed(shipped(name), roll_trim=0.0, yaw_trim=0.0, **changes)


def with_surface(airframe: Airframe, sheet: str, name: str, **changes) -> Airframe:
    whole = airframe.sheets[sheet]
    other = whole.surfaces[name].model_copy(update=changes)
    sheets = {
        **airframe.sheets,
        sheet: whole.model_copy(update={"surfaces": {**whole.surfaces, name: other}}),
    }
    return airframe.model_copy(update={"sheets": sheets})


def elevons(**changes) -> Airframe:
    return with_surface(plain(), "slab", "elevon", **changes)


def two_motors(airframe: Airframe) -> Airframe:
    motor = airframe.motors["motor"]
    sides = {"left": -0.2, "right": 0.2}
    motors = {name: motor.model_copy(update={"right": y}) for name, y in sides.items()}
    return airframe.model_copy(update={"motors": motors})


def asked(airframe: Airframe, **sticks) -> np.ndarray:
    return np.degrees(mixer(airframe).angles(Sticks(**sticks)))


def test_elevons_by_hand():
    """Reflex 5, pitch 14, roll 16 degrees with 30 % expo, worked out beside the program."""
    half = softened(0.5, 0.30)
    assert half == pytest.approx(0.7 * 0.5 + 0.3 * 0.125)
    left, right = asked(plain(), pitch=0.5, roll=0.5)
    assert left == pytest.approx(-5.0 - 14.0 * half + 16.0 * half)
    assert right == pytest.approx(-5.0 - 14.0 * half - 16.0 * half)
    low = asked(plain(), pitch=1.0, low_rates=True)
    assert low == pytest.approx([-14.0, -14.0])


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("stick", "axis"), [("pitch", 4), ("roll", 3), ("yaw", 5)])
def test_every_stick_turns_it_its_way(name, stick, axis):
    """Back raises the nose, right rolls right or yaws right, by the air's own moments."""
    airframe, model = shipped(name), shipped_model(name)
    mix = mixer(airframe)
    neutral, moved = (mix.command(Sticks(**{stick: x}))[:MAX_SURFACES] for x in (0.0, 0.6))
    if np.array_equal(neutral, moved):
        assert stick in ("roll", "yaw")  # an airframe that has no surface for it
        return
    air = -9.0 * np.array([cos(0.08), 0.0, sin(0.08)])
    turned = air_load(model, air, surfaces=moved)[0] - air_load(model, air, surfaces=neutral)[0]
    if name == "allotment" and stick == "roll":
        axis = 5  # the roll stick works the rudder
    assert turned[axis] > 0.0


def v_tail(dihedral: str = "40 deg") -> Airframe:
    tree = shipped("allotment").model_copy()
    tail = tree.sheets["tailplane"]
    surface = tail.surfaces["elevator"].model_copy(update={"role": Role.RUDDERVATOR})
    wing = {
        "tail": tail.model_copy(
            update={
                "surfaces": {"ruddervator": surface},
                "dihedral": radians(float(dihedral.split()[0])),
            }
        )
    }
    return tree.model_copy(update={"sheets": {"wing": tree.sheets["wing"], **wing}})


@pytest.mark.parametrize("dihedral", ["40 deg", "-40 deg"])
def test_v_tail_pitches_and_yaws(dihedral):
    """Nose up by the back stick, nose right by the right one, whichever way the V stands."""
    airframe = v_tail(dihedral)
    model, mix = build(airframe, STANDARD), mixer(airframe)
    air = np.array([-9.0, 0.0, 0.0])

    def moment(**sticks) -> np.ndarray:
        return air_load(model, air, surfaces=mix.command(Sticks(**sticks))[:MAX_SURFACES])[0][3:]

    level = moment()
    assert moment(pitch=0.5)[1] > level[1]
    assert moment(yaw=0.5)[2] > level[2]
    assert abs(moment(pitch=0.5)[2] - level[2]) < 1e-6


def test_flaperons_droop_and_roll():
    airframe = mixed(elevons(role=Role.FLAPERON), droop=radians(8.0), reflex=0.0)
    assert asked(airframe) == pytest.approx([8.0, 8.0])
    assert asked(airframe, roll=1.0) == pytest.approx([24.0, -8.0])
    assert asked(airframe, pitch=1.0) == pytest.approx([8.0, 8.0])


def test_differential_thrust():
    """Yaw right runs the left motor up; closed is closed; without the mix both are alike."""
    airframe = two_motors(plain(yaw_to_throttle=0.3))
    at = slice(COMMAND_THROTTLE, COMMAND_THROTTLE + 2)
    assert command(airframe, Sticks(yaw=1.0, throttle=0.5))[at] == pytest.approx([0.8, 0.2])
    assert command(airframe, Sticks(yaw=-1.0, throttle=0.9))[at] == pytest.approx([0.6, 1.0])
    assert command(airframe, Sticks(yaw=1.0, throttle=0.0))[at] == pytest.approx([0.0, 0.0])
    assert command(two_motors(plain()), Sticks(yaw=1.0, throttle=0.5))[at] == pytest.approx(0.5)


def test_differential_thrust_turns_a_slab():
    """A slab with no rudder: the stick right, nose right, in the flight's own derivative."""
    airframe = two_motors(plain(yaw_to_throttle=0.3))
    model = build(airframe, STANDARD)
    state = np.zeros(SIZE)
    state[2], state[3], state[7] = -100.0, 1.0, 9.0
    state[13:15] = 700.0
    swing = []
    for yaw in (0.0, 1.0):
        asked_for = command(airframe, Sticks(yaw=yaw, throttle=0.5))
        trial = state.copy()
        for _ in range(400):  # rotors to their speed
            trial[13:15] += 0.002 * rates_of(model, trial, asked_for)[0][13:15]
        swing.append(rates_of(model, trial, asked_for)[0][12])
    assert swing[1] > swing[0] + 0.5


def test_free_mix_table():
    also = {
        "hold": Mix(stick="throttle", moves="elevon", angle="2 deg"),
        "turn": Mix(stick="yaw", moves="elevon", angle="-5 deg", opposite=True),
        "one": Mix(stick="roll", moves="elevon_left", angle="1 deg"),
        "motor": Mix(stick="pitch", moves="motor", share="10 %"),
    }
    airframe = plain(also=also)
    base = plain()
    assert asked(airframe, throttle=0.5) - asked(base) == pytest.approx([1.0, 1.0])
    assert asked(airframe, yaw=1.0) - asked(base) == pytest.approx([5.0, -5.0])
    assert asked(airframe, roll=1.0) - asked(base, roll=1.0) == pytest.approx([1.0, 0.0])
    throttle = command(airframe, Sticks(pitch=1.0, throttle=0.5))[COMMAND_THROTTLE]
    assert throttle == pytest.approx(0.6)


def test_mix_is_read_from_the_file():
    """The free table, droop, limits and reversal by keys of the airframe's file."""
    airframe = shipped(
        "pantry",
        "mixing.droop=3 deg",
        "mixing.yaw_to_throttle=20 %",
        "sheets.slab.surfaces.elevon.most_down=20 deg",
        "sheets.slab.surfaces.elevon.reversed_left=true",
    )
    assert airframe.mixing.droop == pytest.approx(radians(3.0))
    assert airframe.mixing.yaw_to_throttle == 0.2
    assert airframe.sheets["slab"].surfaces["elevon"].most_down == pytest.approx(radians(20.0))
    assert airframe.sheets["slab"].surfaces["elevon"].reversed_left


def test_limits_by_direction():
    airframe = elevons(most_up=radians(12.0), most_down=radians(5.0))
    assert asked(airframe, pitch=1.0) == pytest.approx([-12.0, -12.0])
    assert asked(airframe, pitch=-1.0) == pytest.approx([5.0, 5.0])


def test_differential():
    left, right = asked(plain(differential=0.4, reflex=0.0), roll=1.0)
    assert (left, right) == pytest.approx((16.0 * 0.6, -16.0))


def test_reversal_of_one_servo_and_of_both():
    assert asked(elevons(reversed_left=True), pitch=1.0) == pytest.approx([19.0, -19.0])
    assert asked(elevons(reversed=True), pitch=1.0) == pytest.approx([19.0, 19.0])
    assert asked(elevons(reversed=True, reversed_left=True)) == pytest.approx([-5.0, 5.0])


def test_reversed_stick_and_swapped_leads():
    assert asked(plain(reversed=("pitch",)), pitch=1.0) == pytest.approx([9.0, 9.0])
    right, left = asked(plain(), roll=1.0)
    assert asked(plain(swapped=True), roll=1.0) == pytest.approx([left, right])


def everything() -> Airframe:
    """Two motors and every kind of mixing at once."""
    also = {
        "hold": Mix(stick="throttle", moves="elevon", angle="2 deg"),
        "turn": Mix(stick="yaw", moves="elevon", angle="-5 deg", opposite=True),
        "right": Mix(stick="pitch", moves="right", share="10 %"),
    }
    airframe = two_motors(elevons(most_up=radians(25.0), reversed_left=True))
    return mixed(
        airframe,
        also=also,
        differential=0.3,
        yaw_to_throttle=0.2,
        reversed=("roll",),
        swapped=True,
        roll_trim=radians(1.0),
    )


@pytest.mark.kernel
@pytest.mark.parametrize("name", [*NAMES, "v-tail", "everything"])
def test_flight_mixes_as_the_reports_do(name):
    """The record that flies and the mixer of the reports, over random sticks."""
    airframe = {"v-tail": v_tail, "everything": everything}.get(name, lambda: shipped(name))()
    record, table = build(airframe, STANDARD).record, mixer(airframe)
    random = np.random.default_rng(4)
    motors = slice(COMMAND_THROTTLE, COMMAND_THROTTLE + record.n_motors)
    for _ in range(200):
        sticks = Sticks(*random.uniform(-1.0, 1.0, 3), random.uniform(), random.uniform() < 0.5)
        flown = np.zeros(COMMAND_SIZE)
        mix_kernel(record, *sticks, flown)
        wanted = table.command(sticks)
        assert flown[:MAX_SURFACES] == pytest.approx(wanted[:MAX_SURFACES], abs=1e-12)
        assert flown[motors] == pytest.approx(wanted[motors], abs=1e-12)


def test_trailing_edge_by_hand():
    """60 mm of chord at 30 degrees stand 30 mm off."""
    assert edge_height(radians(30.0), 0.060) == pytest.approx(0.030)
    found = corners(Subject(plain()), False)["back"]["elevon_left"]
    assert found.angle_up_deg == pytest.approx(19.0)
    assert found.edge_up_m == pytest.approx(0.060 * sin(radians(19.0)))


def test_saturation():
    """Pitch and roll meet 30 degrees together where the curves say; low rates never."""
    mix = mixer(plain())
    share = saturation(mix, False)
    reached = 5.0 + (14.0 + 16.0) * softened(share, 0.30)
    assert reached == pytest.approx(30.0, abs=0.4)
    assert saturation(mix, True) is None
    back_left = corners(Subject(plain()), False)["back and left"]["elevon_left"]
    assert back_left.cut_off_deg == pytest.approx(5.0)


def test_curves_are_expo_and_go_through_the_corners():
    found = curves(Subject(plain()))
    middle = found.pitch_high_up_deg["elevon_left"]
    assert middle[20] == pytest.approx(5.0)
    assert (middle[0], middle[-1]) == pytest.approx((-9.0, 19.0))
    slope = (middle[21] - middle[19]) / 0.1
    assert slope == pytest.approx(14.0 * 0.7, rel=0.01)


def test_hinge_moment_grows_with_speed_and_deflection():
    model = shipped_model()
    slow, fast = (hinges(model, v, 0.0, [0.2, 0.2])[0] for v in (10.0, 20.0))
    assert fast == pytest.approx(4.0 * slow, rel=1e-6)
    assert 0.0 < slow < hinges(model, 10.0, 0.0, [0.3, 0.3])[0]


def test_level_alpha_carries_the_weight():
    model = shipped_model()
    alpha = level_alpha(model, 10.0)
    lift = -air_load(model, -10.0 * np.array([cos(alpha), 0.0, sin(alpha)]))[0][2]
    assert lift == pytest.approx(model.record.mass * model.record.gravity, rel=1e-3)
    assert level_alpha(model, 2.0) == pytest.approx(radians(12.0))


def test_blow_back_holds_in_the_flight_s_own_servo():
    """Full throw asked at that speed, half of it reached: the servo stands still there."""
    airframe, model = shipped(), shipped_model()
    full = np.array(mixer(airframe).angles(Sticks(pitch=1.0)))
    speed = blow_back(model, 0, full)
    print(f"blown back to half at {speed:.0f} m/s")
    state, asked_for = np.zeros(SIZE), np.zeros(COMMAND_SIZE)
    state[2], state[3], state[7] = -300.0, 1.0, speed
    play = 0.5 * model.record.surface_slop[:2]
    state[SURFACE : SURFACE + 2] = 0.5 * full - play  # slop is taken up by the load
    asked_for[:2] = full
    rates, report = rates_of(model, state, asked_for)
    assert report[DEFLECTION] == pytest.approx(0.5 * full[0], rel=0.05)
    assert abs(rates[SURFACE]) < 0.05 * model.record.servo_speed[0]
    state[7] = 0.7 * speed
    assert rates_of(model, state, asked_for)[0][SURFACE] < -0.2 * model.record.servo_speed[0]


def test_blow_back_of_what_is_not_moved():
    assert blow_back(shipped_model(), 0, [0.0, 0.0]) == inf


@pytest.mark.parametrize("name", NAMES)
def test_loads(name):
    """A dive asks most; torque needed is less than the hinge moment where the horn is longer
    than the arm; currents between idle and stall."""
    airframe, found = shipped(name), loads(shipped_subject(name))
    idle = 0.0
    for span, load in zip(shipped_subject(name).surfaces, found.surfaces, strict=True):
        surface = airframe.sheets[span.sheet].surfaces[span.surface]
        idle += airframe.servos[surface.servo].idle_current * servos.servo_share(span)
        held = load.held
        assert held["dive"].hinge > held["level"].hinge > 0.0
        ratio = surface.arm / surface.horn
        assert held["dive"].torque / held["dive"].hinge == pytest.approx(ratio, rel=0.25)
        need = held["dive"].torque
        assert load.verdict == (
            "ok" if load.available >= 2.0 * need else "tight" if load.available >= need else "over"
        )
    assert idle < found.held < found.stalled
    print(name, {load.name: load.verdict for load in found.surfaces}, round(found.held, 2))


def test_joined_halves_share_a_servo():
    """One servo for both: half its torque and half its stall current a side."""
    joined = shipped("allotment")
    apart = with_surface(joined, "tailplane", "elevator", joined=False)
    before, after = loads(Subject(apart)), loads(Subject(joined))
    servo = apart.servos["elevator"]
    assert before.stalled - after.stalled == pytest.approx(servo.stall_current)
    assert after.surfaces[0].available == pytest.approx(0.5 * servo.torque)


def test_play_and_its_caution():
    """Slop at the arm and at the horn add up as millimetres over the horn."""
    airframe = elevons(slop=0.0008)
    surface = airframe.sheets["slab"].surfaces["elevon"]
    load = loads(Subject(airframe)).surfaces[0]
    at_horn = airframe.servos["elevon"].slop * surface.arm + 0.0008
    assert degrees(load.play) == pytest.approx(degrees(at_horn / surface.horn))
    assert any("flutter" in text for text in words(load))
    assert not any("flutter" in text for text in words(loads(Subject(plain())).surfaces[0]))


def test_buzz_when_the_load_exceeds_the_dead_band():
    """A load held in level flight bends the servo off by more than its dead band, or not."""
    airframe = plain(reflex=radians(12.0))
    tight = airframe.model_copy(
        update={
            "servos": {
                "elevon": airframe.servos["elevon"].model_copy(update={"dead_band": radians(0.01)})
            }
        }
    )
    wide = airframe.model_copy(
        update={
            "servos": {
                "elevon": airframe.servos["elevon"].model_copy(update={"dead_band": radians(3.0)})
            }
        }
    )
    buzzing, quiet = (loads(Subject(a)).surfaces[0] for a in (tight, wide))
    assert buzzing.buzz
    assert any("buzzes" in text for text in words(buzzing))
    assert not quiet.buzz


def test_weak_servo_is_over():
    airframe = plain()
    weak = airframe.model_copy(
        update={"servos": {"elevon": airframe.servos["elevon"].model_copy(update={"torque": 0.02})}}
    )
    load = loads(Subject(weak)).surfaces[0]
    assert load.verdict == "over"
    assert any("times the torque" in text for text in words(load))
    assert load.blow_back < loads(Subject(plain())).surfaces[0].blow_back


@pytest.mark.parametrize("name", NAMES)
def test_study_is_whole(name):
    """Every surface with its linkage and servo; no number that is none."""
    import json

    answer = study(shipped_subject(name))
    text = json.dumps(answer.as_json(), allow_nan=False)
    assert "NaN" not in text
    for surface in answer.surfaces:
        facts = surface.linkage
        short = facts.servo_for_throw_deg > facts.servo_travel_deg + 0.05
        assert short == any("would have to turn" in text for text in surface.cautions)
        assert short == (facts.reach_up_deg < facts.throw_asked_deg - 0.05)


def test_linkage_cautions():
    short = study(Subject(elevons(arm=0.008, horn=0.020)))
    assert any("would have to turn" in t or "locks" in t for t in short.surfaces[0].cautions)
    uneven = study(Subject(elevons(arm_lean=radians(20.0), rod=0.06)))
    assert any("uneven" in text for text in uneven.surfaces[0].cautions)


def test_command_prints_tables_and_json(capsys, tmp_path):
    import json

    plot = tmp_path / "throws.png"
    assert main(["surfaces", "pantry", "--plot", str(plot)]) == 0
    text = capsys.readouterr().out
    assert "meet a limit from 88 % of both sticks" in text
    assert plot.read_bytes()[:4] == b"\x89PNG"
    assert main(["surfaces", "allotment", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out, parse_constant=pytest.fail)
    assert [s["name"] for s in answer["surfaces"]] == ["elevator_left", "elevator_right", "rudder"]


def test_command_refuses_a_rod_that_does_not_reach(capsys):
    short = 'sheets.slab.surfaces.elevon.rod="3 mm"'
    high = 'sheets.slab.surfaces.elevon.servo_up="20 mm"'
    assert main(["surfaces", "pantry", "--set", short, "--set", high]) == 2
    assert capsys.readouterr().err == "pantry: a rod of 3 mm does not reach from arm to horn\n"


@pytest.mark.parametrize("dihedral", ["40 deg", "-40 deg"])
def test_a_v_tail_takes_the_roll_stick_where_the_radio_mixes_it(dihedral):
    airframe = v_tail(dihedral)
    by_roll, by_yaw = (surface_angles(airframe, Sticks(**{s: 1.0})) for s in ("roll", "yaw"))
    assert np.allclose(by_roll, by_yaw)  # 100 % of it
    assert abs(by_roll[0]) > np.radians(10.0)
    sticks = directions.study(Subject(airframe)).sticks
    assert all(row.right_way for row in sticks if row.stick != "pitch")


def test_a_roll_stick_for_a_rudder_that_is_not_there_is_refused(tmp_path):
    path = tmp_path / "pantry.toml"
    text = find("airframes", "pantry").read_text(encoding="utf-8")
    path.write_text(text.replace("[mixing]\n", '[mixing]\nroll_to_yaw = "50 %"\n'), "utf-8")
    with pytest.raises(ConfigError, match=r"roll_to_yaw: '50 %' without a rudder"):
        load_airframe(path)


@pytest.mark.parametrize("name", NAMES)
def test_many_sticks_at_once_ask_what_each_asks_by_itself(name):
    mix = mixer(load_airframe(find("airframes", name)))
    sticks = np.random.default_rng(3).uniform(-1.0, 1.0, (20, 3))
    for low in (False, True):
        each = [mix.angles(Sticks(*row, low_rates=low)) for row in sticks.tolist()]
        np.testing.assert_array_equal(mix.all_angles(sticks, low), each)
