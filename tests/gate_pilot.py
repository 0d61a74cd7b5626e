"""A simulated pilot who sees the aims of a lesson, and flies them one after the other."""

from __future__ import annotations

import math

from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.scripted_pilot import Steady
from firstthrow.sim.learn.school.lessons import Gate, Lesson
from firstthrow.sim.learn.school.marking import Attempt

LOOKS = 18.0  # [m] ahead on the line through a gate, where the nose points
ENTRY, FINAL = 45.0, 85.0  # [m] before a gate, and before the box, that the line is joined
GLIDE = 7.0  # [m] flown for each of height


class GatePilot(Steady):
    """Follows the line through the next gate; after the last, down towards the box."""

    HEIGHT, BANK = 6.0, 38.0

    def __init__(self, lesson: Lesson, heading: float = 0.0, across: float = 0.0):
        super().__init__()
        self.lesson, self.field_heading = lesson, heading
        self.across = across  # [half-widths] that it flies beside the middles
        self.attempt = Attempt(lesson, heading)
        self.joining, self.passed = False, 0

    def __call__(self, reading) -> Sticks:
        self.attempt.see(reading)
        return super().__call__(reading)

    def _next_phase(self, reading) -> None:
        if self.phase == "away":
            fast = reading.airspeed_m_s > self.SPEED * reading.stall_speed_m_s
            if reading.time_s > 0.5 and (fast or reading.time_s > 2.5) and reading.height_m > 2.0:
                self.phase = "level"
            return
        if self.attempt.place is None:
            return
        self.heading = math.degrees(self.field_heading) + self._wanted(reading)

    def _target(self) -> Gate | None:
        gates, box = self.lesson.gates, self.lesson.box
        if self.attempt.at < len(gates):
            gate = gates[self.attempt.at]
            c, s = gate.across
            off = self.across * gate.half
            return gate._replace(ahead=gate.ahead + off * c, right=gate.right + off * s)
        if box is None:
            return None
        return Gate(box.ahead, box.right, 180.0, box.wide)  # landed towards the pilot

    def _wanted(self, reading) -> float:
        """Course [deg] from the pilot's heading."""
        gate = self._target()
        if gate is None:
            return self.heading - math.degrees(self.field_heading)
        ahead, right, up = self.attempt.place
        c, s = math.cos(math.radians(gate.toward)), math.sin(math.radians(gate.toward))
        along = c * (ahead - gate.ahead) + s * (right - gate.right)
        side = -s * (ahead - gate.ahead) + c * (right - gate.right)
        landing = self.attempt.at == len(self.lesson.gates)
        entry = FINAL if landing else ENTRY
        if self.attempt.at != self.passed:  # one more is behind; the box asks for a long final
            self.passed, self.joining = self.attempt.at, landing
        course = reading.heading_deg - math.degrees(self.field_heading) - gate.toward
        aligned = math.cos(math.radians(course)) > 0.8 and abs(side) < 6.0
        if landing and aligned and -GLIDE * up < along < 0.0:
            self.phase = "down"
        if along > -2.0:
            self.joining = True
        elif along < -entry or (abs(side) < 12.0 and along < -15.0 and not landing):
            self.joining = False
        look = -entry - 15.0 if self.joining else along + LOOKS
        to_ahead = gate.ahead + c * look - ahead
        to_right = gate.right + s * look - right
        return math.degrees(math.atan2(to_right, to_ahead))

    def _lateral(self, reading) -> tuple[float, float]:
        """As `Steady` holds a bank, with more of it for a course far off."""
        off = (self.heading - reading.heading_deg + 180.0) % 360.0 - 180.0
        steep = self.BANK if self.phase == "level" else 12.0
        bank = max(-steep, min(steep, 1.2 * off))
        gain = self._gain(reading)
        roll = max(
            -1.0, min(1.0, gain * ((bank - reading.roll_deg) / 40.0 - reading.p_deg_s / 250.0))
        )
        return roll, 0.5 * roll


def attempted(airframe, field, pilot, lesson: Lesson, model=None) -> tuple[Attempt, Flight]:
    """The lesson flown by any pilot to its end."""
    flight = Flight(airframe, field, None, 1, model)
    seen = Attempt(lesson, field.heading)
    flight.release()
    while flight.outcome is None and not (seen.done and lesson.box is None):
        reading = flight.reading()
        seen.see(reading)
        if flight.time > lesson.seconds:
            break
        flight.advance(1.0 / 60.0, pilot(reading))
    seen.see(flight.reading())
    return seen, flight
