"""DXF drawings, through ezdxf: lines, arcs, circles, ellipses, polylines and splines."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from firstthrow.sim.describe.drawing.strokes import Drawing, DrawingError, Stroke
from firstthrow.sim.units import LENGTH

UNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}  # of $INSUNITS in the header
COLOURS = {1: "red", 2: "yellow", 3: "green", 4: "cyan", 5: "blue", 6: "magenta", 7: "black"}


def read(path: Path, tolerance: float) -> Drawing:
    """Its strokes, curves cut to the tolerance, in the drawing's unit. Raises DrawingError."""
    import ezdxf
    from ezdxf.path import make_path

    try:
        document = ezdxf.readfile(path)
    except (ezdxf.DXFError, UnicodeDecodeError) as error:
        raise DrawingError(f"{path}: cannot be read as DXF: {error}") from error
    except OSError as error:
        raise DrawingError(f"{path}: cannot be read: {error.strerror or error}") from error
    unit = UNITS.get(int(document.header.get("$INSUNITS", 0)))
    strokes = []
    for entity in _flat(document.modelspace()):
        try:
            curve = make_path(entity)
        except TypeError:
            continue  # words, dimensions and the like
        points = np.array([(at.x, at.y) for at in curve.flattening(tolerance)])
        if len(points) > 1:
            strokes.append(Stroke(points, _marks(entity, document)))
    return Drawing(strokes, LENGTH.units[unit] if unit else None)


def _flat(entities):
    """Every entity, those of inserted blocks in their places."""
    for entity in entities:
        if entity.dxftype() == "INSERT":
            yield from _flat(entity.virtual_entities())
        else:
            yield entity


def _marks(entity, document) -> frozenset[str]:
    layer = entity.dxf.layer
    colour = entity.dxf.get("color", 256)
    if colour == 256 and layer in document.layers:  # by layer
        colour = document.layers.get(layer).color
    return frozenset({layer.lower(), COLOURS.get(colour, str(colour))})
