"""A few words spoken by formant synthesis: pulses and noise through resonances that move. Pure.

A voice is a train of pulses that falls by 6 dB an octave, put through three resonances, which are
what tells one vowel from another; breath goes through the same, hissing past them. Source: the
cascade of D. H. Klatt, "Software for a cascade/parallel formant synthesizer", JASA 67 (1980), much
reduced; vowels by the means for men of Peterson and Barney (1952), from memory. It is
plainly a machine, with no melody but a falling pitch: good for the dozen words it has, no more.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import scipy

from firstthrow.scenes.words.synth import RATE

FRAME = 110  # samples between new resonances: 5 ms
PITCH = (124.0, 92.0)  # [Hz] at the start and at the end of a phrase
WIDTHS = (60.0, 90.0, 150.0)  # [Hz] of the resonances
OPEN = (500.0, 1500.0, 2500.0)  # [Hz] of a tube of 0.17 m, open at one end
LOUD = 9000.0  # of the largest sample, int16
VOWELS = {  # the three lowest resonances [Hz]
    "i": (270.0, 2290.0, 3010.0),
    "I": (390.0, 1990.0, 2550.0),
    "e": (530.0, 1840.0, 2480.0),
    "ae": (660.0, 1720.0, 2410.0),
    "a": (730.0, 1090.0, 2440.0),
    "o": (570.0, 840.0, 2410.0),
    "U": (440.0, 1020.0, 2240.0),
    "u": (300.0, 870.0, 2240.0),
    "A": (640.0, 1190.0, 2390.0),
}


class Phone(NamedTuple):
    seconds: float
    resonances: tuple[float, ...] | None = None  # None: those of its neighbours
    voice: float = 0.0
    breath: float = 0.0  # noise through the resonances
    hiss: float = 0.0  # noise beside them
    centre: float = 4000.0  # [Hz] of the hiss


def vowel(name: str, seconds: float) -> Phone:
    return Phone(seconds, VOWELS[name], 1.0)


def stop(centre: float) -> tuple[Phone, ...]:
    """Closed, a burst, breath."""
    return (
        Phone(0.055),
        Phone(0.015, hiss=0.9, centre=centre),
        Phone(0.035, breath=0.25, hiss=0.12, centre=centre),
    )


H, F = Phone(0.08, breath=0.30), Phone(0.11, hiss=0.22, centre=6500.0)
S, V = Phone(0.13, hiss=0.55, centre=6200.0), Phone(0.07, (240.0, 1100.0, 2080.0), 0.35, 0.0, 0.10)
L, W = Phone(0.09, (360.0, 1100.0, 2700.0), 0.55), Phone(0.06, (300.0, 620.0, 2200.0), 0.6)
N, R = Phone(0.08, (280.0, 1650.0, 2600.0), 0.35), Phone(0.06, (420.0, 1250.0, 1600.0), 0.6)
T, K, P, D = stop(4200.0), stop(1800.0), stop(900.0), (Phone(0.03, voice=0.15), *stop(3600.0)[1:2])
GAP = Phone(0.09)
WORDS: dict[str, tuple[Phone, ...]] = {
    "stall": (S, *T, vowel("o", 0.19), L, L),
    "low": (L, vowel("o", 0.13), vowel("U", 0.14)),
    "pack": (*P, vowel("ae", 0.16), *K),
    "height": (H, vowel("a", 0.12), vowel("I", 0.09), *T),
    "ten": (*T, vowel("e", 0.15), N, N),
    "twenty": (*T, W, vowel("e", 0.11), N, *T, vowel("i", 0.13)),
    "fifty": (F, vowel("I", 0.09), F, *T, vowel("i", 0.13)),
    "hundred": (H, vowel("A", 0.11), N, *D, R, vowel("I", 0.09), *D),
}
PHRASES = {
    "stall": ("stall",),
    "pack low": ("pack", "low"),
    **{f"height {word}": ("height", word) for word in ("ten", "twenty", "fifty", "hundred")},
}


@lru_cache
def phrase(name: str) -> np.ndarray:
    """(n,) samples, int16. Raises KeyError for a phrase that there is none of."""
    phones: list[Phone] = []
    for word in PHRASES[name]:
        phones += [*WORDS[word], GAP]
    return spoken(tuple(phones))


def spoken(phones: tuple[Phone, ...]) -> np.ndarray:
    """(n,) samples, int16, of phones one after another."""
    counts = [max(1, round(one.seconds * RATE / FRAME)) for one in phones]
    resonances = _smooth(np.repeat(_filled(phones), counts, axis=0), 9)
    gains = np.array([(one.voice, one.breath, one.hiss) for one in phones])
    gains = _smooth(np.repeat(gains, counts, axis=0), 3)
    centres = np.repeat([one.centre for one in phones], counts)
    chance = np.random.default_rng(5)
    pulses = _pulses(len(centres) * FRAME)
    states = [np.zeros(2) for _ in range(4)]
    total = np.zeros(len(pulses))
    for k, (voice, breath, hiss) in enumerate(gains):
        part = slice(k * FRAME, (k + 1) * FRAME)
        noise = chance.standard_normal(FRAME)
        flow = voice * pulses[part] + breath * noise
        for n, width in enumerate(WIDTHS):
            flow, states[n] = _resonated(flow, resonances[k, n], width, states[n])
        beside, states[3] = _resonated(hiss * noise, centres[k], 1800.0, states[3])
        total[part] = flow + 1.6 * beside
    return np.round(LOUD / max(1e-9, np.abs(total).max()) * total).astype(np.int16)


def _filled(phones: tuple[Phone, ...]) -> np.ndarray:
    """(phones, 3) resonances, those without any taking the next one's, the last ones the last's;
    of an open mouth where there are none."""
    found = [one.resonances for one in phones]
    for k in range(len(found) - 2, -1, -1):
        found[k] = found[k] or found[k + 1]
    for k in range(1, len(found)):
        found[k] = found[k] or found[k - 1]
    return np.array([one or OPEN for one in found])


def _smooth(rows: np.ndarray, width: int) -> np.ndarray:
    """Each column's running mean over `width` rows, the ends held."""
    half = width // 2
    held = np.pad(rows, ((half, half), (0, 0)), mode="edge")
    kernel = np.ones(width) / width
    return np.column_stack([np.convolve(column, kernel, "valid") for column in held.T])


def _pulses(count: int) -> np.ndarray:
    """A voice before any resonance: pulses of falling pitch, less by 6 dB an octave."""
    pitch = np.linspace(*PITCH, count)
    turns = np.floor(np.cumsum(pitch) / RATE)
    train = np.diff(turns, prepend=0.0)
    return 6.0 * scipy.signal.lfilter([1.0], [1.0, -0.94], train - train.mean())


def _resonated(flow: np.ndarray, centre: float, width: float, state: np.ndarray) -> tuple:
    """Through a resonance of the second order, of unit gain at no frequency; and its state."""
    far = math.exp(-math.pi * width / RATE)
    back = 2.0 * far * math.cos(2.0 * math.pi * centre / RATE), -far * far
    return scipy.signal.lfilter(
        [1.0 - back[0] - back[1]], [1.0, -back[0], -back[1]], flow, zi=state
    )
