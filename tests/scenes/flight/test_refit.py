"""A flight that goes on with another balance or mixing: nothing jumps, and the rest is the same."""

from __future__ import annotations

import numpy as np
import pytest

from firstthrow.sim.build.model import build
from firstthrow.sim.build.moved import altered
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels.layout import ATTITUDE, POSITION, RATE, SURFACE, VELOCITY
from firstthrow.sim.kernels.rotation import to_field

STICKS = Sticks(roll=0.4, pitch=0.3, throttle=0.7)


@pytest.fixture(scope="module")
def pantry():
    airframe = load_airframe(find("airframes", "pantry"))
    field = load_field(find("fields", "water-meadow"))
    return airframe, field, build(airframe, field)


def flying(pantry, seconds=0.6) -> Flight:
    flight = Flight(pantry[0], pantry[1], model=pantry[2])
    flight.advance(0.3, STICKS)
    flight.release()
    flight.advance(seconds, STICKS)
    return flight


def moved(airframe, name="pack", aft=0.03):
    item = airframe.items[name]
    items = {**airframe.items, name: item.model_copy(update={"aft": item.aft + aft})}
    return airframe.model_copy(update={"items": items})


def datum(flight) -> tuple[np.ndarray, np.ndarray]:
    """Place and velocity over the ground of the airframe's datum, field axes."""
    s, arm = flight.state, np.array(flight.model.record.datum)
    turn = s[ATTITUDE : ATTITUDE + 4]
    speed = s[VELOCITY : VELOCITY + 3] + np.cross(s[RATE : RATE + 3], arm)
    return s[POSITION : POSITION + 3] + to_field(*turn, *arm), np.array(to_field(*turn, *speed))


def test_the_airframe_does_not_jump_when_its_balance_moves(pantry):
    airframe, field, model = pantry
    flight = flying(pantry)
    assert np.abs(flight.state[RATE : RATE + 3]).max() > 0.3  # it turns: the cross product counts
    place, speed = datum(flight)
    before, time = flight.state.copy(), flight.time
    other = moved(airframe)
    flight.refit(other, field, altered(model, (airframe, field), (other, field)))
    after = datum(flight)
    assert after[0] == pytest.approx(place, abs=1e-12)
    assert after[1] == pytest.approx(speed, abs=1e-12)
    share = airframe.items["pack"].mass / model.balance.mass
    gone = np.linalg.norm(flight.state[POSITION : POSITION + 3] - before[POSITION : POSITION + 3])
    assert gone == pytest.approx(0.03 * share, rel=1e-9)
    rest = [k for k in range(len(before)) if not (k < 3 or VELOCITY <= k < VELOCITY + 3)]
    assert np.array_equal(flight.state[rest], before[rest])
    assert flight.time == time
    flight.advance(1.0, STICKS)
    assert np.isfinite(flight.state).all()


def test_the_same_airframe_again_changes_nothing(pantry):
    """But for a step that has no slopes before it to go by, which ends elsewhere by micrometres."""
    airframe, field, model = pantry
    plain, refitted = flying(pantry), flying(pantry)
    refitted.refit(airframe, field, altered(model, (airframe, field), (airframe, field)))
    for flight in (plain, refitted):
        flight.advance(0.5, STICKS)
    apart = np.abs(refitted.state - plain.state)
    print(f"{apart[:3].max():.1e} m, {apart[3:13].max():.1e}")
    assert apart[:3].max() < 1e-5
    assert refitted.state == pytest.approx(plain.state, rel=1e-4, abs=1e-4)


def test_a_balance_further_aft_pitches_up_more(pantry):
    airframe, field, model = pantry
    found = {}
    for aft in (-0.03, 0.03):
        flight = flying(pantry, 0.3)
        other = moved(airframe, aft=aft)
        flight.refit(other, field, altered(model, (airframe, field), (other, field)))
        flight.advance(0.25, STICKS)
        found[aft] = flight.reading().q_deg_s
    assert found[0.03] > found[-0.03] + 5.0


def test_mixing_is_asked_for_with_the_next_step(pantry):
    airframe, field, model = pantry
    flight = flying(pantry)
    mixing = airframe.mixing.model_copy(update={"reflex": airframe.mixing.reflex + 0.1})
    other = airframe.model_copy(update={"mixing": mixing})
    asked = flight.reading().surface_elevon_left_asked_deg
    stood = flight.state[SURFACE]
    flight.refit(other, field, altered(model, (airframe, field), (other, field)))
    assert flight.state[SURFACE] == stood  # the servos take their time
    flight.advance(0.1, STICKS)
    assert flight.reading().surface_elevon_left_asked_deg == pytest.approx(
        asked - np.degrees(0.1), abs=1e-6
    )


@pytest.mark.parametrize("what", ["pack", "mixing", "wind", "sheet"])
def test_the_altered_model_is_the_one_that_is_built_anew(pantry, what):
    airframe, field, model = pantry
    other, there = airframe, field
    if what == "pack":
        other = moved(airframe)
    elif what == "mixing":
        mixing = airframe.mixing.model_copy(update={"differential": 0.3, "reflex": 0.02})
        other = airframe.model_copy(update={"mixing": mixing})
    elif what == "wind":
        wind = field.wind.model_copy(update={"speed": 5.0, "from_bearing": 1.0})
        there = field.model_copy(update={"wind": wind})
    else:
        sheet = airframe.sheets["fin"].model_copy(update={"aft": 0.2})
        other = airframe.model_copy(update={"sheets": {**airframe.sheets, "fin": sheet}})
    quick, whole = altered(model, (airframe, field), (other, there)), build(other, there)
    left = set(model.record.dtype.names) - {"reach", "contact_damping"}  # see `rebalanced`
    for name in left:
        kind = name.removesuffix("_place")
        used = None
        if name == "fitting_place":  # of the free air and of each stream
            used = 1 + whole.record.n_motors
        elif name.endswith("_place"):
            used = whole.record[f"n_{kind}s"]
        a, b = (np.atleast_1d(m.record[name])[:used] for m in (quick, whole))
        assert np.allclose(a, b, rtol=1e-9, atol=1e-12), name
    assert np.array_equal(quick.body.response, whole.body.response)


def test_in_the_hand_the_hand_keeps_its_height(pantry):
    airframe, field, model = pantry
    flight = Flight(airframe, field, model=model)
    other = moved(airframe)
    flight.refit(other, field, altered(model, (airframe, field), (other, field)))
    assert -flight.state[POSITION + 2] == airframe.launch.hand.height
    assert flight.held
    flight.release()
    assert flight.state[VELOCITY] == airframe.launch.hand.speed


def test_other_surfaces_are_refused(pantry):
    _, field, model = pantry
    other = load_airframe(find("airframes", "allotment"))
    with pytest.raises(ValueError, match="other surfaces or motors"):
        flying(pantry).refit(other, field, model)
