"""Loads of the air alone on an airframe held in a stream, and the most lift the sticks can hold.

The moment's root between two stick positions is found by regula falsi (the Illinois form:
Dowell and Jarratt, BIT 11, 1971), to a hundred-thousandth of the moment at full stick.
"""

from math import cos, sin

from firstthrow.sim.kernels import fittings, plate
from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import DEFLECTION, SEPARATED

SPEED = 10.0  # at which coefficients are taken [m/s]
SEARCH = 40  # steps at most
CLOSE = 1e-5


@kernel
def load(body, state, air, height, report, scratch):
    """Force and moment about the centre of gravity into the scratch's total, for surface angles
    in the report. state: attitude and body rates; air: (3,) past the centre of gravity [m/s]."""
    own = scratch[0]
    plate.effective_angles(body.record[0], report, own)
    plate.local_flow(body, state, air, 0.0, report, own)
    for n in range(8):
        own.total[n] = 0.0
    fittings.add_drag(body.record[0], state, air, report, own.total)
    plate.add_forces(body, height, report, own)


@kernel
def _moment(body, state, air, height, angles, back, report, scratch):
    """Pitching moment with the stick at back (-1..1): angles (n, surfaces) lie evenly over it."""
    x = 0.5 * (back + 1.0) * (angles.shape[0] - 1)
    k = max(0, min(int(x), angles.shape[0] - 2))
    for n in range(angles.shape[1]):
        report[DEFLECTION + n] = angles[k, n] + (x - k) * (angles[k + 1, n] - angles[k, n])
    load(body, state, air, height, report, scratch)
    return scratch[0].total[4]


@kernel
def _holds(body, state, air, height, angles, report, scratch):
    """Whether some stick brings the moment to nothing; leaves that load and report behind."""
    low, high = -1.0, 1.0
    first = _moment(body, state, air, height, angles, low, report, scratch)
    last = _moment(body, state, air, height, angles, high, report, scratch)
    if first * last > 0.0:
        return False
    close = CLOSE * max(abs(first), abs(last))
    for _ in range(SEARCH):
        back = (low * last - high * first) / (last - first) if last != first else low
        found = _moment(body, state, air, height, angles, back, report, scratch)
        if abs(found) <= close:
            break
        if found * last < 0.0:
            low, first = high, last
        else:
            first *= 0.5
        high, last = back, found
    return True


@kernel
def most_held_lift(body, state, air, height, alphas, angles, stalled, report, scratch):
    """The largest lift [N] at SPEED of all incidences [rad] at which the sticks hold the pitch
    and no more than a share `stalled` is separated; 0 where there is none."""
    best = 0.0
    for alpha in alphas:
        air[0], air[1], air[2] = -SPEED * cos(alpha), 0.0, -SPEED * sin(alpha)
        if not _holds(body, state, air, height, angles, report, scratch):
            continue
        if report[SEPARATED] <= stalled:
            total = scratch[0].total
            best = max(best, total[0] * sin(alpha) - total[2] * cos(alpha))
    return best
