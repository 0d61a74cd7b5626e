"""A file imports only from files above it; the physics knows no scenes; kernels stay plain."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def names(text: str) -> list[str]:
    return text.split()


# Read top to bottom. A new file takes the highest line at which it still imports only upwards.
SIM = names("""
units materials state toml_lines schema compiled rotation page restore
overlap airframe field linkage consistency config notes tracks track_speeds
shape mixing sticks straight strips weights lifting_surface apparent section propeller strength
span_loading
air gusts plate drive servo ground workspace derivative integrate human batch
layout powertrain feet model polar polar_plot power plan_view
record flown
load_limits balance ballast rebalance alternatives steady trim modes trim_study study believed
servo_load faults power_study power_match power_plot surfaces surfaces_plot
directions directions_page
skills pilot flight debrief debrief_plot measures compare compare_plot refly advice verdict
expected reconcile next_note
debrief_report
sweep sweep_plot scatter odds odds_map odds_plot odds_report improve
field_notes written config_schema scaled draft rewrite lessons
launch_plan preflight paper benchsheet_words benchsheet_field benchsheet
benchsheet_drawing benchsheet_gauge benchsheet_page
""")
SCENES = names("""
shaders bindings clock command canvas camera meshes greenery meadow picture first_ten ghost
command_reconcile
ribbon settings eyes snapshot synth throw track replay film looks
keyboard hands gamepad thumbs hud panels opening sheet posing rehearsal waiting launching
timeline sound aids
profiles assignment device_words screens device_screen drill drill_screen telling
bench bench_figures bench_page bench_file bench_write bench_screen window
replay_window gallery
command_debrief command_faults command_power command_surfaces command_sweep command_trim
command_directions command_sticks
command_weigh command_polar command_fly command_odds command_replay command_film
command_benchsheet command_check command_new command_schema cli
""")
ORDER = [*(f"sim.{name}" for name in SIM), *(f"scenes.{name}" for name in SCENES)]

KERNEL_FILES = names("""
state rotation mixing air gusts plate drive servo ground derivative integrate human batch
""")
KERNEL_LIBRARIES = {"math", "numba", "numpy"}


def path(module: str) -> Path:
    return ROOT / (module.replace(".", "/") + ".py")


def imports(module: str) -> list[tuple[str, str, int]]:
    """(module, name, line) of every import in a file, inside functions as well."""
    found = []
    for node in ast.walk(ast.parse(path(module).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(alias.name, "", node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}:{node.lineno}: a relative import"
            source = node.module or ""
            for alias in node.names:
                whole = source in ("sim", "scenes")
                found.append((f"{source}.{alias.name}", "", node.lineno) if whole
                             else (source, alias.name, node.lineno))  # fmt: skip
    return found


def ours(module: str) -> bool:
    return module.split(".")[0] in ("sim", "scenes")


def test_every_file_has_its_place():
    files = {
        f"{package}.{file.stem}"
        for package in ("sim", "scenes")
        for file in (ROOT / package).glob("*.py")
        if file.stem != "__init__"
    }
    assert sorted(files - set(ORDER)) == [], "files without a place in ORDER"
    assert sorted(set(ORDER) - files) == [], "places without a file"
    assert len(set(ORDER)) == len(ORDER)


def test_imports_go_upwards():
    wrong = []
    for place, module in enumerate(ORDER):
        above = set(ORDER[:place])
        wrong += [
            f"{module}:{line}: imports {source}, which is not above it"
            for source, _, line in imports(module)
            if ours(source) and source not in above
        ]
    assert wrong == []


def test_the_order_is_not_empty_talk():
    """The reader of imports sees them: known ones are found, inside functions too."""
    assert ("sim.compiled", "kernel") in [entry[:2] for entry in imports("sim.rotation")]
    assert any(source == "sim.servo" for source, _, _ in imports("sim.derivative"))
    assert any(ours(source) for source, _, _ in imports("scenes.cli"))


@pytest.mark.parametrize("module", [name for name in ORDER if name.startswith("sim.")])
def test_physics_knows_no_scenes(module):
    outside = {"scenes", "pyglet", "pygame"}
    wrong = [entry for entry in imports(module) if entry[0].split(".")[0] in outside]
    assert wrong == []


def test_physics_loads_no_scenes():
    """All of sim in a fresh interpreter: nothing of the window comes along."""
    names = [name for name in ORDER if name.startswith("sim.")]
    code = f"import sys\nfor name in {names}: __import__(name)\n" + (
        "print([m for m in sys.modules if m.split('.')[0] in ('scenes', 'pyglet', 'pygame')])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", KERNEL_FILES)
def test_kernel_files_import_kernels_and_constants(name):
    kernels = {f"sim.{kernel}" for kernel in (*KERNEL_FILES, "compiled")}
    for source, what, line in imports(f"sim.{name}"):
        constant = ours(source) and what and what == what.upper()
        library = source.split(".")[0] in KERNEL_LIBRARIES
        assert source in kernels or constant or library, f"sim/{name}.py:{line}: {source}.{what}"


def test_kernel_files_are_all_named():
    """A file with a compiled function is a kernel file."""
    door = ("sim.compiled", "kernel")
    found = {name for name in SIM if door in [entry[:2] for entry in imports(f"sim.{name}")]}
    assert found == set(KERNEL_FILES) - {"state"}  # which holds names only
