"""matplotlib as all pages use it: into files, whatever the machine has; a $ in a name is a $."""

from __future__ import annotations

import matplotlib
from matplotlib import artist

matplotlib.use("Agg")
matplotlib.rcParams["text.parse_math"] = False

# Whatever can be drawn has its properties told in its help as it is loaded, which takes a fifth
# of the loading: here nobody asks.
_told, artist.kwdoc = artist.kwdoc, lambda artist: ""
try:
    import matplotlib.pyplot as plt  # the backend is chosen before
finally:
    artist.kwdoc = _told

__all__ = ["plt"]
