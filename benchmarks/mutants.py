"""Which wrong lines the tests let pass: python benchmarks/mutants.py [WORD ...]

Each wrong line is put into a copy of the sources, one at a time, and the tests of its subject
are run there. A line that fails no test survives: a test is missing. WORDS choose the lines
whose names hold one of them.

The kernels run as plain Python, so that nothing is compiled for a line, unless it says that its
tests take many steps. Name the tests that a line must fail, and few of them.

Before anything is run every old text is looked for: one that is not there exactly once ends it,
since a line that was not changed would seem to be caught or let pass by chance. The tests must
pass in the copy as it is, too. Exit codes: 0 all caught, 1 some survived, 2 the list does not
fit the sources.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("sim", "scenes", "configs", "tests", "pyproject.toml")
LONGEST = 1800.0  # for the tests of one run, on a busy machine [s]


class Mutant(NamedTuple):
    """A wrong line and the tests that must notice it."""

    name: str
    file: str
    old: str  # must stand in the file exactly once
    new: str
    tests: tuple[str, ...]
    compiled: bool = False  # for tests of many steps


PLATE, DRIVE, SERVO = "sim/kernels/plate.py", "sim/kernels/drive.py", "sim/kernels/servo.py"
GROUND, GUSTS = "sim/kernels/ground.py", "sim/kernels/gusts.py"
DERIVATIVE, SECTION = "sim/kernels/derivative.py", "sim/build/section.py"
KERNELS, BUILD = "tests/kernels/test_", "tests/build/test_"


def tests(file: str, *names: str) -> tuple[str, ...]:
    return tuple(f"{file}.py::test_{name}" for name in names)


def checks(*names: str) -> tuple[str, ...]:
    """Of `sim/proof`, by subject and name."""
    return tuple(f"tests/proof/test_proof.py::test_a_check_holds[{name}]" for name in names)


MUTANTS = (
    Mutant(
        "side-edge force at the quarter chord",
        PLATE,
        "EDGE_PLACE * lean",
        "-0.25 * lean",
        checks("Flat plates-K04"),
    ),
    Mutant(
        "gyroscopic moment about y backwards",
        DRIVE,
        "- spin * (r * ax - p * az)",
        "+ spin * (r * ax - p * az)",
        tests(KERNELS + "drive", "a_turning_rotor_and_its_airframe_keep_their_angular_momentum"),
    ),
    Mutant(
        "servos' current not the pack's",
        DRIVE,
        "bus_drain = servo_current * m.supply_voltage / max(rest, 1.0)",
        "bus_drain = 0.0",
        tests(KERNELS + "drive", "the_servos_drink_from_the_pack"),
    ),
    Mutant(
        "slop doubled",
        SERVO,
        "-0.5 * m.surface_slop[k] * push",
        "-m.surface_slop[k] * push",
        tests(KERNELS + "servo", "the_play_of_a_surface_is_as_wide_as_its_slop"),
    ),
    Mutant(
        "no damping of a surface that swings",
        SERVO,
        "- m.surface_damping[k] * speed * rate",
        "- 0.0",
        tests(KERNELS + "flutter", "how_it_swings_is_what_the_parts_say"),
    ),
    Mutant(
        "a surface that swings hangs without weight",
        SERVO,
        "moment += m.strip_unbalance[i] * across",
        "moment += 0.0 * across",
        tests(KERNELS + "flutter", "how_it_swings_is_what_the_parts_say"),
    ),
    Mutant(
        "a surface swings by no turning of the airframe",
        SERVO,
        "fz = felt[2] + dp * y - dq * x",
        "fz = felt[2]",
        tests(KERNELS + "flutter", "how_it_swings_is_what_the_parts_say"),
    ),
    Mutant(
        "sag leaves the servos strong",
        SERVO,
        "error / EASE)) * power * (1.0",
        "error / EASE)) * (1.0",
        tests(KERNELS + "servo", "a_sagging_supply_slows_and_weakens_every_servo"),
    ),
    Mutant(
        "no relief by the air moved along",
        DERIVATIVE,
        " - (rates[9] - az) * m.half_apparent",
        "",
        tests(KERNELS + "folding", "the_air_moved_along_bends_the_root"),
    ),
    Mutant(
        "steps near the ground not cut",
        "sim/kernels/integrate.py",
        "NEAR_CUTS = 4",
        "NEAR_CUTS = 1",
        tests(KERNELS + "ground", "a_touch_down_is_stepped_finely_enough"),
        compiled=True,
    ),
    Mutant(
        "hands without lead in pitch",
        "sim/kernels/human.py",
        " - hands.lead_pitch * seen[then, PITCH_RATE]",
        "",
        tests(KERNELS + "human", "the_hands_lead_a_slow_airframe"),
    ),
    Mutant(
        "separated hinge moment doubled",
        SECTION,
        "0.5 * flap**2 * normal_force",
        "flap**2 * normal_force",
        tests(BUILD + "hinge_moment", "broadside_the_whole_flap_is_pressed_alike"),
    ),
    Mutant(
        "half the damping of a stalled plate",
        "sim/kernels/separation.py",
        "-scale * GAUSS_WEIGHT",
        "-0.5 * scale * GAUSS_WEIGHT",
        tests(KERNELS + "falling_plates", "a_stalled_plate_damps_pitch"),
    ),
    Mutant(
        "a wake that takes nothing",
        "sim/kernels/separation.py",
        "(1.0 - m.wake_left) * loss",
        "0.0 * loss",
        tests(KERNELS + "wake", "the_fin_loses_its_flow_behind_a_stalled_slab"),
    ),
    Mutant(
        "separation near broadside at 37 to 77 degrees",
        SECTION,
        "HELD_COMPLETE = np.radians(47.0)",
        "HELD_COMPLETE = np.radians(77.0)",
        checks("Flat plates-P07.slender"),
    ),
    Mutant(
        "propeller's inertia by three",
        "sim/build/powertrain.py",
        "blade.mass * blade.size[0] ** 2 / 12.0",
        "blade.mass * blade.size[0] ** 2 / 3.0",
        tests(BUILD + "propeller", "rotor_turns_as_a_uniform_bar"),
    ),
    Mutant(
        "whole hinge moment by incidence",
        SECTION,
        "HINGE_FROM_INCIDENCE = 0.65",
        "HINGE_FROM_INCIDENCE = 1.0",
        checks("Hinge moments-F08"),
    ),
    Mutant(
        "whole hinge moment by deflection",
        SECTION,
        "HINGE_FROM_DEFLECTION = 0.8",
        "HINGE_FROM_DEFLECTION = 1.0",
        checks("Hinge moments-F08"),
    ),
    Mutant(
        "side force of the disc doubled",
        DRIVE,
        "side = 0.5 * drag_slope",
        "side = drag_slope",
        tests(KERNELS + "drive", "air_across_the_disc_is_the_mean_of_a_turn"),
    ),
    Mutant(
        "yaw of the disc doubled",
        DRIVE,
        "yaw = 0.5 * thrust_slope",
        "yaw = thrust_slope",
        tests(KERNELS + "drive", "air_across_the_disc_is_the_mean_of_a_turn"),
    ),
    Mutant(
        "disc's own speed backwards",
        DRIVE,
        "air[2] - (p * y - q * x)",
        "air[2] + (p * y - q * x)",
        tests(KERNELS + "drive", "a_disc_off_the_centre_meets_the_air_it_moves_through"),
    ),
    Mutant(
        "roll gust backwards",
        PLATE,
        "heaves = p - roll_gust",
        "heaves = p + roll_gust",
        tests(KERNELS + "gusts", "a_roll_gust_is_the_air_rolling"),
    ),
    Mutant(
        "roll gust whole at the ground",
        DERIVATIVE,
        "gust[ROLL_GUST] * fade(-state[2])",
        "gust[ROLL_GUST]",
        tests(KERNELS + "gusts", "a_roll_gust_is_the_air_rolling"),
    ),
    Mutant(
        "no friction along the span",
        PLATE,
        "along = rub * side",
        "along = 0.0",
        checks("Flat plates-P29"),
    ),
    Mutant(
        "no drag of a deflected surface",
        PLATE,
        "scratch.aft[i] = pull * y2 * m.strip_cover[i] * scratch.tilts[i]",
        "scratch.aft[i] = 0.0",
        tests(BUILD + "hinge_moment", "a_deflected_flap_drags_by_its_own_load"),
    ),
    Mutant(
        "stalled surface pulls ahead",
        PLATE,
        "+= qs * scratch.plate[AXIAL, i]",
        "-= qs * scratch.plate[AXIAL, i]",
        tests(KERNELS + "plate", "stalled_with_elevons_down_it_is_pushed_aft"),
    ),
    Mutant(
        "turning washes the trailing edge twice",
        PLATE,
        "held * 0.5 * chord * (turn",
        "held * chord * (turn",
        tests(BUILD + "apparent_mass", "theodorsen_in_free_flight"),
    ),
    Mutant(
        "no stops of a surface",
        SERVO,
        "        speed = 0.0\n",
        "        pass\n",
        tests(KERNELS + "servo", "a_surface_stops_at_its_travel"),
    ),
    Mutant(
        "stall current beside the idle current",
        SERVO,
        "load * (m.servo_stall[k] - m.servo_idle[k])",
        "load * m.servo_stall[k]",
        tests(KERNELS + "servo", "a_stalled_servo_draws_its_stall_current"),
    ),
    Mutant(
        "contact rolls it over",
        GROUND,
        "total[3] += y * fz - z * fy",
        "total[3] -= y * fz - z * fy",
        tests(KERNELS + "ground", "it_settles_level_from_a_tilt"),
    ),
    Mutant(
        "disc without its radius",
        GROUND,
        "+ m.motor_radius[k] * sqrt",
        "+ 0.0 * sqrt",
        tests(KERNELS + "ground", "blades_reach_as_deep_as_the_disc_is_wide"),
    ),
    Mutant(
        "own weight bends the root",
        DERIVATIVE,
        "-report[SPECIFIC_FORCE + 2] * m.half_moment",
        "report[SPECIFIC_FORCE + 2] * m.half_moment",
        tests(KERNELS + "folding", "lift_bends_the_root"),
    ),
    Mutant(
        "left half bends down by lift",
        PLATE,
        "bend_left -= normal",
        "bend_left += normal",
        tests(KERNELS + "folding", "lift_bends_the_root"),
    ),
    Mutant(
        "vertical gusts as long as the others",
        GUSTS,
        "_terms(way / vertical)",
        "_terms(way / horizontal)",
        checks("Gusts and ground-T10.size", "Gusts and ground-T10.lag"),
        compiled=True,
    ),
    Mutant(
        "lateral gusts as short as the vertical ones",
        GUSTS,
        "heaving = _terms(way / horizontal)",
        "heaving = _terms(way / vertical)",
        checks("Gusts and ground-T10.size", "Gusts and ground-T10.lag"),
        compiled=True,
    ),
)


class DoesNotFit(ValueError):
    """The list does not fit the sources."""


def changed(text: str, mutant: Mutant) -> str:
    """The text with the wrong line in it. Raises DoesNotFit unless the old one is there once."""
    count = text.count(mutant.old)
    if count != 1:
        raise DoesNotFit(f"{mutant.name}: {mutant.file} holds {mutant.old!r} {count} times, not 1")
    if mutant.old == mutant.new:
        raise DoesNotFit(f"{mutant.name}: changes nothing")
    return text.replace(mutant.old, mutant.new)


def copy(to: Path) -> Path:
    """The sources and tests, as a package of the same name under `to`."""
    root = to / "firstthrow"
    root.mkdir()
    leave = shutil.ignore_patterns("__pycache__", ".pytest_cache")
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, root / name, ignore=leave)
        else:
            shutil.copy2(source, root / name)
    return root


def run(root: Path, names: Sequence[str], compiled: bool) -> tuple[bool, str]:
    """Whether the tests pass in the copy, and the line that tells why not.

    Raises DoesNotFit when they could not be run at all.
    """
    environment = os.environ | {
        "PYTHONPATH": str(root.parent),
        "PYTHONDONTWRITEBYTECODE": "1",
        "NUMBA_DISABLE_JIT": "0" if compiled else "1",
        "FIRSTTHROW_CACHE": str(root.parent / "cache"),
    }
    words = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *names]
    try:
        done = subprocess.run(
            words, cwd=root, env=environment, capture_output=True, text=True, timeout=LONGEST
        )
    except subprocess.TimeoutExpired:
        return False, "no end"
    told = [line for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    if done.returncode not in (0, 1) or any(line.startswith("ERROR") for line in told):
        raise DoesNotFit(f"{' '.join(names)}: could not be run\n{done.stdout}{done.stderr}")
    return done.returncode == 0, told[0].split(" - ")[0] if told else ""


def right_copy(root: Path) -> None:
    """Raises DoesNotFit when the copy's package is not what its tests would meet."""
    code = "import firstthrow.sim.kernels.plate as p; print(p.__file__)"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=root,
        env=os.environ | {"PYTHONPATH": str(root.parent)},
        capture_output=True,
        text=True,
    )
    if not Path(done.stdout.strip()).is_relative_to(root):
        raise DoesNotFit(f"tests would meet {done.stdout.strip()}\n{done.stderr}")


