"""What a human pilot wants of the flight: out, round to the left, round to the right, home.

The legs lie along the course of the launch, which the pilot faces: out over the place of the
launch, back on its left, past it, back on its right, and home to land ahead of the pilot. A line
is joined by the heading, the heading is turned to by the bank, height is held by the throttle
with some help of the nose, and the nose is lowered when it looks slow. Lower than it should be
and still sinking, it lands where it is.

The laws and their constants are common practice of instructors as we understand it, no source:
what they are good for is measured by flying them. What stands in `HANDS` is worked out for the
airframe by `flight.habits`.
"""

from math import cos, pi, radians

from firstthrow.sim.kernels.compiled import exact
from firstthrow.sim.kernels.human import (
    AHEAD,
    AIRSPEED,
    BANK,
    BESIDE,
    CLIMB,
    HEIGHT,
    OFF_COURSE,
    reached,
)

# Legs; landing comes after any of them.
OUT, BACK_LEFT, PAST, BACK_RIGHT, HOME, LANDING = range(6)

STRAIGHT = 1.5  # after the launch wings are held level [s]
MOST_BANK = radians(30.0)
CAREFUL_BANK = radians(10.0)  # while it climbs away, near the ground, or slow
LOW = 5.0  # careful below this height [m]
ON_AT_MOST = 2.0  # times as far as meant it goes on to climb before it lands ahead
TOO_LOW = 2.0  # sinking below it, when it should not, it lands where it is [m]
GIVEN = 3.0  # what it is given after the throw, or after it lifts off, before that counts [s]
PATIENCE = 25.0  # against the wind it turns earlier [s]
BANK_PER_HEADING = 0.8
JOIN = radians(45.0)  # the widest angle at which a line is joined
NOSE_PER_METRE = radians(1.5)
NOSE_DOWN = radians(-6.0)  # for height, at most
THROTTLE_PER_METRE = 0.06
SAFE = 1.2  # times the stall speed: slower looks slow
NOSE_WHEN_SLOW = radians(40.0)  # lowered by, for each stall speed missing
THROTTLE_WHEN_SLOW = 3.0
ROLL_AT_MOST = 4.0  # still on or near the ground after so long, it gets all the throttle [s]
LIFTS_OFF = 1.25  # times the stall speed: the nose is raised
SIDE_ON_WHEELS = 2.5  # yaw stick for each radian off the course


@exact
def turned(angle):
    """Within -pi..pi."""
    while angle > pi:
        angle -= 2.0 * pi
    while angle < -pi:
        angle += 2.0 * pi
    return angle


@exact
def _within(value, low, high):
    return max(low, min(high, value))


@exact
def _next_leg(mind, hands, ahead, beside, height, climb, since):
    """Go on to the next leg where this one is done."""
    leg = mind.leg
    begun, lasted = leg, since - mind.leg_since
    if leg == OUT:
        high = height > hands.height - 2.0
        if (high and ahead > 0.5 * hands.far) or (ahead > hands.far and height > LOW):
            leg = BACK_LEFT
        elif ahead > ON_AT_MOST * hands.far:
            leg = LANDING
    elif leg == BACK_LEFT and ahead < -hands.back:
        leg = PAST
    elif leg == PAST and (ahead > hands.far or (ahead > 0.0 and lasted > PATIENCE)):
        leg = BACK_RIGHT
    elif leg == BACK_RIGHT and ahead < -hands.home:
        leg = HOME
    elif leg == HOME and height < hands.flare_height:
        leg = LANDING
    given = mind.rolling or (leg == OUT and lasted < GIVEN)
    if leg < HOME and not given and height < TOO_LOW and climb < -0.3:
        leg = LANDING
    if leg == begun:
        return
    mind.leg, mind.leg_since = leg, since
    if leg == BACK_LEFT:
        mind.line = -hands.width
    elif leg == BACK_RIGHT:
        mind.line = hands.width
    elif leg == LANDING:
        mind.line = beside
    else:
        mind.line = 0.0


