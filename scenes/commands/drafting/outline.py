"""The outline of `firstthrow new --outline`: how a drawing is read, and a picture of it."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from firstthrow.scenes.commands import output

if TYPE_CHECKING:
    from firstthrow.scenes.commands.drafting.asking import Asker
    from firstthrow.sim.describe.airframe import Airframe
    from firstthrow.sim.describe.drawing.outline import Outline

NEEDS_OUTLINE = ("unit", "span", "forward", "drawn", "hinge", "tolerance")


def add_options(command: argparse.ArgumentParser) -> None:
    option = command.add_argument
    option("--outline", metavar="FILE", help="of the sheet, from a drawing: DXF or SVG")
    option("--outline-unit", metavar="UNIT", help="of the drawing, where it does not say: mm, in")
    option("--outline-span", metavar="LENGTH", help="tip to tip as measured: scales the drawing")
    option(
        "--outline-forward",
        choices=("up", "down", "left", "right"),
        help="where the nose points on the page (up)",
    )
    option(
        "--outline-drawn",
        choices=("whole", "right", "left"),
        help="what is drawn (whole if both sides are alike, else the right half)",
    )
    option(
        "--outline-hinge",
        metavar="MARK",
        help="layer, name or colour of the hinge lines (hinge)",
    )
    option("--outline-tolerance", metavar="LENGTH", help='of arcs and splines ("0.2 mm")')
    command.set_defaults(outline_is_right=None)


def read(chosen: argparse.Namespace) -> Outline | None:
    """The outline that was asked for, None for none. Raises ConfigError."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.describe.drawing import outline
    from firstthrow.sim.describe.drawing.strokes import DrawingError
    from firstthrow.sim.units import LENGTH, from_mm, read

    extra = [key for key in NEEDS_OUTLINE if getattr(chosen, f"outline_{key}")]
    if not chosen.outline:
        if extra:
            raise ConfigError([f"--outline-{extra[0]}: goes with --outline FILE"])
        return None
    if chosen.sheet:
        raise ConfigError(["--sheet: not with --outline, whose size it is"])
    try:
        unit = chosen.outline_unit and read(f"1 {chosen.outline_unit}", LENGTH)
        span = chosen.outline_span and read(chosen.outline_span, LENGTH)
        tolerance = read(chosen.outline_tolerance or "0.2 mm", LENGTH)
        if tolerance < from_mm(0.01):
            raise ValueError("--outline-tolerance: wanted 0.01 mm or more")
        return outline.read(
            Path(chosen.outline),
            unit or None,
            span or None,
            chosen.outline_forward or "up",
            chosen.outline_drawn,
            chosen.outline_hinge or "hinge",
            tolerance,
        )
    except (DrawingError, ValueError) as error:
        raise ConfigError([f"--outline {error}"]) from error


def shown(ask: Asker, airframe: Airframe, drawn: Outline, path: Path, force: bool) -> None:
    """Draws what was read beside the airframe's file, and asks; after "no" the picture goes.

    Raises ConfigError after "no", and where there is such a picture."""
    from firstthrow.sim.describe.config import ConfigError
    from firstthrow.sim.describe.drawing.outline import told

    picture = path.with_name(f"{path.stem}-outline.png")
    if taken := output.taken(picture, force):
        raise ConfigError(taken)
    _draw(airframe, drawn, picture)
    question = f"{told(drawn)} (drawn in {picture}): is that right?"
    if not ask.answer("outline_is_right", question, "yes", _yes_or_no):
        picture.unlink()
        raise ConfigError(
            [
                "Nothing was written; --outline-forward, --outline-drawn, --outline-unit and "
                "--outline-hinge say how to read a drawing"
            ]
        )


def _yes_or_no(text: str) -> bool:
    if text.lower() not in ("yes", "y", "no", "n"):
        raise ValueError(f"'{text}': wanted yes or no")
    return text.lower().startswith("y")


def _draw(airframe: Airframe, drawn: Outline, picture: Path) -> None:
    """The sheets as they were read, and the same in words, on one page."""
    from firstthrow.sim.describe.drawing.outline import told
    from firstthrow.sim.paper.airframe_drawing import Plan, extent, from_above
    from firstthrow.sim.paper.page import HEIGHT, WIDTH, Page, Words
    from firstthrow.sim.paper.printing import write

    space = extent(airframe)
    scale = min(0.45 * WIDTH / space.tip, 0.8 * HEIGHT / space.length)
    middle = 0.5 * HEIGHT + 0.5 * scale * (space.front + space.rear)
    words = Words(0.5 * WIDTH, 8.0, told(drawn), 3.0, False, "center")
    parts = from_above(airframe, Plan(0.5 * WIDTH, middle, scale, 0.3))
    write(Page((*parts, words)), picture)
