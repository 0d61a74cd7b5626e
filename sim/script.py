"""What a script or a lesson needs, under the names that `firstthrow.sim` itself hands out.

Read an airframe, change it, ask for its balance, and fly it:

>>> from firstthrow.sim import Sticks, airframe, check, field, fly, weigh
>>> slab = airframe("pantry")
>>> further_back = airframe("pantry", **{"items.pack.aft": "65 mm"})
>>> for each in (slab, further_back):
...     found = weigh(each)
...     print(f"CG {1000 * found.cg_m[0]:.0f} mm aft: {found.verdict}")
CG 47 mm aft: ok
CG 72 mm aft: too-far-aft
>>> check(slab).verdict.value
'go'
>>> flight = fly(slab, field("water-meadow-breeze"), seconds=5.0, seed=3)
>>> print(flight.outcome.text)
Still flying after 5 s.
>>> flight.height_m.shape
(300,)
>>> def asleep(reading):
...     return Sticks(throttle=0.6 if reading.time_s < 1.0 else 0.0)
>>> print(fly(slab, pilot=asleep).outcome.word)
propeller-strike

All numbers are SI but for angles, which are in degrees where the name says so; a name that
carries a number ends in its unit. Places are aft, right and up from the builder's datum.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError, find, load_airframe, load_field
from firstthrow.sim.describe.field import STANDARD, Field
from firstthrow.sim.flight.flown import Flown, flown
from firstthrow.sim.flight.named_pilot import named
from firstthrow.sim.flight.pilot import Pilot
from firstthrow.sim.flight.record import Rows, flight_meta, sidecar
from firstthrow.sim.flight.stick_timeline import TimelineError

if TYPE_CHECKING:
    from firstthrow.sim.study.check import Preflight
    from firstthrow.sim.study.power import Power
    from firstthrow.sim.study.trim import TrimStudy
    from firstthrow.sim.study.weigh import Weighing

__all__ = [
    "ConfigError",
    "Flown",
    "Sticks",
    "TimelineError",
    "airframe",
    "check",
    "field",
    "fly",
    "power",
    "trim",
    "weigh",
]


def airframe(name: str | Path, /, **changes: object) -> Airframe:
    """The checked airframe of a file, or of one that comes with the program ("pantry").

    `changes`: dotted keys of the file and their new values as the file would have them, such as
    `**{"items.pack.aft": "95 mm"}`. The description is frozen, in SI. Raises ConfigError, whose
    `problems` hold one line for everything that is wrong with the file or the changes.
    """
    return load_airframe(find("airframes", str(name)), _overrides(changes))


def field(name: str | Path, /, **changes: object) -> Field:
    """The checked field (place, air, wind, ground) of a file, or of one that comes along
    ("water-meadow"). `changes` and ConfigError as with `airframe`."""
    return load_field(find("fields", str(name)), _overrides(changes))


def _overrides(changes: dict[str, object]) -> list[str]:
    return [
        f"{key}={value if isinstance(value, str) else json.dumps(value)}"
        for key, value in changes.items()
    ]


def weigh(airframe: Airframe, field: Field | None = None) -> Weighing:
    """Mass [kg], centre of gravity (3,) [m], its limits, neutral point [m], stall speed [m/s],
    inertia (3, 3) [kg m2], strength. Without a field: standard air, no wind. Raises ValueError
    when the airframe weighs nothing or has more sheets than can fly."""
    from firstthrow.sim.study.subject import Subject
    from firstthrow.sim.study.weigh import weigh

    return weigh(Subject(airframe, field or STANDARD))


def trim(airframe: Airframe, field: Field | None = None) -> TrimStudy:
    """Level flight, glides and climbs at all speeds [m/s] with elevator [deg] and throttle
    (0 to 1), stall, best glide, modes. Field and ValueError as with `weigh`."""
    from firstthrow.sim.study.subject import Subject
    from firstthrow.sim.study.trim import trim_study

    return trim_study(Subject(airframe, field or STANDARD))


def power(airframe: Airframe, field: Field | None = None) -> Power:
    """Thrust [N], currents [A] and voltages [V] standing still and in flight, level flight, run
    times [s], margins to the ratings. Field as with `weigh`; ValueError as there, and when the
    airframe has no motor."""
    from firstthrow.sim.study.power import study
    from firstthrow.sim.study.subject import Subject

    if not airframe.motors:
        raise ValueError(f"{airframe.name} has no motor")
    return study(Subject(airframe, field or STANDARD))


def check(airframe: Airframe, field: Field | None = None) -> Preflight:
    """The whole pre-flight: go or no-go with reasons for balance, strength, power, surfaces and
    launch, and what to do next. Field and ValueError as with `weigh`."""
    from firstthrow.sim.study.advice.search import advised
    from firstthrow.sim.study.subject import Subject

    return advised(Subject(airframe, field or STANDARD))


def fly(
    airframe: Airframe,
    field: Field | None = None,
    pilot: str | Path | Pilot = "steady",
    seconds: float = 120.0,
    seed: int = 0,
    launch: str | None = None,
) -> Flown:
    """A flight without a window, as fast as it computes, over after `seconds` at the latest.

    pilot: "steady", "hands-off", "human" ("human:beginner", "human:expert"), a stick timeline in
    CSV, or any callable from a reading (the columns' names as attributes) to `Sticks`, asked
    60 times a second from half a second before the throw on.
    launch: "hand" or "ground"; without it the airframe's own. seed: of gusts and human hands.

    Every column of the record is an attribute of the answer, an array (n,) from the release on,
    the unit in its name: `flight.time_s`, `flight.height_m`; `flight.outcome` says how it ended.
    Without a field: standard air, no wind. Raises ValueError for a pilot nobody knows, a launch the
    airframe does not have, and as `weigh` does; TimelineError for a file that is no timeline.
    """
    from firstthrow.sim.flight import flight

    if launch not in (None, "hand", "ground"):
        raise ValueError(f"launch {launch!r}: wanted 'hand' or 'ground'")
    where, rows = field or STANDARD, Rows()
    flies = pilot if callable(pilot) else named(str(pilot), airframe, where, launch, seed)
    ended = flight.fly(airframe, where, flies, seconds, launch, seed, rows)
    who = "script" if callable(pilot) else str(pilot)
    about = flight_meta(where, seed=seed, launch=ended.launch, pilot=who)
    meta = sidecar(airframe, about, ended.outcome)
    return flown(rows.record(ended.columns, meta))
