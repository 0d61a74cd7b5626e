"""A speed controller over its rating: how much overload it has taken, and when it gives up.

It is no current limiter: unless it is of the rare kind that is, it passes what the motor takes.
Its power stage warms with I^2 R and sheds heat as at its rating, so the overload is counted as
I^2 t above the rating: d/dt = (I / rating)^2 - 1 [s], never below nothing. Past what it bears it
burns or cuts out for good, and its motor gets no more. Common practice, no source; how much it
bears is `build.controller.overload_borne`.
"""

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.layout import COMMAND_DEAD, MOTOR_CURRENT


@kernel
def load_up(m, command, h, events, report):
    """Add h seconds of the present currents to every controller's overload; the command is told
    which of them give no more."""
    for k in range(m.n_motors):
        if m.controller_rating > 0.0:
            share = report[MOTOR_CURRENT + k] / m.controller_rating
            events.overload[k] = max(0.0, events.overload[k] + (share * share - 1.0) * h)
            if events.overload[k] > m.controller_bears:
                events.dead[k] = 1.0
        command[COMMAND_DEAD + k] = events.dead[k]
