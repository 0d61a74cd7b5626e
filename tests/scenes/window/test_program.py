"""The program in its window, in a process of its own: how it ends by itself and when it has to."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest
from driven import screen

from firstthrow.sim.flight.record import load

pytestmark = pytest.mark.window

ROOT = Path(__file__).parents[3]

SCRIPT = """
    import sys
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.run import run
    from firstthrow.sim.describe.config import find, load_airframe, load_field
    from firstthrow.sim.flight.scripted_pilot import Steady
    from firstthrow.sim.flight.record import Recorder

    airframe = load_airframe(find("airframes", "pantry"))
    flown = run(
        airframe, load_field(find("fields", "water-meadow")), load_hands("keyboard"),
        pilot=Steady() if sys.argv[2] == "steady" else None,
        record_factory=lambda: Recorder(sys.argv[1], airframe, {}),
        seconds=float(sys.argv[3]) if sys.argv[3] else None,
    )
    print(*[flight.outcome.word for flight in flown])
"""


def start_program(record: Path, pilot: str, seconds: str, **environment) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(SCRIPT), str(record), pilot, seconds],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, **environment},
    )


def test_a_display_that_goes_ends_the_flight_in_words(tmp_path):
    """Stopped and woken before, as by a lid: the flight waits, then goes on."""
    path = tmp_path / "flight.csv"

    def wait_for(met) -> None:
        end = time.monotonic() + 90.0
        while not met():
            assert program.poll() is None, program.stderr.read()
            assert time.monotonic() < end
            time.sleep(0.05)

    def flown() -> float:
        return load(path).rows[-1, 0] if path.exists() and len(load(path).rows) else -1.0

    with screen() as (server, name):
        program = start_program(path, "steady", "60", DISPLAY=name)
        wait_for(lambda: flown() > 0.2)
        program.send_signal(signal.SIGSTOP)
        before = flown()
        time.sleep(1.0)
        program.send_signal(signal.SIGCONT)
        wait_for(lambda: flown() > before)
        assert flown() < before + 0.9
        server.kill()
        told = program.communicate(timeout=30)[1]
    assert program.returncode == 1
    assert told.splitlines()[-1] == "The display is gone; what was flown is recorded."
    assert load(path).outcome.word == "stopped"


def test_a_watched_timed_flight_runs_records_and_closes_by_itself(display, tmp_path):
    program = start_program(tmp_path / "flight.csv", "steady", "1.5")
    told, complaints = program.communicate(timeout=90)
    assert program.returncode == 0, complaints
    assert told.strip() == "time-up"
    rows = (tmp_path / "flight.csv").read_text().splitlines()
    assert len(rows) == pytest.approx(1 + 30 + 91, abs=3)
    assert '"time-up"' in (tmp_path / "flight.json").read_text()
