"""Libraries of the system that are not there: which, and the package that brings each."""

from __future__ import annotations

import re

# By the names in pyglet's errors; Debian's packages.
PACKAGES = {
    "X11": "libx11-6",
    "Xext": "libxext6",
    "Xrender": "libxrender1",
    "Xinerama": "libxinerama1",
    "Xi": "libxi6",
    "GL": "libgl1",
    "EGL": "libegl1",
    "fontconfig": "libfontconfig1",
    "freetype": "libfreetype6",
}
# pyglet goes on without this one until it asks None for what is in it.
ASKED_OF_NONE = {"XRenderFindVisualFormat": "Xrender"}


def missing(error: Exception) -> str:
    """The library that an error says is not there, and how to get it; empty when the error says
    something else."""
    if isinstance(error, ImportError):
        found = re.search(r'Library "(\w+)" not found', str(error))
        name = found[1] if found else ""
    else:
        name = ASKED_OF_NONE.get(getattr(error, "name", None) or "", "")
    if not name:
        return ""
    package = PACKAGES.get(name, f"lib{name.lower()}")
    return f"the library lib{name} is missing; on Debian: sudo apt-get install {package}"
