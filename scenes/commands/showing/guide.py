"""`firstthrow guide`: from foam board to first throw, written by running the program."""

from __future__ import annotations

import argparse
from functools import partial

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.film import picture_size
from firstthrow.scenes.commands.shared import DONE, FAILED, say, say_when_compiling


def add(commands, main) -> None:
    """Adds the command's words to the command line; `main` runs what the guide shows."""
    guide = commands.add_parser(
        "guide",
        help="from foam board to first throw, in pictures",
        description="Write the guide as one HTML page: cautions, from foam board to first throw "
        "in pictures, the physics in two pages, a script for teachers. Every command in it is run "
        "and every picture drawn as it is written.",
    )
    guide.set_defaults(command=partial(run, main))
    guide.add_argument("--out", metavar="FILE", help="the page, HTML (firstthrow-guide.html here)")
    output.add_force(guide)
    guide.add_argument(
        "--size",
        metavar="WxH",
        type=picture_size,
        default=(640, 360),
        help="of the scene's pictures, pixels (640x360)",
    )


def run(main, chosen: argparse.Namespace) -> int:
    """Writes the page."""
    from firstthrow.sim.describe.config import ConfigError

    out = chosen.out or "firstthrow-guide.html"
    wrong = output.problems("--out", out, (".html",), chosen.force)
    if wrong:
        raise ConfigError(wrong)
    say_when_compiling()
    say("Writing the guide: it flies, films and weighs what it shows...")
    from firstthrow.scenes.guide.guide import guide
    from firstthrow.scenes.guide.shown import NotShown

    try:
        text = guide(main, "{}x{}".format(*chosen.size))
    except NotShown as error:
        say(str(error))
        return FAILED
    output.make_room(out)
    with output.opened(out, chosen.force) as file:
        file.write(text)
    print(out)
    return DONE
