"""A debrief as a file: HTML that stands alone, a PDF of several pages, or one picture."""

from __future__ import annotations

import io
from collections.abc import Sequence
from html import escape
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING

from firstthrow.sim.describe.replace import naming
from firstthrow.sim.flight.flown import flown
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.compare import table
from firstthrow.sim.learn.debrief import findings
from firstthrow.sim.learn.debriefing import Debrief, circumstances
from firstthrow.sim.learn.finding import Kind
from firstthrow.sim.learn.sentence import verdict
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.paper.plots import compare
from firstthrow.sim.paper.plots import debrief as debrief_plot
from firstthrow.sim.paper.plots.debrief import INK, STYLE

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SUFFIXES = (".png", ".pdf", ".html")
COLUMNS = 6  # flights in one table of a printed page
LINES = 46  # of text on a printed page


def write(debrief: Debrief, path: Path) -> None:
    """By the suffix; a picture holds one page, the comparison where there is one.

    Raises ValueError for a suffix that is none of SUFFIXES or a record with nothing in it,
    OSError when it cannot be written.
    """
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise ValueError(f"{path}: wanted a name that ends in {', '.join(SUFFIXES)}")
    if flown(debrief.record).time.size < 2:
        raise ValueError("nothing was flown in this record: there is nothing to plot")
    with plt.rc_context(STYLE):
        figures = _figures(debrief)
        try:
            with naming(path):
                if suffix == ".html":
                    path.write_text(_html(debrief, figures), encoding="utf-8")
                elif suffix == ".pdf":
                    _pdf(debrief, figures, path)
                else:
                    figures[-1].savefig(path, dpi=130, metadata=debrief_plot.of_ours(path))
        finally:
            for figure in figures:
                plt.close(figure)


def _figures(debrief: Debrief) -> list[Figure]:
    figures = [debrief_plot.page(debrief.record)]
    if sum(flown(record).time.size > 1 for record in debrief.records) > 1:
        figures.append(compare.page(debrief.records, debrief.names))
    return figures


def _pdf(debrief: Debrief, figures: list[Figure], path: Path) -> None:
    from matplotlib.backends.backend_pdf import PdfPages  # takes a fifth of a second to load

    with PdfPages(path) as pages:
        for figure in figures:
            pages.savefig(figure)
        for figure in _text_pages(debrief):
            pages.savefig(figure)
            plt.close(figure)


def _text_pages(debrief: Debrief) -> list[Figure]:
    """The words and tables that the plots have no room for."""
    lines = ["Verdict", *wrap(verdict(debrief.record), 110), ""]
    if debrief.next:
        lines += ["What to try next, each flown again", *_wrapped(debrief.next), ""]
    if debrief.side_by_side:
        lines += ["Side by side", *_wrapped(debrief.side_by_side), ""]
        for first in range(0, len(debrief.records), COLUMNS):
            part = slice(first, first + COLUMNS)
            lines += [*text_table(table(debrief.records[part], debrief.names[part])), ""]
    pages = []
    for first in range(0, len(lines), LINES):
        figure = plt.figure(figsize=(11.69, 8.27))
        for number, line in enumerate(lines[first : first + LINES]):
            bold = "bold" if line in _HEADS else "normal"
            figure.text(
                0.065,
                0.94 - 0.0195 * number,
                line,
                fontsize=9,
                color=INK,
                weight=bold,
                family="DejaVu Sans Mono",
                va="top",
            )
        pages.append(figure)
    return pages


_HEADS = ("Verdict", "What to try next, each flown again", "Side by side")


def _wrapped(sentences: Sequence[str]) -> list[str]:
    rows = []
    for sentence in sentences:
        inset = len(sentence) - len(sentence.lstrip())
        rows += wrap(
            sentence.strip(),
            112 - inset,
            initial_indent=" " * inset,
            subsequent_indent=" " * (inset + 2),
        )
    return rows


def text_table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Columns of a table padded to one width: the first to the left, numbers to the right."""
    wide = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        "  ".join(
            [row[0].ljust(wide[0]), *(c.rjust(w) for c, w in zip(row[1:], wide[1:], strict=True))]
        ).rstrip()
        for row in rows
    ]


_SHEET = """
body { font: 15px/1.45 "DejaVu Sans", Verdana, sans-serif; color: #222; background: #fff;
  max-width: 70rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; } h2 { font-size: 1.1rem; margin: 1.8rem 0 .4rem; }
