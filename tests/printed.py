"""A PDF read back: its words with their places, and its straight lines, in mm from the top left."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

from pypdf import PdfReader
from pypdf.generic import ContentStream

from firstthrow.sim.paper.letters import width

MM = 72.0 / 25.4  # points in a millimetre


class Word(NamedTuple):
    text: str
    x: float
    y: float  # base line
    wide: float
    size: float  # [mm]


class Page(NamedTuple):
    width: float
    height: float
    words: tuple[Word, ...]
    lines: tuple[tuple[float, float, float, float], ...]
    operators: frozenset[str]

    def texts(self) -> list[str]:
        return [word.text for word in self.words]

    def after(self, text: str, many: int = 1) -> list[str]:
        """The words that follow a text on the page, in the order in which they were printed."""
        found = self.texts()
        at = found.index(text)
        return found[at + 1 : at + 1 + many]

    def off(self, edge: float) -> list[Word]:
        """Words that come nearer than this to the edge of the page."""
        return [
            word
            for word in self.words
            if not (edge < word.x and word.x + word.wide < self.width - edge)
            or not edge < word.y < self.height - edge
        ]

    def crossed(self) -> list[tuple[str, str]]:
        """Words that print over each other."""
        told = [word for word in self.words if word.text.strip()]
        return [
            (a.text, b.text) for k, a in enumerate(told) for b in told[k + 1 :] if overlaps(a, b)
        ]


def overlaps(one: Word, other: Word) -> bool:
    """Whether two words print over each other: capitals are some 0.72 of the size high."""
    apart = one.x + one.wide <= other.x or other.x + other.wide <= one.x
    above = one.y <= other.y - 0.72 * other.size or other.y <= one.y - 0.72 * one.size
    return not (apart or above)


def pages(path: Path) -> list[Page]:
    reader = PdfReader(path)
    return [_page(reader, page) for page in reader.pages]


def _page(reader: PdfReader, page) -> Page:
    box = page.mediabox
    height = float(box.height)
    words: list[Word] = []
    lines, used, start, shift, size = [], set(), None, (0.0, 0.0), 0.0
    fonts = page["/Resources"]["/Font"]
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        name = operator.decode()
        used.add(name)
        values = [float(v) for v in operands if isinstance(v, (int, float))]
        if name == "cm" and values[:4] == [1.0, 0.0, 0.0, 1.0]:
            shift = (shift[0] + values[4], shift[1] + values[5])
        elif name == "Q":
            shift = (0.0, 0.0)
        elif name == "m":
            start = values
        elif name == "l" and start is not None:
            ends = (*start, *values)
            lines.append(
                (ends[0] / MM, (height - ends[1]) / MM, ends[2] / MM, (height - ends[3]) / MM)
            )
            start = values
        elif name == "Tf":
            font = fonts[str(operands[0])]
            bold, letters = str(font["/BaseFont"]).endswith("Bold"), _letters(font)
            size = values[-1]
        elif name == "Tm":
            at = values[4:6]
        elif name == "Tj":
            text = "".join(letters[code] for code in operands[0].original_bytes)
            wide = width(text, size, bold) / MM
            x, y = (shift[0] + at[0]) / MM, (height - shift[1] - at[1]) / MM
            words.append(Word(text, x, y, wide, size / MM))
    return Page(float(box.width) / MM, height / MM, tuple(words), tuple(lines), frozenset(used))


def _letters(font) -> dict[int, str]:
    """What each byte stands for in a font of which only the letters in use were kept."""
    if "/ToUnicode" not in font:
        return {}
    told = font["/ToUnicode"].get_data().decode("latin-1")
    pairs = re.findall(r"^<([0-9A-F]{2})> <([0-9A-F]{4})>$", told, re.MULTILINE)
    return {int(code, 16): chr(int(letter, 16)) for code, letter in pairs}
