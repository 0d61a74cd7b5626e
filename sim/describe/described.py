"""What every description is: frozen, with no keys but its own; some are placed on the airframe."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict
from pydantic import Field as Key

from firstthrow.sim.describe.materials import MATERIALS
from firstthrow.sim.describe.quantities import (
    Length,
)

Name = str


Material = Annotated[str, Key(examples=sorted(MATERIALS))]


Coefficient = Annotated[float, Key(ge=0.0, le=2.0, strict=True)]  # a bare number


class Described(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Placed(Described):
    aft: Length = Key(0.0, description="behind the datum, towards the tail", examples=["120 mm"])
    right: Length = Key(0.0, description="of the centreline", examples=["110 mm"])
    up: Length = Key(0.0, description="from the datum", examples=["7 mm"])
