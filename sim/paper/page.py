"""A page as plain data, black on white: areas, lines and words. One page is drawn to a file or
shown in a window, and looks the same in both."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

Point = tuple[float, float]
WIDTH, HEIGHT = 297.0, 210.0  # of a landscape A4 sheet [mm], from its lower left corner
SUFFIXES = (".png", ".pdf", ".svg")


class Area(NamedTuple):
    """A convex polygon; `grey` 0 black .. 1 white."""

    points: tuple[Point, ...]
    grey: float = 1.0
    edge: float = 0.3  # width of its outline [mm], 0 for none


class Line(NamedTuple):
    points: tuple[Point, ...]
    width: float = 0.3  # [mm]


class Words(NamedTuple):
    x: float
    y: float  # of the base line
    text: str
    size: float = 3.6  # [mm]
    bold: bool = False
    anchor: str = "left"  # or "center", "right"


class Page(NamedTuple):
    parts: tuple[Area | Line | Words, ...]
    width: float = WIDTH
    height: float = HEIGHT


def box(x: float, y: float, width: float, height: float, grey=1.0, edge=0.3) -> Area:
    return Area(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), grey, edge)


def tick_box(x: float, y: float, size: float = 5.0) -> Area:
    return box(x, y, size, size, 1.0, 0.5)


def arrow(start: Point, end: Point, width: float = 1.1) -> tuple[Line, Area]:
    """A black shaft with a head at its end."""
    along = (end[0] - start[0], end[1] - start[1])
    size = max(1e-6, (along[0] ** 2 + along[1] ** 2) ** 0.5)
    way = (along[0] / size, along[1] / size)
    head = min(0.6 * size, 3.0 * width)
    neck = (end[0] - head * way[0], end[1] - head * way[1])
    half = 0.45 * head + 0.3 * width
    wings = tuple((neck[0] - s * half * way[1], neck[1] + s * half * way[0]) for s in (1.0, -1.0))
    return Line((start, neck), width), Area((end, *wings), 0.0, 0.0)


def write(page: Page, path: Path | str) -> None:
    """To PNG, PDF or SVG by the suffix. Raises ValueError for another, OSError from the disk."""
    if Path(path).suffix.lower() not in SUFFIXES:
        raise ValueError(f"{path}: wanted a name that ends in {', '.join(SUFFIXES)}")
    import matplotlib

    matplotlib.use("Agg")  # a page in a file: no window, whatever the machine has
    import matplotlib.pyplot as plt
    from matplotlib.patches import Polygon

    inch, point = 25.4, 72.0 / 25.4
    figure = plt.figure(figsize=(page.width / inch, page.height / inch), facecolor="white")
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0.0, page.width)
    axes.set_ylim(0.0, page.height)
    axes.axis("off")
    for k, part in enumerate(page.parts):
        if isinstance(part, Words):
            axes.text(
                part.x,
                part.y,
                part.text,
                fontsize=part.size * point,
                ha=part.anchor,
                va="baseline",
                weight="bold" if part.bold else "normal",
                zorder=k,
                family="DejaVu Sans",
                color="black",
            )
        elif isinstance(part, Line):
            axes.plot(
                *zip(*part.points, strict=True),
                color="black",
                lw=part.width * point,
                zorder=k,
                solid_capstyle="round",
            )
        else:
            axes.add_patch(
                Polygon(
                    part.points,
                    closed=True,
                    facecolor=str(part.grey),
                    zorder=k,
                    edgecolor="black" if part.edge else "none",
                    lw=part.edge * point,
                    joinstyle="round",
                )
            )
    try:
        figure.savefig(path, dpi=150)
    finally:
        plt.close(figure)
