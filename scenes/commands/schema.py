"""`firstthrow schema`: JSON Schema of the config files, for editors that complete and check."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from firstthrow.scenes.commands.shared import DONE

if TYPE_CHECKING:
    from pydantic import BaseModel

KINDS = ("airframe", "field", "hands", "scatter", "notes")


def add(commands) -> None:
    """Adds the command's words to the command line."""
    schema = commands.add_parser(
        "schema",
        help="JSON Schema of the config files, for editors",
        description="Print the JSON Schema of a kind of config file. Editors find it by a first "
        "line such as #:schema ../schema/airframe.json in the file.",
    )
    schema.set_defaults(command=run)
    schema.add_argument(
        "kind",
        nargs="?",
        default="airframe",
        choices=KINDS,
        metavar="KIND",
        help=f"{', '.join(KINDS)} (airframe)",
    )


def run(chosen: argparse.Namespace) -> int:
    """Prints the schema."""
    print(schema_text(chosen.kind), end="")
    return DONE


def schema_text(kind: str) -> str:
    """The schema of a kind of file, as it is shipped in configs/schema."""
    from firstthrow.sim.describe.json_schema import text

    return text(models()[kind], f"firstthrow {kind}")


def models() -> dict[str, type[BaseModel]]:
    """What describes each kind of file."""
    from firstthrow.scenes.hands.hands import Hands
    from firstthrow.sim.describe.airframe import Airframe
    from firstthrow.sim.describe.field import Field
    from firstthrow.sim.describe.notes import Notes
    from firstthrow.sim.study.odds.scatter import Scatter

    return dict(zip(KINDS, (Airframe, Field, Hands, Scatter, Notes), strict=True))
