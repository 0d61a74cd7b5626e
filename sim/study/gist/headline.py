"""One sentence on top of each report: how to fly it, where it balances, what it is worth."""

from __future__ import annotations

from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.flight.speeds import CRUISE, SLOWEST_SAFE
from firstthrow.sim.study.power import Power
from firstthrow.sim.study.ratings import Fit
from firstthrow.sim.study.servos import ENOUGH
from firstthrow.sim.study.throws import Throws
from firstthrow.sim.study.trim import TrimStudy
from firstthrow.sim.study.weigh import Weighing
from firstthrow.sim.units import minutes


def of_weighing(weighed: Weighing, u: Units) -> str:
    """Where it may balance, what ends that, and where it does."""
    here = from_datum(weighed.cg_m[0], u)
    front, rear, why = weighed.cg_front_limit_m, weighed.cg_rear_limit_m, weighed.cg_limits_why
    if weighed.cg_closed_by or front is None:
        return f"It balances {here}, and no place suits: {weighed.cg_closed_by}."
    return (
        f"Balance it {between(front, rear, u)}, a window {u.length(rear - front)} wide, "
        f"now {here}: {why.front}; {why.rear}."
    )


def of_trim(found: TrimStudy, u: Units) -> str:
    """How fast to fly it with how much throttle, and what to trim; why not, where it is not to be
    flown."""
    if found.no_go:
        return f"Do not fly it: {found.no_go[0]}."
    stall = found.stall_speed_m_s
    told = f"Fly it at {u.speed(CRUISE * stall)}"
    level = found.cruise
    if level is not None:
        told += f" with {100.0 * level.throttle:.0f} % throttle"
    told += f", never below {u.speed(SLOWEST_SAFE * stall)}"
    if level is None or not found.reflex.surface:
        return f"{told}."
    off = -level.elevator_deg - found.reflex.trailing_edge_up_deg
    if abs(off) < 0.5:
        return f"{told}; the {found.reflex.surface} stands right for that."
    way = "up" if off > 0.0 else "down"
    return f"{told}; trim the {found.reflex.surface} {abs(off):.1f} deg {way} for that."


def of_power(found: Power, u: Units) -> str:
    """What it pulls, what level flight takes, and what is over its rating."""
    full = found.static[-1]
    told = (
        f"Full throttle pulls {u.pull(full.thrust_N)}, {found.thrust_to_weight:.2f} times the "
        f"weight, at {full.pack_current_A:.0f} A"
    )
    level, times = found.level, found.run_time_s
    if level.its_throttle is None or level.its_speed_m_s is None:
        told += f"; level flight: {level.reason}"
    else:
        told += (
            f"; level flight takes {100.0 * level.its_throttle:.0f} % throttle at "
            f"{u.speed(level.its_speed_m_s)}"
        )
        told += f", {minutes(times.mixed):.0f} min on the pack" if times.mixed else ""
    over = [m.what for m in found.margins if m.verdict is Fit.OVER]
    return f"{told}; {'over the rating: ' + ', '.join(over) if over else 'all within ratings'}."


def of_surfaces(found: Throws, u: Units) -> str:
    """What full stick moves, and whether the servos hold it."""
    if not found.surfaces:
        return "It has no control surface."
    by_rates = []
    for rates in ("high", "low"):
        corners = found.corners[rates]
        moved = [
            abs(edges[name].edge_up_m - corners["neutral"][name].edge_up_m)
            for corner, edges in corners.items()
            for name in edges
            if " and " not in corner
        ]
        by_rates.append(max(moved))
    spare = min(
        row.servo.torque_available_N_m / max(max(row.servo.torque_needed_N_m.values()), 1e-9)
        for row in found.surfaces
    )
    holds = (
        f"the servos give {spare:.1f} times what the air asks at worst, {ENOUGH:.0f} are wanted"
        if spare >= 1.0
        else f"a servo gives only {spare:.1f} of what the air asks at worst"
    )
    return (
        f"Full stick moves a trailing edge {u.length(by_rates[0])} at most with high rates, "
        f"{u.length(by_rates[1])} with low ones, from sticks in the middle; {holds}."
    )


def to_fly(weighed: Weighing, trim: TrimStudy, u: Units) -> str:
    """How to fly it and where to balance it, for check and the bench sheet."""
    front, rear = weighed.cg_front_limit_m, weighed.cg_rear_limit_m
    fly = of_trim(trim, u).split(";")[0].rstrip(".")
    here = f"it balances {from_datum(weighed.cg_m[0], u)}"
    if weighed.cg_closed_by or front is None:
        return f"{fly}; {here}, and no place suits."
    return f"{fly}; {here}, allowed is {between(front, rear, u)}."


def from_datum(aft: float, u: Units) -> str:
    """'47 mm behind the datum' or '12 mm ahead of the datum'."""
    return f"{u.length(abs(aft))} {'behind' if aft >= -0.5e-3 else 'ahead of'} the datum"


def between(front: float, rear: float, u: Units) -> str:
    """'42 to 69 mm behind the datum'."""
    if front >= -0.5e-3:
        return f"{u.bare_length(front)} to {u.length(rear)} behind the datum"
    return f"{from_datum(front, u)} to {from_datum(rear, u)}"
