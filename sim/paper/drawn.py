"""matplotlib as all pages use it: into files, whatever the machine has; a $ in a name is a $."""

from __future__ import annotations

import matplotlib

matplotlib.use("Agg")
matplotlib.rcParams["text.parse_math"] = False

import matplotlib.pyplot as plt  # noqa: E402  the backend is chosen before

__all__ = ["plt"]
