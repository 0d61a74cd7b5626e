"""Flight physics and studies of flat-sheet airframes; nothing here opens a window.

What a script needs is here by name, and loaded when it is asked for: see `firstthrow.sim.script`.
"""

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from firstthrow.sim.script import (
        ConfigError,
        Flown,
        Sticks,
        TimelineError,
        airframe,
        check,
        field,
        fly,
        power,
        trim,
        weigh,
    )

__all__ = [
    "ConfigError",
    "Flown",
    "Sticks",
    "TimelineError",
    "airframe",
    "check",
    "field",
    "fly",
    "power",
    "trim",
    "weigh",
]

# The matrices here are small: more threads in the linear algebra only wait for each other.
# Has to be said before numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def __getattr__(name: str) -> object:
    """Loads numpy and the physics when the first of the names is asked for, not before."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from firstthrow.sim import script

    return getattr(script, name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
