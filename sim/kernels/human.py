"""A human pilot's hands: see late, move slowly, hold by eye the attitude the pilot wants.

McRuer's crossover model: near the crossover frequency w_c a pilot shapes his own response so
that pilot and airframe together are w_c e^(-d s) / s, with d the visual delay and the lag of
the muscles. Around it the pilot's gain is whatever the airframe needs, and his lead makes up
for the airframe's own lag; far below it he trims, slowly taking over whatever stick is always
needed. Stick that he knows will be needed, as for a flare, he gives ahead. What he does that
nothing seen explains, his remnant, is added to what he sees: noise through a first-order filter,
whose power follows the power of the error seen.
Source: McRuer and Jex, "A review of quasi-linear pilot models", IEEE Trans. Human Factors in
Electronics HFE-8 (1967); McRuer and Krendel, AGARD-AG-188 (1974). Remnant: Levison, Baron and
Kleinman, "A model for human controller remnant", IEEE Trans. Man-Machine Systems MMS-10 (1969),
from memory; theirs is white and reaches the rate seen, too.

Beyond that model, and our assumption: a dead zone below which an error is not seen, a limit
on how fast a stick is moved, a first correction that now and then goes the wrong way, a wander of
a few sines of equal size whatever is seen. Which attitude is wanted is for `circuit` to say.
"""

from math import cos, exp, sin, sqrt

from firstthrow.sim.kernels.compiled import exact
from firstthrow.sim.kernels.parameters import record_type

LOOKS = 64  # how far back the eye's memory reaches, in frames of 1/60 s
WANDERS = (0.7, 1.3, 2.3, 3.7, 5.9)  # frequencies of the remnant [rad/s]
MOST_TRIM = 0.5  # of a stick's travel
POWER_TIME = 2.0  # over which the power of the error seen is felt [s], our assumption
# What one look shows.
(
    PITCH,  # [rad]
    BANK,
    PITCH_RATE,  # [rad/s]
    ROLL_RATE,
    OFF_COURSE,  # heading right of the launch's [rad], -pi..pi
    AHEAD,  # of the place of the launch, along its course [m]
    BESIDE,  # to the right of it
    HEIGHT,
    AIRSPEED,  # [m/s]
    CLIMB,
) = range(10)
SEEN = 10

