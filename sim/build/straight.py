"""Channels that a transmitter has mixed already, straight to the servos.

The airframe's own mixing is set aside and every servo follows one channel over its whole travel,
so that what is rehearsed is the model memory of the transmitter that will fly.
"""

from __future__ import annotations

from math import isfinite
from typing import Literal, NamedTuple

from firstthrow.sim.build.shape import SurfaceSpan, surface_spans
from firstthrow.sim.build.sticks import Mixer, Stick, Sticks, mixer
from firstthrow.sim.describe.airframe import Airframe, Expo, Mix, Mixing, Rates
from firstthrow.sim.describe.linkage import linkage, reach

CHANNELS: tuple[Literal["roll", "pitch", "yaw"], ...] = (
    "roll",
    "pitch",
    "yaw",
)  # the slots of `Sticks` that carry them


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
    also, slots, full = {}, [], []
    for channel, names in zip(CHANNELS, wanted, strict=False):
        for name in names:
            angle = _full(airframe, spans[name])
            also[f"{channel}_{name}"] = Mix.model_construct(
                stick=channel, moves=name, angle=-angle, share=0.0, opposite=False
            )
        slots.append(spans[names[0]].slot)
        full.append(_full(airframe, spans[names[0]]))
    none = Rates.model_construct(pitch=0.0, roll=0.0, yaw=0.0)
    mixing = Mixing.model_construct(
        **{
            **{name: field.default for name, field in Mixing.model_fields.items()},
            "high": none,
            "low": none,
            "expo": Expo(),
            "also": also,
            "swapped": airframe.mixing.swapped,
        }
    )
    changed = airframe.model_copy(update={"mixing": mixing})
    return Straight(changed, mixer(airframe), wanted, tuple(slots), tuple(full))


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
