"""Which boxes of the picture have edges to soften: everything else on it ends in haze, in leaves or
in the mown grass. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from firstthrow.scenes.world.camera import Box, Pose, View
from firstthrow.scenes.world.matrices import body_matrix, camera_matrix
from firstthrow.scenes.world.meshes import AirframeMesh
from firstthrow.sim.once import once_for

MARGIN = 3  # pixels round what is projected: thin sheets are drawn thicker, far away
MOST = 0.6  # of the picture; above it, all of it is softened in one go


@once_for(4)
def outline(mesh: AirframeMesh) -> np.ndarray:
    """(n, 3) body axes: places between which all that is drawn of an airframe lies."""
    found = [mesh.fixed.places, *(part.mesh.places for part in mesh.surfaces)]
    for prop in mesh.propellers:
        corners = np.array([(x, y, z) for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)])
        found.append(prop.place + prop.radius * corners)
    return np.unique(np.round(np.concatenate(found), 3), axis=0)


def placed(mesh: AirframeMesh, pose: Pose) -> np.ndarray:
    """(n, 3) its outline in field axes."""
    matrix = body_matrix(pose)
    return outline(mesh) @ matrix[:3, :3].T + matrix[:3, 3]


def box_of(view: View, size: tuple[int, int], things: np.ndarray, margin: float) -> Box | None:
    """Of (n, 3) field places, None where none lies before the eye."""
    wide, tall = size
    ends = np.column_stack([things, np.ones(len(things))]) @ camera_matrix(view, wide / tall).T
    ahead = ends[:, 3] > 0.05
    if not ahead.any():
        return None
    if not ahead.all():  # beside the eye: it may reach to any edge
        return 0, 0, wide, tall
    x = 0.5 * wide * (1.0 + ends[:, 0] / ends[:, 3])
    y = 0.5 * tall * (1.0 + ends[:, 1] / ends[:, 3])
    x0, x1 = np.clip([x.min() - margin, x.max() + margin], 0, wide).astype(int)
    y0, y1 = np.clip([y.min() - margin, y.max() + margin], 0, tall).astype(int)
    if x1 <= x0 or y1 <= y0:
        return None
    return int(x0), int(y0), int(x1 - x0), int(y1 - y0)


def boxes(
    view: View, size: tuple[int, int], things: Sequence[tuple[np.ndarray, float]]
) -> list[Box] | None:
    """Of things, each with a margin [pixels]; None where they take so much that the whole picture
    is softened more cheaply."""
    found = [box_of(view, size, places, MARGIN + margin) for places, margin in things]
    known = [box for box in found if box is not None]
    if sum(wide * tall for _, _, wide, tall in known) > MOST * size[0] * size[1]:
        return None
    return known
