"""pygame beside a pyglet window: SDL's switches are set first, and what it can do without is left.

No window of SDL's own, sticks read while its dummy window has no focus, and signals left to the
program.
"""

from __future__ import annotations

import os
import sys

os.environ.setdefault("PYGAME_HIDE_SUPPORT_PROMPT", "1")
os.environ.setdefault("SDL_VIDEODRIVER", "dummy")
os.environ.setdefault("SDL_JOYSTICK_ALLOW_BACKGROUND_EVENTS", "1")
os.environ.setdefault("SDL_NO_SIGNAL_HANDLERS", "1")
os.environ.setdefault("SDL_JOYSTICK_THREAD", "1")

# pygame looks for its data through pkg_resources, where there is one: that takes longer to load
# than all of pygame, warns of packages installed from their own folder, and is not needed.
_resources = sys.modules.get("pkg_resources")
sys.modules["pkg_resources"] = None  # type: ignore[assignment]  # as one that is not there
try:
    import pygame
finally:
    del sys.modules["pkg_resources"]
    if _resources is not None:
        sys.modules["pkg_resources"] = _resources

__all__ = ["pygame"]