def survivors(mutants: Sequence[Mutant]) -> list[Mutant]:
    """Those that no test of theirs catches, each told as it is found."""
    for mutant in mutants:
        changed((ROOT / mutant.file).read_text(encoding="utf-8"), mutant)
    left = []
    with tempfile.TemporaryDirectory() as folder:
        root = copy(Path(folder).resolve())
        right_copy(root)
        for way in (False, True):
            names = dict.fromkeys(n for m in mutants if m.compiled == way for n in m.tests)
            passed, why = run(root, tuple(names), way) if names else (True, "")
            if not passed:
                raise DoesNotFit(f"fails without any wrong line: {why}")
        for mutant in mutants:
            path = root / mutant.file
            right = path.read_text(encoding="utf-8")
            path.write_text(changed(right, mutant), encoding="utf-8")
            try:
                passed, why = run(root, mutant.tests, mutant.compiled)
            finally:
                path.write_text(right, encoding="utf-8")
            print(f"{'SURVIVES' if passed else 'caught':<9} {mutant.name:<46} {why}", flush=True)
            if passed:
                left.append(mutant)
    return left


def main() -> int:
    parser = argparse.ArgumentParser(description="Try wrong lines on the tests.")
    parser.add_argument("words", nargs="*", metavar="WORD", help="only lines named so")
    words = parser.parse_args().words
    chosen = [m for m in MUTANTS if not words or any(w in m.name for w in words)]
    if not chosen:
        print("no wrong line is named so", file=sys.stderr)
        return 2
    try:
        left = survivors(chosen)
    except DoesNotFit as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{len(chosen) - len(left)} of {len(chosen)} caught")
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
