"""Where the window keeps what the person has chosen: in the user's own folder for settings."""

from __future__ import annotations

from pathlib import Path

import platformdirs


def window_file() -> Path:
    """It need not exist."""
    return platformdirs.user_config_path("firstthrow", appauthor=False) / "window.toml"
