"""What was measured of the person's hands, day after day: one file in the user's own folder, which
nobody else may read, and which goes nowhere else."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import platformdirs
from pydantic import Field as Key
from pydantic import TypeAdapter, ValidationError

from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.replace import replace
from firstthrow.sim.study.hands.flights import InFlight, together
from firstthrow.sim.study.hands.measure import Measured

OWN = 0o600  # the person alone reads and writes it
MOST = 400  # entries of each kind that are kept
NEAR = timedelta(days=30)  # exercises and flights no further apart are of the same hands
DAYS = 8  # of the chart
NONE = "no hands have been measured: firstthrow fly, then the page of the exercises"


class Entry(Described):
    when: datetime
    airframe: str
    device: str  # keyboard or gamepad
    measured: Measured


class Flights(Described):
    """What free flights showed."""

    when: datetime
    airframe: str
    shown: InFlight


class Practised(Described):
    """One day's odds of these hands on an airframe in a field."""

    when: datetime
    airframe: str
    field: str = ""  # its name; none in files of before
    survived: int
    flown: int
    rung: int  # of the ladder that fits


class OwnHands(Described):
    entries: tuple[Entry, ...] = ()
    flights: tuple[Flights, ...] = ()
    practised: tuple[Practised, ...] = ()
    told: tuple[str, ...] = Key(())  # airframes of which it was said that they are sure enough

    @property
    def last(self) -> Entry | None:
        return self.entries[-1] if self.entries else None

    def days(self, airframe: str, field: str) -> list[Practised]:
        """The last of each day, of one airframe in one field."""
        of = [one for one in self.practised if (one.airframe, one.field) == (airframe, field)]
        by_day = {one.when.date(): one for one in of}
        return [by_day[day] for day in sorted(by_day)][-DAYS:]

    @property
    def in_flight(self) -> Flights | None:
        """What the flights measured last showed, unless the exercises are of another season."""
        flown = self.flights[-1] if self.flights else None
        if flown and self.last and abs(flown.when - self.last.when) > NEAR:
            return None
        return flown

    @property
    def measured(self) -> Measured | None:
        """The hands as they are flown: the last exercises, with what flights add."""
        if self.last is None:
            return None
        flown = self.in_flight
        return together(self.last.measured, flown.shown) if flown else self.last.measured

    def before(self, device: str) -> Entry | None:
        """The one before the last, with the same device."""
        found = [one for one in self.entries[:-1] if one.device == device]
        return found[-1] if found else None


def path() -> Path:
    """Where they are kept; it need not exist."""
    return platformdirs.user_data_path("firstthrow", appauthor=False) / "hands.json"


def kept() -> OwnHands:
    """None yet, where there is no file. Raises ConfigError for one that cannot be read."""
    if not path().exists():
        return OwnHands()
    try:
        return TypeAdapter(OwnHands).validate_json(path().read_bytes())
    except ValidationError as error:
        raise ConfigError(
            [
                f"{path()}: is no file of measured hands ({error.error_count()} values are wrong); "
                "firstthrow hands --forget takes it away"
            ]
        ) from None


def keep(own: OwnHands) -> Path:
    """Raises OSError."""
    place = path()
    place.parent.mkdir(parents=True, exist_ok=True)
    kinds = ("entries", "flights", "practised")
    told = own.model_copy(update={kind: getattr(own, kind)[-MOST:] for kind in kinds})
    replace(place, json.dumps(_plain(told), indent=1) + "\n", OWN)
    return place


def _plain(own: OwnHands) -> Any:
    return TypeAdapter(OwnHands).dump_python(own, mode="json")


def add(airframe: str, device: str, measured: Measured) -> OwnHands:
    """The measured hands of now with those before, kept. Raises OSError, ConfigError."""
    own = kept()
    now = datetime.now().astimezone()
    entry = Entry(when=now, airframe=airframe, device=device, measured=measured)
    own = own.model_copy(update={"entries": (*own.entries, entry)})
    keep(own)
    return own


def add_flights(airframe: str, shown: InFlight) -> OwnHands:
    """What flights showed now, kept beside the exercises. Raises OSError, ConfigError."""
    own = kept()
    told = Flights(when=datetime.now().astimezone(), airframe=airframe, shown=shown)
    own = own.model_copy(update={"flights": (*own.flights, told)})
    keep(own)
    return own


def forget() -> bool:
    """Deletes all of it; whether there was any. Raises OSError."""
    there = path().exists()
    path().unlink(missing_ok=True)
    return there


def mine() -> Measured:
    """As they are flown. Raises ConfigError where there are none."""
    measured = kept().measured
    if measured is None:
        raise ConfigError([f"--pilot mine: {NONE}"])
    return measured
