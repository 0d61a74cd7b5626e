"""A surface that swings within the play of its linkage, coupled with the airframe it hangs on."""

import numpy as np
import pytest
from bodies import shipped, shipped_model
from checks import compare

from firstthrow.sim.build.apparent import swinging
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.strips import cut
from firstthrow.sim.describe.field import STANDARD
from firstthrow.sim.flight.flight import Flight
from firstthrow.sim.kernels.derivative import derivative
from firstthrow.sim.kernels.layout import (
    ATTITUDE,
    HINGE,
    RATE,
    SIZE,
    SLACK,
    SURFACE,
    SWING,
    VELOCITY,
)
from firstthrow.sim.kernels.moving import moving, scratch

PLAY = "sheets.slab.surfaces.elevon.slop=2.5 mm"  # nine degrees on a horn of 16 mm
WIDE = "sheets.slab.surfaces.elevon.slop=8 mm"  # so far that no end of it is met
LIGHT, HEAVY = ("sheets.slab.surfaces.elevon.mass=" + mass for mass in ("9 g", "25 g"))
SPEED = 12.0
HINGES = slice(HINGE, HINGE + 2)
FORWARD = Sticks(0.0, -0.3, 0.0, 0.0)  # the elevons are asked for where the air lets them float


def flown(*overrides: str, sticks: Sticks = FORWARD) -> np.ndarray:
    """(rows, 3) time [s] and both elevons [deg] in a glide of two seconds."""
    flight = Flight(shipped("pantry", *overrides), STANDARD)
    state = np.zeros(SIZE)
    state[[2, ATTITUDE, VELOCITY, VELOCITY + 2]] = -200.0, 1.0, SPEED, 0.6
    flight.start_at(state, sticks)
    rows = []
    for _ in range(120):
        flight.advance(1.0 / 60.0, sticks)
        at = flight.reading()
        rows.append([at.time_s, at.surface_elevon_left_deg, at.surface_elevon_right_deg])
    return np.array(rows)


@pytest.fixture(scope="module")
def fluttering() -> np.ndarray:
    return flown(PLAY, HEAVY)


def test_a_plate_turning_about_its_leading_edge():
    """Hinged along its whole chord a surface is a plate about its leading edge: it drags along
    9 pi/8 rho b^4 (Lamb, Hydrodynamics, art. 71: pi rho b^2, and pi/8 rho b^4 about the middle),
    and is damped by 3 pi rho V b^3: circulation by the wash at three quarters of the chord, and
    the apparent mass turned by the stream (thin-aerofoil theory)."""
    strips = cut(shipped())._replace(flap=np.ones(8 + 2), cover=np.ones(8 + 2))
    half = 0.5 * strips.chord
    inertia, damping = swinging(strips)
    compare("inertia", 9.0 / 8.0 * np.pi * half**4 * strips.width, inertia, relative=1e-12)
    compare("damping", 3.0 * np.pi * half**3 * strips.width, damping, relative=1e-12)


def system(model, swings: bool) -> np.ndarray:
    """Slopes of velocity, turning and, when it swings, slack and swing of both elevons; else of
    the same by their angle, with the hinge moments' and the specific force's behind them."""
    own, flight = scratch(), moving()
    record = model.record.copy()
    record.n_swinging = record.n_swinging if swings else 0
    record.surface_slop[:] = record.surface_slop if swings else 0.0
    body = model.with_body(record).body
    turn = [*range(VELOCITY, VELOCITY + 3), *range(RATE, RATE + 3)]
    slack = [SLACK, SLACK + 1] if swings else [SURFACE, SURFACE + 1]
    places = turn + slack + ([SWING, SWING + 1] if swings else [])

    def rates(change: np.ndarray) -> np.ndarray:
        state, found = np.zeros(SIZE), np.zeros(SIZE)
        state[[2, ATTITUDE, VELOCITY, VELOCITY + 2]] = -200.0, 1.0, SPEED, 0.6
        state[places] += change
        for _ in range(4):  # hinge moments are those of the pass before
            derivative(body, state, flight.command, flight.gust, found, flight.report, own)
        report = flight.report
        return (
            found[places] if swings else np.concatenate([found[turn], report[:3], report[HINGES]])
        )

    steps = 1e-3 * np.eye(len(places))
    return np.array([(rates(one) - rates(-one)) / 2e-3 for one in steps]).T


def test_how_it_swings_is_what_the_parts_say():
    """Eigenvalues of airframe and elevons together, by the flight's own rates: those of the rigid
    airframe, of its hinge moments, and of two plates on hinges put together by hand."""
    model = shipped_model("pantry", WIDE, LIGHT)
    record = model.record
    whole = np.linalg.eigvals(system(model, True))
    parts = system(model, False)
    by_hand = np.zeros((10, 10))
    by_hand[:6, :8] = parts[:6]
    by_hand[[6, 7], [8, 9]] = 1.0
    chord, mass = 0.06, 0.009
    inner, outer = 0.03, 0.345
    at = model.balance.place[0] - (0.35 - 0.5 * chord)  # ahead of the centre of gravity [m]
    for k, side in enumerate((-1.0, 1.0)):
        # Up, where the surface hangs: less the down of the centre of gravity, and of the turning.
        felt = -(parts[8] + side * 0.5 * (inner + outer) * parts[3] - at * parts[4])
        moment = 0.5 * mass * chord * felt - parts[9 + k]
        by_hand[8 + k, :8] = moment / record.surface_inertia[k]
        by_hand[8 + k, 8 + k] -= SPEED * record.surface_damping[k] / record.surface_inertia[k]
    found, wanted = (np.sort_complex(e[e.imag > 5.0]) for e in (whole, np.linalg.eigvals(by_hand)))
    assert len(found) == len(wanted) >= 2
    compare("1/s", wanted.real, found.real, absolute=1.0)
    compare("rad/s", wanted.imag, found.imag, relative=0.05)


def test_heavy_elevons_flutter_as_far_as_their_play(fluttering):
    """Without end, some times a second, and no further than the play and a tick's way into its
    ends; light ones are damped by the air (0.3 deg of the pitching they are left with)."""
    late = fluttering[60:]
    play = np.degrees(shipped_model("pantry", PLAY).record.surface_slop[0])
    for k in (1, 2):
        assert 0.9 * play < np.ptp(late[:, k]) <= 1.001 * play
    swings = np.count_nonzero(np.diff(np.sign(late[:, 1] - late[:, 1].mean()))) / 2.0
    assert 3 <= swings <= 10
    assert np.ptp(flown(PLAY, LIGHT)[60:, 1]) < 0.1 * play


def test_the_air_holds_a_loaded_surface_at_one_end_of_its_play():
    back = flown(PLAY, HEAVY, sticks=Sticks(0.0, 0.3, 0.0, 0.0))
    assert np.ptp(back[60:, 1]) < 0.5


def test_what_has_little_play_does_not_swing():
    assert shipped_model("pantry").record.n_swinging == 0
    assert shipped_model("pantry", PLAY).record.n_swinging == 2
