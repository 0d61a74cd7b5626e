"""The proof as one HTML page: misses first, then every subject with its plots and values."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import cycle
from typing import TYPE_CHECKING

from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.paper.html import document, drawing, heading, paragraph, table
from firstthrow.sim.paper.plots.debrief import BLUE, GREEN, INK, ORANGE, PURPLE, RED, STYLE
from firstthrow.sim.proof.check import Check, Curve, Proved
from firstthrow.sim.proof.report import gap, number, summary, sureness, used
from firstthrow.sim.proof.run import SUBJECTS, curves

if TYPE_CHECKING:
    from matplotlib.figure import Figure

TITLE = "What the program computes, held against what others found"
COLOURS = (BLUE, RED, GREEN, PURPLE, ORANGE)
MARKS = ("o", "s", "^", "D", "v")


def page(proved: Sequence[Proved]) -> str:
    """The whole page, plots inline."""
    parts = [
        paragraph(summary(proved), "lead"),
        paragraph(
            "All values on this page were worked out by the installed program as the page was "
            "written. Beside each stands the value from outside, where it is from, and how sure "
            "that is. What is wanted of each gap was set beforehand; a value further off is a "
            "miss, and stands first."
        ),
    ]
    missed = [one for one in proved if one.misses]
    if missed:
        parts += [heading("Missed"), _misses(missed)]
    parts += [heading("How sure the values from outside are"), _sureness(proved)]
    for subject, module in SUBJECTS.items():
        about = (module.__doc__ or "").split("\n\n")[0].replace("\n", " ")
        of_it = [one for one in proved if one.subject == subject]
        parts += [heading(subject), paragraph(about)]
        parts += [plot(curve, [one.check for one in of_it]) for curve in curves(subject)]
        parts.append(_values(subject, of_it))
    return document(TITLE, parts)


def _misses(missed: Sequence[Proved]) -> str:
    rows = [
        (
            one.check.quantity,
            one.check.place(one.worst),
            number(one.check.outside[one.worst]),
            number(one.ours[one.worst]),
            gap(one, one.worst),
            one.check.missed or "Not as it should be: something is broken.",
        )
        for one in missed
    ]
    head = ("quantity", "worst at", "outside", "ours", "gap", "why")
    return table("Further off than wanted, the furthest first", head, rows, (2, 3, 4))


def _sureness(proved: Sequence[Proved]) -> str:
    rows = [(words, str(count)) for words, count in sureness(proved)]
    return table("Checks by how sure their values are", ("how sure", "checks"), rows, (1,))


def _values(subject: str, proved: Sequence[Proved]) -> str:
    """Every value; beside those of a check, what it is and its source."""
    rows: list[tuple[str | None, ...]] = []
    kinds = []
    for one in proved:
        for n in range(len(one.ours)):
            rows.append(
                (
                    _what(one) if n == 0 else None,
                    _at(one.check, n),
                    number(one.check.outside[n]),
                    number(one.ours[n]),
                    gap(one, n),
                    used(one, n),
                )
            )
            kinds.append("miss" if abs(one.gaps[n]) > 1.0 else "")
    head = ("quantity; name, source, how sure", "at", "outside", "ours", "gap", "of allowed")
    return table(f"{subject}: every value", head, rows, (2, 3, 4, 5), kinds)


def _what(one: Proved) -> str:
    """The cell of a check, as high as it has values."""
    check = one.check
    by = f", by {check.of.partition(' [')[0]}" if check.of else ""
    told = f"{check.name}: {check.source}; {check.sure.value}"
    return (
        f'<th scope="rowgroup" rowspan="{len(one.ours)}">{escape(check.quantity + by)}'
        f"<br><small>{escape(told)}</small></th>"
    )


def _at(check: Check, n: int) -> str:
    """The condition of a value, without the words that stand beside it already."""
    if not check.at or isinstance(check.at[n], str):
        return check.place(n)
    return f"{check.at[n]:g} {check.of.partition(' [')[2].removesuffix(']')}".strip()


def plot(curve: Curve, checks: Sequence[Check]) -> str:
    """Points from outside, the program's lines."""
    with plt.rc_context(STYLE):
        figure = _figure(curve, checks)
        words = f"{curve.title}: {curve.y} over {curve.x}; points from outside, lines our own."
        return drawing(figure, words, side=True)


def _figure(curve: Curve, checks: Sequence[Check]) -> Figure:
    figure, ax = plt.subplots(figsize=(5.2, 3.6))
    figure.subplots_adjust(left=0.14, right=0.97, bottom=0.13, top=0.88)
    colours = dict(zip((line.name for line in curve.lines()), cycle(COLOURS), strict=False))
    for line in curve.lines():
        ax.plot(line.x, line.y, color=colours[line.name], label=line.name)
    if curve.marks:
        for n, line in enumerate(curve.marks()):
            colour = colours.get(line.name, COLOURS[n % len(COLOURS)])
            label = None if line.name in colours else line.name
            ax.plot(line.x, line.y, MARKS[n % len(MARKS)], color=colour, ms=5, label=label)
    for name, mark in zip(curve.points, cycle(MARKS), strict=False):
        check = next(check for check in checks if check.name == name)
        ax.plot(check.at, check.outside, mark, color=INK, ms=5, label=f"outside: {name}")
    ax.set_title(curve.title, wrap=True)
    ax.set_xlabel(curve.x)
    ax.set_ylabel(curve.y)
    ax.legend(fontsize=7)
    return figure
