"""Vortex lattice over all sheets at set-up, collapsed to a matrix per strip.

Horseshoe vortices on each strip, wakes straight back; the condition of no flow through the
plate at the control points (Katz and Plotkin, Low-Speed Aerodynamics, 2nd ed., ch. 12).
Chordwise, vortices and control points stand at the Chebyshev places of the
quasi-vortex-lattice method (Lan, Journal of Aircraft 11(9), 1974), exact in two dimensions
for smooth camber; spanwise, equal strips with inset tips (see `strips`).

The sheets are rigid, so the flow through a strip is affine along its chord, and a deflected
surface adds its own part behind the hinge. Everything the lattice can say is therefore the
matrix from three inputs per strip (normal wash at mid-chord, its change from mid-chord to
the trailing edge, wash of the surface) to four outputs (circulation, its moment about
mid-chord, circulation and hinge moment of the surface). It carries span loading, damping in
roll, pitch and yaw, downwash on a tail and surface effectiveness with no further constants.
A second matrix serves the flow from behind.

Valid for: attached, incompressible, steady flow with small sidewash. The wake does not roll
up and does not curve with a steady rotation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.strips import Strips, spread
from firstthrow.sim.kernels.layout import BEHIND
from firstthrow.sim.once import once_for

INPUTS = 3  # normal wash, its slope, surface wash [m/s]
OUTPUTS = 4  # circulation [m2/s], moment [m3/s], surface circulation, surface hinge moment
CHORDWISE = 12
# A vortex gives no velocity on itself: one plus the cosine of the angle between the lines to its
# ends, below which a point lies on it. Its root is some 1e-6 rad, whatever the airframe's size.
ON_LINE = 1e-12


class Lattice(NamedTuple):
    """Horseshoes and control points of one flow direction; k panels a strip, n strips."""

    a: np.ndarray  # (n*k, 3) bound vortex ends
    b: np.ndarray
    point: np.ndarray  # (n*k, 3) control points
    vortex_at: np.ndarray  # (n, k) chord fraction of the bound vortices, from the leading edge
    point_at: np.ndarray  # (n, k) of the control points
    on_surface: np.ndarray  # (n, k) share of each control point that lies on the surface
    vortex_on_surface: np.ndarray  # (n, k)


def stations(chordwise: int) -> tuple[np.ndarray, np.ndarray]:
    k = np.arange(1, chordwise + 1)
    vortex = 0.5 * (1.0 - np.cos((2 * k - 1) * np.pi / (2 * chordwise)))
    point = 0.5 * (1.0 - np.cos(k * np.pi / chordwise))
    return vortex, point


def along(quad: np.ndarray, fraction: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points on both edges of each strip at chord fractions (n, k) -> two (n, k, 3)."""
    f = fraction[:, :, None]
    inner = quad[:, None, 0] * (1 - f) + quad[:, None, 3] * f
    outer = quad[:, None, 1] * (1 - f) + quad[:, None, 2] * f
    return inner, outer


def lattice(strips: Strips, from_behind: bool = False, chordwise: int = CHORDWISE) -> Lattice:
    vortex, point = stations(chordwise)
    if from_behind:
        vortex, point = 1.0 - vortex, 1.0 - point
    n = len(strips.chord)
    vortex_at, point_at = np.tile(vortex, (n, 1)), np.tile(point, (n, 1))
    a, b = along(strips.quad, vortex_at)
    c, d = along(strips.quad, point_at)
    hinge = 1.0 - strips.flap[:, None]
    return Lattice(
        a.reshape(-1, 3),
        b.reshape(-1, 3),
        (0.5 * (c + d)).reshape(-1, 3),
        vortex_at,
        point_at,
        _behind(point_at, hinge),
        _behind(vortex_at, hinge),
    )


