"""Channels that a transmitter has mixed already, straight to the servos.

The airframe's own mixing is set aside and every servo follows one channel over its whole travel,
so that what is rehearsed is the model memory of the transmitter that will fly. Sticks that the
airframe's file has the wrong way round are so in what is sent, too.
"""

from __future__ import annotations

from math import isfinite
from typing import Literal, NamedTuple

import numpy as np

from firstthrow.sim.build.shape import SurfaceSpan, surface_spans
from firstthrow.sim.build.sticks import Mixer, Stick, Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe, Expo, Mix, Mixing, Rates
from firstthrow.sim.describe.linkage import linkage, reach

CHANNELS: tuple[Literal["roll", "pitch", "yaw"], ...] = (
    "roll",
    "pitch",
    "yaw",
)  # the slots of `Sticks` that carry them

TRIMS = {"roll": "roll_trim", "pitch": "reflex", "yaw": "yaw_trim"}  # of what each stick turns


class TooManyServos(ValueError):
    """More servos than channels."""


class Led(NamedTuple):
    """A servo by what it moves: one surface, or both sides of a joined one."""

    names: tuple[str, ...]
    first: SurfaceSpan
    raised_by: dict[Stick, float]  # see `Mixer.raised_by`, of the first


def servos(airframe: Airframe) -> tuple[Led, ...]:
    """Every servo, in slot order."""
    found: dict[tuple, list[SurfaceSpan]] = {}
    for span in surface_spans(airframe):
        side = "" if span.described.joined else span.side
        found.setdefault((span.sheet, span.surface, side), []).append(span)
    mix = mixer(airframe)
    return tuple(
        Led(tuple(span.name for span in spans), spans[0], mix.raised_by(spans[0].slot))
        for spans in found.values()
    )


class Straight(NamedTuple):
    """An airframe whose servos follow channels, and what it would have mixed itself."""

    airframe: Airframe
    mix: Mixer
    servos: tuple[tuple[str, ...], ...]
    slots: tuple[int, ...]  # of each servo's first surface
    full: tuple[float, ...]  # angle of a surface at the end of its channel [rad]
    reflex: float  # trailing edges up that it would have mixed with the sticks let go [rad]

    def channels(self, sticks: Sticks) -> Sticks:
        """What the transmitter would send for these sticks, mixed by the airframe's own file."""
        angles = self.mix.angles(sticks)
        sent = {
            channel: max(-1.0, min(1.0, -angles[slot] / most))
            for channel, slot, most in zip(CHANNELS, self.slots, self.full, strict=False)
        }
        roll, pitch, yaw = (sent.get(channel, 0.0) for channel in CHANNELS)
        return Sticks(roll, pitch, yaw, sticks.throttle)


def straight(airframe: Airframe, moves: tuple[tuple[str, ...], ...] = ()) -> Straight:
    """With `moves`, the surfaces of each channel in their order; without, servo by servo.

    Raises TooManyServos beyond three servos, KeyError for a surface that there is not.
    """
    wanted = tuple(names for names in moves if names) or tuple(
        led.names for led in servos(airframe)
    )
    if len(wanted) > len(CHANNELS):
        raise TooManyServos(
            f"{airframe.name} has {len(wanted)} servos: mixed channels reach {len(CHANNELS)}"
        )
    spans = {span.name: span for span in surface_spans(airframe)}
    first = [spans[names[0]] for names in wanted]
    sound = airframe.mixing.model_copy(update={"reversed": ()})
    mix = mixer(airframe.model_copy(update={"mixing": sound}))
    raised = [mix.raised_by(span.slot) for span in first]
    wrong: set[str] = set(airframe.mixing.reversed)
    if airframe.mixing.roll_to_yaw and not any(Stick.ROLL in ends for ends in raised):
        wrong = {"yaw" if stick == "roll" else stick for stick in wrong}  # the rudder is steered by
    follows = _followed(raised, wrong)
    also = {}
    for k, channel in enumerate(CHANNELS[: len(wanted)]):
        for led, share in zip(wanted, follows[:, k].tolist(), strict=True):
            for name in led if share else ():
                angle = share * _full(airframe, spans[name])
                also[f"{channel}_{name}"] = Mix.model_construct(
                    stick=channel, moves=name, angle=-angle, share=0.0, opposite=False
                )
    none = Rates.model_construct(pitch=0.0, roll=0.0, yaw=0.0)
    mixing = Mixing.model_construct(
        **{
            **{name: field.default for name, field in Mixing.model_fields.items()},
            "high": none,
            "low": none,
            "expo": Expo(),
            "also": also,
            # Channels carry the trims, which are no stick's: turned round twice.
            **{
                trim: 2.0 * getattr(airframe.mixing, trim) * (stick in wrong)
                for stick, trim in TRIMS.items()
            },
            "swapped": airframe.mixing.swapped,
        }
    )
    changed = airframe.model_copy(update={"mixing": mixing})
    slots = tuple(span.slot for span in first)
    full = tuple(_full(airframe, span) for span in first)
    return Straight(changed, mix, wanted, slots, full, airframe.mixing.reflex)


def _followed(raised: list[dict[Stick, float]], wrong: set[str]) -> np.ndarray:
    """(servos, servos) how much of its travel each servo follows of each channel: its own one
    alone; with sticks the wrong way round, what moves the servos as such a stick does is turned
    round in the channels, and the rest is as it was sent. `raised`: see `Mixer.raised_by`."""
    moved = np.array([[ends.get(stick, 0.0) for stick in Stick] for ends in raised])
    sense = np.diag([2.0 * (stick in wrong) for stick in Stick])
    return np.round(np.eye(len(raised)) - moved @ sense @ np.linalg.pinv(moved), 9)


def fitted(airframe: Airframe, moves: tuple[tuple[str, ...], ...]) -> Straight | None:
    """`straight`, servo by servo where `moves` speaks of another airframe's surfaces; None for
    one with too many servos."""
    known = {span.name for span in surface_spans(airframe)}
    if not {name for names in moves for name in names} <= known:
        moves = ()
    try:
        return straight(airframe, moves)
    except TooManyServos:
        return None


def _full(airframe: Airframe, span: SurfaceSpan) -> float:
    """Angle that the whole travel of the servo gives, the mean of both ends; the surface's own
    travel where the linkage would lock before [rad]."""
    surface = span.described
    ends = reach(linkage(surface), airframe.servos[surface.servo].travel)
    sizes = [abs(end) for end in ends]
    return 0.5 * sum(sizes) if all(isfinite(size) for size in sizes) else surface.travel