MIND = record_type(
    [
        ("pitch", "f8"),  # where the sticks are
        ("roll", "f8"),
        ("yaw", "f8"),
        ("throttle", "f8"),
        ("trim_pitch", "f8"),  # stick that has turned out to be always needed
        ("trim_roll", "f8"),
        ("known_pitch", "f8"),  # stick that is known to be needed for what comes, beside the trim
        ("aim_pitch", "f8"),  # attitude to hold [rad]
        ("aim_bank", "f8"),
        ("aim_yaw", "f8"),  # yaw stick beside that of the roll: on the wheels
        ("aim_throttle", "f8"),
        ("wheels", "?"),  # it began on them
        ("rolling", "?"),  # on the ground before it flies: the nose is left alone
        ("leg", "i8"),  # of the flight, see `circuit`
        ("leg_since", "f8"),  # [s]
        ("line", "f8"),  # that is followed, to the right of the launch [m]
        ("looks", "i8"),  # how many times it has looked
        ("seen", "f8", (LOOKS, SEEN)),  # what each look showed
        ("power", "f8", (2,)),  # of the error seen lately, of pitch and of roll [rad2]
        ("noise", "f8", (2,)),  # the remnant, over its root mean square
        ("waves", "f8", (len(WANDERS), 2)),  # sine and cosine of what wanders, see `sway`
    ]
)
# What makes a pilot, per case; gains are stick per radian of error.
HANDS = record_type(
    [
        ("delay", "f8"),  # eye to nerve [s]
        ("lag", "f8"),  # of the muscles [s]
        ("stick_speed", "f8"),  # full throws a second
        ("dead_zone", "f8"),  # [rad]
        ("remnant", "f8"),  # root mean square over that of the error seen
        ("remnant_time", "f8"),  # of its filter [s]
        ("wander", "f8"),  # what the eye wanders whatever it sees, root mean square [rad]
        # Cosine and sine of where each of its sines begins, of pitch and of roll.
        ("wander_begins", "f8", (2, len(WANDERS), 2)),
        ("wrong_for", "f8"),  # how long a first correction goes wrong [s]
        ("wrong_pitch", "f8"),  # -1 where it does, else 1
        ("wrong_roll", "f8"),
        ("gain_pitch", "f8"),
        ("gain_roll", "f8"),
        ("lead_pitch", "f8"),  # [s]
        ("lead_roll", "f8"),
        ("trimming", "f8"),  # share of the stick held that is trimmed out [1/s]
        ("rudder", "f8"),  # yaw stick per roll stick: 1 where the rudder alone turns it, else 0
        # What is wanted of the flight, see `circuit`.
        ("course", "f8"),  # of the launch, clockwise from north [rad]
        ("throttle", "f8"),  # of the launch
        ("speed_seen", "f8"),  # airspeed as it is judged, over what it is
        ("height_seen", "f8"),
        ("stands", "f8"),  # height of the centre of gravity on the ground [m]
        ("stall_speed", "f8"),
        ("height", "f8"),  # to fly at [m]
        ("far", "f8"),  # how far ahead of the launch it turns back [m]
        ("back", "f8"),  # how far behind it turns again
        ("home", "f8"),  # the same before it lands
        ("width", "f8"),  # between the legs out and back
        ("reach", "f8"),  # way in which a line is joined
        ("climb_pitch", "f8"),  # attitudes [rad]
        ("level_pitch", "f8"),
        ("home_pitch", "f8"),
        ("flare_pitch", "f8"),
        ("level_throttle", "f8"),
        ("home_throttle", "f8"),
        ("home_slope", "f8"),  # height lost over way
        ("touch", "f8"),  # where it is meant to land, ahead of the launch [m]
        ("flare_height", "f8"),
        ("flare_stick", "f8"),  # further back than for the way home
    ]
)


@exact
def wake(mind, hands, rolling):
    """Sticks in the middle, throttle as launched, nothing seen yet, nose meant for the climb."""
    mind.pitch, mind.roll, mind.yaw, mind.throttle = 0.0, 0.0, 0.0, hands.throttle
    mind.trim_pitch, mind.trim_roll, mind.known_pitch = 0.0, 0.0, 0.0
    mind.aim_pitch, mind.aim_bank, mind.aim_yaw = hands.climb_pitch, 0.0, 0.0
    mind.aim_throttle = hands.throttle
    mind.wheels = rolling
    mind.rolling, mind.leg, mind.leg_since, mind.line = rolling, 0, 0.0, 0.0
    mind.looks = 0
    mind.power[:] = 0.0
    mind.noise[:] = 0.0


@exact
def look(mind, shown):
    """Remember what is to be seen now; shown: (SEEN,)."""
    now = mind.looks % LOOKS
    for n in range(SEEN):
        mind.seen[now, n] = shown[n]
    mind.looks += 1


@exact
def reached(mind, hands, h):
    """Which look has reached the nerves by now, with one every h seconds; -1: none yet."""
    back = min(int(hands.delay / h + 0.5), LOOKS - 1)
    last = mind.looks - 1
    return -1 if back > last else (last - back) % LOOKS


@exact
def _unseen(error, zone):
    """What is left of an error of which the part within +-zone goes unseen."""
    return max(0.0, error - zone) + min(0.0, error + zone)


@exact
def sway(since, waves):
    """Fill waves, (WANDERS, 2): sine and cosine of what wanders, so long after the release."""
    for n in range(len(WANDERS)):
        waves[n, 0], waves[n, 1] = sin(WANDERS[n] * since), cos(WANDERS[n] * since)


