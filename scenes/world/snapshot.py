"""What a window shows, as an array or in a PNG file. Needs a current context."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pyglet
from PIL import Image

from firstthrow.sim.describe.replace import naming


def pixels(window) -> np.ndarray:
    """(height, width, 3) bytes, first row at the top, of what was drawn and not yet flipped."""
    window.switch_to()
    image = pyglet.image.get_buffer_manager().get_color_buffer().get_image_data()
    # in the order the card keeps them: pyglet takes a second to leave one channel out
    rows = np.frombuffer(image.get_data("RGBA", image.width * 4), dtype=np.uint8)
    return rows.reshape(image.height, image.width, 4)[::-1, :, :3].copy()


def save(window, path: Path) -> None:
    """Written beside and moved over. Raises OSError."""
    beside = path.with_name(path.name + ".part")
    with naming(path):
        Image.fromarray(pixels(window)).save(beside, "PNG")
        os.replace(beside, path)
