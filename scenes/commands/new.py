"""`firstthrow new`: a first airframe file, from questions or from a known one at another size."""

from __future__ import annotations

import argparse
import json
import re
from collections.abc import Callable
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.drafting import outline
from firstthrow.scenes.commands.drafting.asking import Asker
from firstthrow.scenes.commands.drafting.sizes import Size, offered, sheet
from firstthrow.scenes.commands.shared import DONE, NO_GO, at_work

if TYPE_CHECKING:  # the physics is set up only when it is asked for
    from firstthrow.sim.describe.builder_units import Units
    from firstthrow.sim.study.fit_out import Draft

BASE = "pantry"  # whose layout a new slab takes


def add(commands) -> None:
    """Adds the command's words to the command line."""
    new = commands.add_parser(
        "new",
        help="a first airframe file of your own",
        description="Write a commented airframe file that flies: from a few questions (options "
        "answer them beforehand), or with --from a known airframe at another sheet size.",
    )
    new.set_defaults(command=run)
    option = new.add_argument
    option("name", nargs="?", metavar="NAME", help="of the airframe and its file (my-slab)")
    option("--out", metavar="FILE.toml", help="the file (NAME.toml here)")
    output.add_force(new)
    option("--from", dest="base", metavar="AIRFRAME", help="start from this one")
    option("--scale", metavar="FACTOR", help="of its size, such as 1.5")
    option("--sheet", metavar="SPANxCHORD", help="such as 1200x600 (mm) or 48 in x 24 in")
    outline.add_options(new)
    option("--thickness", metavar="LENGTH", help='of the sheet, "6 mm"')
    option("--material", metavar="NAME", help='of the sheet, "foam board"')
    option("--bow", metavar="LENGTH", help='of the board, hollow side up, "1 mm"')
    option("--twist", metavar="ANGLE", help='of the right tip against the left, nose up, "1 deg"')
    option("--kv", metavar="SPEED", help='of the motor, "900kv"')
    option("--motor-mass", metavar="MASS", help='"60 g"')
    option("--propeller", metavar="SIZE", help='"9x5 in"')
    option("--cells", metavar="N", help="of the pack, in series: 3 or 3S")
    option("--capacity", metavar="CHARGE", help='of the pack, "1300 mAh"')
    option("--nose", metavar="LENGTH", help='propeller ahead of the leading edge, "90 mm"')
    option("--defaults", action="store_true", help="ask nothing, take what the options leave open")
    option("--json", action="store_true", help="print what came out as JSON, in SI")


def run(chosen: argparse.Namespace) -> int:
    """Writes the file, tells what it will be like; 3 when the pre-flight says no-go."""
    if chosen.base:
        return _from_known(chosen)
    return _from_answers(chosen)


# key, question, unit kind, whether asked of a resized airframe as well
QUESTIONS = {
    "thickness": ("how thick is it?", "LENGTH"),
    "kv": ("the motor's speed per volt?", "SPEED_PER_VOLT"),
    "motor_mass": ("the motor's mass, with mount?", "MASS"),
    "capacity": ("the pack's capacity?", "CAPACITY"),
    "nose": ("how far is the propeller ahead of the leading edge?", "LENGTH"),
}


def _quantity(kind: str):
    from firstthrow.sim import units

    def read(text: str) -> float:
        value = units.read(text, getattr(units, kind))
        if value <= 0.0:
            raise ValueError(f"'{text}': must be more than 0")
        return value

    return read


def _signed(kind: str):
    from firstthrow.sim import units

    return lambda text: units.read(text, getattr(units, kind))


def _material(text: str) -> str:
    from firstthrow.sim.describe.materials import MATERIALS
    from firstthrow.sim.describe.problems import did_you_mean

    if text not in MATERIALS:
        raise ValueError(f"'{text}': no such material; {did_you_mean(text, list(MATERIALS))}")
    return text


def _sized(name: str, size: Size) -> str:
    """What the same at another size is called."""
    return f"{name}-{size.text}".replace(".", "_")


def _name(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]*", text):
        raise ValueError(f"'{text}': wanted letters, digits, - and _ only")
    return text


def _cells(text: str) -> int:
    from firstthrow.sim.describe.quantities import read_cells

    count = int(text) if text.isascii() and text.isdecimal() else read_cells(text)
    if not isinstance(count, int) or not 1 <= count <= 14:
        raise ValueError(f"'{text}': wanted a whole number from 1 to 14")
    return count


