"""What every description is: frozen, with no keys but its own; some are placed on the airframe."""

from __future__ import annotations

import unicodedata
from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict
from pydantic import Field as Key
from pydantic_core import PydanticCustomError

from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.quantities import (
    Length,
)

LONGEST = 200  # characters of a name


def _plain(text: str) -> str:
    """Refuses what a terminal or a page would take for more than words."""
    if any(unicodedata.category(sign) in _HIDDEN for sign in text):
        raise PydanticCustomError("words", "wanted words without control characters")
    return text


def _plain_lines(text: str) -> str:
    _plain(text.replace("\n", " ").replace("\t", " "))
    return text


_HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}  # controls, formats, lone surrogates, line separators
Words = Annotated[str, Key(max_length=LONGEST), AfterValidator(_plain)]
Paragraph = Annotated[str, Key(max_length=5000), AfterValidator(_plain_lines)]
Name = Words


Material = Annotated[str, Key(examples=sorted(MATERIALS))]


Coefficient = Annotated[float, Key(ge=0.0, le=2.0, strict=True)]  # a bare number


class Described(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Placed(Described):
    aft: Length = Key(0.0, description="behind the datum, towards the tail", examples=["120 mm"])
    right: Length = Key(0.0, description="of the centreline", examples=["110 mm"])
    up: Length = Key(0.0, description="from the datum", examples=["7 mm"])
