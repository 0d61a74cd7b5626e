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
    ANGLES,
    BEHIND,
    CHANNELS,
    DEFLECTION,
    DEFLECTIONS,
    FLAP_REACH,
    FLAP_STEPS,
    MAX_DEFLECTION,
    MAX_STRIPS,
    MAX_SURFACES,
    NEAR_GROUND,
    SEPARATED,
)
from firstthrow.sim.kernels.layout import HINGE as REPORT_HINGE

# Places in the work array, one value per strip.
# The table's channels follow one another from S on, in the order of `section`.
U, W, SIDE, S, CN, CA, CM, CH = (k * MAX_STRIPS for k in range(8))
WASH = 8 * MAX_STRIPS  # three per strip
LOADS = WASH + 3 * MAX_STRIPS  # four per strip, flow from ahead
REVERSED = LOADS + 4 * MAX_STRIPS  # and from behind
EFFECTIVE = REVERSED + 4 * MAX_STRIPS  # effective surface angle per slot
SINE = EFFECTIVE + MAX_SURFACES  # sine of each surface angle
WORK_SIZE = SINE + MAX_SURFACES


@kernel
def flap_factor(m, angle):
    """Effective / actual surface angle (see `section.flap_factor`)."""
    x = max(0.0, min(FLAP_STEPS - 1e-9, abs(angle) * (FLAP_STEPS / FLAP_REACH)))
    k = int(x)
    f = x - k
    return (1.0 - f) * m.flap_factor[k] + f * m.flap_factor[k + 1]


@kernel
def look_up(plates, kind, u, w, deflection, work, i):
    """Interpolate the plate table of strip i's sheet into the work array (see `section`)."""
    size = abs(u) + abs(w)
    d = w / max(size, 1e-9)
    if u < 0.0:
        d = 2.0 - d if w >= 0.0 else -2.0 - d
    x = max(0.0, min(float(ANGLES), (d + 2.0) * (ANGLES / 4.0)))
    k = min(int(x), ANGLES - 1)
    f = x - k
    y = (deflection + MAX_DEFLECTION) * (DEFLECTIONS / (2.0 * MAX_DEFLECTION))
    y = max(0.0, min(float(DEFLECTIONS), y))
    j = min(int(y), DEFLECTIONS - 1)
    g = y - j
    a, b, c, e = (1.0 - f) * (1.0 - g), f * (1.0 - g), (1.0 - f) * g, f * g
    for channel in range(CHANNELS):
        work[S + channel * MAX_STRIPS + i] = (
            a * plates[kind, k, j, channel]
            + b * plates[kind, k + 1, j, channel]
            + c * plates[kind, k, j + 1, channel]
            + e * plates[kind, k + 1, j + 1, channel]
        )


@kernel
def local_flow(m, plates, state, air, roll_gust, stream, work, report):
    """Velocity through every strip and the wash it gives the lattice.

    air: velocity of the air past the centre of gravity [m/s]; roll_gust: its gradient across
    the span [rad/s]; stream: (MAX_STRIPS, 3) what the propellers add at each strip; all in
    body axes.
    """
    p, q, r = state[10], state[11], state[12]
    for i in range(m.n_strips):
        x, y, z = m.strip_place[i, 0], m.strip_place[i, 1], m.strip_place[i, 2]
        a = air[0] - (q * z - r * y) + stream[i, 0]
        b = air[1] - (r * x - p * z) + stream[i, 1]
        c = air[2] - ((p - roll_gust) * y - q * x) + stream[i, 2]
        u = a * m.strip_aft[i, 0] + b * m.strip_aft[i, 1] + c * m.strip_aft[i, 2]
        w = a * m.strip_normal[i, 0] + b * m.strip_normal[i, 1] + c * m.strip_normal[i, 2]
        turn = p * m.strip_span[i, 0] + q * m.strip_span[i, 1] + r * m.strip_span[i, 2]
        work[U + i] = u
        work[W + i] = w
        work[SIDE + i] = a * m.strip_span[i, 0] + b * m.strip_span[i, 1] + c * m.strip_span[i, 2]
        slot = m.strip_surface[i]
        deflection, effective = 0.0, 0.0
        if slot >= 0:
            deflection = report[DEFLECTION + slot]
            effective = work[EFFECTIVE + slot]
        kept = 1.0
        work[S + i] = 0.0
        if abs(w) + abs(u) * m.strip_bend[i] * abs(effective) >= u * m.strip_calm[i]:
            look_up(plates, m.strip_table[i], u, w, deflection, work, i)
            kept = 1.0 - work[S + i]
        work[WASH + 3 * i] = kept * w
        work[WASH + 3 * i + 1] = kept * 0.5 * m.strip_chord[i] * turn
        work[WASH + 3 * i + 2] = kept * u * effective


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
def attach(m, response, case, share, at, work):
    """Add `share` of the lattice's outputs in one flow case to the loads at `at`."""
    n = 4 * m.n_strips
    for j in range(m.n_strips):
        a, b, c = work[WASH + 3 * j], work[WASH + 3 * j + 1], work[WASH + 3 * j + 2]
        a, b, c = share * a, share * b, share * c
        for k in range(n):
            work[at + k] += (
                a * response[case, 3 * j, k]
                + b * response[case, 3 * j + 1, k]
                + c * response[case, 3 * j + 2, k]
            )


