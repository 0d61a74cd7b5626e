"""What a record's sidecar must hold, if it holds it: its shape, checked before it is used.

A sidecar may have been edited by hand, cut, or written by another version: keys that are not known
here are kept, those that are missing stay so, the description of the airframe is checked where it
is read back (`describe.restore`).
"""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic import Field as Key

from firstthrow.sim.describe.described import Paragraph, Words
from firstthrow.sim.describe.problems import dotted
from firstthrow.sim.describe.sheets import Role
from firstthrow.sim.flight.outcome import Ending
from firstthrow.sim.numerals import shown

Figure = Annotated[float, Key(allow_inf_nan=False, ge=-1e6, le=1e6)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="allow", strict=True)


class Limits(_Part):
    travel_deg: dict[Words, Figure] = {}
    roles: dict[Words, Literal[tuple(role.value for role in Role)]] = {}  # type: ignore[valid-type]
    rates_deg: dict[Literal["pitch", "roll", "yaw"], Figure] = {}
    reflex_deg: Figure = 0.0
    pack_A: Figure = 0.0
    controller_A: Figure = 0.0
    controller_limits: bool = False
    controller_bears_s: Figure = 0.0
    motor_A: dict[Words, Figure] = {}
    cutoff_V: Figure = 0.0
    supply_V: Figure = 0.0
    ground_height_m: Figure = 0.0


class Told(_Part):
    word: Literal[tuple(ending.value for ending in Ending)]  # type: ignore[valid-type]
    text: Paragraph


class Sidecar(_Part):
    created: Words = ""
    physics: Words = ""
    airframe: Words = ""
    fingerprint: Words = ""
    airframe_si: dict[str, Any] = {}
    motors: list[Words] = []
    surfaces: list[Words] = []
    limits: Limits = Limits()
    overrides: list[str] = []
    seed: Annotated[int, Key(ge=0, lt=1 << 32)] = 0
    field: Words = ""
    field_si: dict[str, Any] = {}
    launch: Literal["hand", "ground", ""] = ""
    pilot: Words = ""
    fault: Words = ""
    airframe_file: Paragraph = ""
    field_file: Paragraph = ""
    rows: Annotated[int, Key(ge=0)] = 0
    outcome: Told | None = None


def read_sidecar(text: str) -> dict[str, Any]:
    """The sidecar's tables. Raises ValueError with a sentence for what is none."""
    try:
        tree = json.loads(text, parse_constant=_no_figure)
    except RecursionError:
        raise ValueError("nested too deep") from None
    try:
        Sidecar.model_validate(tree)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = dotted(first["loc"]) or "the file"
        said = first["msg"].removeprefix("Input should be ").removeprefix("wanted ")
        wanted = said.replace("'", "")
        raise ValueError(f"{where}: {shown(first['input'])}: wanted {wanted}") from None
    return tree


def _no_figure(name: str) -> float:
    raise ValueError(f"{name} is no figure")
