"""How the bench sheet writes places and deflections."""

from __future__ import annotations

from firstthrow.sim.describe.builder_units import Units

STILL = 0.05e-3  # an edge that moves less than this does not move [m]


def place(metres: float, u: Units) -> str:
    """A place along the centreline, without a sign."""
    return f"{u.length(abs(metres))} {'behind' if metres >= -0.5e-3 else 'AHEAD of'} the datum"


def mass(kilograms: float, u: Units) -> str:
    return u.mass(kilograms, 1 if kilograms < 0.09995 else 0)


def edge(metres: float, u: Units) -> str:
    """Height of a trailing edge off the sheet, as one reads it from a rule."""
    if abs(metres) < STILL:
        return "0"
    return f"{u.bare_length(abs(metres), 1)} {'up' if metres > 0.0 else 'down'}"


def side_edge(metres: float, u: Units) -> str:
    if abs(metres) < STILL:
        return "0"
    return f"{u.bare_length(abs(metres), 1)} {'right' if metres > 0.0 else 'left'}"


def corner_words(corner: str) -> str:
    if corner == "neutral":
        return "all neutral"
    return f"stick {corner}" if "yaw" not in corner else f"{corner.replace('yaw', 'rudder stick')}"
