"""`firstthrow sweep`: any config value against any result, as a table, CSV, JSON and plot."""

from __future__ import annotations

import argparse
import json
import sys
from typing import TYPE_CHECKING

from firstthrow.scenes.commands import output
from firstthrow.scenes.commands.shared import DONE, FAILED, add_airframe, say

if TYPE_CHECKING:
    from firstthrow.sim.describe.builder_units import Units


def add(commands) -> None:
    """Adds the command's words to the command line."""
    sweep = commands.add_parser(
        "sweep",
        help="any value of the airframe against any result",
        description="Change values of an airframe over a range and see what comes of it. Trims "
        "and modes are those of the glide at 1.3 times the stall speed; limits of the centre of "
        "gravity are those of weigh, with its launches, and take seconds a point; the steady ones "
        "are those of steady flight alone.",
    )
    sweep.set_defaults(command=run)
    add_airframe(sweep)
    sweep.add_argument(
        "--vary",
        metavar="KEY=LOW..HIGH",
        action="append",
        required=True,
        help="such as items.pack.aft=60..140mm:9 (nine points), or KEY=ONE,OTHER; may be repeated",
    )
    sweep.add_argument(
        "--result",
        metavar="NAME",
        nargs="+",
        action="extend",
        help="what to work out, such as static_margin_percent or launch_outcome",
    )
    sweep.add_argument("--csv", metavar="FILE", help="write the table there as well")
    sweep.add_argument("--plot", metavar="FILE", help="draw it: PNG, PDF or SVG")
    output.add_force(sweep)


def run(chosen: argparse.Namespace) -> int:
    """Prints the rows; 0 when any point has a result, 1 when none has."""
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe
    from firstthrow.sim.study.sweep import RESULTS, USUAL, Swept, points, sweep, vary

    problems, varied = [], []
    for text in chosen.vary:
        try:
            varied.append(vary(text))
        except ValueError as error:
            problems.append(f"--vary {error}")
    results = tuple(dict.fromkeys(chosen.result or USUAL))
    problems += _unknown(results, RESULTS)
    if not problems:
        try:
            points(varied)
        except ValueError as error:
            problems.append(f"--vary: {error}")
    problems += _plot_problems(chosen, varied)
    problems += output.problems("--csv", chosen.csv, output.TABLES, chosen.force)
    if problems:
        raise ConfigError(problems)
    path = find("airframes", chosen.airframe)
    airframe = load_airframe(path, chosen.set)
    _check_keys(path, chosen.set, varied)
    rows = _rows(sweep(path, varied, results, chosen.set), len(points(varied)))
    found = Swept(airframe.name, tuple(varied), results, tuple(rows))
    _write(chosen, found, airframe.units)
    print(
        json.dumps(found.as_json(), indent=1)
        if chosen.json
        else "\n".join(_lines(found, airframe.units))
    )
    return DONE if found.has_any else FAILED


def _unknown(results, known) -> list[str]:
    from firstthrow.sim.describe.problems import did_you_mean

    return [
        f"--result {name}: no such result; {did_you_mean(name, sorted(known))}"
        for name in results
        if name not in known
    ]


def _plot_problems(chosen, varied) -> list[str]:
    if not chosen.plot:
        return []
    named = output.problems("--plot", chosen.plot, output.DRAWINGS, chosen.force)
    if named:
        return named
    from firstthrow.sim.paper.plots.sweep import problem

    wrong = problem(varied)
    return [f"--plot: {wrong}"] if wrong else []


def _check_keys(path, overrides, varied) -> None:
    """A key or unit that is wrong in every point of a range, and any value that was typed and
    cannot be, is wrong input: said once, before the work."""
    from firstthrow.sim.describe.config import ConfigError, load_airframe

    keys = [one.key for one in varied]
    problems = [f"--vary {key}: given twice" for key in dict.fromkeys(keys) if keys.count(key) > 1]
    for one in varied:
        typed = one.numbers is None
        tried = []
        values = dict.fromkeys(one.values if typed else (one.values[0], one.values[-1]))
        for value in values:
            try:
                load_airframe(path, [*overrides, f"{one.key}={value}"])
            except ConfigError as error:
                tried += error.problems[:1]
        wrong = [problem for problem in tried if problem.startswith(f"--set {one.key}:")]
        told = wrong if typed and wrong else tried[:1] if len(tried) == len(values) else []
        problems += [problem.replace("--set", "--vary", 1) for problem in told]
    if problems:
        raise ConfigError(problems)


def _rows(coming, total: int) -> list:
    from tqdm import tqdm

    rows = [None] * total
    with tqdm(
        total=total, unit="point", file=sys.stderr, ascii=True, leave=False, disable=None
    ) as bar:
        for at, row in coming:
            rows[at] = row
            bar.update()
    return rows


def _write(chosen, found, u: Units) -> None:
    from firstthrow.sim.study.sweep import write_csv

    output.make_room(chosen.plot)
    if chosen.csv:
        with output.opened(chosen.csv, chosen.force) as file:
            write_csv(file, found.varied, found.results, found.rows)
        say(f"Table: {chosen.csv}")
    if chosen.plot:
        from firstthrow.sim.paper.plots.sweep import write

        write(found.airframe, found.varied, found.results, found.rows, chosen.plot, u)
        say(f"Plot: {chosen.plot}")


def _lines(found, u: Units) -> list[str]:
    from firstthrow.sim.study.sweep import result_scale, result_words

    heads = [*(one.words for one in found.varied), *(result_words(r, u) for r in found.results)]
    factors = {name: result_scale(name, u).factor for name in found.results}
    cells = [
        [*row.values, *(_cell(row.results[name], by) for name, by in factors.items())]
        for row in found.rows
    ]
    widths = [max(len(c[k]) for c in [heads, *cells]) for k in range(len(heads))]
    lines = [
        found.airframe,
        "  " + "  ".join(h.rjust(w) for h, w in zip(heads, widths, strict=True)),
    ]
    for row, texts in zip(found.rows, cells, strict=True):
        line = "  " + "  ".join(t.rjust(w) for t, w in zip(texts, widths, strict=True))
        lines.append(f"{line}  {row.problem}".rstrip())
    return lines


def _cell(value, factor: float) -> str:
    if value is None:
        return "-"
    return f"{factor * value:.4g}" if isinstance(value, float) else str(value)
