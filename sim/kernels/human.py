"""A human pilot's hands: sees late, moves slowly, corrects attitude by eye.

McRuer's crossover model: near the crossover frequency w_c a pilot shapes his own response so
that pilot and airframe together are w_c e^(-d s) / s, with d the visual delay and the lag of
the muscles. Around it the pilot's gain is whatever the airframe needs, and his lead makes up
for the airframe's own lag. Source: McRuer and Jex, "A review of quasi-linear pilot models",
IEEE Trans. Human Factors in Electronics HFE-8 (1967); McRuer and Krendel, AGARD-AG-188 (1974).

Beyond that model, and our assumption: a dead zone below which an error is not seen, a limit
on how fast a stick is moved, a first correction that now and then goes the wrong way, and
that the pilot holds attitudes (nose on the climb, wings level) and not a flight path.
"""

from math import exp

from firstthrow.sim.kernels.compiled import kernel
from firstthrow.sim.kernels.parameters import record_type

LOOKS = 64  # how far back the eye's memory reaches, in frames of 1/60 s
MIND = record_type(
    [
        ("pitch", "f8"),  # where the sticks are
        ("roll", "f8"),
        ("looks", "i8"),  # how many times it has looked
        # Error of pitch and bank [rad], pitch and roll rate [rad/s] that each look showed.
        ("seen", "f8", (LOOKS, 4)),
    ]
)
# What makes a pilot, per case; gains are stick per radian of error.
HANDS = record_type(
    [
        ("delay", "f8"),  # eye to nerve [s]
        ("lag", "f8"),  # of the muscles [s]
        ("stick_speed", "f8"),  # full throws a second
        ("dead_zone", "f8"),  # [rad]
        ("wrong_for", "f8"),  # how long a first correction goes wrong [s]
        ("wrong_pitch", "f8"),  # -1 where it does, else 1
        ("wrong_roll", "f8"),
        ("gain_pitch", "f8"),
        ("gain_roll", "f8"),
        ("lead_pitch", "f8"),  # [s]
        ("lead_roll", "f8"),
        ("aim_pitch", "f8"),  # attitude to hold [rad]
        ("aim_roll", "f8"),
        ("rudder", "f8"),  # yaw stick per roll stick: 1 where the rudder alone turns it, else 0
    ]
)


@kernel
def wake(mind):
    """Sticks in the middle, nothing seen yet."""
    mind.pitch, mind.roll, mind.looks = 0.0, 0.0, 0


@kernel
def _unseen(error, zone):
    """What is left of an error of which the part within +-zone goes unseen."""
    return max(0.0, error - zone) + min(0.0, error + zone)


@kernel
def _moved(stick, wanted, hands, h):
    """Muscles: a first-order lag towards what is wanted, no faster than the stick's limit."""
    wanted = max(-1.0, min(1.0, wanted))
    way = (wanted - stick) * (1.0 - exp(-h / max(hands.lag, 1e-3)))
    most = hands.stick_speed * h
    return stick + max(-most, min(most, way))


@kernel
def act(mind, hands, pitch, bank, pitch_rate, roll_rate, since_release, h):
    """One frame of h seconds: look, remember, move the sticks, `mind.pitch` and `mind.roll`.

    pitch, bank [rad] and rates [rad/s] are what there is to see now; the hands answer what
    was seen a delay ago. Positive pitch stick is back, positive roll stick is right.
    """
    look, seen = mind.looks, mind.seen
    now = look % LOOKS
    seen[now, 0] = hands.aim_pitch - pitch
    seen[now, 1] = hands.aim_roll - bank
    seen[now, 2] = pitch_rate
    seen[now, 3] = roll_rate
    back = min(int(hands.delay / h + 0.5), LOOKS - 1)
    mind.looks = look + 1
    if back > look:
        return
    then = (look - back) % LOOKS
    nose = _unseen(seen[then, 0], hands.dead_zone) - hands.lead_pitch * seen[then, 2]
    wing = _unseen(seen[then, 1], hands.dead_zone) - hands.lead_roll * seen[then, 3]
    muddled = hands.delay <= since_release < hands.delay + hands.wrong_for
    pitch_sign = hands.wrong_pitch if muddled else 1.0
    roll_sign = hands.wrong_roll if muddled else 1.0
    mind.pitch = _moved(mind.pitch, pitch_sign * hands.gain_pitch * nose, hands, h)
    mind.roll = _moved(mind.roll, roll_sign * hands.gain_roll * wing, hands, h)
