"""The clock hands out whole steps, however the frames fall."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firstthrow.scenes.flight.clock import FRAME, RATES, STALL, Clock, next_due


def test_a_60_hz_frame_is_one_step_every_time_and_is_seen_whole():
    clock = Clock()
    for _ in range(600):
        assert clock.steps(1.0 / 60.0) == 1
        assert clock.blend == pytest.approx(1.0, abs=1e-5)


def test_what_is_flown_is_never_behind_the_wall():
    """A quick screen sees a frame of flight go by in parts, from its first on."""
    clock = Clock()
    told = [(clock.steps(FRAME / 4.0), clock.blend) for _ in range(8)]
    assert [steps for steps, _ in told] == [1, 0, 0, 0] * 2
    assert [blend for _, blend in told] == pytest.approx([0.25, 0.5, 0.75, 1.0] * 2, abs=1e-5)


@given(st.lists(st.floats(0.001, 0.2), min_size=1, max_size=200))
def test_no_time_is_lost_or_made(frames):
    clock = Clock()
    steps = sum(clock.steps(frame) for frame in frames)
    assert steps * clock.step + clock.carried == pytest.approx(sum(frames), abs=1e-6)
    assert 0.0 <= clock.blend <= 1.0


@pytest.mark.parametrize("away", [STALL + 0.01, 3.0, 3600.0, -1.0])
def test_a_window_that_was_away_does_not_make_the_flight_jump(away):
    clock = Clock()
    assert clock.steps(away) * clock.step <= FRAME + 1e-9


def test_paused_time_stands_still():
    clock = Clock()
    clock.paused = True
    assert sum(clock.steps(0.1) for _ in range(10)) == 0
    clock.paused = False
    assert clock.steps(FRAME) == 1


def test_slow_motion_takes_the_same_steps_less_often():
    steps = {}
    clock = Clock()
    for rate in RATES:
        assert clock.rate == rate
        steps[rate] = sum(clock.steps(FRAME) for _ in range(240))
        clock.slower()
    assert steps == {1.0: 240, 0.5: 120, 0.25: 60}
    assert clock.rate == 1.0


@given(st.lists(st.floats(0.001, 0.012), min_size=20, max_size=60), st.integers(0, 10))
def test_a_late_frame_is_made_up_for(works, slow):
    works[slow] = 1.9 * FRAME
    now = due = 0.0
    for took in works:
        now += took
        due = next_due(due, now, FRAME)
        now = max(now, due)
    assert now == pytest.approx(len(works) * FRAME)


def test_what_is_long_late_is_let_go():
    assert next_due(0.0, 10.0, FRAME) == pytest.approx(10.0 - FRAME)


def test_a_machine_that_cannot_keep_up_is_told_of():
    """Three long frames in a row are no accident; time that is kept again takes it back."""
    clock = Clock()
    told = []
    for _ in range(4):
        clock.steps(0.4)
        told.append(clock.runs_slow)
    assert told == [False, False, True, True]
    for _ in range(90):
        clock.steps(FRAME)
    assert not clock.runs_slow


@pytest.mark.parametrize("frames", [[3600.0, FRAME], [0.3, *[FRAME] * 60] * 4, [0.24] * 100])
def test_time_does_not_run_slow_for_a_window_that_was_away(frames):
    """Nor for a long frame now and then, nor where every frame is flown whole."""
    clock = Clock()
    for frame in frames:
        clock.steps(frame)
        assert not clock.runs_slow


def test_a_new_flight_begins_in_time():
    clock = Clock()
    for _ in range(9):
        clock.steps(0.4)
    clock.restart()
    assert not clock.runs_slow
