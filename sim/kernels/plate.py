"""Forces of the air on the strips.

Attached load from the lattice's response, side-edge vortex lift, separated load, friction
(see `section` for how they are joined). A square edge leaves no suction, so every pressure
force stands square to the part it acts on.

Quasi-steady: the circulation follows the wash at once (Wagner's lag is left out).
Side-edge vortex lift by the suction analogy: Polhamus, NASA TN D-3767 (1966); for side
edges Lamar, J. Aircraft 11(6), 1974.
"""

from math import log, sin, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import (
    AHEAD,
    AXIAL,
    BEHIND,
    DEFLECTION,
    FLAP_REACH,
    FLAP_STEPS,
    HINGE_MOMENT,
    MOMENT,
    NEAR_GROUND,
    NORMAL,
    SEPARATED,
    SHARE,
)
from firstthrow.sim.kernels.layout import HINGE as REPORT_HINGE
from firstthrow.sim.kernels.separation import (
    lanes,
    look_up,
    shelter,
    spin_share,
    steady_share,
    turning,
)

# Two places at which the side-edge force acts, and two whose wash it goes by: the middle of either
# pair behind mid-chord, and how far from it they lie (in chords; see `side_edge`).
EDGE_PLACE = 0.075
EDGE_WASH = 0.10
EDGE_APART = 0.22
# Of a plate led by its end: what strips of its chord would take of a wash that grows along it,
# with the lift slope of the whole, over what they take: 3/8 of a slender one (Jones, NACA TR 835,
# 1946, from memory), 0.41 and 0.46 at aspect ratios of 1 and 2 (lattice).
ROLLING = 0.4
YAWING = 0.75  # the same of a speed that grows along the chord, with the load of an ellipse
OUTER = 7.0 / 16.0  # of the chord: where its edges' vortices act, as the outer of eight strips does


@kernel
def flap_factor(m, angle):
    """Effective / actual surface angle (see `section.flap_factor`)."""
    x = max(0.0, min(FLAP_STEPS - 1e-9, abs(angle) * (FLAP_STEPS / FLAP_REACH)))
    k = int(x)
    f = x - k
    return (1.0 - f) * m.flap_factor[k] + f * m.flap_factor[k + 1]


@kernel
def in_plane(u, side):
    """Speed along the plate, aft and along its span together; below 0 from behind, never 0."""
    speed = sqrt(u * u + side * side) + 1e-9
    return speed if u >= 0.0 else -speed


@kernel
def across_share(along, side):
    """0 for a plate met along its chord to 1 for one met along its span: from 30 to 60 degrees
    of sideslip, half at 45."""
    x = max(0.0, min(1.0, 2.0 * side * side / (along * along) - 0.5))
    return x * x * (3.0 - 2.0 * x)


@kernel
def met_across(m, i, scratch):
    """Force along the normal, couple about the chord and moment about the span of an attached
    strip that is met along the span of its sheet, for a share of 1.

    The sheet is taken for a rectangle that leads with its end: the force is spread evenly over
    the strips and the couple puts it where it acts. Sheets do not meet each other's downwash
    this way. A rate about the chord has the rotational lift of `turning`; one about the span or
    the normal gives leading and trailing edge, which are the tips now, another flow each.
    """
    side, w = scratch.side[i], scratch.w[i]
    half, reach = 0.5 * m.density * m.strip_area[i], m.strip_reach[i]
    load = half * m.strip_across[0, i]
    ahead = -load * side * m.strip_across[2, i] * reach
    vortex = half * m.strip_across[1, i] * w * abs(w)
    behind = vortex * 0.075 * reach * side / sqrt(side * side + w * w + 1e-6)
    force = load * w * abs(side) + vortex + ahead * scratch.roll[i]
    arm = m.strip_chord[i]
    # How speed times wash grows, by the way aft.
    spin = scratch.spin[i] if side > 0.0 else -scratch.spin[i]
    grows = ROLLING * scratch.turn[i] * abs(side) - YAWING * spin * w
    moment = -load * arm * arm / 12.0 * grows
    moment -= half * m.strip_across[1, i] * 2.0 * abs(w) * scratch.turn[i] * (OUTER * arm) ** 2
    return force, ahead * w + behind, moment


@kernel
def on_strips(m, report, scratch):
    """Angle, effective angle and sine of each strip's surface; 0 where it has none."""
    for i in range(m.n_strips):
        slot = m.strip_surface[i]
        scratch.turned[i] = report[DEFLECTION + slot] if slot >= 0 else 0.0
        scratch.works[i] = scratch.effective[slot] if slot >= 0 else 0.0
        scratch.tilts[i] = scratch.sine[slot] if slot >= 0 else 0.0


