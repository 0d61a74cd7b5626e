"""A pilot that is a script: a whole careful flight, from the hand to the grass."""

from __future__ import annotations

import math

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.units import GRAVITY

OFF = 0.15  # above its rest on the wheels it has lifted off [m]


class Steady:
    """A careful scripted flight: away, up to 15 m, a left and a right turn, down again ahead.

    It sees only the reading. Attitude is held by stick against angle and rate, the path by pitch,
    the speed by throttle. Roll and yaw sticks move together, so that elevons, ailerons and a bare
    rudder all answer. It starts over when time does. Gains are tuned on the example airframes.
    """

    HEIGHT = 15.0  # m
    TURN = 120.0  # deg of heading, each way
    BANK = 28.0  # deg
    SPEED = 1.5  # times the stall speed
    CLIMB = 9.0  # deg of path
    HOMEWARD = 1.25  # times that speed: to have some left for the flare
    SWING = 250.0  # deg/s of yaw that full rudder is held against
    FLARE = 0.95  # m/s of sink for each metre of height

    def __init__(self, rolls: float | None = None) -> None:
        """rolls: throttle (0..1) until it is off the ground; None: it is thrown."""
        self.rolls = rolls
        self._begin(None)

    def _begin(self, reading) -> None:
        self.phase = "away"
        self.since = self.time = reading.time_s if reading is not None else 0.0
        self.heading = reading.heading_deg if reading is not None else 0.0
        self.alpha = 6.0  # deg, smoothed
        self.throttle = 0.5
        self.trim = 0.0  # pitch stick that holds the attitude
        self.off = reading.height_m + OFF if reading is not None else math.inf

    def __call__(self, reading) -> Sticks:
        if reading.time_s <= 0.0 or reading.time_s < self.time:
            self._begin(reading)
        step = min(reading.time_s - self.time, 0.1)
        self.time = reading.time_s
        self._next_phase(reading)
        if reading.height_m >= self.off:
            self.off = -math.inf  # for good
        lag = 0.3 if self.phase == "down" else 0.6
        alpha = _clip(reading.alpha_deg, -5.0, 16.0)
        self.alpha += min(1.0, step / lag) * (alpha - self.alpha)
        roll, yaw = self._lateral(reading)
        return Sticks(roll, self._pitch(reading, step), yaw, self._power(reading, step))

    def _next_phase(self, reading) -> None:
        lasted = self.time - self.since
        turned = _wrapped(reading.heading_deg - self.heading)
        fast = reading.airspeed_m_s > self.SPEED * reading.stall_speed_m_s
        done = {
            "away": reading.time_s > 0.5 and reading.height_m > 2.0 and (fast or lasted > 2.5),
            "climb": reading.height_m > self.HEIGHT - 1.0,
            "left": turned < -self.TURN or lasted > 20.0,
            "right": (turned > -12.0 and lasted > 2.0) or lasted > 20.0,
            "level": lasted > 2.0,
            "down": False,
        }
        if done[self.phase]:
            self.phase = tuple(done)[tuple(done).index(self.phase) + 1]
            self.since = self.time

    def _gain(self, reading) -> float:
        """Surfaces bite with the square of the speed, so the sticks move less when it is fast."""
        ratio = self.SPEED * reading.stall_speed_m_s / max(reading.airspeed_m_s, 1.0)
        return _clip(ratio * ratio, 0.2, 1.6)

    def _rolling(self, reading) -> bool:
        """On its wheels and too slow to be lifted off, before the flight or after it."""
        slow = reading.airspeed_m_s < 1.15 * reading.stall_speed_m_s
        return slow and reading.height_m < 1.0 and abs(reading.climb_m_s) < 0.2

    def _lateral(self, reading) -> tuple[float, float]:
        """Roll and yaw sticks that hold the bank the phase asks for."""
        off = _wrapped(self.heading - reading.heading_deg)
        if self._rolling(reading):
            return _clip(-reading.roll_deg / 40.0), _clip(off / 15.0 - reading.r_deg_s / 60.0)
        bank = {"left": -self.BANK, "right": self.BANK}.get(self.phase, _clip(0.6 * off, -12, 12))
        ask = (bank - reading.roll_deg) / 40.0 - reading.p_deg_s / 250.0
        gain = self._gain(reading)
        roll = _clip(gain * ask)
        # A rudder that is mixed to the roll stick gets both; it also stops the swing to and fro
        # round the yaw rate of a clean turn.
        clean = math.degrees(GRAVITY * math.sin(math.radians(reading.roll_deg)))
        swing = reading.r_deg_s - clean / max(reading.airspeed_m_s, 3.0)
        return roll, _clip(0.5 * roll - gain * swing / self.SWING)

    def _pitch(self, reading, step: float) -> float:
        """Pitch stick that holds the attitude the phase asks for."""
        if reading.time_s <= 0.0 or self._rolling(reading):
            return 0.0
        error = self._attitude(reading) - reading.pitch_deg
        gain = self._gain(reading)
        self.trim = _clip(self.trim + gain * 0.05 * error * step, -0.6, 0.6)
        return _clip(gain * (error / 25.0 - reading.q_deg_s / 120.0) + self.trim)

    def _attitude(self, reading) -> float:
        """Pitch [deg] wanted: a path plus the angle of attack that carries it."""
        wanted = self.SPEED * reading.stall_speed_m_s
        if self.phase == "down":
            return self._glide(reading, self.HOMEWARD * wanted)
        slow = max(0.0, 0.9 * wanted - reading.airspeed_m_s) / wanted
        path = _clip(3.0 * (self.HEIGHT - reading.height_m), -6.0, 6.0)
        if self.phase in ("away", "climb"):
            path = self.CLIMB
        return _clip(path + self.alpha - 60.0 * slow, -5.0, 22.0)

    def _glide(self, reading, wanted: float) -> float:
        """Pitch that keeps the speed without power, then rounds out above the ground."""
        glide = -8.0 + 30.0 * (reading.airspeed_m_s - wanted) / wanted
        sink = 0.3 + self.FLARE * max(0.0, reading.height_m - 0.3)
        path = -math.degrees(math.asin(_clip(sink / max(reading.airspeed_m_s, 3.0))))
        late = 5.0 * _clip(-sink - reading.climb_m_s, 0.0, 2.0)  # sinking faster than wanted
        return _clip(max(glide, path + self.alpha + late), -20.0, 16.0)

    def _power(self, reading, step: float) -> float:
        """Throttle that holds the speed; plenty until it has it, none on the way down."""
        if self.phase == "down":
            return 0.0
        if self.rolls is not None and reading.height_m < self.off:
            return self.rolls
        wanted = self.SPEED * reading.stall_speed_m_s
        short = (wanted - reading.airspeed_m_s) / wanted
        if self.phase == "away":
            return _clip(0.75 + 2.0 * short, 0.3, 1.0)
        self.throttle = _clip(self.throttle + 0.4 * _clip(short, -0.2, 0.2) * step, 0.3, 1.0)
        climb = 0.2 if self.phase == "climb" else 0.0
        return _clip(self.throttle + climb + 1.5 * short, 0.1, 1.0)


def _clip(value: float, low: float = -1.0, high: float = 1.0) -> float:
    return min(max(value, low), high)


def _wrapped(angle: float) -> float:
    """The same heading difference within -180..180 deg."""
    return (angle + 180.0) % 360.0 - 180.0
