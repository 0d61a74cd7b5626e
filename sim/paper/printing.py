"""Pages to a file: PDF of any number of pages, PNG or SVG of one. Vectors but for PNG.

What is drawn is as long on paper as the page says, when a PDF is printed at 100 %.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas

from firstthrow.sim.describe.replace import naming
from firstthrow.sim.paper.letters import FAMILY, face
from firstthrow.sim.paper.page import Area, Line, Page, Words

SUFFIXES = (".png", ".pdf", ".svg")
DOTS = 150  # an inch, of a PNG
ROUND_ENDS = 1  # of lines and corners, as PDF numbers them


def write(page: Page, path: Path | str) -> None:
    """To PNG, PDF or SVG by the suffix. Raises ValueError for another, OSError from the disk."""
    suffix = Path(path).suffix.lower()
    if suffix not in SUFFIXES:
        raise ValueError(f"{path}: wanted a name that ends in {', '.join(SUFFIXES)}")
    if suffix == ".pdf":
        write_pdf([page], path)
    else:
        _picture(page, path)


def write_pdf(pages: Sequence[Page], path: Path | str, title: str = "") -> None:
    """The same bytes for the same pages. Raises OSError."""
    canvas = Canvas(str(path), invariant=True, pageCompression=0)
    canvas.setTitle(title)
    for page in pages:
        canvas.setPageSize((page.width * mm, page.height * mm))
        canvas.setLineJoin(ROUND_ENDS)
        for part in page.parts:
            _print(canvas, part)
        canvas.showPage()
    content = canvas.getpdfdata()
    with naming(path):
        Path(path).write_bytes(content)


def _print(canvas: Canvas, part: Area | Line | Words) -> None:
    if isinstance(part, Words):
        canvas.setFillGray(0.0)
        canvas.setFont(face(part.bold), part.size * mm)
        put = {
            "left": canvas.drawString,
            "center": canvas.drawCentredString,
            "right": canvas.drawRightString,
        }[part.anchor]
        put(part.x * mm, part.y * mm, part.text)
        return
    path = canvas.beginPath()
    path.moveTo(*(at * mm for at in part.points[0]))
    for point in part.points[1:]:
        path.lineTo(*(at * mm for at in point))
    if isinstance(part, Line):
        canvas.setStrokeGray(part.grey)
        canvas.setLineWidth(part.width * mm)
        canvas.setLineCap(0 if part.dash else ROUND_ENDS)
        canvas.setDash([length * mm for length in part.dash])
        canvas.drawPath(path, stroke=1, fill=0)
        return
    path.close()
    canvas.setStrokeGray(0.0)
    canvas.setLineWidth(part.edge * mm)
    canvas.setDash([])
    canvas.setFillGray(part.grey or 0.0)
    canvas.drawPath(path, stroke=int(part.edge > 0.0), fill=int(part.grey is not None))


def _picture(page: Page, path: Path | str) -> None:
    from firstthrow.sim.paper.drawn import plt  # isort: split

    from matplotlib.artist import Artist
    from matplotlib.lines import Line2D
    from matplotlib.patches import Polygon
    from matplotlib.text import Text

    size = (page.width * mm / inch, page.height * mm / inch)
    figure = plt.figure(figsize=size, facecolor="white")
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), xlim=(0.0, page.width), ylim=(0.0, page.height))
    axes.axis("off")
    for k, part in enumerate(page.parts):
        known: dict[str, Any] = {"zorder": k, "transform": axes.transData}
        if isinstance(part, Words):
            drawn: Artist = Text(
                part.x,
                part.y,
                part.text,
                fontsize=part.size * mm,
                horizontalalignment=part.anchor,
                verticalalignment="baseline",
                weight="bold" if part.bold else "normal",
                family=FAMILY,
                parse_math=False,
                **known,
            )
        elif isinstance(part, Line):
            thick = part.width * mm
            drawn = Line2D(
                *zip(*part.points, strict=True),
                color=str(part.grey),
                linewidth=thick,
                # matplotlib counts dashes in widths of the line
                linestyle=(0, [length * mm / thick for length in part.dash]) if part.dash else "-",
                solid_capstyle="round",
                dash_capstyle="butt",
                solid_joinstyle="round",
                **known,
            )
        else:
            drawn = Polygon(
                part.points,
                closed=True,
                facecolor="none" if part.grey is None else str(part.grey),
                edgecolor="black" if part.edge else "none",
                linewidth=part.edge * mm,
                joinstyle="round",
                **known,
            )
        axes.add_artist(drawn)
    try:
        with naming(path), plt.rc_context({"svg.hashsalt": "page"}):
            figure.savefig(path, dpi=DOTS, metadata=_DATELESS.get(Path(path).suffix.lower()))
    finally:
        plt.close(figure)


_DATELESS = {".svg": {"Date": None}}  # the same bytes for the same page
