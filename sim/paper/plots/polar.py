"""The polar as a page of four plots."""

from __future__ import annotations

from pathlib import Path

from firstthrow.sim.describe.replace import naming
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.study.polar import PolarStudy

_PLOTS = (
    ("CL", "lift coefficient"),
    ("CD", "drag coefficient"),
    ("Cm", "moment about the CG, nose up"),
    ("centre_of_pressure_percent_mac", "centre of pressure [% of mean chord]"),
)


def write(found: PolarStudy, path: Path) -> None:
    """Draw it to a PNG or PDF file."""
    figure, axes = plt.subplots(2, 2, figsize=(11, 7.5), layout="constrained")
    alpha = [row.alpha_deg for row in found.polar]
    for ax, (key, words) in zip(axes.flat, _PLOTS, strict=True):
        ax.plot(alpha, [_number(getattr(row, key)) for row in found.polar], color="#1b4f72", lw=1.6)
        ax.set_title(words, loc="left", fontsize=10)
        ax.set_xticks(range(-180, 181, 45))
        ax.set_xlim(-180, 180)
        ax.axhline(0.0, color="0.6", lw=0.8)
        ax.axvspan(-15, 15, color="#f4e9cd", zorder=0)
        ax.grid(color="0.9")
    for ax in axes[1]:
        ax.set_xlabel("angle of attack [deg], shaded: normal flight")
    figure.suptitle(
        f"{found.airframe}: polar without propeller, "
        f"trailing edges {found.trailing_edge_up_deg:.1f} deg up",
        x=0.01,
        ha="left",
        fontweight="bold",
    )
    with naming(path):
        figure.savefig(path, dpi=110)
    plt.close(figure)


def _number(value: float | None) -> float:
    return float("nan") if value is None else value