def _behind(at: np.ndarray, hinge: np.ndarray) -> np.ndarray:
    """1 behind the hinge, 0 ahead; the nearest station to the hinge carries its share.

    In the angle theta of the cosine spacing the stations are equally spaced, and the step at
    the hinge is spread over one spacing so that its place is kept exactly on average.
    """
    theta, at_hinge = np.arccos(1 - 2 * at), np.arccos(1 - 2 * np.clip(hinge, 0, 1))
    spacing = np.pi / at.shape[1]
    return np.clip((theta - at_hinge) / spacing + 0.5, 0.0, 1.0) * (hinge < 1.0)


def _hinge_arm(at: np.ndarray, hinge: np.ndarray) -> np.ndarray:
    """Mean of (distance behind the hinge / chord) over the cell each vortex stands for.

    A vortex stands for the cell half a spacing either side of it in theta, over which
    loading times sin(theta) is nearly constant.
    """
    theta, spacing = np.arccos(1 - 2 * at), np.pi / at.shape[1]
    at_hinge = np.arccos(1 - 2 * np.clip(hinge, 0, 1))
    start = np.maximum(theta - 0.5 * spacing, at_hinge)
    end = np.maximum(theta + 0.5 * spacing, at_hinge)
    # Integral of (1 - cos t)/2 - hinge.
    return ((0.5 - hinge) * (end - start) - 0.5 * (np.sin(end) - np.sin(start))) / spacing


ROWS = 32  # points taken at once, so that what is worked on stays in the processor's cache


def blocks(points: np.ndarray) -> list[slice]:
    return [slice(row, row + ROWS) for row in range(0, len(points), ROWS)]


def straight(a: np.ndarray, b: np.ndarray) -> Callable[..., np.ndarray]:
    """Unit straight vortices a->b: a function of points (n, 3), normals there and the distances
    of a and b from them (n, vortices) that gives the speeds along the normals (n, vortices).

    With n1 and n2 the distances and e the length, 2.72 of Katz and Plotkin is, by the rule of
    cosines, (r1 x r2) (n1 + n2) / (2 pi n1 n2 ((n1 + n2)^2 - e^2)).
    """
    span = a - b
    square = (span * span).sum(axis=1)
    # normal . (r1 x r2) = normal . (r1 x span), as a product of matrices.
    right = np.vstack([span.T, np.cross(a, span).T])

    def speed(point, normal, n1, n2) -> np.ndarray:
        both, far = n1 * n2, n1 + n2
        beyond = far * far - square
        small = beyond <= 2.0 * ON_LINE * both
        if small.any():  # on its line, or at one of its ends
            beyond[small], both[small] = np.inf, 1.0
        found = np.hstack([np.cross(normal, point), -normal]) @ right
        found *= far
        found /= 2.0 * np.pi * both * beyond
        return found

    return speed


def influence(strips: Strips, grid: Lattice, ahead: float) -> np.ndarray:
    """(n*k, n*k) normal velocity at each control point of each unit horseshoe."""
    return _normal_velocity(strips, grid, grid.point, ahead, np.ones(3))


def ground_influence(strips: Strips, grid: Lattice, height: float) -> np.ndarray:
    """What the mirror image below the ground adds to `influence`, in level flight with the
    datum at a height [m]; it turns the flow along the ground."""
    mirror = np.array([1.0, 1.0, -1.0])
    below = grid.point * mirror + [0.0, 0.0, -2.0 * height]
    return _normal_velocity(strips, grid, below, 1.0, mirror)


def _normal_velocity(strips, grid: Lattice, point, ahead: float, turn) -> np.ndarray:
    cores = _cores(strips)
    core = np.kron(cores, np.ones((grid.vortex_at.shape[1],) * 2)) if cores.any() else None
    normal = np.repeat(strips.normal, grid.vortex_at.shape[1], axis=0) * turn
    return horseshoes(point, normal, grid.a, grid.b, ahead, core)


