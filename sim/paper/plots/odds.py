"""The plot page of the odds: causes, a line over one varied value, or a map over two."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import matplotlib
import numpy as np

from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.describe.replace import naming
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.study.odds.launches import CAUSES
from firstthrow.sim.study.odds.survival import WANTED
from firstthrow.sim.study.odds.tally import Numbers, Tally
from firstthrow.sim.study.odds.varied import CG, ENOUGH, Axis

if TYPE_CHECKING:
    from matplotlib.axes import Axes

STYLE = matplotlib.RcParams(
    {
        "font.family": "DejaVu Sans",
        "font.size": 9,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "legend.frameon": False,
    }
)
SHADES = ("0.25", "0.5", "0.68", "0.82", "0.9", "0.6", "0.75")
GREYS = dict(zip(CAUSES.values(), SHADES, strict=True))
IN_A_MAP = "thick line: neutral point; dashed: where steady flight lets the balance lie"
HATCHES = dict(zip(CAUSES.values(), ("", "//", "..", "xx", "--", "\\\\", "++"), strict=True))


class Balances(NamedTuple):
    """Places on an axis that is the balance, in percent of the mean chord; no band, no ends."""

    neutral: float
    front: float | None
    rear: float | None


def write(
    title: str,
    axes: Sequence[Axis],
    found: Sequence[Numbers],
    tally: Tally,
    notes: Sequence[str],
    path: Path | str,
    balances: Balances | None = None,
    u: Units = METRIC,
) -> None:
    """PNG, PDF or SVG by the suffix: what was found at every point of the axes; without any, how
    the launches of its tally spread. Raises OSError when it cannot be written."""
    with plt.rc_context(STYLE):
        page = plt.figure(figsize=(7.6, 6.4), layout="constrained")
        page.suptitle(title, weight="bold")
        if not axes:
            _spreads(page, found[0], tally, u)
        elif len(axes) == 1:
            upper, lower = page.subplots(2, 1, sharex=True, height_ratios=(3, 2))
            _line(upper, axes[0], found)
            _balances(upper.axvline, upper.axvspan, axes[0], balances)
            _named(upper, axes[0], balances)
            _causes(lower, axes[0], found)
        else:
            _map(page, page.subplots(), axes, found, balances)
        page.supxlabel("\n".join(notes), fontsize=8 if len(notes) < 3 else 7, wrap=True)
        try:
            with naming(path):
                page.savefig(path, dpi=140)
        finally:
            plt.close(page)


def _line(panel: Axes, axis: Axis, found: Sequence[Numbers]) -> None:
    x = np.array(axis.places)
    part = 100.0 * np.array([one.survived_fraction for one in found])
    low, high = 100.0 * np.array([(one.survived_low, one.survived_high) for one in found]).T
    panel.fill_between(x, low, high, color="0.85", linewidth=0, label="95 % sure")
    panel.plot(x, part, "o-", color="black", markersize=4, linewidth=1.4, label="survived")
    panel.axhline(100.0 * WANTED, color="0.5", linewidth=0.8, linestyle=(0, (4, 3)))
    if axis.own is not None and x.min() <= axis.own <= x.max():
        panel.axvline(axis.own, color="black", linewidth=1.0, linestyle=":")
        panel.annotate(
            "as in the file",
            (axis.own, 0.02),
            xycoords=("data", "axes fraction"),
            rotation=90,
            ha="right",
            va="bottom",
            fontsize=8,
        )
    panel.set_ylim(0.0, 103.0)
    panel.set_ylabel("launches that survive [%]")
    panel.legend(loc="lower right", fontsize=8)


def _causes(panel: Axes, axis: Axis, found: Sequence[Numbers]) -> None:
    x = np.array(axis.places, dtype=float)
    names = [name for name in CAUSES.values() if any(name in one.causes for one in found)]
    below = np.zeros(len(x))
    width = 0.7 * np.min(np.abs(np.diff(x))) if len(x) > 1 else 1.0
    for name in names:
        share = np.array([100.0 * one.causes.get(name, 0) / max(one.flown, 1) for one in found])
        panel.bar(
            x,
            share,
            width,
            below,
            color=GREYS[name],
            hatch=HATCHES[name],
            edgecolor="white",
            linewidth=0.5,
            label=name,
        )
        below += share
    if axis.vary.numbers is None or len(x) <= 13:
        panel.set_xticks(x, [v.removesuffix(axis.vary.unit).strip() for v in axis.vary.values])
    panel.set_ylabel("lost to [%]")
    panel.set_ylim(0.0, max(5.0, 1.3 * below.max()))
    panel.set_xlabel(axis.label)
    if names:
        panel.legend(fontsize=8, ncols=2)


def _map(
    page, panel: Axes, axes: Sequence[Axis], found: Sequence[Numbers], balances: Balances | None
) -> None:
    first, second = axes
    shape = (len(first.places), len(second.places))
    part = 100.0 * np.array([one.survived_fraction for one in found]).reshape(shape).T
    x, y = np.array(first.places, dtype=float), np.array(second.places, dtype=float)
    drawn = panel.pcolormesh(x, y, part, cmap="cividis", vmin=0.0, vmax=100.0, shading="nearest")
    page.colorbar(drawn, ax=panel, label="launches that survive [%]")
    for (row, column), value in np.ndenumerate(part):
        shade = "black" if value > 55.0 else "white"
        panel.text(
            float(x[column]),
            float(y[row]),
            f"{value:.0f}",
            color=shade,
            ha="center",
            va="center",
            fontsize=8 if part.size < 90 else 6,
        )
    if min(shape) > 1 and part.min() < 100.0 * WANTED < part.max():
        for shade, width in (("white", 3.4), ("black", 1.4)):
            panel.contour(x, y, part, levels=[100.0 * WANTED], colors=shade, linewidths=width)
    for axis, tick in ((first, panel.set_xticks), (second, panel.set_yticks)):
        tick(axis.places, [v.removesuffix(axis.vary.unit).strip() for v in axis.vary.values])
    if first.own is not None and second.own is not None:
        inside = x.min() <= first.own <= x.max() and y.min() <= second.own <= y.max()
        if inside:
            panel.plot(
                first.own,
                second.own,
                "o",
                markersize=13,
                markerfacecolor="none",
                markeredgecolor="white",
                markeredgewidth=3.5,
            )
            panel.plot(
                first.own,
                second.own,
                "o",
                markersize=13,
                markerfacecolor="none",
                markeredgecolor="black",
                markeredgewidth=1.4,
            )
            words = f"ring: as in the file; line: {ENOUGH}"
            panel.set_title(words, fontsize=8.5, loc="left")
    limits = panel.get_xlim(), panel.get_ylim()
    for axis, line in ((first, panel.axvline), (second, panel.axhline)):
        _balances(line, None, axis, balances)
    panel.set_xlim(limits[0])
    panel.set_ylim(limits[1])
    told = balances is not None and any(axis.vary.key == CG for axis in axes)
    panel.set_xlabel(f"{first.label}\n{IN_A_MAP}" if told else first.label)
    panel.set_ylabel(second.label)


def _balances(line, span, axis: Axis, balances: Balances | None) -> None:
    """The band that steady flight allows and the neutral point, across a panel."""
    if axis.vary.key != CG or balances is None:
        return
    line(balances.neutral, color="black", linewidth=2.0)
    if balances.front is not None and balances.rear is not None:
        if span is not None:
            span(balances.front, balances.rear, color="0.93", zorder=0)
        for end in (balances.front, balances.rear):
            line(end, color="black", linewidth=1.0, linestyle=(0, (5, 2)))


def _named(panel: Axes, axis: Axis, balances: Balances | None) -> None:
    if axis.vary.key != CG or balances is None:
        return
    places = [(balances.neutral, "neutral point"), (balances.front, "front limit")]
    for place, words in (*places, (balances.rear, "rear limit")):
        if place is not None:
            panel.annotate(
                words,
                (place, 0.98),
                xycoords=("data", "axes fraction"),
                rotation=90,
                ha="right",
                va="top",
                fontsize=8,
            )


def _spreads(page, one: Numbers, tally: Tally, u: Units) -> None:
    panels = page.subplots(2, 2).flat
    names = ["survived", *one.causes]
    counts = [one.flown - sum(one.causes.values()), *one.causes.values()]
    panel = next(panels)
    panel.barh(names, [100.0 * n / max(one.flown, 1) for n in counts], color="0.35")
    panel.invert_yaxis()
    panel.set_xlabel("launches [%]")
    for field, label, factor in (
        ("height_lost", f"height lost below the throw [{u.distances}]", u.over_field.factor),
        ("stall_margin", "slowest airspeed above the stall speed, share of it", 1.0),
        ("load", "worst load factor", 1.0),
    ):
        panel = next(panels)
        many, ends = tally.spread(field, factor)
        panel.hist(ends[:-1], ends, weights=many, color="0.35")
        panel.set_xlabel(label)
        panel.set_ylabel("launches")
