"""Stall that lags behind the incidence: the two lags by themselves, a plate pitched up, and what
is the same in steady flow."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import plate_model, shipped

from firstthrow.sim.build.model import Model, build
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.flight.pilot import Sticks
from firstthrow.sim.kernels import separation
from firstthrow.sim.kernels.held import load
from firstthrow.sim.kernels.layout import (
    ALONG,
    LATE,
    LATE_SHARE,
    MAX_STRIPS,
    REPORT_SIZE,
    SEPARATED,
    SIZE,
    UPWARD,
)
from firstthrow.sim.kernels.moving import scratch

RATIO, CHORD, SPEED = 6.0, 0.2, 10.0
PASSES = CHORD / SPEED  # one chord of flow [s]


class Held:
    """A plate held in a stream, met at one incidence after another, as a flight meets them."""

    def __init__(self, model: Model) -> None:
        self.model, self.own = model, scratch()
        self.late, self.report = np.zeros((LATE, MAX_STRIPS)), np.zeros(REPORT_SIZE)
        self.state = np.zeros(SIZE)
        self.state[3] = 1.0

    def normal_force(self, alpha: float, h: float, speed: float = SPEED) -> float:
        """Of the air [N], at an incidence [rad] that then lasts for h seconds."""
        body = self.model.body
        air = -speed * np.array([np.cos(alpha), 0.0, np.sin(alpha)])
        separation.recall(body.record[0], self.late, self.own[0])
        load(body, self.state, air, 1e3, self.report, self.own)
        separation.lag(body, h, self.own[0], self.late)
        self.own[0].lagging = 0.0
        return -float(self.own[0].total[2])


def steady(alpha: float) -> tuple[float, float]:
    """Normal force [N] and separated share once the incidence has long been so."""
    plate = Held(plate_model(RATIO))
    return plate.normal_force(alpha, 0.0), float(plate.report[SEPARATED])


def test_the_loop_has_an_exponential_of_its_own():
    """At nothing, within a step of any flight, and where hardly anything is left."""
    for x in (0.0, 1e-6, *np.linspace(0.01, 60.0, 6000)):
        assert separation.fallen(float(x)) == pytest.approx(np.exp(-x), abs=3e-13)
    assert separation.fallen(0.0) == 1.0


def test_what_the_stall_sees_turns_as_a_first_order_lag_does():
    """A direction that turns at a rate r: z' = (exp(i r t) - z) / T from z = 1, whose solution is
    (exp(i r t) + i r T exp(-t / T)) / (1 + i r T)."""
    plate, rate, h = Held(plate_model(RATIO)), 4.0, 1e-4
    lag = plate.model.record.lag_angle * PASSES
    plate.normal_force(0.0, h)
    times = h * np.arange(1, 2001)
    seen = []
    for t in times:
        plate.normal_force(rate * t, h)
        seen.append(complex(plate.late[ALONG, 0], plate.late[UPWARD, 0]))
    turn = 1j * rate * lag
    wanted = (np.exp(1j * rate * times) + turn * np.exp(-times / lag)) / (1.0 + turn)
    assert np.abs(np.array(seen) - wanted).max() < 2.0 * rate * h


def test_a_share_dies_out_within_its_own_time():
    """The flow jumps back to no incidence after long at 30 degrees: what the stall sees falls
    under the least that stalls after T1 ln(sin 30 / sin of that) at once, then exp(-t / T2)."""
    plate = Held(plate_model(RATIO))
    plate.normal_force(np.radians(30.0), 0.0)
    plate.normal_force(np.radians(30.0), 1.0)
    assert plate.late[LATE_SHARE, 0] == 1.0
    shares, h = [], 0.1 * PASSES
    for _ in range(200):
        plate.normal_force(0.0, h)
        shares.append(plate.late[LATE_SHARE, 0])
    falls = np.array(shares)
    tail = falls[(falls < 0.01) & (falls > 1e-12)]
    assert tail.size > 10
    assert tail[1:] / tail[:-1] == pytest.approx(np.exp(-0.1 / plate.model.record.lag_share))


def pitched_up(reduced: float) -> tuple[float, float]:
    """Incidences [deg] at which half of a plate that is pitched up is separated, and of its largest
    normal force before that falls for the first time; by the rate times the chord over twice the
    speed."""
    plate, h = Held(plate_model(RATIO)), 0.05 * PASSES
    step = 2.0 * reduced * SPEED / CHORD * h
    force, most, half, alpha = 0.0, 0.0, 0.0, 0.0
    while not (most and half):
        now = plate.normal_force(alpha, h)
        if now < force and not most:
            most = alpha
        if plate.report[SEPARATED] > 0.5 and not half:
            half = alpha
        force, alpha = now, alpha + step
    return float(np.degrees(half)), float(np.degrees(most))


def test_the_stall_of_a_plate_pitched_up_is_late():
    """Steadily pitched, by the sum of both lags times the rate: so much further is it when half of
    it is separated. The peak of the normal force comes the later the quicker it is pitched."""
    slow, *quick = (pitched_up(rate) for rate in (0.002, 0.01, 0.05))
    print(slow, quick)
    record = plate_model(RATIO).record
    late = np.degrees(2.0 * (0.01 - 0.002) * (record.lag_angle + record.lag_share))
    assert quick[0][0] - slow[0] == pytest.approx(late, rel=0.05)
    assert slow[1] + 2.0 < quick[0][1] < quick[1][1] - 8.0


@pytest.mark.parametrize("degrees", [5.0, 12.0, 30.0, 80.0])
def test_steady_flow_has_no_lag(degrees):
    """However it came to be so."""
    alpha, plate = np.radians(degrees), Held(plate_model(RATIO))
    for before in (0.0, 0.7, -0.2):
        plate.normal_force(before, PASSES)
    for _ in range(400):
        plate.normal_force(alpha, PASSES)
    force, share = steady(alpha)
    assert plate.normal_force(alpha, 0.0) == pytest.approx(force, rel=1e-12)
    assert plate.report[SEPARATED] == pytest.approx(share, abs=1e-12)


def test_still_air_holds_nothing_for_long():
    """A lag lasts no longer than at 1 m/s, so that what stood still is soon forgotten."""
    plate = Held(plate_model(RATIO))
    for alpha in (0.0, 1.5):
        plate.normal_force(alpha, 10.0 * CHORD * 4.0, speed=1e-3)
    assert np.degrees(np.arctan2(plate.late[UPWARD, 0], plate.late[ALONG, 0])) > 85.0


def test_a_flight_pulled_up_keeps_its_flow_for_longer():
    """`allotment` with its balance at 22 % of the chord, stick right back: without a lag it comes
    to 43 degrees of pitch, with it beyond 50."""
    airframe = shipped("allotment")
    quick = build(airframe, STANDARD)
    record = quick.record.copy()
    record.lag_angle = record.lag_share = 0.0
    most = []
    for model in (quick.with_body(record), quick):
        flight = Flight(airframe, STANDARD, "hand", 0, model)
        sticks = Sticks(pitch=1.0, throttle=airframe.launch.by_hand.throttle)
        flight.advance(0.5, sticks)
        flight.release()
        pitches = []
        while flight.time < 1.5 and flight.outcome is None:
            flight.advance(1.0 / 60.0, sticks)
            pitches.append(flight.reading().pitch_deg)
        most.append(max(pitches))
    print(most)
    assert most[1] > most[0] + 5.0