@exact
def _heading_error(mind, hands, off, beside):
    """How far the nose is to be turned to the right [rad]; a turn begins on its own side."""
    leg = mind.leg
    homeward = leg in (BACK_LEFT, BACK_RIGHT)
    join = _within((beside - mind.line) / hands.reach, -JOIN, JOIN)
    error = turned(pi + join - off if homeward else -join - off)
    if abs(error) > 0.7 * pi:
        if leg in (BACK_LEFT, PAST):
            return -abs(error)
        if leg in (BACK_RIGHT, HOME):
            return abs(error)
    return error


@exact
def _bank(mind, hands, error, height, slow, since):
    """Bank to hold [rad]."""
    most = MOST_BANK
    if mind.leg == OUT or height < LOW or slow > 0.05:
        most = CAREFUL_BANK
    if since < STRAIGHT or (mind.leg == LANDING and height < hands.flare_height):
        most = 0.0
    return _within(BANK_PER_HEADING * error, -most, most)


@exact
def _settle(mind, hands, height):
    """Nose raised on the last of the height, the throttle closed by the time it is half gone:
    closed at once it would take the stream off the tail, and drop the nose."""
    left = _within(height / hands.flare_height, 0.0, 1.0)
    mind.aim_pitch = hands.flare_pitch + (hands.home_pitch - hands.flare_pitch) * left
    mind.aim_throttle = hands.home_throttle * max(0.0, 2.0 * left - 1.0)
    mind.known_pitch = hands.flare_stick * min(1.0, 2.0 - 2.0 * left)


@exact
def guide(mind, hands, since, h):
    """Set what the hands hold, `aim_pitch` and the like, by what was seen a delay ago.

    since: seconds after the release; h: seconds between two looks.
    """
    then = reached(mind, hands, h)
    if then < 0:
        return
    seen = mind.seen
    off, ahead, beside = seen[then, OFF_COURSE], seen[then, AHEAD], seen[then, BESIDE]
    height = hands.height_seen * (seen[then, HEIGHT] - hands.stands)
    speed = hands.speed_seen * seen[then, AIRSPEED]
    climb = seen[then, CLIMB]
    late = mind.wheels and mind.leg == OUT and since > ROLL_AT_MOST and height < 0.5
    if mind.rolling and (speed > LIFTS_OFF * hands.stall_speed or height > 0.5):
        mind.rolling, mind.leg_since = False, since
    _next_leg(mind, hands, ahead, beside, height, climb, since)
    slow = max(0.0, SAFE * hands.stall_speed - speed) / hands.stall_speed
    if since < STRAIGHT or mind.rolling:  # what still rolls is slow as planned
        slow = 0.0
    error = _heading_error(mind, hands, off, beside)
    mind.aim_bank = _bank(mind, hands, error, height, slow, since)
    on_wheels = mind.rolling or (mind.leg == LANDING and height < 0.1)
    mind.aim_yaw = _within(SIDE_ON_WHEELS * error, -1.0, 1.0) if on_wheels else 0.0
    if mind.leg == LANDING:
        _settle(mind, hands, height)
        return
    wanted, nose, throttle = hands.height, hands.level_pitch, hands.level_throttle
    if mind.leg == HOME and abs(error) < 0.5 * pi:
        wanted = min(hands.height, hands.home_slope * max(0.0, hands.touch - ahead))
        if wanted < hands.height:
            nose, throttle = hands.home_pitch, hands.home_throttle
    missing = wanted - height
    rise = max(hands.climb_pitch - hands.level_pitch, 0.0)
    if mind.leg == HOME:
        rise = 0.0
    mind.aim_pitch = nose + _within(NOSE_PER_METRE * missing, NOSE_DOWN, rise)
    # In a bank the wing carries the turn as well as the weight.
    mind.aim_pitch += max(nose, 0.0) * (1.0 / max(0.5, cos(seen[then, BANK])) - 1.0)
    mind.aim_pitch -= NOSE_WHEN_SLOW * slow
    mind.aim_throttle = throttle + THROTTLE_PER_METRE * missing + THROTTLE_WHEN_SLOW * slow
    if late:
        mind.aim_throttle = 1.0
    elif mind.leg == OUT and missing > 3.0:
        mind.aim_throttle = max(hands.throttle, THROTTLE_WHEN_SLOW * slow)
