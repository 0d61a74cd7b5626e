"""The drive as a page of plots: standing still by throttle, full throttle by airspeed."""

from __future__ import annotations

from pathlib import Path

from firstthrow.sim.paper.drawn import plt
from firstthrow.sim.study.power import Power

_PLOTS = (
    ("thrust_N", "thrust [N]"),
    ("pack_current_A", "pack current [A]"),
    ("pack_voltage_V", "pack voltage under load [V]"),
    ("rpm", "rotor speed [rpm]"),
)


def write(answer: Power, path: Path) -> None:
    """Draw it to a PNG or PDF file."""
    figure, axes = plt.subplots(2, 4, figsize=(14, 6.5), layout="constrained")
    groups = (
        (answer.static, "throttle", 100.0),
        (answer.against_airspeed, "airspeed_m_s", 1.0),
    )
    for line, (rows, across, scale) in zip(axes, groups, strict=True):
        x = [scale * getattr(row, across) for row in rows]
        for ax, (key, words) in zip(line, _PLOTS, strict=True):
            ax.plot(
                x, [getattr(row, key) for row in rows], color="#1b4f72", marker="o", ms=3.5, lw=1.6
            )
            ax.set_title(words, loc="left", fontsize=10)
            ax.grid(color="0.9")
            ax.set_xlabel(
                "throttle, standing still [%]" if scale > 1.0 else "airspeed at full throttle [m/s]"
            )
    speed = answer.level.its_speed_m_s
    if speed:
        axes[1][0].axvline(speed, color="#b9770e", lw=1.0, ls="--")
        axes[1][0].annotate("level", (speed, 0.0), color="#b9770e", fontsize=9)
    figure.suptitle(f"{answer.airframe}: drive", x=0.01, ha="left", fontweight="bold")
    figure.savefig(path, dpi=110)
    plt.close(figure)
