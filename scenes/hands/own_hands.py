"""What was measured of the person's hands, day after day: one file in the user's own folder, which
nobody else may read, and which goes nowhere else."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import platformdirs
from pydantic import Field as Key
from pydantic import TypeAdapter, ValidationError

from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.replace import replace
from firstthrow.sim.study.hands.measure import Measured

OWN = 0o600  # the person alone reads and writes it
MOST = 400  # entries of each kind that are kept
NONE = "no hands have been measured: firstthrow fly, then the page of the exercises"


class Entry(Described):
    when: datetime
    airframe: str
    device: str  # keyboard or gamepad
    measured: Measured


class Practised(Described):
    """One day's odds of these hands on an airframe."""

    when: datetime
    airframe: str
    survived: int
    flown: int
    rung: int  # of the ladder that fits


class OwnHands(Described):
    entries: tuple[Entry, ...] = ()
    practised: tuple[Practised, ...] = ()
    told: tuple[str, ...] = Key(())  # airframes of which it was said that they are sure enough

    @property
    def last(self) -> Entry | None:
        return self.entries[-1] if self.entries else None

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
        return TypeAdapter(OwnHands).validate_json(path().read_text(encoding="utf-8"))
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
    told = own.model_copy(
        update={"entries": own.entries[-MOST:], "practised": own.practised[-MOST:]}
    )
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


def forget() -> bool:
    """Deletes all of it; whether there was any. Raises OSError."""
    there = path().exists()
    path().unlink(missing_ok=True)
    return there


def mine() -> Entry:
    """The last. Raises ConfigError where there is none."""
    last = kept().last
    if last is None:
        raise ConfigError([f"--pilot mine: {NONE}"])
    return last