@kernel
def local_flow(body, state, air, roll_gust, report, scratch):
    """Velocity through every strip and the wash it gives the lattice.

    A gust that is met is not the same along the airframe: it changes along the way ahead, so
    that a strip further aft meets what the centre of gravity met before, and the wash slopes
    along the chord.

    air: velocity of the air past the centre of gravity, body axes [m/s]; roll_gust: its
    gradient across the span [rad/s]. What the propellers add is in `scratch.stream`; what of
    it a round stream cannot hold is left out of the wash.
    """
    m = body.record[0]
    n = lanes(m.n_strips)
    p, q, r = state[10], state[11], state[12]
    heaves = p - roll_gust
    past, beside, through = air[0], air[1], air[2]
    gx, gy, gz = scratch.gradient[0], scratch.gradient[1], scratch.gradient[2]
    ox, oy, oz = scratch.ahead[0], scratch.ahead[1], scratch.ahead[2]
    on_strips(m, report, scratch)
    across = 0.0
    for i in range(n):
        x, y, z = m.strip_place[0, i], m.strip_place[1, i], m.strip_place[2, i]
        before = x * ox + y * oy + z * oz
        a = past - (q * z - r * y) + before * gx + scratch.stream[0, i]
        b = beside - (r * x - p * z) + before * gy + scratch.stream[1, i]
        c = through - (heaves * y - q * x) + before * gz + scratch.stream[2, i]
        ax, ay, az = m.strip_aft[0, i], m.strip_aft[1, i], m.strip_aft[2, i]
        nx, ny, nz = m.strip_normal[0, i], m.strip_normal[1, i], m.strip_normal[2, i]
        sx, sy, sz = m.strip_span[0, i], m.strip_span[1, i], m.strip_span[2, i]
        u, w = a * ax + b * ay + c * az, a * nx + b * ny + c * nz
        side = a * sx + b * sy + c * sz
        slope = (ax * ox + ay * oy + az * oz) * (nx * gx + ny * gy + nz * gz)
        scratch.u[i], scratch.w[i], scratch.side[i] = u, w, side
        scratch.turn[i] = p * sx + q * sy + r * sz + slope
        scratch.roll[i] = p * ax + q * ay + r * az
        scratch.spin[i] = p * nx + q * ny + r * nz
        along = in_plane(u, side)
        scratch.along[i] = along
        sideways = across_share(along, side)
        scratch.sideways[i] = sideways
        across += sideways
        # Air along the span meets the surface edge on, unless it all but stands on it.
        meets = (u * u + 0.01 * w * w) / (along * along + 0.01 * w * w + 1e-18)
        scratch.bent[i] = scratch.turned[i] * meets
    if scratch.lagging < 0.5:
        for i in range(m.n_strips):
            along, w = scratch.along[i], scratch.w[i]
            scratch.share[i] = steady_share(body, i, along, w, scratch)
    stalled = 0.0
    for i in range(n):
        u, w, turn, chord = scratch.u[i], scratch.w[i], scratch.turn[i], m.strip_chord[i]
        share = max(spin_share(chord, turn, scratch.along[i], w), scratch.share[i])
        scratch.plate[SHARE, i] = share
        stalled += share
        kept = (1.0 - share) * (1.0 - scratch.sideways[i])
        held, turned = kept * (1.0 - scratch.lost[0, i]), kept * (1.0 - scratch.lost[1, i])
        scratch.wash[0, i] = held * w + (kept - held) * scratch.swirl[i]
        # A bowed board meets the flow along it as a turning one does the air at rest.
        scratch.wash[1, i] = held * 0.5 * chord * (turn - u * m.strip_curve[i])
        scratch.wash[2, i] = turned * u * scratch.works[i]
    scratch.unusual = across + stalled
    if stalled > 0.0:
        for i in range(m.n_strips):
            if scratch.plate[SHARE, i] > 0.0:
                along, w, bent = scratch.along[i], scratch.w[i], scratch.bent[i]
                look_up(body.plates, m.strip_table[i], along, w, bent, i, scratch)
        shelter(m, scratch)


