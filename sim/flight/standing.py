"""How an airframe stands on its wheels or skids before it rolls."""

from __future__ import annotations

from math import atan2

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.once import once_for


@once_for(16)
def on_its_feet(model: Model) -> tuple[float, float]:
    """Height of the centre of gravity [m] and pitch [rad] at which it stands on its feet."""
    record = model.record
    return stand(record.contact_place[: record.n_contacts])


def stand(place: np.ndarray) -> tuple[float, float]:
    """The same for contacts at these places (n, 3), body axes from the centre of gravity [m].

    The feet are the two contacts, one ahead and one behind the centre of gravity, on
    which every other contact is above the ground.
    """
    best = None
    for ahead in place[place[:, 0] > 0.0]:
        for behind in place[place[:, 0] <= 0.0]:
            pitch = atan2(ahead[2] - behind[2], ahead[0] - behind[0])
            # Height of a point below the centre of gravity at this pitch.
            down = place[:, 2] * np.cos(pitch) - place[:, 0] * np.sin(pitch)
            stand = down.max()
            on_both = ahead[2] * np.cos(pitch) - ahead[0] * np.sin(pitch)
            if best is None or stand - on_both < best[0]:
                best = (stand - on_both, stand, pitch)
    if best is None:
        return float(place[:, 2].max(initial=0.0)), 0.0
    return float(best[1]), float(best[2])
