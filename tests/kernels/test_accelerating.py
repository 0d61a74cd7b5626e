"""Air that accelerates: a steady wind changes nothing; a gust's own acceleration and its gradient
along the chord belong together."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import Motion, meadow, plate_model, shipped, shipped_model
from checks import compare

from firstthrow.sim.build.model import build
from firstthrow.sim.kernels.layout import GUST_RATE
from firstthrow.sim.kernels.rotation import from_angles, to_body
from firstthrow.sim.proof.gusts import lift_in_gust

HIGH = 200.0  # where no gust fades [m]


def in_air(model, still: bool) -> Motion:
    """A motion of the model far above the ground, in still air or in one that may move."""
    motion = Motion(model)
    record = motion.body.record.copy()
    record[0].wind_north = record[0].wind_east = 0.0
    record[0].still = float(still)
    motion.body = motion.body._replace(record=record)
    return motion


def put(motion: Motion, wind: np.ndarray, through: np.ndarray) -> None:
    """Flying with the velocity `through` the air [body axes], which moves over the ground."""
    state = motion.state
    state[2] = -HIGH
    state[3:7] = from_angles(0.3, 0.2, 0.7)
    state[7:10] = through + np.array(to_body(*state[3:7], *wind))
    state[10:13] = 0.2, 1.0, -0.4
    motion.gust[:3] = wind


@pytest.mark.parametrize("name", ["pantry", "glasshouse", "allotment"])
def test_a_steady_wind_changes_nothing(name):
    """Galilean invariance: velocity and rates over the ground change alike, still and in wind."""
    model = shipped_model(name)
    found = []
    for wind in (np.zeros(3), np.array([-3.0, 1.0, 0.5])):
        motion = in_air(model, still=not wind.any())
        put(motion, wind, np.array([9.0, 0.3, 0.8]))
        rates = motion.rates_of(motion.state)
        # d(v)/dt in body axes plus omega x v is the acceleration, the same in both frames.
        over_ground = rates[7:10] + np.cross(motion.state[10:13], motion.state[7:10])
        found.append(np.concatenate([over_ground, rates[10:13]]))
    assert found[1] == pytest.approx(found[0], abs=1e-9)


def test_a_flight_drifts_with_a_steady_wind():
    """Four seconds of a turning flight: the same attitude, the wind's way further."""
    flown = []
    wind = np.array([-3.0, 1.0, 0.0])
    for air in (np.zeros(3), wind):
        motion = in_air(shipped_model(), still=not air.any())
        put(motion, air, np.array([9.0, 0.3, 0.8]))
        flown.append(motion.run(4.0)[-1])
    assert flown[1][3:7] == pytest.approx(flown[0][3:7], abs=1e-6)
    assert flown[1][:2] - flown[0][:2] == pytest.approx(4.0 * wind[:2], abs=1e-4)


def test_a_sine_gust_is_met_in_phase():
    """The gust's acceleration or its gradient alone would put k/2 in quadrature: 1.1 % more at
    k = 0.3 by amplitude (which S01 of `sim/proof/gusts.py` holds), but 8.5 degrees by phase."""
    speed, chord = 9.0, 0.2
    level = lift_in_gust(0.0, 0.0, speed)
    steady = lift_in_gust(0.1, 0.0, speed) - level
    for reduced in (0.05, 0.1, 0.2, 0.3):
        quarter = lift_in_gust(0.0, 0.1 * reduced * speed / (0.5 * chord), speed) - level
        assert abs(quarter / steady) < 0.02


def test_either_part_alone_is_wrong():
    """Apparent mass alone: pi rho b^2 dw/dt per span (Theodorsen, NACA TR 496), which the slope of
    the wash along the chord takes away again."""
    model, chord, speed = plate_model(60.0), 0.2, 9.0
    record = model.record
    alone = float(record.apparent[2, 2]) * 30.0
    wanted = np.pi * record.density * (0.5 * chord) ** 2 * 60.0 * chord * 30.0
    compare("apparent mass alone", [wanted], [alone], relative=0.04)
    both = lift_in_gust(0.0, 30.0, speed) - lift_in_gust(0.0, 0.0, speed)
    assert abs(both) < 0.1 * alone


def test_a_pulse_tells_how_fast_it_grows():
    """The rate that is kept is the change of the gust itself, from step to step."""
    from firstthrow.sim.kernels import gusts

    field = meadow().model_copy(
        update={
            "gusts": meadow().gusts.model_validate(
                {
                    "pulse": {
                        "speed": "2 m/s",
                        "from_bearing": "0 deg",
                        "up": "1 m/s",
                        "start": "0 s",
                        "lasts": "0.3 s",
                    }
                }
            )
        }
    )
    record = build(shipped(), field).record
    motion = Motion(shipped_model())
    h, before = 1.0 / 240.0, motion.gust[:3].copy()
    for k in range(1, 40):
        gusts.update(record, 10.0, 9.0, k * h, np.zeros((1, 4)), h, motion.gust)
        change = (motion.gust[:3] - before) / h
        assert motion.gust[GUST_RATE : GUST_RATE + 3] == pytest.approx(change)
        before = motion.gust[:3].copy()
