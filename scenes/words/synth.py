"""What propellers, motors and servos sound like, from what the flight says of them. Pure.

The air over the airframe hisses with the square of its speed, and rumbles where it has let go of
the sheet. A propeller is heard at its blades' passing frequency and its harmonics, which grow with
the tip speed; the motor under it whines at its poles' frequency with the current; servos that hold
a load buzz. How loud each is beside the others, and the servos' pitch, are our choices for the ear.
"""

from __future__ import annotations

import math
from itertools import accumulate
from typing import NamedTuple

import numpy as np

from firstthrow.sim.describe.atmosphere import sound_speed
from firstthrow.sim.units import MINUTE, from_rpm

RATE = 22050  # samples a second
SOUND_SPEED = sound_speed()
HARMONICS = 7
POLES = 14.0  # of an outrunner motor; whines at that many times its turning
BUZZ = 290.0  # [Hz] of a servo that holds
BUZZ_FROM = 0.08  # share of the stall torque below which a servo is quiet
FULL_AIR = 25.0  # [m/s] airspeed of a loud hiss
RUMBLE = 260.0  # [Hz] above which the rumble of a stall is taken off
FULL_TIP = 130.0  # [m/s] tip speed of a loud propeller
NEAR = 5.0  # [m] within which nothing gets louder


class Turning(NamedTuple):
    """A propeller and its motor now."""

    rpm: float
    blades: int
    diameter: float  # [m]
    load: float  # 0..1, current over the motor's limit


class Voice(NamedTuple):
    """Everything to be heard at one moment."""

    turning: tuple[Turning, ...] = ()
    servos: tuple[float, ...] = ()  # load of each, share of stall torque, signed
    distance: float = 0.0  # [m] from the ear
    closing: float = 0.0  # [m/s] that the distance shrinks by
    airspeed: float = 0.0  # [m/s]
    stalled: float = 0.0  # share of the sheet that the air has left, 0..1


def passing(one: Turning) -> float:
    """Blade passing frequency [Hz]."""
    return abs(one.rpm) / MINUTE * one.blades


def heard_shift(closing: float) -> float:
    """Frequency heard over frequency sent, of a source that comes nearer. Source: Doppler."""
    return SOUND_SPEED / (SOUND_SPEED - max(-100.0, min(100.0, closing)))


def tip_share(one: Turning) -> float:
    return min(1.0, 0.5 * one.diameter * from_rpm(abs(one.rpm)) / FULL_TIP)


def tones(voice: Voice) -> dict[tuple, tuple[float, float]]:
    """Pitch [Hz] and loudness of everything in a voice, by kind and number."""
    gain = 1.0 / (1.0 + max(0.0, voice.distance - NEAR) / NEAR)
    shift = heard_shift(voice.closing)
    found = {}
    for k, one in enumerate(voice.turning):
        share = tip_share(one)
        whine = 0.05 * gain * min(1.0, abs(one.load)) * min(1.0, share * 3.0)
        found["blades", k] = passing(one) * shift, 0.55 * gain * share**2
        found["whine", k] = POLES * abs(one.rpm) / MINUTE * shift, whine
        found["rush", k] = 0.0, 0.10 * gain * share**3
    hiss = min(1.0, voice.airspeed / FULL_AIR) ** 2
    found["air", 0] = 0.0, 0.16 * gain * hiss
    found["stall", 0] = 0.0, 0.9 * gain * min(1.0, voice.stalled) * math.sqrt(hiss)
    for k, load in enumerate(voice.servos):
        held = max(0.0, min(1.0, abs(load)) - BUZZ_FROM) / (1.0 - BUZZ_FROM)
        found["servo", k] = (BUZZ + 23.0 * k) * shift, 0.10 * gain * held**0.7
    return found


class Synth:
    """Makes samples piece after piece; pitch and loudness run on smoothly from each to the next."""

    def __init__(self, seed: int = 1):
        self.random = np.random.default_rng(seed)
        self.phases: dict[tuple, float] = {}
        self.before: dict[tuple, tuple[float, float]] = {}
        self.low = 0.0  # where the rumble's filter is

    def piece(self, voice: Voice, count: int) -> np.ndarray:
        """(count,) samples, int16, of a voice that is reached by the end of the piece."""
        wanted = tones(voice)
        for key, (pitch, loud) in list(self.before.items()):
            if key not in wanted and loud > 0.0:
                wanted[key] = pitch, 0.0  # what has stopped fades, or it would click
        makers = {
            "blades": self._blades,
            "whine": self._tone,
            "rush": self._rush,
            "air": self._rush,
            "stall": self._rumble,
            "servo": self._buzz,
        }
        total = np.zeros(count)
        for key, (pitch, loud) in wanted.items():
            total += makers[key[0]](key, pitch, loud, count)
        return np.round(26000.0 * np.tanh(total)).astype(np.int16)

    def _ramps(self, key: tuple, pitch: float, loud: float, count: int) -> tuple:
        """Phase [rad] and loudness of each sample, from where the last piece ended."""
        old_pitch, old_loud = self.before.get(key, (pitch, 0.0))
        self.before[key] = pitch, loud
        share = np.arange(1, count + 1) / count
        pitches = old_pitch + share * (pitch - old_pitch)
        phase = self.phases.get(key, 0.0) + np.cumsum(pitches) * (2.0 * math.pi / RATE)
        self.phases[key] = float(phase[-1] % (2.0 * math.pi * 1000.0))
        return phase, old_loud + share * (loud - old_loud), max(pitch, old_pitch)

    def _tone(self, key: tuple, pitch: float, loud: float, count: int) -> np.ndarray:
        phase, level, top = self._ramps(key, pitch, loud, count)
        return level * np.sin(phase) if top < 0.45 * RATE else np.zeros(count)

    def _blades(self, key: tuple, pitch: float, loud: float, count: int) -> np.ndarray:
        phase, level, top = self._ramps(key, pitch, loud, count)
        wave = np.zeros(count)
        for n in range(1, HARMONICS + 1):
            if n * top < 0.45 * RATE:
                wave += np.sin(n * phase + 0.7 * n * n) / n**1.1
        return level * wave

    def _buzz(self, key: tuple, pitch: float, loud: float, count: int) -> np.ndarray:
        phase, level, _ = self._ramps(key, pitch, loud, count)
        return level * (np.sin(phase) + 0.6 * np.sin(3.0 * phase) + 0.4 * np.sin(7.0 * phase))

    def _rush(self, key: tuple, pitch: float, loud: float, count: int) -> np.ndarray:
        """Air, as noise with its highest part taken off."""
        _, level, _ = self._ramps(key, pitch, loud, count)
        white = self.random.standard_normal(count + 1)
        return level * 0.5 * (white[1:] + white[:-1])

    def _rumble(self, key: tuple, pitch: float, loud: float, count: int) -> np.ndarray:
        """Air that has let go: noise through a low-pass of the first order, which keeps its state
        from piece to piece."""
        _, level, _ = self._ramps(key, pitch, loud, count)
        keeps = math.exp(-2.0 * math.pi * RUMBLE / RATE)
        fed = (1.0 - keeps) * self.random.standard_normal(count)
        low = np.fromiter(
            accumulate(fed.tolist(), lambda at, new: keeps * at + new, initial=self.low), float
        )
        self.low = float(low[-1])
        return level * low[1:]
