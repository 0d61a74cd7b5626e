"""What the forces on an airframe look like in a picture: arrows, marks, a gauge of the angle of
attack; where they stand, as plain data in pixels. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

import numpy as np

from firstthrow.scenes.words.instruments import Colour, Rect
from firstthrow.scenes.world.camera import Pose, View, on_screen, rotation
from firstthrow.sim.build.shape import spoken
from firstthrow.sim.learn.aftermath.forces import Forces, Moment, Pull

# Colours that people with any kind of colour blindness tell apart (Okabe and Ito's set, from
# memory), each force with words of its own besides.
COLOURS: dict[str, Colour] = {
    "lift": (0, 114, 178),
    "weight": (20, 20, 20),
    "thrust": (0, 120, 88),
    "drag": (176, 82, 140),
    "surface": (213, 94, 0),
    "ground": (120, 86, 30),
}
WEIGHT = 0.30  # of the picture's height, an arrow as long as the weight is strong
LONGEST = 0.46  # of the picture's height; longer ones are cut there
LEAST = 0.03  # of the weight: shorter ones are not drawn
ASKEW = 0.35  # share of a force across the view from which it is drawn
ROW = 15.0  # pixels at scale 1 between two names


class Arrow(NamedTuple):
    """From where it acts to its tip [pixels of the window]; `times`: its size in weights."""

    name: str
    colour: Colour
    start: tuple[float, float]
    end: tuple[float, float]
    times: float
    cut: bool  # longer than there is room for


def colour_of(name: str) -> Colour:
    return COLOURS.get(name.split(" ")[0], COLOURS["surface"])


def arrows(moment: Moment, pose: Pose, view: View, frame: Rect, together: bool) -> list[Arrow]:
    """Of a moment in a view that fills a frame of the window; `together`: surfaces of both sides
    as one. What points nearly at the eye is left out."""
    weight = float(np.linalg.norm(moment.pulls[0].force)) or 1.0
    pulls = joined(moment.pulls) if together else moment.pulls
    found = []
    for pull in pulls:
        size = float(np.linalg.norm(pull.force))
        if size < LEAST * weight:
            continue
        start = spot(pull.place, pose, view, frame)
        near = np.add(pull.place, 0.05 * np.array(pull.force) / size)
        way = spot(tuple(near), pose, view, frame)
        if start is None or way is None:
            continue
        across, upward = way[0] - start[0], way[1] - start[1]
        # What points at the eye is short; how short, a force across the view of its size tells.
        seen = math.hypot(across, upward) / max(1e-6, _whole(pull.place, pose, view, frame))
        length = min(1.0, seen) * WEIGHT * frame.height * size / weight
        flat = math.hypot(across, upward)
        if seen < ASKEW or length < 4.0:
            continue
        held = min(length, LONGEST * frame.height)
        end = start[0] + across / flat * held, start[1] + upward / flat * held
        name = spoken(pull.name)
        colour = colour_of(pull.name)
        found.append(Arrow(name, colour, start, end, size / weight, held < length))
    return found


def joined(pulls: Iterable[Pull]) -> list[Pull]:
    """Surfaces of both sides as one force, where both together act."""
    found: dict[str, list[Pull]] = {}
    for pull in pulls:
        found.setdefault(pull.name.removesuffix("_left").removesuffix("_right"), []).append(pull)
    return [_sum(name, several) for name, several in found.items()]


def _sum(name: str, several: list[Pull]) -> Pull:
    if len(several) == 1:
        return several[0]._replace(name=name)
    force = np.sum([pull.force for pull in several], axis=0)
    sizes = [float(np.linalg.norm(pull.force)) for pull in several]
    place = np.average([pull.place for pull in several], axis=0, weights=sizes)
    return Pull(name, tuple(place.tolist()), tuple(force.tolist()))


def _whole(place, pose: Pose, view: View, frame: Rect) -> float:
    """Pixels that 0.05 m across the view take at a place."""
    away = pose.place + rotation(tuple(pose.attitude)) @ np.array(place) - view.eye
    depth = float(away @ view.ahead)
    return 0.05 * 0.5 * frame.height / (math.tan(0.5 * view.height_angle) * max(depth, 1e-3))


def spot(place, pose: Pose, view: View, frame: Rect) -> tuple[float, float] | None:
    """Pixels of a place in body axes; None behind the eye."""
    point = pose.place + rotation(tuple(pose.attitude)) @ np.array(place)
    seen = on_screen(view, frame.width / frame.height, point)
    if seen is None:
        return None
    return (
        frame.x + 0.5 * frame.width * (1.0 + seen[0]),
        frame.y + 0.5 * frame.height * (1.0 + seen[1]),
    )


def told(arrow: Arrow) -> str:
    """Such as 'lift 1.2 x'; in weights."""
    return f"{arrow.name} {arrow.times:.1f} x"


def name_spots(
    found: list[Arrow],
    widths: list[float],
    scale: float,
    frame: Rect,
    kept: Iterable[Rect] = (),
) -> list[tuple[float, float]]:
    """Where the lower left corner of each name stands: at its tip, moved up or down past others and
    past what is `kept` free, within the frame."""
    taken: list[Rect] = list(kept)
    spots = []
    for arrow, wide in zip(found, widths, strict=True):
        x, y = arrow.end
        right = arrow.end[0] >= arrow.start[0]
        x = x + 8.0 * scale if right else x - wide - 8.0 * scale
        up = arrow.end[1] >= arrow.start[1]
        y = y + 4.0 * scale if up else y - ROW * scale
        x = min(max(frame.x + 4.0, x), frame.x + frame.width - wide - 4.0)
        place = Rect(
            x, min(max(frame.y + 4.0, y), frame.y + frame.height - ROW * scale), wide, ROW * scale
        )
        step = (1.0 if up else -1.0) * 0.5 * ROW * scale
        for k in range(1, 60):  # by turns to both sides, further and further
            if not any(place.overlaps(other) for other in taken):
                break
            way = step if k % 2 else -step
            place = place._replace(y=place.y + way * k)
        taken.append(place)
        spots.append((place.x, place.y))
    return spots


class Gauge(NamedTuple):
    """Shares 0..1 along the gauge: the needle, and the angles at which it stalls."""

    needle: float
    low: float
    high: float
    words: str
    stalled: bool


def gauge(moment: Moment, forces: Forces) -> Gauge:
    """The angle of attack against the stall, from half as much again below to above it."""
    low, high = 1.5 * forces.stall_below_deg, 1.5 * forces.stall_deg
    span = max(1e-6, high - low)

    def share(angle: float) -> float:
        return min(1.0, max(0.0, (angle - low) / span))

    angle = round(moment.alpha_deg)
    words = f"angle of attack {angle}°, stalls at {forces.stall_deg:.0f}°"
    if moment.stalled:
        words = f"STALLED: angle of attack {angle}°"
    return Gauge(
        share(moment.alpha_deg),
        share(forces.stall_below_deg),
        share(forces.stall_deg),
        words,
        moment.stalled,
    )
