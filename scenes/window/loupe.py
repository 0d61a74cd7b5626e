"""A closer look at a far airframe: its own narrow picture, round, beside the wide one. Pure."""

from __future__ import annotations

import math

import numpy as np

from firstthrow.scenes.world.camera import View, level_view

FILLED = 0.62  # of the loupe's height, the span
LEAST_ANGLE = math.radians(0.25)
SHOWN_BELOW, HIDDEN_ABOVE = 0.050, 0.062  # shares of the picture's height that the span takes


def loupe_view(eye: np.ndarray, place: np.ndarray, span: float) -> View:
    """From the same eye, straight at the airframe, as narrow as its span asks for."""
    to = place - eye
    distance = max(0.5, float(np.linalg.norm(to)))
    angle = 2.0 * math.atan(0.5 * span / distance) / FILLED
    return level_view(eye, to, max(LEAST_ANGLE, min(1.2, angle)))


def share_of_height(view: View, place: np.ndarray, span: float) -> float:
    """How much of the picture's height the span takes."""
    distance = max(0.5, float(np.linalg.norm(place - view.eye)))
    return 0.5 * span / distance / math.tan(0.5 * view.height_angle)


def is_wanted(shown: bool, share: float) -> bool:
    """Whether it is small enough for a closer look; what is shown stays a little longer."""
    return share < (HIDDEN_ABOVE if shown else SHOWN_BELOW)