def _factor(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 0.2 <= value <= 5.0:
        raise ValueError(f"'{text}': wanted a number from 0.2 to 5")
    return value


def _path(chosen: argparse.Namespace, name: str) -> Path:
    """Where the file goes. Raises ConfigError when one is there already."""
    from firstthrow.sim.describe.config import ConfigError

    path = Path(chosen.out or f"{name}.toml")
    if path.suffix != ".toml":
        raise ConfigError([f"--out {path}: wanted a name that ends in .toml"])
    wrong = output.taken(path, chosen.force)
    if wrong:
        raise ConfigError(wrong)
    return path


def _from_answers(chosen: argparse.Namespace) -> int:
    from firstthrow.sim.build.cut_out import cut_out
    from firstthrow.sim.build.scaled import main_size
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe
    from firstthrow.sim.study import draft
    from firstthrow.sim.units import read_propeller

    if chosen.scale:
        raise ConfigError(["--scale: goes with --from AIRFRAME"])
    base = load_airframe(find("airframes", BASE))
    ask = Asker(chosen)
    name = ask.answer("name", "what is it called?", "my-slab", _name)
    _refuse(ask)
    path = _path(chosen, name)
    drawn = outline.read(chosen)
    if drawn is None:
        size = Size(*main_size(base), base.units).text
        given = ask.answer("sheet", "sheet, span x chord in mm?", size, sheet)
        span, chord, units = given
    else:
        span, chord, units = drawn.span, drawn.chord, base.units
    base = base.model_copy(update={"units": units})
    material = ask.answer("material", "of what?", "foam board", _material)
    thick = draft.suggested_thickness(base, span, chord, material)
    usual = offered("LENGTH", thick, units)
    thick = ask.answer("thickness", "how thick is it?", usual, _quantity("LENGTH"))
    bow = ask.answer(
        "bow",
        "how far is it bowed, hollow side up (gap under a straightedge fore and aft, - for "
        "hollow side down)?",
        "0 mm",
        _signed("LENGTH"),
    )
    turned = "how far is the right tip turned nose up against the left (two straight sticks)?"
    twist = ask.answer("twist", turned, "0 deg", _signed("ANGLE"))
    # What suits that size, to be offered.
    like = draft.drafted(base, draft.Answers(name, span, chord, thick, material))
    motor = next(iter(like.motors.values()))
    known = {
        "kv": motor.kv,
        "motor_mass": like.items["motor"].mass,
        "capacity": like.pack.capacity,
        "nose": -motor.aft,
    }
    given = {}
    for key, value in known.items():
        question, kind = QUESTIONS[key]
        given[key] = ask.answer(key, question, offered(kind, value, units), _quantity(kind))
    size = offered("PROPELLER", motor.propeller.size, units)
    propeller = ask.answer("propeller", "which propeller?", size, read_propeller)
    cells = ask.answer("cells", "how many cells has the pack?", str(like.pack.cells), _cells)
    said = draft.Answers(
        name,
        span,
        chord,
        thick,
        material,
        propeller=propeller,
        cells=cells,
        bow=bow,
        twist=twist,
        **given,
    )
    airframe = draft.drafted(base, said)
    if drawn is not None and not ask.problems:
        airframe = draft.as_written(cut_out(airframe, drawn))
        outline.shown(ask, airframe, drawn, path, chosen.force)
    ask.finish()
    _refuse(ask)
    return _finish(chosen, path, base, airframe, None, "")


def _refuse(ask: Asker) -> None:
    from firstthrow.sim.describe.config import ConfigError

    if ask.problems:
        raise ConfigError(ask.problems)


NOT_WITH_FROM = (
    "outline",
    "material",
    "bow",
    "twist",
    "kv",
    "motor_mass",
    "propeller",
    "cells",
    "capacity",
    "nose",
)


def _from_known(chosen: argparse.Namespace) -> int:
    from firstthrow.sim.build.scaled import main_size
    from firstthrow.sim.describe.config import find, load_airframe
    from firstthrow.sim.study import draft

    base = load_airframe(find("airframes", chosen.base))
    ask = Asker(chosen)
    ask.asks = False
    ask.problems += [
        f"--{key.replace('_', '-')}: goes without --from; change it in the file afterwards"
        for key in NOT_WITH_FROM
        if getattr(chosen, key) is not None
    ]
    if (chosen.scale is None) == (chosen.sheet is None):
        ask.problems.append("--from: say how large, either --scale 1.5 or --sheet 1200x600")
    span, chord = main_size(base)
    if chosen.sheet:
        size = Size(span, chord, base.units)
        span, chord, units = ask.answer("sheet", "", size.text, sheet)
        base = base.model_copy(update={"units": units})
    elif chosen.scale:
        by = ask.answer("scale", "", "1", _factor)
        span, chord = span * by, chord * by
    thick = None
    if chosen.thickness:
        thick = ask.answer("thickness", "", "6 mm", _quantity("LENGTH"))
    name = ask.answer("name", "", _sized(base.name, Size(span, chord, base.units)), _name)
    _refuse(ask)
    path = _path(chosen, name)
    by = draft.factors(base, span, chord, thick)
    u = base.units
    about = f"{base.name} built from {u.bare_length(span)} x {u.length(chord)}"
    return _finish(chosen, path, base, draft.resized(base, name, by, about, thick), by, base.name)


HEAD = """{about}.

Places are measured from the datum: aft towards the tail, right, and up from the middle of the
sheet. Every quantity is in quotes with its unit; mm or in, g or oz, as you like.

A first draft: masses without a value are computed from material and size, the others are
guesses. Weigh each part, write down its mass and known = "measured", and ask
firstthrow weigh, check and benchsheet again.

What a key is: firstthrow explain KEY. For an editor that completes and checks, write
firstthrow schema > airframe.json, and as the first line here #:schema airframe.json"""
TITLES = {
    "sheets": "The flat pieces. outline: a rectangle, or corners as (aft, out) round the edge.",
    "items": "Everything else that weighs: the mass and the place of its middle.",
    "motors": "Motor and propeller; the place is the middle of the propeller's disc.",
    "pack": "The pack.",
    "controller": """The motor's controller, and the supply of receiver and servos. Most pass what
the motor takes, and burn or cut out when that is over their rating for long: burst = "35 A" is
what it carries for 10 s; limits_current = true if it takes off throttle instead.""",
    "servos": "One kind of servo each; read these off its packet.",
    "mixing": "What is set in the transmitter: surface angles at full stick.",
    "wheels": "Where it meets the ground: `up` is the lowest point.",
    "skids": "Skids: `up` is where each meets the ground.",
    "launch": "How it leaves.",
}


def _finish(chosen, path: Path, base, airframe, by, known: str) -> int:
    """Strengthen, balance, set up, write, read again, fly; tell."""
    from firstthrow.sim.describe.write import toml
    from firstthrow.sim.study import fit_out
    from firstthrow.sim.study.verdict import Verdict

    with at_work(f"Fitting out {airframe.name}"):
        airframe, spar = fit_out.strengthened(airframe)
        balance = fit_out.trimmed(airframe)
        airframe = fit_out.set_up(balance.airframe, base)
    head = HEAD.format(about=airframe.about[:1].upper() + airframe.about[1:])
    with output.opened(path, chosen.force) as file:
        file.write(toml(airframe, head, TITLES))
    with at_work(f"Checking {airframe.name}"):
        answer = fit_out.judged(path, balance, spar, None if by is None else (base, by))
    told = json.dumps(answer.as_json(), indent=1) if chosen.json else ""
    print(told or "\n".join(_lines(answer, known, airframe.units)))
    return DONE if answer.verdict is Verdict.GO else NO_GO


def _shown(what: str, value: float | None, u: Units) -> str:
    if value is None:
        return "-"
    words: dict[str, Callable[[float], str]] = {
        "mass": u.mass,
        "wing loading": u.loading,
        "stall speed": u.speed,
        "servo torque": lambda torque: u.torque(torque, 2),
        "power": lambda watts: f"{watts:.0f} W",
    }
    return words[what](value)


def _lines(answer: Draft, known: str, u: Units) -> list[str]:
    lines = [f"{answer.file}: {answer.airframe}"]
    if answer.scaled is not None:
        lines.append(
            f"  {answer.size_factor:.3g} times the size of {known}, built anew; "
            "beside it what comes of the size alone (Froude's law of models)"
        )
        lines.append(f"    {'':<14}{'before':>12}{'after':>12}{'times':>8}   law")
        for row in answer.scaled:
            times = "-" if row.ratio is None else f"{row.ratio:.2f}"
            lines.append(
                f"    {row.what:<14}{_shown(row.what, row.before, u):>12}"
                f"{_shown(row.what, row.after, u):>12}{times:>8}   "
                f"size^{row.exponent:g} = {row.ratio_by_law:.2f}"
            )
        lines.append(
            "    mass grows with the cube, stall speed with the root of the size; torque "
            "and power in level flight"
        )
    else:
        for what, key in (
            ("mass", "mass_kg"),
            ("wing loading", "wing_loading_kg_m2"),
            ("stall speed", "stall_speed_m_s"),
            ("power", "level_power_W"),
        ):
            lines.append(f"  {what:<14} {_shown(what, getattr(answer.figures, key), u)}")
    lines.append(
        f"  balance        {answer.balance}: {answer.static_margin_percent:.1f} % static margin"
    )
    first, *rest = wrap(answer.sentence, 76)
    lines += [f"  verdict        {first}", *(f"{'':<17}{line}" for line in rest)]
    if answer.doubt:
        lines.append(f"  doubt          {answer.doubt}")
    if answer.spar:
        lines.append(f"  strength       {answer.spar}")
    lines.append(f"  steady pilot   {answer.outcome_text}")
    good = answer.flies and answer.verdict == "go"
    told = "weigh the parts, write them down" if good else "what would make it go"
    return [*lines, f"  next           {told}: firstthrow check {answer.file}"]
