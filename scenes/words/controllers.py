"""What is said of speed controllers over their rating: before they give up, and after."""

from __future__ import annotations

from firstthrow.sim.build.controller import Burden
from firstthrow.sim.build.shape import spoken

SOON = 15.0  # [s] before a controller over its rating gives up, it is said


def controller_words(burdens: tuple[Burden, ...]) -> list[str]:
    """Controllers that have given up, and those that soon will."""
    found, several = [], len(burdens) > 1
    for one in burdens:
        name = spoken(one.motor)
        of = f" of the {name}{'' if 'motor' in name else ' motor'}" if several else ""
        if one.dead:
            then = "" if several else ": no thrust until it lands"
            found.append(f"CONTROLLER{of.upper()} HAS CUT OUT{then}")
        elif one.lasts < SOON:
            found.append(
                f"controller{of} at {one.current:.0f} of {one.rating:.0f} A: "
                f"cuts out in {one.lasts:.0f} s, less throttle"
            )
    return found
