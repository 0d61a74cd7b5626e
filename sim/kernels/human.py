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

PITCH, ROLL = 0, 1
LOOKS = 64  # how far back the eye's memory reaches, in frames of 1/60 s
# The mind: stick positions of both axes, then which frame it is, then what was seen:
# error of pitch and bank [rad], pitch and roll rate [rad/s] of each frame.
FRAME = 2
SEEN = 3
MIND_SIZE = SEEN + 4 * LOOKS

# What makes a pilot, per case; gains are stick per radian of error.
DELAY, LAG, STICK_SPEED, DEAD_ZONE, WRONG_FOR, WRONG_PITCH, WRONG_ROLL = range(7)
GAIN_PITCH, GAIN_ROLL, LEAD_PITCH, LEAD_ROLL, AIM_PITCH, AIM_ROLL = range(7, 13)
RUDDER = 13  # yaw stick per roll stick: 1 where the rudder alone turns it, else 0
HANDS_SIZE = 14


@kernel
def _unseen(error, zone):
    """What is left of an error of which the part within +-zone goes unseen."""
    return max(0.0, error - zone) + min(0.0, error + zone)


@kernel
def _move(mind, axis, wanted, hands, h):
    """Muscles: a first-order lag towards what is wanted, no faster than the stick's limit."""
    wanted = max(-1.0, min(1.0, wanted))
    step = (wanted - mind[axis]) * (1.0 - exp(-h / max(hands[LAG], 1e-3)))
    most = hands[STICK_SPEED] * h
    mind[axis] += max(-most, min(most, step))


@kernel
def act(mind, hands, pitch, bank, pitch_rate, roll_rate, since_release, h):
    """One frame of h seconds: look, remember, move; the sticks are mind[PITCH], mind[ROLL].

    pitch, bank [rad] and rates [rad/s] are what there is to see now; the hands answer what
    was seen a delay ago. Positive pitch stick is back, positive roll stick is right.
    """
    frame = int(mind[FRAME])
    now = SEEN + 4 * (frame % LOOKS)
    mind[now] = hands[AIM_PITCH] - pitch
    mind[now + 1] = hands[AIM_ROLL] - bank
    mind[now + 2] = pitch_rate
    mind[now + 3] = roll_rate
    back = min(int(hands[DELAY] / h + 0.5), LOOKS - 1)
    mind[FRAME] = frame + 1
    if back > frame:
        return
    then = SEEN + 4 * ((frame - back) % LOOKS)
    nose = _unseen(mind[then], hands[DEAD_ZONE]) - hands[LEAD_PITCH] * mind[then + 2]
    wing = _unseen(mind[then + 1], hands[DEAD_ZONE]) - hands[LEAD_ROLL] * mind[then + 3]
    muddled = hands[DELAY] <= since_release < hands[DELAY] + hands[WRONG_FOR]
    pitch_sign = hands[WRONG_PITCH] if muddled else 1.0
    roll_sign = hands[WRONG_ROLL] if muddled else 1.0
    _move(mind, PITCH, pitch_sign * hands[GAIN_PITCH] * nose, hands, h)
    _move(mind, ROLL, roll_sign * hands[GAIN_ROLL] * wing, hands, h)
