"""Air that accelerates: what it does to the air dragged along, and to the wash along the chord.

Apparent mass acts on the acceleration relative to the air. In body axes the air's velocity W at
the centre of gravity changes by dW/dt - omega x W, dW/dt being met on the way through wind and
gusts; the apparent mass times that is a force on the airframe, so a steady wind changes nothing
(Galilean invariance). A gust frozen in the air also changes along the way ahead, by dW/dt over
the airspeed in a metre; its wash slopes along the chord, which takes off as much lift as the
apparent mass adds: for a thin aerofoil in a convected sine gust and with quasi-steady circulation
the two cancel to first order, and what is left is J0(k) of Sears's problem.
Source: Sears, J. Aeronautical Sciences 8(3), 1941; Lamb, Hydrodynamics, art. 124; Fung, An
Introduction to the Theory of Aeroelasticity, ch. 13. Approximate: the wash is affine along a
chord (1 instead of J0: +2.3 % at a reduced frequency k of 0.3), and without Wagner's lag |S(k)|
is 0.72 at k = 0.2 and 0.64 at k = 0.3 where this gives 1.
"""

from math import sqrt

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.rotation import to_body
from firstthrow.sim.kernels.wind import wind_rate

SLOW = 1.0  # airspeed below which a gust's gradient is no longer told from its change [m/s]


@kernel
def meet(m, state, air, climb, gust, own):
    """How fast the air met changes [m/s2], body axes; its gradient along the way ahead goes into
    the scratch. air: velocity of the air past the centre of gravity; climb: over the ground."""
    north, east, down = wind_rate(m, -state[2], climb, gust)
    a, b, c = to_body(state[3], state[4], state[5], state[6], north, east, down)
    speed = sqrt(air[0] * air[0] + air[1] * air[1] + air[2] * air[2])
    over = 1.0 / max(speed, SLOW)
    own.gradient[0], own.gradient[1], own.gradient[2] = a * over, b * over, c * over
    for n in range(3):
        own.ahead[n] = -air[n] * over
    return a, b, c


@kernel
def add_pull(m, state, wind, a, b, c, total):
    """Force and moment of the air dragged along as the air itself accelerates by (a, b, c) in
    body axes, less what a turning airframe sees of the wind (body axes, too). Returns the rate
    of the air's normal velocity."""
    p, q, r = state[10], state[11], state[12]
    x, y, z = wind
    a -= q * z - r * y
    b -= r * x - p * z
    c -= p * y - q * x
    for n in range(6):
        total[n] += m.apparent[n, 0] * a + m.apparent[n, 1] * b + m.apparent[n, 2] * c
    return c
