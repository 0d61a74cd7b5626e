"""Whether a builder can tell the attitude of a small airframe 60 m away, by what is on the window.

Twelve pictures: away and coming, upright and inverted, level and banked to either side. Each pair
must differ, for every kind of eyes.
"""

from __future__ import annotations

import math
from itertools import combinations, product

import numpy as np
import pytest

from firstthrow.scenes.flight.settings import Settings
from firstthrow.scenes.world.camera import Pose, on_screen
from firstthrow.scenes.world.light import LIGHTS
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.kernels.rotation import from_angles

pytestmark = pytest.mark.window

SIZE = (1280, 720)
AROUND = 30  # pixels to each side of the airframe that are compared
DIFFERENT = 0.10  # of luminance, black to white
LEAST = 12  # pixels that differ so much
WANTED = 3.0  # contrast before sky, hill, hedge and tree

# Colour-blind eyes, in linear light: Machado, Oliveira, Fernandes, 'A physiologically-based model
# for simulation of color vision deficiency' (2009), severity 1.0; from memory. Checked below: grey
# stays grey.
EYES = {
    "all colours": np.eye(3),
    "no red cones": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "no green cones": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "no blue cones": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}


def linear(picture: np.ndarray) -> np.ndarray:
    """Source: IEC 61966-2-1, sRGB."""
    c = picture / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def luminance(light: np.ndarray) -> np.ndarray:
    """Source: ITU-R BT.709, relative luminance."""
    return np.clip(light, 0.0, 1.0) @ np.array([0.2126, 0.7152, 0.0722])


def test_grey_stays_grey_for_all_eyes():
    for name, eyes in EYES.items():
        assert eyes.sum(axis=1) == pytest.approx(1.0, abs=2e-3), name


@pytest.fixture(scope="module")
def app(display):
    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import App

    airframe = load_airframe(find("airframes", "pantry"))
    rehearsal = Rehearsal(airframe, load_field(find("fields", "water-meadow")))
    app = App(rehearsal, load_hands("keyboard"), SIZE, settings=Settings(unseen=True))
    rehearsal.release()
    yield app
    app.close()


def seen(app, place, bank, pitch, heading, bare=False) -> tuple[np.ndarray, tuple[int, int]]:
    """(tall, wide, 3) of the window, and column and row of the airframe at (ahead, right, up) [m],
    angles [deg], heading from the pilot's own; `bare` leaves the airframe out."""
    from firstthrow.scenes.world.snapshot import pixels

    own = app.rehearsal.field.heading
    c, s = math.cos(own), math.sin(own)
    ahead, right, up = place
    spot = np.array([ahead * c - right * s, ahead * s + right * c, -up])
    turned = from_angles(*map(math.radians, (bank, pitch)), own + math.radians(heading))
    pose = Pose(spot, np.array(turned), (0.0, 0.0), (0.0,), (6000.0,), (0.0, 0.0), 9.0)
    app.eyes.afresh()
    app._pose = lambda seconds: pose
    app.instruments = False
    whole = app.picture._draw_airframe
    if bare:
        app.picture._draw_airframe = lambda *all_of_it: None
    try:
        app.draw(0.0)
        picture = pixels(app.window).astype(float)
    finally:
        app.picture._draw_airframe = whole
        del app._pose
    app.window.flip()
    x, y = on_screen(app.eyes.look("standing", 0.0, pose, app.rehearsal.reading), 16 / 9, spot)
    return picture, (round(0.5 * SIZE[0] * (1.0 + x)), round(0.5 * SIZE[1] * (1.0 - y)))


def test_twelve_attitudes_at_60_m_are_told_apart(app):
    found = {}
    for heading, over, bank in product((0.0, 180.0), (0.0, 180.0), (-35.0, 0.0, 35.0)):
        picture, (x, y) = seen(app, (57.0, 2.0, 10.0), bank + over, 4.0, heading)
        near = picture[y - AROUND : y + AROUND, x - AROUND : x + AROUND]
        found[heading, over, bank] = linear(near)
    for name, eyes in EYES.items():
        counts = {}
        for first, second in combinations(found, 2):
            one, other = (luminance(found[which] @ eyes.T) for which in (first, second))
            # a little aside or up is no other attitude: the nearest of the shifted ones counts
            counts[first, second] = min(
                (np.abs(one - np.roll(other, shift, (0, 1))) > DIFFERENT).sum()
                for shift in product((-1, 0, 1), repeat=2)
            )
        worst = min(counts, key=counts.get)
        print(f"{name}: {counts[worst]} pixels between {worst}")
        assert counts[worst] >= LEAST, (name, worst)


@pytest.fixture(scope="module", params=LIGHTS)
def lit(app, request):
    """The window in a light of the day; as it was, afterwards."""
    from firstthrow.scenes.world.picture import picture_of

    usual = app.picture
    field = app.rehearsal.field.model_copy(update={"light": request.param})
    if field.light != app.rehearsal.field.light:
        app.picture = picture_of(app.mesh, field, None)
    yield app
    app.picture = usual


@pytest.mark.parametrize(
    ("behind", "place"),
    [
        ("sky", (57.0, 2.0, 14.0)),
        ("hill", (57.0, -14.0, 3.3)),
        ("hedge", (57.0, -14.0, 1.5)),
        ("tree", (57.0, 23.8, 5.2)),
    ],
)
def test_the_underside_stands_out(lit, behind, place):
    """Banked, so that its under side is seen; its lightest or its darkest part against what is
    behind it."""
    from firstthrow.scenes.words.instruments import contrast

    with_it, (x, y) = seen(lit, place, 40.0 if place[1] < 10 else -40.0, 4.0, 90.0)
    without, _ = seen(lit, place, 40.0, 4.0, 90.0, bare=True)
    box = np.s_[y - AROUND : y + AROUND, x - AROUND : x + AROUND]
    mask = np.abs(with_it[box] - without[box]).max(axis=2) > 12.0
    assert mask.sum() > 60
    back = without[box][mask].mean(axis=0)
    light = luminance(linear(with_it[box][mask]))
    order = np.argsort(light)
    parts = [with_it[box][mask][order[round(share * (len(order) - 1))]] for share in (0.1, 0.9)]
    found = [contrast(tuple(part), tuple(back)) for part in parts]
    print(f"{behind} {back.round()}: {found[0]:.1f} dark, {found[1]:.1f} light")
    assert max(found) >= WANTED