def horseshoes(point, normal, a, b, ahead: float, core=None) -> np.ndarray:
    """(points, vortices) speed along the normal at each of (n, 3) points of unit horseshoes: in
    from the wake to a, a to b, b to the wake.

    ahead: +1 for wakes along x (aft), -1 for wakes the other way; core: (points, vortices) of the
    wakes, where there are any. What is asked of an end is worked out once for all that share it.
    """
    ends, which = np.unique(np.concatenate([a, b]), axis=0, return_inverse=True)
    first, last = which.reshape(2, -1)
    bound, found = straight(a, b), []
    for rows in blocks(point):
        x, y, z = (point[rows, None, i] - ends[:, i] for i in range(3))
        off = y * y + z * z
        whole = x * x + off
        distance = np.sqrt(whole)
        legs = _legs(distance, x, ahead, whole)
        legs *= normal[rows, 2, None] * y - normal[rows, 1, None] * z
        speed = bound(point[rows], normal[rows], distance[:, first], distance[:, last])
        for at, sign in ((last, 1.0), (first, -1.0)):
            left = 1.0 if core is None else _left(off[:, at], core[rows])
            speed += sign * left * legs[:, at]
        found.append(speed)
    return np.concatenate(found)


def _legs(distance, x, ahead: float, whole) -> np.ndarray:
    """Speed of unit vortices from each end to infinity along the x axis, over how far off."""
    scale = distance * (distance - ahead * x)
    small = scale <= ON_LINE * whole
    if small.any():
        scale[small] = np.inf
    return ahead / (4.0 * np.pi) / scale


def _left(off: np.ndarray, core: np.ndarray) -> np.ndarray:
    """What a wake's core of a radius leaves of its speed at the root of `off`; inside it falls to
    nothing (Vatistas, Experiments in Fluids 11, 1991)."""
    return off / np.maximum(np.sqrt(off * off + core**4), 1e-30)


def _cores(strips: Strips) -> np.ndarray:
    """(n, n) radius at each strip of the trailing vortices from each.

    The wake of one sheet passes the control points of another that lies in its plane, such as
    a tail's, at some chance distance, where a sheet of vorticity would pass evenly: cores as
    wide as the vortices lie apart spread it out. With 0.7 of that, slopes change by 0.5 % and
    neutral points by 1 mm in 200 mm of chord (canards, tails). An upright sheet has edges of
    strips at its root instead.
    """
    other = strips.sheet[:, None] != strips.sheet
    alike = np.abs(strips.normal @ strips.normal.T) > 0.5
    return np.where(other & alike, strips.width, 0.0)


def _inputs(strips: Strips, grid: Lattice) -> np.ndarray:
    """(n*k, 3n) flow through each control point for unit inputs."""
    n, k = grid.point_at.shape
    wash = np.zeros((n, k, n, INPUTS))
    each = np.arange(n)
    wash[each, :, each, 0] = 1.0
    wash[each, :, each, 1] = 2.0 * grid.point_at - 1.0
    wash[each, :, each, 2] = grid.on_surface * strips.cover[:, None]
    return wash.reshape(n * k, n * INPUTS)


def _outputs(strips: Strips, grid: Lattice) -> np.ndarray:
    """(4n, n*k) sums of circulation over each strip."""
    n, k = grid.vortex_at.shape
    total = np.zeros((n, OUTPUTS, n, k))
    each = np.arange(n)
    chord = strips.chord[:, None]
    total[each, 0, each] = 1.0
    total[each, 1, each] = (0.5 - grid.vortex_at) * chord
    total[each, 2, each] = grid.vortex_on_surface
    total[each, 3, each] = _hinge_arm(grid.vortex_at, 1.0 - strips.flap[:, None]) * chord
    return total.reshape(n * OUTPUTS, n * k)