.verdict { font-size: 1.15rem; border-left: 5px solid #0072B2; padding: .2rem 0 .2rem .8rem; }
.meta { color: #666; } table { border-collapse: collapse; }
td, th { padding: .18rem .7rem; border-bottom: 1px solid #ddd; text-align: left; }
tr [scope=row] { font-weight: normal; }
td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; }
.danger > * { color: #a33c00; } .caution > * { color: #8a5a00; }
li.best { font-weight: bold; } svg { width: 100%; height: auto; }
@media print { h2 { break-after: avoid; } svg { break-inside: avoid; } }
"""


def _html(debrief: Debrief, figures: list[Figure]) -> str:
    title = f"{debrief.record.meta.get('airframe', 'Flight')}: debrief"
    parts = [
        f"<h1>{escape(title)}</h1>",
        f'<p class="meta">{escape(" · ".join(circumstances(debrief.record)))}</p>',
        f'<p class="verdict">{escape(verdict(debrief.record))}</p>',
        "<h2>What happened</h2>",
        _finding_table(debrief.record),
    ]
    if debrief.next:
        parts += ["<h2>What to try next, each flown again</h2>", _advice_list(debrief)]
    if debrief.side_by_side:
        parts.append("<h2>Side by side</h2>")
        parts += [f"<p>{escape(sentence)}</p>" for sentence in debrief.side_by_side]
        parts.append(_number_table(table(debrief.records, debrief.names)))
    parts.append("<h2>Plots</h2>")
    parts += [_svg(figure, name) for figure, name in zip(figures, _DRAWN, strict=False)]
    head = f'<meta charset="utf-8"><title>{escape(title)}</title><style>{_SHEET}</style>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body><main>\n' + "\n".join(
        [*parts, "</main></body></html>\n"]
    )


_DRAWN = (  # in words, for who cannot see them
    "The flight over time: height and speed, sticks, attitude, power; and its track on the ground",
    "The flights side by side over time: height, stall margin, pitch stick, bank; and their tracks",
)


def _finding_table(record: Record) -> str:
    rows = []
    for finding in findings(record):
        time = f"{finding.start_s:.1f}" if finding.end_s > 0.0 else ""
        reached = finding.kind is not Kind.OUTCOME
        value = f"{finding.value:.3g}" if reached else ""
        limit = f"{finding.limit:.3g}" if reached else ""
        rows.append(
            f'<tr class="{finding.severity}"><td class="n">{time}</td><td>{finding.severity}</td>'
            f'<th scope="row">{escape(finding.text)}</th><td class="n">{value}</td>'
            f'<td class="n">{limit}</td></tr>'
        )
    names = (("s", True), ("how bad", False), ("what", False), ("reached", True), ("limit", True))
    head = "".join(
        f'<th scope="col"{" class=n" if number else ""}>{name}</th>' for name, number in names
    )
    return f"<table><tr>{head}</tr>{''.join(rows)}</table>"


def _advice_list(debrief: Debrief) -> str:
    """Findings as paragraphs, the indented sentences under them as a list, the first that
    removes a finding in bold."""
    parts: list[str] = []
    bold = False
    for line in debrief.next:
        if not line.startswith("   "):
            parts.append(f"<p>{escape(line)}</p>")
            bold = True
            continue
        gone = ", gone" in line and bold
        bold = bold and not gone
        parts.append(f"<ul><li{' class=best' if gone else ''}>{escape(line.strip())}</li></ul>")
    return "".join(parts).replace("</ul><ul>", "")


def _number_table(rows: list[list[str]]) -> str:
    body = []
    for number, row in enumerate(rows):
        start, end = ('<th scope="col"', "</th>") if number == 0 else ("<td", "</td>")
        cells = "".join(f'{start} class="n">{escape(cell)}{end}' for cell in row[1:])
        scope = "row" if number else "col"
        body.append(f'<tr><th scope="{scope}">{escape(row[0])}</th>{cells}</tr>')
    return f"<table>{''.join(body)}</table>"


def _svg(figure: Figure, name: str) -> str:
    file = io.StringIO()
    figure.savefig(file, format="svg")
    text = file.getvalue()
    return text[text.index("<svg") :].replace("<svg", f'<svg role="img" aria-label="{name}"', 1)
