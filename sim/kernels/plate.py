"""Forces of the air on the strips.

Attached load from the lattice's response, side-edge vortex lift, separated load, friction
(see `section` for how they are joined). A square edge leaves no suction, so every pressure
force stands square to the part it acts on.

Quasi-steady: the circulation follows the wash at once (Wagner's lag is left out).
Side-edge vortex lift by the suction analogy: Polhamus, NASA TN D-3767 (1966); for side
edges Lamar, J. Aircraft 11(6), 1974.
"""

from math import log, pi, sin, sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import (
    AHEAD,
    AXIAL,
    BEHIND,
    CD_90_2D,
    CHANNELS,
    DEFLECTION,
    FLAP_REACH,
    FLAP_STEPS,
    HINGE_MOMENT,
    MAX_SURFACES,
    MOMENT,
    NEAR_GROUND,
    NORMAL,
    SEPARATED,
    SHARE,
)
from firstthrow.sim.kernels.layout import HINGE as REPORT_HINGE
from firstthrow.sim.kernels.separation import cell, shelter, spin_share, steady_share

GAUSS_PLACE = 0.5 * sqrt(0.6)  # of three places along a chord, the outer two from its middle
GAUSS_WEIGHT = 5.0 / 18.0  # of either
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
def look_up(plates, kind, u, w, deflection, i, scratch):
    """Interpolate the plate table of strip i's sheet into `scratch.plate` (see `section`)."""
    k, f, j, g = cell(u, w, deflection)
    a, b, c, e = (1.0 - f) * (1.0 - g), f * (1.0 - g), (1.0 - f) * g, f * g
    for channel in range(CHANNELS):
        scratch.plate[channel, i] = (
            a * plates[kind, k, j, channel]
            + b * plates[kind, k + 1, j, channel]
            + c * plates[kind, k, j + 1, channel]
            + e * plates[kind, k + 1, j + 1, channel]
        )


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
def broad(along, w, relief):
    """Separated load over density / 2, area and CD_90_2D: `section.normal_force` times the
    square of the speed."""
    speed = sqrt(along * along + w * w) + 1e-9
    return w * speed * (1.0 / (0.56 + 0.44 * abs(w) / speed) - relief)


@kernel
def turning(m, i, scratch):
    """Force along the normal and moment nose up of a separated strip that turns, beside those
    of one that does not, for a share of 1.

    Crossflow: every part of the chord meets its own normal speed; three places and weights of
    Gauss's rule (the moment of a pure spin comes out at 1.03 of the integral). Rotational lift:
    a load that acts ahead of mid-chord feeds a rotation, and as much is lost to the motion along
    the normal, so that together they do no work. Steady attached flow has the same balance: the
    load of the wash at the quarter chord, the rotational lift pi/4 density u c^2 turn at
    mid-chord. Rotational lift and quadratic damping of falling plates: Andersen, Pesavento and
    Wang, J. Fluid Mech. 541, 2005 (from memory; their lift coefficient is three times this one,
    for a plate that keeps the whole of the attached load's).
    """
    along, w, relief, turn = scratch.along[i], scratch.w[i], m.strip_relief[i], scratch.turn[i]
    scale = 0.5 * m.density * m.strip_area[i] * CD_90_2D
    place = GAUSS_PLACE * m.strip_chord[i]
    fore, rear = broad(along, w - place * turn, relief), broad(along, w + place * turn, relief)
    speed = sqrt(along * along + w * w) + 1e-9
    steep = abs(w) / speed
    shape = (1.0 / (0.56 + 0.44 * steep) - relief) * 0.75 / (4.0 + pi * steep)
    ahead = scratch.u[i] * m.strip_chord[i] * turn
    ahead -= scratch.side[i] * m.strip_reach[i] * scratch.roll[i]
    force = GAUSS_WEIGHT * (fore + rear - 2.0 * broad(along, w, relief)) + shape * ahead
    return scale * force, -scale * GAUSS_WEIGHT * place * (rear - fore)