def thin_section(flap: float) -> np.ndarray:
    """(3, 3) moment about mid-chord, surface circulation and hinge moment of a thin section
    of unit chord per input.

    Loading for unit wash 2 cot(t/2), for unit slope 2 sin t, for unit surface wash
    2 (1 - th/pi) cot(t/2) + (2/pi) ln |sin((t + th)/2) / sin((t - th)/2)|.
    Source: Glauert, Elements of Aerofoil and Airscrew Theory, ch. 7 (the series summed).
    """
    hinge = np.arccos(2.0 * flap - 1.0)
    # Substituting t = hinge + (pi - hinge) s^2 makes the logarithm at the hinge harmless.
    s, weight = np.polynomial.legendre.leggauss(60)
    s, weight = 0.5 * (s + 1.0), 0.5 * weight
    t = hinge + (np.pi - hinge) * s**2
    weight = weight * 2.0 * (np.pi - hinge) * s * 0.5 * np.sin(t)  # dx
    cot = 1.0 / np.tan(0.5 * t)
    step = np.log(np.abs(np.sin(0.5 * (t + hinge)) / np.sin(0.5 * (t - hinge))))
    loading = np.array(
        [2.0 * cot, 2.0 * np.sin(t), 2.0 * (1.0 - hinge / np.pi) * cot + 2.0 / np.pi * step]
    )
    arm = 0.5 * (1.0 - np.cos(t)) - (1.0 - flap)
    # Glauert: cl = 2 (pi - th + sin th), cm about the quarter chord = -sin th (1 - cos th) / 2.
    lift = 2.0 * (np.pi - hinge + np.sin(hinge))
    quarter = -0.5 * np.sin(hinge) * (1.0 - np.cos(hinge))
    moment = [0.25 * np.pi, 0.0, 0.5 * (quarter + 0.25 * lift)]
    return np.array([moment, loading @ weight, loading @ (weight * arm)])


def _lattice_section(flap: float, chordwise: int) -> np.ndarray:
    """(3, 3) what the lattice's stations give for `thin_section`."""
    vortex, point = stations(chordwise)
    hinge = np.array([1.0 - flap])
    wash = np.array([np.ones(chordwise), 2.0 * point - 1.0, _behind(point[None], hinge)[0]])
    matrix = 1.0 / (2.0 * np.pi * (point[:, None] - vortex[None, :]))
    circulation = np.linalg.solve(matrix, wash.T)
    sums = np.array(
        [0.5 - vortex, _behind(vortex[None], hinge)[0], _hinge_arm(vortex[None], hinge)[0]]
    )
    return sums @ circulation


def _sharpen_hinges(strips: Strips, reply: np.ndarray, chordwise: int) -> None:
    """Replace the lattice's two-dimensional part of moment and surface loads by the exact one.

    The loading is logarithmic at the hinge, which a few stations catch only to 1-7 %; that
    part is local and two-dimensional, so the difference to `thin_section` is put right.
    """
    for flap in np.unique(strips.flap[strips.flap > 0.0]):
        gap = thin_section(float(flap)) - _lattice_section(float(flap), chordwise)
        for i in np.flatnonzero(strips.flap == flap):
            chord = strips.chord[i]
            scale = np.outer([chord**2, chord, chord**2], [1.0, 1.0, strips.cover[i]])
            reply[4 * i + 1 : 4 * i + 4, 3 * i : 3 * i + 3] += gap * scale


def response(
    strips: Strips, chordwise: int = CHORDWISE, ground_heights: Iterable[float] = ()
) -> np.ndarray:
    """(2 + heights, 4n, 3n): outputs per unit input; flow from ahead, from behind, and from
    ahead with the datum at the given heights above the ground [m].

    Rows and columns run strip by strip. Circulation is positive from `span` start to end, so
    the force along the normal per width is density * (speed along `aft`) * circulation;
    moments are nose up about mid-chord, hinge moments trailing edge up, for that force.
    """
    grid = lattice(strips, chordwise=chordwise)
    free = influence(strips, grid, 1.0)
    into, out = _inputs(strips, grid), _outputs(strips, grid)
    ahead = [free] + [free + ground_influence(strips, grid, h) for h in ground_heights]
    found = [out @ np.linalg.solve(matrix, -into) for matrix in ahead]
    for reply in found:
        _sharpen_hinges(strips, reply, chordwise)
    turned = lattice(strips, True, chordwise)
    circulation = np.linalg.solve(influence(strips, turned, -1.0), -_inputs(strips, turned))
    found.insert(BEHIND, _outputs(strips, turned) @ circulation)
    return np.array(found)


