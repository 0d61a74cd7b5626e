"""How unsure the static margin is where it flies, by the causes in the table of unknowns.

Each unknown off by one spread, the airframe brought back to steady flight by stick and incidence,
and the margin taken anew; independent ones add by the root of the sum of squares (JCGM 100:2008,
eq. 10). Masses and places come in as the spread of the balance.
"""

from __future__ import annotations

import numpy as np

from firstthrow.sim.build.deviated import Off, each_deviated
from firstthrow.sim.build.model import Model
from firstthrow.sim.build.sticks import Mixer, Sticks
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.polar import neutral_point_about
from firstthrow.sim.flight.trims import Trim
from firstthrow.sim.kernels.layout import MAX_SURFACES, RATE, SURFACE, VELOCITY
from firstthrow.sim.once import once_for
from firstthrow.sim.study.spreads import cg_spread
from firstthrow.sim.study.subject import Subject

# What moves a margin by a tenth of a per cent of the chord or more; all else is of roll and yaw,
# or a trim of the stick takes it up (measured on the shipped airframes).
CAUSES = (What.SLOPE, What.BOW, What.STREAM, What.PART_DRAG)
TURN, PULL = np.radians(0.25), 0.05  # steps of incidence [rad] and of the pitch stick
ROUNDS = 2  # of Newton's: the second lands within a thousandth of a degree


def _offs(subject: Subject, balance: float) -> list[Off]:
    """What is off, one at a time, by one spread; `balance`: that of the centre of gravity."""
    rows = {row.key: row.spread for row in subject.unknowns}
    neutral = (What.NEUTRAL_POINT, "")
    # A balance further ahead is a neutral point further aft.
    away = float(np.hypot(rows[neutral], balance))
    return [{neutral: away}, *({k: v} for k, v in rows.items() if k[0] in CAUSES)]


@once_for(16)
def _by_pull(mixer: Mixer) -> np.ndarray:
    """(MAX_SURFACES,) what PULL more of the stick asks of the surfaces [rad]."""
    straight = mixer.without_expo()
    at_rest, pulled = (straight.command(Sticks(pitch=p))[:MAX_SURFACES] for p in (0.0, PULL))
    return pulled - at_rest


def _set(subject: Subject, trim: Trim, turn: float, pull: float) -> tuple[np.ndarray, np.ndarray]:
    """State and command of a trim at more incidence and more stick."""
    state, command = trim.state.copy(), trim.command.copy()
    u, w = trim.state[VELOCITY], trim.state[VELOCITY + 2]
    state[VELOCITY] = u * np.cos(turn) - w * np.sin(turn)
    state[VELOCITY + 2] = w * np.cos(turn) + u * np.sin(turn)
    more = _by_pull(subject.mixer) * (pull / PULL)
    command[:MAX_SURFACES] += more
    state[SURFACE : SURFACE + MAX_SURFACES] += more
    return state, command


def margin_at(subject: Subject, model: Model, trim: Trim) -> float:
    """The static margin of another model of the subject, trimmed anew near one of its trims, as a
    fraction of the mean chord."""

    def gaps(x: np.ndarray) -> np.ndarray:
        """Heave and pitch accelerations, over those of the trim itself."""
        rates, _ = rates_of(model, *_set(subject, trim, *x))
        return rates[[VELOCITY + 2, RATE + 1]] - kept

    kept = rates_of(subject.model, trim.state, trim.command)[0][[VELOCITY + 2, RATE + 1]]
    x, steps = np.zeros(2), np.diag([TURN, PULL])
    for _ in range(ROUNDS):
        here = gaps(x)
        slopes = np.column_stack([(gaps(x + step) - here) / step.sum() for step in steps])
        if abs(np.linalg.det(slopes)) < 1e-6:  # nothing holds its pitch
            break
        x = x - np.linalg.solve(slopes, here)
    place = neutral_point_about(model, *_set(subject, trim, *x))
    return (place - float(model.balance.place[0])) / subject.chord


def margin_spreads(
    subject: Subject, found: list[Trim], balance: float | None = None
) -> list[float]:
    """Standard deviation of the static margin about each trim, as a fraction of the chord.

    `balance`: the spread of the centre of gravity [m], that of the parts where not given; none for
    the neutral point alone.
    """
    away = float(cg_spread(subject)[0]) if balance is None else balance
    models = list(each_deviated(subject.model, subject.airframe, _offs(subject, away)))
    spreads = []
    for trim in found:
        here = margin_at(subject, subject.model, trim)
        spreads.append(
            float(np.linalg.norm([margin_at(subject, one, trim) - here for one in models]))
        )
    return spreads
