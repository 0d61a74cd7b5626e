"""Whether the words of a page stand apart and inside it, as they are really drawn."""

from __future__ import annotations

from itertools import combinations

from pyglet.text import Label

INSIDE = 0.5  # [pixels] that two may share: their rims are rounded


def boxes(sheet) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Text, and left, low, right, top [pixels] of the letters, without the room between lines."""
    found = []
    for shapes in sheet.drawn.values():
        for label in shapes:
            if isinstance(label, Label) and label.text.strip():
                wide, tall = label.content_width, label.font_size / 0.75
                left = label.x - {"left": 0.0, "center": 0.5, "right": 1.0}[label.anchor_x] * wide
                rect = left, label.y - 0.1 * tall, left + wide, label.y + 0.72 * tall
                found.append((label.text, rect))
    return found


def wrong(sheet) -> list[str]:
    """What stands outside the page that is shown, or over something else."""
    (x0, y0), (x1, y1) = sheet.place((0.0, 0.0)), sheet.place(sheet.page_size)
    told = boxes(sheet)
    found = [
        f"outside: {text}"
        for text, (left, low, right, top) in told
        if left < x0 - 1 or right > x1 + 1 or low < y0 - 1 or top > y1 + 1
    ]
    for (one, a), (other, b) in combinations(told, 2):
        across = min(a[2], b[2]) - max(a[0], b[0])
        upward = min(a[3], b[3]) - max(a[1], b[1])
        if across > INSIDE and upward > INSIDE:
            found.append(f"over one another: {one} | {other}")
    return found