def collapse(coarse: Strips, fine: Strips, reply: np.ndarray) -> np.ndarray:
    """(cases, 4 n, 3 n) the response of `fine` strips seen from n coarse ones.

    Washes reach the fine strips along straight lines, a surface's wash from the strip it
    belongs to; loads come back by the same weights, so total force and its moment about any
    axis are kept, and an even wash or a steady roll gives exactly what the fine lattice gives.
    """
    lines, inside = spread(coarse, fine)
    n, k = len(coarse.chord), len(fine.chord)
    chord = fine.chord[:, None] / coarse.chord[None, :]
    own = inside * (fine.surface[:, None] == coarse.surface[None, :])
    into = np.zeros((k, INPUTS, n, INPUTS))
    into[:, 0, :, 0] = lines
    into[:, 1, :, 1] = lines * chord
    into[:, 2, :, 2] = own
    width = fine.width[:, None] / coarse.width[None, :]
    back = np.zeros((n, OUTPUTS, k, OUTPUTS))
    back[:, 0, :, 0] = (lines * width).T
    back[:, 1, :, 1] = (lines * width).T
    # The surface's own loads are those of the part of each strip that it covers.
    cover = np.where(coarse.cover > 0.0, coarse.cover, 1.0)
    covered = own * width * fine.cover[:, None] / cover[None, :]
    back[:, 2, :, 2] = covered.T
    back[:, 3, :, 3] = covered.T
    there, home = into.reshape(k * INPUTS, -1), back.reshape(-1, k * OUTPUTS)
    return np.array([home @ case @ there for case in reply])


@once_for(32)
def side_edges_of(coarse: Strips, fine: Strips) -> np.ndarray:
    """(n,) `side_edges` of the fine strips, on the coarse strips where they lie."""
    return spread(coarse, fine)[1].T @ side_edges(fine)


def side_edges(strips: Strips, chordwise: int = CHORDWISE) -> np.ndarray:
    """(n,) suction at the free side edges of each strip, as an area [m2].

    Side-edge vortex lift is half density * w |w| times this area: the in-plane force on the
    chordwise vortices of a sheet under unit normal wash, turned square to the sheet
    (Lamar, J. Aircraft 11(6), 1974). Zero for strips without a free edge.
    """
    found = np.zeros(len(strips.chord))
    for sheet in np.unique(strips.sheet):
        mine = np.flatnonzero(strips.sheet == sheet)
        own = Strips(*(column[mine] for column in strips))
        found[mine] = _own_side_edges(own, chordwise)
    return found


def _own_side_edges(strips: Strips, chordwise: int) -> np.ndarray:
    grid = lattice(strips, chordwise=chordwise)
    n, k = grid.vortex_at.shape
    strength = np.linalg.solve(influence(strips, grid, 1.0), -np.ones(n * k))
    each = np.cumsum(strength.reshape(n, k), axis=1)
    station = np.concatenate([grid.vortex_at, np.ones((n, 1))], axis=1)
    middle, length = 0.5 * (station[:, 1:] + station[:, :-1]), np.diff(station, axis=1)
    found = np.zeros(n)
    for i in np.flatnonzero(strips.tip > 0.0):
        # The free edge is the one further from the other strips of the same side.
        others = strips.middle[strips.side == strips.side[i]].mean(axis=0)
        edge = strips.quad[i][[0, 3]], strips.quad[i][[1, 2]]
        away = [np.linalg.norm(e.mean(axis=0) - others) for e in edge]
        front, rear = edge[int(np.argmax(away))]
        point = front + middle[i][:, None] * (rear - front)
        normal = np.tile(strips.normal[i], (len(point), 1))
        wash = horseshoes(point, normal, grid.a, grid.b, 1.0) @ strength + 1.0
        pull = wash * each[i] * length[i] * np.linalg.norm(rear - front)
        # The lattice keeps 0.90 of the edge's suction on the tip vortex itself, the rest on
        # the next ones inboard (0.89 to 0.92 for aspect ratios 0.5 to 6).
        found[i] = 2.0 * abs(pull.sum()) / 0.90
    return found
