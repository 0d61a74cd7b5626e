"""The plot page of a sweep: each result over the first value, a line for each of the second."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import matplotlib
from matplotlib.ticker import MaxNLocator

from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.replace import naming
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.study.sweep import Row, Vary, result_scale, result_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

STYLES = ("-", (0, (5, 2)), (0, (1, 1.5)), (0, (6, 2, 1, 2)), (0, (3, 1, 1, 1, 1, 1)))
MARKS = ("o", "s", "^", "D", "v", "x", "+", "*")
STYLE = matplotlib.RcParams(
    {
        "font.family": "DejaVu Sans",
        "font.size": 9,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.grid": True,
        "grid.color": "0.88",
        "legend.frameon": False,
    }
)
MOST_LINES = 8


def problem(varied: Sequence[Vary]) -> str:
    """Why there can be no plot; empty when there can be."""
    if len(varied) > 2:
        return "a plot shows one or two varied values"
    if len(varied) == 2 and len(varied[1].values) > MOST_LINES:
        return f"a plot shows {MOST_LINES} values of the second --vary at most"
    return ""


def write(
    name: str,
    varied: Sequence[Vary],
    results: Sequence[str],
    rows: Sequence[Row],
    path: Path | str,
    u: Units,
) -> None:
    """PNG, PDF or SVG by the suffix. Raises OSError when it cannot be written."""
    with plt.rc_context(STYLE):
        columns = 1 if len(results) == 1 else 2
        height = -(-len(results) // columns)
        page, panels = plt.subplots(
            height,
            columns,
            figsize=(4.8 * columns + 0.8, 2.9 * height + 0.9),
            squeeze=False,
            layout="constrained",
        )
        page.suptitle(f"{name}: {' and '.join(one.words for one in varied)}", weight="bold")
        for panel, result in zip(panels.flat, results, strict=False):
            _panel(panel, varied, result, rows, u)
        for spare in list(panels.flat)[len(results) :]:
            spare.axis("off")
        if len(varied) == 2:
            panels.flat[0].legend(
                title=varied[1].words, fontsize=8, title_fontsize=8, handlelength=4
            )
        try:
            with naming(path):
                page.savefig(path, dpi=140)
        finally:
            plt.close(page)


def _panel(panel: Axes, varied: Sequence[Vary], result: str, rows: Sequence[Row], u: Units) -> None:
    factor = result_scale(result, u).factor
    first = varied[0]
    numbers = first.numbers
    across = dict(zip(first.values, numbers or range(len(first.values)), strict=True))
    words = sorted({v for r in rows if isinstance(v := r.results[result], str)})
    lines = varied[1].values if len(varied) == 2 else ("",)
    for k, line in enumerate(lines):
        mine = [
            (across[r.values[0]], v)
            for r in rows
            if (len(varied) < 2 or r.values[1] == line) and (v := r.results[result]) is not None
        ]
        x = [place for place, _ in mine]
        y = [words.index(v) if isinstance(v, str) else factor * v for _, v in mine]
        style = "none" if words else STYLES[k % len(STYLES)]
        panel.plot(
            x,
            y,
            color="black",
            linestyle=style,
            marker=MARKS[k % len(MARKS)],
            markersize=4,
            linewidth=1.3,
            label=line,
        )
    if words:
        panel.set_yticks(range(len(words)), words)
    else:
        panel.yaxis.set_major_locator(MaxNLocator(6))
    if numbers is None:
        panel.set_xticks(range(len(first.values)), first.values)
    panel.set_xlabel(first.label)
    panel.set_title(result_words(result, u), loc="left", fontsize=9.5, weight="bold")
