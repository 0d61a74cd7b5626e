"""The drive as a page of plots: standing still by throttle, full throttle by airspeed."""

from __future__ import annotations

from pathlib import Path

from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.replace import naming
from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.study.power import Power


def write(answer: Power, path: Path, u: Units) -> None:
    """Draw it to a PNG or PDF file."""
    pulls, speeds = u.pulls, u.scale("m/s")
    plots = (
        ("thrust_N", f"thrust [{pulls.unit}]", pulls.factor),
        ("pack_current_A", "pack current [A]", 1.0),
        ("pack_voltage_V", "pack voltage under load [V]", 1.0),
        ("rpm", "rotor speed [rpm]", 1.0),
    )
    figure, axes = plt.subplots(2, 4, figsize=(14, 6.5), layout="constrained")
    groups = (
        (answer.static, "throttle", 100.0, "throttle, standing still [%]"),
        (
            answer.against_airspeed,
            "airspeed_m_s",
            speeds.factor,
            f"airspeed at full throttle [{speeds.unit}]",
        ),
    )
    for line, (rows, across, scale, below) in zip(axes, groups, strict=True):
        x = [scale * getattr(row, across) for row in rows]
        for ax, (key, words, factor) in zip(line, plots, strict=True):
            ax.plot(
                x,
                [factor * getattr(row, key) for row in rows],
                color="#1b4f72",
                marker="o",
                ms=3.5,
                lw=1.6,
            )
            ax.set_title(words, loc="left", fontsize=10)
            ax.grid(color="0.9")
            ax.set_xlabel(below)
    speed = answer.level.its_speed_m_s
    if speed:
        level = speeds.factor * speed
        axes[1][0].axvline(level, color="#b9770e", lw=1.0, ls="--")
        axes[1][0].annotate("level", (level, 0.0), color="#b9770e", fontsize=9)
    figure.suptitle(f"{answer.airframe}: drive", x=0.01, ha="left", fontweight="bold")
    with naming(path):
        figure.savefig(path, dpi=110)
    plt.close(figure)
