"""A display for the tests that drive the real window; the pantry slab changed by its text."""

from __future__ import annotations

import os
import shutil
import subprocess

import pytest
from odd import PANTRY

from firstthrow.sim.describe.config import load_airframe


@pytest.fixture(scope="session")
def display():
    """The name of an X display: the one there is, or an Xvfb started for these tests.

    Fails, and does not skip, when neither can be had: the window tests are part of the program.
    """
    if os.environ.get("DISPLAY"):
        yield os.environ["DISPLAY"]
        return
    program = shutil.which("Xvfb")
    if program is None:
        pytest.fail("no DISPLAY and no Xvfb: install xvfb, the window tests need a display")
    reads, writes = os.pipe()
    server = subprocess.Popen(
        [
            program,
            "-displayfd",
            str(writes),
            "-screen",
            "0",
            "1280x720x24",
            "-nolisten",
            "tcp",
            "-noreset",
        ],
        pass_fds=(writes,),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(writes)
    with os.fdopen(reads) as pipe:
        number = pipe.readline().strip()
    if not number:
        pytest.fail(f"Xvfb gave no display; it ended with {server.wait()}")
    os.environ["DISPLAY"] = f":{number}"
    yield f":{number}"
    del os.environ["DISPLAY"]
    server.terminate()
    server.wait(timeout=10)


@pytest.fixture
def written(tmp_path):
    """Loads the pantry slab with some texts of its file replaced: written((old, new), ...)."""

    def load(*changes: tuple[str, str]):
        text = PANTRY
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "odd.toml"
        path.write_text(text, encoding="utf-8")
        return load_airframe(path)

    return load
