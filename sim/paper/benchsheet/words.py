"""How the bench sheet writes lengths, masses, places and deflections."""

from __future__ import annotations

from firstthrow.sim.units import grams, mm

STILL = 0.05e-3  # an edge that moves less than this does not move [m]


def in_mm(metres: float, digits: int = 0) -> str:
    return f"{mm(metres) + 0.0:.{digits}f} mm"


def place(metres: float) -> str:
    """A place along the centreline, without a sign."""
    return f"{in_mm(abs(metres))} {'behind' if metres >= -0.5e-3 else 'AHEAD of'} the datum"


def in_grams(kilograms: float) -> str:
    value = grams(kilograms)
    return f"{value:.1f} g" if value < 99.95 else f"{value:.0f} g"


def edge(metres: float) -> str:
    """Height of a trailing edge off the sheet, as one reads it from a rule."""
    if abs(metres) < STILL:
        return "0"
    return f"{abs(mm(metres)):.1f} {'up' if metres > 0.0 else 'down'}"


def side_edge(metres: float) -> str:
    if abs(metres) < STILL:
        return "0"
    return f"{abs(mm(metres)):.1f} {'right' if metres > 0.0 else 'left'}"


def corner_words(corner: str) -> str:
    if corner == "neutral":
        return "all neutral"
    return f"stick {corner}" if "yaw" not in corner else f"{corner.replace('yaw', 'rudder stick')}"