@kernel
def ground_case(m, height):
    """Rows of the response between which a height [m] lies, and the share of the second.

    Heights in between are joined in their logarithm; above the highest the ground fades out
    until half as high again.
    """
    n = m.ground_heights.shape[0]
    top = m.ground_heights[n - 1]
    if height >= 1.5 * top:
        return AHEAD, AHEAD, 0.0
    if height >= top:
        return NEAR_GROUND + n - 1, AHEAD, (height / top - 1.0) / 0.5
    k = 0
    while k < n - 2 and height > m.ground_heights[k + 1]:
        k += 1
    low, high = m.ground_heights[k], m.ground_heights[k + 1]
    share = log(max(height, low) / low) / log(high / low)
    return NEAR_GROUND + k, NEAR_GROUND + k + 1, share


@kernel
def attach(body, case, share, way, scratch):
    """Add `share` of the lattice's outputs in one flow case to the loads of one `way`."""
    response, wash = body.response, scratch.wash
    n = 4 * body.record[0].n_strips
    for j in range(body.record[0].n_strips):
        a, b, c = share * wash[0, j], share * wash[1, j], share * wash[2, j]
        for k in range(n):
            scratch.loads[way, k] += (
                a * response[case, 3 * j, k]
                + b * response[case, 3 * j + 1, k]
                + c * response[case, 3 * j + 2, k]
            )


@kernel
def attached_loads(body, height, scratch):
    """Circulations, moments, surface loads of all strips, each for where its own flow comes
    from."""
    m = body.record[0]
    low, high, share = ground_case(m, height)
    n = 4 * m.n_strips
    reverse = False
    for i in range(m.n_strips):
        reverse = reverse or scratch.u[i] < 0.0
    for k in range(n):
        scratch.loads[AHEAD, k] = 0.0
    attach(body, low, 1.0 - share, AHEAD, scratch)
    if share > 0.0:
        attach(body, high, share, AHEAD, scratch)
    if reverse:
        for k in range(n):
            scratch.loads[BEHIND, k] = 0.0
        attach(body, BEHIND, 1.0, BEHIND, scratch)
    for i in range(m.n_strips):
        way = BEHIND if scratch.u[i] < 0.0 else AHEAD
        for k in range(4):
            scratch.replies[k, i] = scratch.loads[way, 4 * i + k]


@kernel
def side_edge(m, i, scratch):
    """Force along the normal of the vortex over a strip's free side edge, and its moment nose
    down about mid-chord, for a share of 1.

    It acts at two places, either half by a wash of its own, as the side-edge suction of the lattice
    does: 0.57 to 0.58 chord behind the leading edge where the wash is even. By a wash that grows
    along the chord (of a sheet that turns, or is bowed) the force grows by 0.20 of that wash
    (lattice: 0.18 at aspect ratio 1, 0.22 at 2), its moment in chords by 0.11 (0.12, 0.11).
    """
    u, w, chord = scratch.u[i], scratch.w[i], m.strip_chord[i]
    grows = (scratch.turn[i] - u * m.strip_curve[i]) * chord
    lean, half = u / sqrt(u * u + w * w + 1e-6), 0.25 * m.density * m.strip_edge[i]
    fore = w + grows * (EDGE_WASH * lean - EDGE_APART)
    rear = w + grows * (EDGE_WASH * lean + EDGE_APART)
    fore, rear = half * fore * abs(fore), half * rear * abs(rear)
    return fore + rear, chord * (EDGE_PLACE * lean * (fore + rear) + EDGE_APART * (rear - fore))


@kernel
def attached(m, scratch):
    """Force along the normal, force aft, moments nose up and about the chord, hinge moment of
    every strip as far as it is attached, into the scratch."""
    density = m.density
    for i in range(lanes(m.n_strips)):
        u, s = scratch.u[i], scratch.plate[SHARE, i]
        y0, y1 = scratch.replies[0, i], scratch.replies[1, i]
        y2, y3 = scratch.replies[2, i], scratch.replies[3, i]
        pull = density * u * m.strip_width[i]
        across = density * scratch.side[i] * m.strip_width[i]
        # Chordwise vortices run from the bound ones to the edge that the wake leaves from: a pair
        # of forces at the strip's sides, and what is left over where that edge is swept.
        half = 0.5 * m.strip_chord[i] * y0
        lean = m.strip_lean[1, i] if u >= 0.0 else m.strip_lean[0, i]
        edge, nose_down = side_edge(m, i, scratch)
        kept = (1.0 - s) * (1.0 - scratch.sideways[i])
        scratch.normal[i] = (pull - across * lean) * y0 + kept * edge
        scratch.couple[i] = -across * (y1 + half if u >= 0.0 else y1 - half)
        scratch.moment[i] = pull * y1 - kept * nose_down
        scratch.aft[i] = pull * y2 * m.strip_cover[i] * scratch.tilts[i]
        # What the flow does not follow, the surface still has to push aside: its own angle presses
        # on it whole.
        missed = scratch.turned[i] - scratch.works[i]
        press = m.strip_press[AHEAD, i] if u >= 0.0 else m.strip_press[BEHIND, i]
        scratch.hinge[i] = m.strip_cover[i] * pull * (y3 + kept * press * u * missed)