@kernel
def dot(a, b):
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


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
    m, stream = body.record[0], scratch.stream
    p, q, r = state[10], state[11], state[12]
    for i in range(m.n_strips):
        x, y, z = m.strip_place[i, 0], m.strip_place[i, 1], m.strip_place[i, 2]
        before = x * scratch.ahead[0] + y * scratch.ahead[1] + z * scratch.ahead[2]
        a = air[0] - (q * z - r * y) + before * scratch.gradient[0] + stream[i, 0]
        b = air[1] - (r * x - p * z) + before * scratch.gradient[1] + stream[i, 1]
        c = air[2] - ((p - roll_gust) * y - q * x) + before * scratch.gradient[2] + stream[i, 2]
        u = a * m.strip_aft[i, 0] + b * m.strip_aft[i, 1] + c * m.strip_aft[i, 2]
        w = a * m.strip_normal[i, 0] + b * m.strip_normal[i, 1] + c * m.strip_normal[i, 2]
        turn = p * m.strip_span[i, 0] + q * m.strip_span[i, 1] + r * m.strip_span[i, 2]
        turn += dot(m.strip_aft[i], scratch.ahead) * dot(m.strip_normal[i], scratch.gradient)
        scratch.u[i] = u
        scratch.w[i] = w
        scratch.side[i] = a * m.strip_span[i, 0] + b * m.strip_span[i, 1] + c * m.strip_span[i, 2]
        slot = m.strip_surface[i]
        deflection, effective = 0.0, 0.0
        if slot >= 0:
            deflection = report[DEFLECTION + slot]
            effective = scratch.effective[slot]
        scratch.along[i] = in_plane(u, scratch.side[i])
        scratch.turn[i] = turn
        scratch.roll[i] = p * m.strip_aft[i, 0] + q * m.strip_aft[i, 1] + r * m.strip_aft[i, 2]
        normal = m.strip_normal[i]
        scratch.spin[i] = p * normal[0] + q * normal[1] + r * normal[2]
        along = scratch.along[i]
        sideways = across_share(along, scratch.side[i])
        scratch.sideways[i] = sideways
        # Air along the span meets the surface edge on, unless it all but stands on it.
        bent = deflection * (u * u + 0.01 * w * w) / (along * along + 0.01 * w * w + 1e-18)
        scratch.bent[i] = bent
        if scratch.lagging > 0.5:
            share = scratch.share[i]
        else:
            share = steady_share(body, i, along, w, scratch)
        share = max(spin_share(m.strip_chord[i], turn, along, w), share)
        if share > 0.0:
            look_up(body.plates, m.strip_table[i], along, w, bent, i, scratch)
        scratch.plate[SHARE, i] = share
        kept = (1.0 - share) * (1.0 - sideways)
        held, turned = kept * (1.0 - scratch.lost[i, 0]), kept * (1.0 - scratch.lost[i, 1])
        scratch.wash[i, 0] = held * w + (kept - held) * scratch.swirl[i]
        # A bowed board meets the flow along it as a turning one does the air at rest.
        scratch.wash[i, 1] = held * 0.5 * m.strip_chord[i] * (turn - u * m.strip_curve[i])
        scratch.wash[i, 2] = turned * u * effective
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
        a, b, c = wash[j, 0], wash[j, 1], wash[j, 2]
        a, b, c = share * a, share * b, share * c
        for k in range(n):
            scratch.loads[way, k] += (
                a * response[case, 3 * j, k]
                + b * response[case, 3 * j + 1, k]
                + c * response[case, 3 * j + 2, k]
            )


