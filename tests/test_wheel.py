"""What is installed: every package and every file that the program reads, from any folder."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGES = ("sim", "scenes", "configs")
READ = {".py", ".typed", ".toml", ".json", ".csv", ".zip"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    """Built from a copy, since building writes beside the sources."""
    there = tmp_path_factory.mktemp("wheel")
    for folder in PACKAGES:
        shutil.copytree(ROOT / folder, there / folder)
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, there)
    build = ("pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", "out")
    done = subprocess.run(
        [sys.executable, "-m", *build, "."], cwd=there, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    (made,) = (there / "out").glob("*.whl")
    return made


def test_it_holds_all_that_is_read(wheel):
    there = {
        f"firstthrow/{path.relative_to(ROOT).as_posix()}"
        for folder in PACKAGES
        for path in (ROOT / folder).rglob("*")
        if path.suffix in READ
    }
    held = {
        name
        for name in zipfile.ZipFile(wheel).namelist()
        if not name.split("/")[0].endswith("info")
    }
    assert held == there


def test_it_works_beside_files_of_the_same_names(wheel, tmp_path):
    """From a folder of the user's that has a sim.py, a scenes.py and a configs of its own."""
    installed = tmp_path / "installed"
    zipfile.ZipFile(wheel).extractall(installed)
    own = tmp_path / "own"
    (own / "configs").mkdir(parents=True)
    for name in ("sim.py", "scenes.py", "configs/__init__.py", "firstthrow.toml"):
        (own / name).write_text("raise SystemExit('the wrong one')\n")
    code = (
        "from firstthrow.sim import airframe, field\n"
        "import firstthrow.sim, firstthrow.scenes.commands.cli\n"
        "print(airframe('pantry').name, field('water-meadow').name, firstthrow.sim.__file__)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=own,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stderr == ""
    place = installed / "firstthrow" / "sim" / "__init__.py"
    assert done.stdout.split() == ["pantry", "water-meadow", str(place)]
