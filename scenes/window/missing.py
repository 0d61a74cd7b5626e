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


def missing(error: Exception) -> str:
    """The library that an error says is not there, and how to get it; empty when the error says
    something else."""
    found = re.search(r'Library "(\w+)" not found', str(error))
    if not isinstance(error, ImportError) or not found:
        return ""
    name = found[1]
    package = PACKAGES.get(name, f"lib{name.lower()}")
    return f"the library lib{name} is missing; on Debian: sudo apt-get install {package}"
