"""Bodies to test the physics with: those of the checks, and the airframes that come along."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.proof.bodies import Motion as Motion
from firstthrow.sim.proof.bodies import lump as lump
from firstthrow.sim.proof.bodies import plate_airframe as plate_airframe
from firstthrow.sim.proof.bodies import plate_model as plate_model
from firstthrow.sim.proof.bodies import rectangle as rectangle
from firstthrow.sim.study.odds import survival
from firstthrow.sim.study.subject import Subject


@lru_cache
def shipped(name: str = "pantry", *overrides: str) -> Airframe:
    return load_airframe(find("airframes", name), overrides)


def copied(name: str, folder: Path) -> str:
    """A shipped airframe's file under another name: what is worked out of it is no other test's."""
    path = folder / f"own-{name}.toml"
    text = find("airframes", name).read_text(encoding="utf-8")
    path.write_text(text.replace(f'name = "{name}"', f'name = "own-{name}"'), encoding="utf-8")
    assert load_airframe(path) != shipped(name)
    return str(path)


def shortened(patch: pytest.MonkeyPatch) -> None:
    """Launches that decide on a verdict are watched for a second (see the fixture `brief`)."""
    patch.setattr(survival, "SECONDS", 1.0)
    patch.setattr(survival, "ROLLING", 0.5)


def called_otherwise(airframe: Airframe, sheet: str, old: str, new: str, **changes) -> Airframe:
    """The same with one surface under another name, and changed."""
    whole = airframe.sheets[sheet]
    surfaces = {
        new if name == old else name: one.model_copy(update=changes) if name == old else one
        for name, one in whole.surfaces.items()
    }
    renamed = whole.model_copy(update={"surfaces": surfaces})
    return airframe.model_copy(update={"sheets": {**airframe.sheets, sheet: renamed}})


@lru_cache
def meadow():
    return load_field(find("fields", "water-meadow"))


@lru_cache
def shipped_subject(name: str = "pantry", *overrides: str) -> Subject:
    return Subject(shipped(name, *overrides), meadow())


def shipped_model(name: str = "pantry", *overrides: str) -> Model:
    return shipped_subject(name, *overrides).model


@lru_cache
def still(name: str, overrides: tuple[str, ...] = ()) -> tuple[Airframe, Model]:
    """A shipped airframe and its model in standard air."""
    airframe = shipped(name, *overrides)
    return airframe, build(airframe, STANDARD)