@kernel
def attached_loads(body, height, scratch):
    """Circulations, moments, surface loads of all strips into the loads from AHEAD, and into
    those from BEHIND where any strip meets such flow."""
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
def strip_load(m, i, angles, scratch):
    """Force along the normal, force aft, moments nose up and about the chord, hinge moment of
    one strip. angles: of the surfaces [rad]."""
    u, w, s = scratch.u[i], scratch.w[i], scratch.plate[SHARE, i]
    way, at, loads = AHEAD if u >= 0.0 else BEHIND, 4 * i, scratch.loads
    y0, y1, y2, y3 = loads[way, at], loads[way, at + 1], loads[way, at + 2], loads[way, at + 3]
    pull = m.density * u * m.strip_width[i]
    across = m.density * scratch.side[i] * m.strip_width[i]
    # Chordwise vortices run from the bound ones to the edge that the wake leaves from: a pair
    # of forces at the strip's sides, and what is left over where that edge is swept.
    half = 0.5 * m.strip_chord[i] * y0
    if u >= 0.0:
        normal = pull * y0 - across * m.strip_lean[1, i] * y0
        couple = -across * (half + y1)
    else:
        normal = pull * y0 - across * m.strip_lean[0, i] * y0
        couple = across * (half - y1)
    moment = pull * y1
    aft, hinge = 0.0, 0.0
    if m.strip_edge[i] > 0.0:
        force, nose_down = side_edge(m, i, scratch)
        kept = (1.0 - s) * (1.0 - scratch.sideways[i])
        normal += kept * force
        moment -= kept * nose_down
    if scratch.sideways[i] > 0.0:
        force, roll, damping = met_across(m, i, scratch)
        share = (1.0 - s) * scratch.sideways[i]
        normal += share * force
        couple += share * roll
        moment += share * damping
    if s > 0.0:
        along = scratch.along[i]
        qs = 0.5 * m.density * (along * along + w * w) * m.strip_area[i] * s
        normal += qs * scratch.plate[NORMAL, i]
        # It acts ahead of the middle of the sheet on the side that the air comes from.
        ahead = qs * scratch.plate[MOMENT, i] / along
        moment += ahead * u * m.strip_chord[i]
        couple -= ahead * scratch.side[i] * m.strip_reach[i]
        more, damping = turning(m, i, scratch)
        normal += s * more
        moment += s * damping
        aft = qs * scratch.plate[AXIAL, i]
        hinge = qs * m.strip_chord[i] * scratch.plate[HINGE_MOMENT, i] * m.strip_cover[i]
    aft += m.strip_curve[i] * moment  # pressure stands square to every part of a bowed board
    slot = m.strip_surface[i]
    if slot >= 0:
        cover = m.strip_cover[i]
        aft += pull * y2 * cover * scratch.sine[slot]
        hinge += cover * pull * y3
        # What the flow does not follow, the surface still has to push aside: its own angle presses
        # on it whole.
        missed = angles[slot] - scratch.effective[slot]
        kept = (1.0 - s) * (1.0 - scratch.sideways[i])
        hinge += cover * pull * kept * m.strip_press[way, i] * u * missed
    return normal, aft, moment, couple, hinge


@kernel
def add_forces(body, height, report, scratch):
    """Add all strips, at a height of the datum above the ground [m], to `scratch.total`: force,
    moment about the CG, body axes, and the air's root bending moment right and left.

    Also fills the report's hinge moments and separated share.
    """
    m, total = body.record[0], scratch.total
    bend_a, bend_b, stalled = 0.0, 0.0, 0.0
    for k in range(m.n_surfaces):
        report[REPORT_HINGE + k] = 0.0
    attached_loads(body, height, scratch)
    angles = report[DEFLECTION : DEFLECTION + MAX_SURFACES]
    for i in range(m.n_strips):
        normal, aft, moment, couple, hinge = strip_load(m, i, angles, scratch)
        u, side = scratch.u[i], scratch.side[i]
        speed = sqrt(u * u + side * side)
        rub = 0.5 * m.density * speed * m.strip_area[i] * m.strip_drag[i]
        aft += rub * u
        along = rub * side
        fx = normal * m.strip_normal[i, 0] + aft * m.strip_aft[i, 0] + along * m.strip_span[i, 0]
        fy = normal * m.strip_normal[i, 1] + aft * m.strip_aft[i, 1] + along * m.strip_span[i, 1]
        fz = normal * m.strip_normal[i, 2] + aft * m.strip_aft[i, 2] + along * m.strip_span[i, 2]
        x, y, z = m.strip_place[i, 0], m.strip_place[i, 1], m.strip_place[i, 2]
        total[0] += fx
        total[1] += fy
        total[2] += fz
        mx = moment * m.strip_span[i, 0] + couple * m.strip_aft[i, 0]
        my = moment * m.strip_span[i, 1] + couple * m.strip_aft[i, 1]
        mz = moment * m.strip_span[i, 2] + couple * m.strip_aft[i, 2]
        total[3] += y * fz - z * fy + mx
        total[4] += z * fx - x * fz + my
        total[5] += x * fy - y * fx + mz
        if m.strip_surface[i] >= 0:
            report[REPORT_HINGE + m.strip_surface[i]] += hinge
        stalled += m.strip_main[i] * scratch.plate[SHARE, i]
        arm = m.strip_arm[i]
        if arm > 0.0:
            bend_a += normal * arm
        else:
            bend_b -= normal * arm
    report[SEPARATED] = stalled
    total[6] += bend_a
    total[7] += bend_b


@kernel
def effective_angles(m, report, scratch):
    for k in range(m.n_surfaces):
        angle = report[DEFLECTION + k]
        scratch.effective[k] = angle * flap_factor(m, angle) * m.surface_effect[k]
        scratch.sine[k] = sin(angle)