@exact
def _wandering(mind, hands):
    """What the eye wanders now, of pitch and of roll [rad]."""
    if hands.wander == 0.0:
        return 0.0, 0.0
    pitch, roll, begins = 0.0, 0.0, hands.wander_begins
    for n in range(len(WANDERS)):
        s, c = mind.waves[n, 0], mind.waves[n, 1]
        pitch += s * begins[0, n, 0] + c * begins[0, n, 1]
        roll += s * begins[1, n, 0] + c * begins[1, n, 1]
    size = hands.wander * (2.0 / len(WANDERS)) ** 0.5
    return size * pitch, size * roll


@exact
def _remnant(mind, hands, errors, deviates, h):
    """Noise added to errors seen of pitch and of roll [rad], after another h seconds; deviates:
    normal ones."""
    if hands.remnant <= 0.0:
        return 0.0, 0.0
    felt, kept = 1.0 - exp(-h / POWER_TIME), exp(-h / max(hands.remnant_time, 1e-3))
    fresh = sqrt(1.0 - kept * kept)
    for axis in range(2):
        mind.power[axis] += (errors[axis] * errors[axis] - mind.power[axis]) * felt
        mind.noise[axis] = kept * mind.noise[axis] + fresh * deviates[axis]
    pitch, roll = sqrt(mind.power[0]) * mind.noise[0], sqrt(mind.power[1]) * mind.noise[1]
    return hands.remnant * pitch, hands.remnant * roll


@exact
def _moved(stick, wanted, give, most):
    """Muscles: they give in to what is wanted by a share, and by no more than the stick's limit."""
    way = (max(-1.0, min(1.0, wanted)) - stick) * give
    return stick + max(-most, min(most, way))


@exact
def _trimmed(trim, wanted, hands, h):
    """A stick at its end tells nothing of what is always needed."""
    if abs(wanted) >= 1.0:
        return trim
    return max(-MOST_TRIM, min(MOST_TRIM, trim + hands.trimming * (wanted - trim) * h))


@exact
def act(mind, hands, since, h, deviates):
    """Move the sticks for a frame of h seconds, `since` seconds after the release.

    The hands answer what was seen a delay ago. Positive pitch stick is back, positive roll
    stick is right. deviates: (2,) normal ones, for the remnant of pitch and of roll.
    """
    sway(since, mind.waves)
    move(mind, hands, since, h, deviates)


@exact
def move(mind, hands, since, h, deviates):
    """The same, where `mind.waves` are those of this moment already."""
    then = reached(mind, hands, h)
    if then < 0:
        return
    seen = mind.seen
    low, tilted = mind.aim_pitch - seen[then, PITCH], mind.aim_bank - seen[then, BANK]
    noise, wander = _remnant(mind, hands, (low, tilted), deviates, h), _wandering(mind, hands)
    nose = _unseen(low, hands.dead_zone) + noise[0]
    nose += wander[0] - hands.lead_pitch * seen[then, PITCH_RATE]
    wing = _unseen(tilted, hands.dead_zone) + noise[1]
    wing += wander[1] - hands.lead_roll * seen[then, ROLL_RATE]
    muddled = hands.delay <= since < hands.delay + hands.wrong_for
    back = mind.trim_pitch + mind.known_pitch
    back += (hands.wrong_pitch if muddled else 1.0) * hands.gain_pitch * nose
    side = mind.trim_roll + (hands.wrong_roll if muddled else 1.0) * hands.gain_roll * wing
    if mind.rolling:
        back = 0.0
    elif not muddled:
        mind.trim_pitch = _trimmed(mind.trim_pitch, back - mind.known_pitch, hands, h)
        mind.trim_roll = _trimmed(mind.trim_roll, side, hands, h)
    # Muscles: a first-order lag.
    give, most = 1.0 - exp(-h / max(hands.lag, 1e-3)), hands.stick_speed * h
    mind.pitch = _moved(mind.pitch, back, give, most)
    mind.roll = _moved(mind.roll, side, give, most)
    mind.yaw = _moved(mind.yaw, hands.rudder * side + mind.aim_yaw, give, most)
    throttle = _moved(mind.throttle, mind.aim_throttle, give, most)
    mind.throttle = min(1.0, max(0.0, throttle))
