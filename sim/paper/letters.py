"""The face that all pages are set in, and how wide its words are.

It comes with matplotlib, so that a page needs no font of the machine, and holds the letters of
most languages that a name may be written in.
"""

from __future__ import annotations

from functools import cache

from reportlab.pdfbase.pdfmetrics import registerFont, stringWidth
from reportlab.pdfbase.ttfonts import TTFont

from firstthrow.sim.paper.faces import folder

FAMILY = "DejaVu Sans"
_PLAIN, _BOLD = "DejaVuSans", "DejaVuSans-Bold"


@cache
def face(bold: bool = False) -> str:
    """The face's name in a PDF, known to the writer of PDFs from now on."""
    name = _BOLD if bold else _PLAIN
    registerFont(TTFont(name, str(folder() / f"{name}.ttf")))
    return name


def width(words: str, size: float, bold: bool = False) -> float:
    """Of a row of words, in the unit of `size`."""
    return stringWidth(words, face(bold), size)


def fitted(words: str, wide: float, size: float, bold: bool = False) -> float:
    """The size, or as much smaller as keeps a row of words within a width."""
    return min(size, wide / max(width(words, 1.0, bold), 1e-9))


def leading(size: float) -> float:
    """From base line to base line, in the unit of `size`."""
    return 1.38 * size


def wrapped(words: str, wide: float, size: float, bold: bool = False) -> list[str]:
    """Rows no wider than `wide`, broken at spaces."""
    rows, row = [], ""
    for word in words.split():
        longer = f"{row} {word}".strip()
        if row and width(longer, size, bold) > wide:
            rows.append(row)
            row = word
        else:
            row = longer
    return [*rows, row] if row else rows or [""]