@kernel
def add_unusual(m, i, scratch):
    """Add to the loads of a strip what it has as far as it is met along its span, or separated."""
    u, w, s = scratch.u[i], scratch.w[i], scratch.plate[SHARE, i]
    if scratch.sideways[i] > 0.0:
        force, roll, damping = met_across(m, i, scratch)
        share = (1.0 - s) * scratch.sideways[i]
        scratch.normal[i] += share * force
        scratch.couple[i] += share * roll
        scratch.moment[i] += share * damping
    if s > 0.0:
        along = scratch.along[i]
        qs = 0.5 * m.density * (along * along + w * w) * m.strip_area[i] * s
        # It acts ahead of the middle of the sheet on the side that the air comes from.
        ahead = qs * scratch.plate[MOMENT, i] / along
        more, damping = turning(m, i, scratch)
        scratch.normal[i] += qs * scratch.plate[NORMAL, i] + s * more
        scratch.moment[i] += ahead * u * m.strip_chord[i] + s * damping
        scratch.couple[i] -= ahead * scratch.side[i] * m.strip_reach[i]
        scratch.aft[i] += qs * scratch.plate[AXIAL, i]
        hinge = qs * m.strip_chord[i] * scratch.plate[HINGE_MOMENT, i]
        scratch.hinge[i] += hinge * m.strip_cover[i]


@kernel
def add_forces(body, height, report, scratch):
    """Add all strips, at a height of the datum above the ground [m], to `scratch.total`: force,
    moment about the CG, body axes, and the air's root bending moment right and left.

    Also fills the report's hinge moments and separated share.
    """
    m, total = body.record[0], scratch.total
    attached_loads(body, height, scratch)
    attached(m, scratch)
    if scratch.unusual > 0.0:
        for i in range(m.n_strips):
            add_unusual(m, i, scratch)
    for k in range(m.n_surfaces):
        report[REPORT_HINGE + k] = 0.0
    for i in range(m.n_strips):
        if m.strip_surface[i] >= 0:
            report[REPORT_HINGE + m.strip_surface[i]] += scratch.hinge[i]
    half = 0.5 * m.density
    force_x, force_y, force_z, roll, pitch, yaw = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    bend_right, bend_left, stalled = 0.0, 0.0, 0.0
    for i in range(lanes(m.n_strips)):
        u, side, normal = scratch.u[i], scratch.side[i], scratch.normal[i]
        moment, couple = scratch.moment[i], scratch.couple[i]
        rub = half * sqrt(u * u + side * side) * m.strip_area[i] * m.strip_drag[i]
        # Pressure stands square to every part of a bowed board.
        aft = scratch.aft[i] + m.strip_curve[i] * moment + rub * u
        along = rub * side
        ax, ay, az = m.strip_aft[0, i], m.strip_aft[1, i], m.strip_aft[2, i]
        sx, sy, sz = m.strip_span[0, i], m.strip_span[1, i], m.strip_span[2, i]
        fx = normal * m.strip_normal[0, i] + aft * ax + along * sx
        fy = normal * m.strip_normal[1, i] + aft * ay + along * sy
        fz = normal * m.strip_normal[2, i] + aft * az + along * sz
        x, y, z = m.strip_place[0, i], m.strip_place[1, i], m.strip_place[2, i]
        force_x += fx
        force_y += fy
        force_z += fz
        roll += y * fz - z * fy + moment * sx + couple * ax
        pitch += z * fx - x * fz + moment * sy + couple * ay
        yaw += x * fy - y * fx + moment * sz + couple * az
        stalled += m.strip_main[i] * scratch.plate[SHARE, i]
        bend_right += normal * max(m.strip_arm[i], 0.0)
        bend_left -= normal * min(m.strip_arm[i], 0.0)
    report[SEPARATED] = stalled
    total[0] += force_x
    total[1] += force_y
    total[2] += force_z
    total[3] += roll
    total[4] += pitch
    total[5] += yaw
    total[6] += bend_right
    total[7] += bend_left


@kernel
def effective_angles(m, report, scratch):
    for k in range(m.n_surfaces):
        angle = report[DEFLECTION + k]
        scratch.effective[k] = angle * flap_factor(m, angle) * m.surface_effect[k]
        scratch.sine[k] = sin(angle)
