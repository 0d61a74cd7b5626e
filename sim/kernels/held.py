"""Loads of the air alone on an airframe held in a stream, and the most lift the sticks can hold.

The stick that holds the pitch is found to a hundred-thousandth of the moment at full stick.
"""

from math import cos, sin

from firstthrow.sim.kernels import fittings, plate
from firstthrow.sim.kernels.compiled import apart, kernel
from firstthrow.sim.kernels.derivative import flight_arguments
from firstthrow.sim.kernels.layout import DEFLECTION, SEPARATED
from firstthrow.sim.kernels.root import root

SPEED = 10.0  # at which coefficients are taken [m/s]
CLOSE = 1e-5  # of the moment at full stick


def _arguments():
    """Those of every flight, air (3,) and a height."""
    body, state, _, _, _, report, own = flight_arguments()
    return body, state, state, 0.0, report, own


@apart(_arguments)
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


load, load_of = load  # see `compiled.apart`


@kernel
def _moment(back, what):
    """Pitching moment with the stick at back (-1..1): angles (n, surfaces) lie evenly over it."""
    body, state, air, height, angles, report, scratch = what
    x = 0.5 * (back + 1.0) * (angles.shape[0] - 1)
    k = max(0, min(int(x), angles.shape[0] - 2))
    for n in range(angles.shape[1]):
        report[DEFLECTION + n] = angles[k, n] + (x - k) * (angles[k + 1, n] - angles[k, n])
    load_of(body, state, air, height, report, scratch)
    return scratch[0].total[4]


@kernel
def _holds(what):
    """Whether some stick brings the moment to nothing; leaves that load and report behind."""
    first, last = _moment(-1.0, what), _moment(1.0, what)
    if first * last > 0.0:
        return False
    small = CLOSE * max(abs(first), abs(last))
    if abs(last) > small:
        root(_moment, what, -1.0, 1.0, first, last, 0.0, small)
    return True


@kernel
def most_held_lift(body, state, air, height, alphas, angles, stalled, report, scratch):
    """The largest lift [N] at SPEED of all incidences [rad] at which the sticks hold the pitch
    and no more than a share `stalled` is separated; 0 where there is none."""
    best = 0.0
    for alpha in alphas:
        air[0], air[1], air[2] = -SPEED * cos(alpha), 0.0, -SPEED * sin(alpha)
        if not _holds((body, state, air, height, angles, report, scratch)):
            continue
        if report[SEPARATED] <= stalled:
            total = scratch[0].total
            best = max(best, total[0] * sin(alpha) - total[2] * cos(alpha))
    return best
