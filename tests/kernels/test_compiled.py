"""The cache of compiled kernels: named by all that they are made of, written where it can be."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def cache_of(root: Path, **environment: str) -> Path:
    run = subprocess.run(
        [sys.executable, "-c", "from firstthrow.sim.kernels.compiled import CACHE; print(CACHE)"],
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(root), **environment},
    )
    return Path(run.stdout.strip())


def test_any_kernel_file_names_the_cache(tmp_path):
    """A changed callee must not meet the compiled code of an unchanged caller."""
    copy = tmp_path / "firstthrow" / "sim"
    shutil.copytree(ROOT / "sim", copy, ignore=shutil.ignore_patterns("__pycache__"))
    kept = str(tmp_path / "kept")
    before = cache_of(tmp_path, FIRSTTHROW_CACHE=kept)
    assert before == cache_of(tmp_path, FIRSTTHROW_CACHE=kept)
    assert before.parent == Path(kept)
    with (copy / "kernels" / "plate.py").open("a", encoding="utf-8") as file:
        file.write("# changed\n")
    assert cache_of(tmp_path, FIRSTTHROW_CACHE=kept) != before


def test_a_home_that_cannot_be_written(tmp_path):
    """Then the temporary folder serves."""
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    found = cache_of(ROOT, FIRSTTHROW_CACHE="", XDG_CACHE_HOME=str(blocked), LOCALAPPDATA="")
    assert not found.is_relative_to(blocked)
