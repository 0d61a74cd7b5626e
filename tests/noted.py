"""Made-up notes of real flights: what an airframe that is really so would have shown."""

from __future__ import annotations

from math import sin
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import load
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.describe.notes import Notes, notes_problems
from firstthrow.sim.flight.drive_at_rest import equilibrium
from firstthrow.sim.flight.trims import Trim, trims
from firstthrow.sim.learn.believed import corrected
from firstthrow.sim.learn.expected import trim_chord
from firstthrow.sim.learn.reconcile import Problem

NOTES = """
[steady.slow]
kind = "glide"
speed = "8 m/s"
speed_spread = "3 %"
up_trim = "0 mm"
sink = "2 m/s"

[steady.fast]
kind = "glide"
speed = "11 m/s"
speed_spread = "3 %"
up_trim = "0 mm"
sink = "3 m/s"

[static.bench]
current = "8 A"
rpm = "9500 rpm"
thrust = "6 N"
"""


def problem_of(airframe: Airframe, known: str = "") -> Problem:
    """Of two glides and a bench run; `known`: a table of spreads that the notes end in."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "notes.toml"
        path.write_text(NOTES + known, encoding="utf-8")
        return Problem(airframe, load(Notes, path, agreement=notes_problems))


def truth(airframe: Airframe, problem: Problem, off, speeds) -> np.ndarray | None:
    """(seen,) the figures of an airframe that is really so: built anew, trimmed by `trim`, its
    drive run by `power`. None where it does not trim."""
    real = corrected(airframe, off)
    model = build(real, STANDARD)
    found = {}
    glides = trims(model, real, [speeds["slow"], speeds["fast"]], ("glide",))
    for name, trim in zip(("slow", "fast"), glides, strict=True):
        if not isinstance(trim, Trim):
            return None
        up = -trim.elevator - real.mixing.reflex - real.corrections.reflex
        found |= {(name, "up trim"): trim_chord(real, PITCHES) * sin(up), (name, "sink"): trim.sink}
    drive = equilibrium(model, 1.0)
    found |= {
        ("bench", "current"): drive.pack_current,
        ("bench", "rpm"): drive.rotor,
        ("bench", "thrust"): drive.thrust,
    }
    return np.array([found[s.note, s.what] for s in problem.expectation.seen])
