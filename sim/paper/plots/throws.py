"""Stick curves and linkage curves as a page of plots."""

from __future__ import annotations

from pathlib import Path

from firstthrow.sim.describe.replace import naming
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.study.throws import Throws

_INK = ("#1b4f72", "#b9770e", "#1e8449", "#6c3483", "#922b21", "#0e6655", "#424949", "#7d6608")
_LINES = ("-", (0, (5, 2)), (0, (1, 1.5)), (0, (4, 1, 1, 1)))


def write(answer: Throws, path: Path) -> None:
    """Draw it to a PNG or PDF file."""
    figure, axes = plt.subplots(1, 4, figsize=(15, 4.6), layout="constrained")
    curves, names = answer.curves, [s.name for s in answer.surfaces]
    for ax, axis in zip(axes, ("roll", "pitch", "yaw"), strict=False):
        for rates, width in (("high", 1.8), ("low", 0.9)):
            for k, name in enumerate(names):
                ax.plot(
                    curves.stick,
                    getattr(curves, f"{axis}_{rates}_up_deg")[name],
                    lw=width,
                    color=_INK[k % len(_INK)],
                    ls=_LINES[k % len(_LINES)],
                    label=name if rates == "high" else None,
                )
        ax.set_title(f"{axis} stick; thin: low rates", loc="left", fontsize=10)
        ax.set_xlabel(
            {"roll": "left .. right", "pitch": "forward .. back", "yaw": "left .. right"}[axis]
        )
        ax.set_ylabel("trailing edge up [deg]")
    reach = [limit for ax in axes[:3] for limit in ax.get_ylim()]
    for ax in axes[:3]:
        ax.set_ylim(min(reach), max(reach))
    for k, surface in enumerate(answer.surfaces):
        points = surface.linkage.curve_servo_deg_surface_up_deg
        axes[3].plot(
            [p[0] for p in points],
            [p[1] for p in points],
            color=_INK[k % len(_INK)],
            ls=_LINES[k % len(_LINES)],
            label=surface.name,
        )
    axes[3].set_title("linkage: surface against servo", loc="left", fontsize=10)
    axes[3].set_xlabel("servo [deg]")
    for ax in axes:
        ax.grid(color="0.9")
        ax.axhline(0.0, color="0.6", lw=0.8)
    axes[0].legend(fontsize=8)
    figure.suptitle(f"{answer.airframe}: throws", x=0.01, ha="left", fontweight="bold")
    with naming(path):
        figure.savefig(path, dpi=110)
    plt.close(figure)
