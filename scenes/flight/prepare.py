"""What the process beside a first window does: compiles for a throw, then for simulated hands."""

from __future__ import annotations

import contextlib
from multiprocessing.connection import Connection

from firstthrow.scenes.flight.rehearsal import Rehearsal

READY, COMPLETE = "ready", "complete"  # for a throw; for all that the flight may ask


def prepare(pipe: Connection, airframe, field, launch: str | None) -> None:
    """Tells of both as they are done, and ends early where the window is gone by then."""
    from firstthrow.sim.flight.simulated_hands import Human

    with contextlib.suppress(ConnectionError):
        rehearsal = Rehearsal(airframe, field, launch=launch)
        pipe.send(READY)
        Human(airframe, field, launch=launch, model=rehearsal.model)(rehearsal.reading)
        pipe.send(COMPLETE)
    pipe.close()