@kernel
def attached_loads(m, response, height, work):
    """Circulations, moments, surface loads of all strips: four each at LOADS, and at REVERSED
    for flow from behind where any strip meets it."""
    low, high, share = ground_case(m, height)
    n = 4 * m.n_strips
    reverse = False
    for i in range(m.n_strips):
        reverse = reverse or work[U + i] < 0.0
    for k in range(n):
        work[LOADS + k] = 0.0
    attach(m, response, low, 1.0 - share, LOADS, work)
    if share > 0.0:
        attach(m, response, high, share, LOADS, work)
    if reverse:
        for k in range(n):
            work[REVERSED + k] = 0.0
        attach(m, response, BEHIND, 1.0, REVERSED, work)


@kernel
def strip_load(m, work, i):
    """Force along the normal, force aft, moments nose up and about the chord, hinge moment of
    one strip."""
    u, w, s = work[U + i], work[W + i], work[S + i]
    at = (LOADS if u >= 0.0 else REVERSED) + 4 * i
    y0, y1, y2, y3 = work[at], work[at + 1], work[at + 2], work[at + 3]
    pull = m.density * u * m.strip_width[i]
    across = m.density * work[SIDE + i] * m.strip_width[i]
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
        vortex = 0.5 * m.density * w * abs(w) * m.strip_edge[i] * (1.0 - s)
        normal += vortex
        # The side-edge force acts a little behind mid-chord (lattice: 0.57 to 0.58 chord).
        moment -= vortex * 0.075 * m.strip_chord[i] * u / sqrt(u * u + w * w + 1e-6)
    if s > 0.0:
        qs = 0.5 * m.density * (u * u + w * w) * m.strip_area[i] * s
        normal += qs * work[CN + i]
        moment += qs * work[CM + i] * m.strip_chord[i]
        aft = qs * work[CA + i]
        hinge = qs * m.strip_chord[i] * work[CH + i] * m.strip_cover[i]
    slot = m.strip_surface[i]
    if slot >= 0:
        cover = m.strip_cover[i]
        aft += pull * y2 * cover * work[SINE + slot]
        hinge += cover * pull * y3
    return normal, aft, moment, couple, hinge


@kernel
def add_forces(m, response, height, work, total, report):
    """Sum all strips at a height of the datum above the ground [m]: total[0:3] force [N],
    total[3:6] moment about the CG [N m], body axes.

    total[6:8] is the air's root bending moment, right and left [N m]. Also fills the report's
    hinge moments and separated share.
    """
    bend_a, bend_b, stalled = 0.0, 0.0, 0.0
    for k in range(m.n_surfaces):
        report[REPORT_HINGE + k] = 0.0
    attached_loads(m, response, height, work)
    for i in range(m.n_strips):
        normal, aft, moment, couple, hinge = strip_load(m, work, i)
        u, side = work[U + i], work[SIDE + i]
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
        stalled += m.strip_main[i] * work[S + i]
        arm = m.strip_arm[i]
        if arm > 0.0:
            bend_a += normal * arm
        else:
            bend_b -= normal * arm
    report[SEPARATED] = stalled
    total[6] += bend_a
    total[7] += bend_b


@kernel
def effective_angles(m, work, report):
    for k in range(m.n_surfaces):
        angle = report[DEFLECTION + k]
        work[EFFECTIVE + k] = angle * flap_factor(m, angle)
        work[SINE + k] = sin(angle)
