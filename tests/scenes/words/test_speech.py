"""Spoken words: vowels that a spectrum tells apart, and the moments they are spoken at."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.linalg import solve_toeplitz

from firstthrow.scenes.hands.preferences import Preferences
from firstthrow.scenes.words.speaking import Speaking
from firstthrow.scenes.words.speech import PHRASES, VOWELS, WORDS, phrase, spoken, vowel
from firstthrow.scenes.words.synth import RATE

FACTS = SimpleNamespace(cutoff_V=9.9)


def resonances(samples: np.ndarray) -> tuple[float, float]:
    """The two lowest [Hz], by linear prediction of the twelfth order at half the rate."""
    half = samples.astype(float)[: len(samples) // 2 * 2].reshape(-1, 2).mean(axis=1)
    rough = np.append(half[0], half[1:] - 0.9 * half[:-1]) * np.hamming(len(half))
    lags = np.correlate(rough, rough, "full")[len(rough) - 1 :][:13]
    ahead = solve_toeplitz(lags[:12], lags[1:])
    poles = np.roots(np.append(1.0, -ahead))
    poles = poles[(poles.imag > 0.0) & (np.abs(poles) > 0.90)]
    pitches = np.sort(np.angle(poles) * 0.5 * RATE / (2.0 * np.pi))
    first, second = pitches[pitches > 180.0][:2]
    return float(first), float(second)


@pytest.mark.parametrize("name", VOWELS)
def test_a_vowel_is_told_from_all_others_by_its_spectrum(name):
    found = np.log(resonances(spoken((vowel(name, 0.4),))[2000:-2000]))
    far = {one: np.abs(found - np.log(of[:2])).max() for one, of in VOWELS.items()}
    assert min(far, key=far.__getitem__) == name
    assert far[name] < 0.10


def test_what_hisses_is_high_and_what_is_voiced_is_low():
    def middle(samples: np.ndarray) -> float:
        power = np.abs(np.fft.rfft(samples.astype(float))) ** 2
        return float(np.fft.rfftfreq(len(samples), 1.0 / RATE) @ power / power.sum())

    assert middle(spoken(WORDS["stall"][:1])) > 4000.0
    assert middle(spoken(WORDS["low"])) < 900.0


def test_each_phrase_is_short_and_no_two_are_alike():
    found = [phrase(name) for name in PHRASES]
    for samples in found:
        assert 0.3 < len(samples) / RATE < 1.3
        assert 8000 < np.abs(samples).max() < 10000
        assert np.abs(samples[-400:]).max() < 600  # ends in silence, without a click
    assert len({samples.tobytes() for samples in found}) == len(found)


def told(rows) -> list[str]:
    speaking = Speaking()
    found = [
        speaking.due(SimpleNamespace(time_s=t, height_m=h, separated_fraction=s, pack_V=v), FACTS)
        for t, h, s, v in rows
    ]
    return [one for one in found if one]


def test_what_is_spoken_when():
    up = [(0.1 * k, 0.3 * k, 0.0, 12.0) for k in range(80)]
    down = [(8.0 + 0.1 * k, 24.0 - 0.5 * k, 0.0, 12.0) for k in range(40)]
    ten, twenty = "height ten", "height twenty"
    assert told(up + down) == [ten, twenty, twenty, ten]
    level = [(0.1 * k, 10.0 + 0.5 * (-1) ** k, 0.0, 12.0) for k in range(1, 60)]
    assert told(level) == [ten]  # not again and again
    stall = [(0.1 * k, 2.0, 0.9 * (k % 4 == 0), 12.0) for k in range(-5, 50)]
    assert told(stall) == ["stall", "stall"]  # the second three seconds later
    assert told([(1.0, 2.0, 0.0, 9.5), (1.1, 2.0, 0.0, 9.5)]) == ["pack low"]
    assert told([*up, *up]) == [ten, twenty] * 2  # the next flight from the beginning


def test_it_is_off_unless_asked_for_and_films_have_it():
    from firstthrow.scenes.window.film import with_words

    assert not Preferences().speech
    quiet = np.zeros(RATE, np.int16)
    heard = with_words(quiet, [(5000, "stall")])
    assert not heard[:5000].any()
    np.testing.assert_array_equal(heard[5000:12000], phrase("stall")[:7000])
    assert len(with_words(quiet, [(RATE - 100, "stall")])) == RATE
