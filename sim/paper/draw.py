"""Printed pages in millimetres from the top left corner, black on white, as vector PDF.

What is drawn here is as long on paper as it says, when printed at 100 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # [mm], ISO 216 and ANSI/ASME Y14.1
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"
POINT = 1.0 / mm  # a typographer's point [mm]
THIN, LINE, THICK = 0.15, 0.25, 0.5  # [mm]


class Paper:
    """A PDF of some pages; x to the right, y down, both in mm."""

    def __init__(self, path: Path | str, size: str, title: str) -> None:
        """Raises KeyError for a size that is none of SIZES."""
        self.width, self.height = SIZES[size]
        self._canvas = Canvas(
            str(path),
            pagesize=(self.width * mm, self.height * mm),
            invariant=True,
            pageCompression=0,
        )
        self._canvas.setTitle(title)

    def next_page(self) -> None:
        self._canvas.showPage()

    def save(self) -> None:
        """Write the file. Raises OSError."""
        self._canvas.save()

    def _at(self, x: float, y: float) -> tuple[float, float]:
        return x * mm, (self.height - y) * mm

    def _pen(self, width: float, grey: float, dash: Sequence[float]) -> None:
        self._canvas.setLineWidth(width * mm)
        self._canvas.setStrokeGray(grey)
        self._canvas.setDash([d * mm for d in dash])

    def line(
        self,
        x1: float,
        y1: float,
        x2: float,
        y2: float,
        width: float = LINE,
        grey: float = 0.0,
        dash: Sequence[float] = (),
    ) -> None:
        self._pen(width, grey, dash)
        self._canvas.line(*self._at(x1, y1), *self._at(x2, y2))

    def polygon(
        self,
        points: Sequence[tuple[float, float]],
        fill: float | None = None,
        width: float = LINE,
        edge: float = 0.0,
    ) -> None:
        """Closed; filled with a grey (0 black, 1 white) when given one."""
        self._pen(width, edge, ())
        path = self._canvas.beginPath()
        path.moveTo(*self._at(*points[0]))
        for point in points[1:]:
            path.lineTo(*self._at(*point))
        path.close()
        if fill is not None:
            self._canvas.setFillGray(fill)
        self._canvas.drawPath(path, stroke=1 if width > 0.0 else 0, fill=0 if fill is None else 1)
        self._canvas.setFillGray(0.0)

    def box(
        self,
        x: float,
        y: float,
        wide: float,
        tall: float,
        fill: float | None = None,
        width: float = LINE,
    ) -> None:
        self.polygon([(x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall)], fill, width)

    def circle(
        self, x: float, y: float, radius: float, fill: float | None = None, width: float = LINE
    ) -> None:
        self._pen(width, 0.0, ())
        self._canvas.setFillGray(0.0 if fill is None else fill)
        self._canvas.circle(
            *self._at(x, y),
            radius * mm,
            stroke=1 if width > 0.0 else 0,
            fill=0 if fill is None else 1,
        )
        self._canvas.setFillGray(0.0)

    def arc(self, x: float, y: float, radius: float, start: float, sweep: float) -> None:
        """From an angle in degrees, anticlockwise from the right as seen on the page."""
        self._pen(THICK, 0.0, ())
        left, bottom = self._at(x - radius, y + radius)
        right, top = self._at(x + radius, y - radius)
        self._canvas.arc(left, bottom, right, top, start, sweep)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = 8.0,
        font: str = PLAIN,
        align: str = "left",
        upright: bool = False,
    ) -> None:
        """`y` is the base line; `align` left, middle or right of x; upright reads upwards."""
        canvas = self._canvas
        canvas.saveState()
        canvas.setFont(font, size)
        canvas.translate(*self._at(x, y))
        if upright:
            canvas.rotate(90.0)
        {
            "left": canvas.drawString,
            "middle": canvas.drawCentredString,
            "right": canvas.drawRightString,
        }[align](0.0, 0.0, words)
        canvas.restoreState()

    def paragraph(
        self, x: float, y: float, wide: float, words: str, size: float = 8.0, font: str = PLAIN
    ) -> float:
        """Words wrapped to a width, the first base line at y; the y of the next base line."""
        for row in wrapped(words, wide, size, font):
            self.text(x, y, row, size, font)
            y += leading(size)
        return y


def leading(size: float) -> float:
    """From base line to base line [mm]."""
    return 1.22 * size * POINT


def width(words: str, size: float, font: str = PLAIN) -> float:
    """Of a row of words in print [mm]."""
    return stringWidth(words, font, size) * POINT


def wrapped(words: str, wide: float, size: float, font: str = PLAIN) -> list[str]:
    """Rows no wider than `wide` [mm], broken at spaces."""
    rows, row = [], ""
    for word in words.split():
        longer = f"{row} {word}".strip()
        if row and width(longer, size, font) > wide:
            rows.append(row)
            row = word
        else:
            row = longer
    return [*rows, row] if row else rows or [""]
