"""The whole guide as one HTML page, written by running everything that it shows."""

from __future__ import annotations

import contextlib
import tempfile
from pathlib import Path

from firstthrow.scenes.guide.first_throw import first_throw
from firstthrow.scenes.guide.physics import physics
from firstthrow.scenes.guide.shown import Main
from firstthrow.scenes.guide.teaching import teaching
from firstthrow.sim.paper.html import document, heading, listed, paragraph

TITLE = "From foam board to first throw"
CAUTIONS = (
    "A propeller cuts. Take it off for every test on the bench; in the field keep hands, sleeves "
    "and other people out of its plane, and nobody ahead of it. Arm last, disarm first.",
    "Lithium packs burn. Charge them attended and balanced, on a surface that cannot catch fire; "
    "never a puffed or damaged one. Let them cool before charging.",
    "Fly away from people, roads and animals, with the wind in your face and the sun behind you. "
    "Set and test the fail-safe; check the range and every direction before every flight.",
    "Your country and your field have rules. Read them, and keep them.",
    "Let an experienced club instructor look the model over, and hold the transmitter on its "
    "first flight if you can. This is a rehearsal: a calculation about a model that is not quite "
    "the one you wrote down.",
)


def guide(main: Main, size: str) -> str:
    """The page. `main` is the command line, whose commands are shown; `size` of pictures, WxH.

    Works in a folder of its own, which is gone afterwards. Raises NotShown when a command fails.
    """
    parts = [
        paragraph(
            "An evening's reading, written by the program on this machine just now: every command "
            "below was run, every number, drawing and picture is its own.",
            "lead",
        ),
        heading("Before anything else"),
        listed(CAUTIONS).replace("<ul>", '<ul class="caution">'),
        heading("From board to throw"),
    ]
    with tempfile.TemporaryDirectory() as name, contextlib.chdir(name):
        parts += first_throw(main, Path(name), size)
    parts += [*physics(), *teaching()]
    return document(TITLE, parts)
