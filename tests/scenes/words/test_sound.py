"""What is heard: pitch and loudness of what the flight says, and no complaint without a device."""

from __future__ import annotations

import os
import subprocess
import sys
import textwrap
from pathlib import Path

import numpy as np
import pytest

from firstthrow.scenes.words.synth import BUZZ, RATE, Synth, Turning, Voice, heard_shift, passing

ROOT = Path(__file__).parents[3]


def played(voice: Voice, pieces: int = 24, count: int = 1024) -> np.ndarray:
    synth = Synth()
    return np.concatenate([synth.piece(voice, count) for _ in range(pieces)]).astype(float)


def loudness(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(samples[2048:] ** 2)))


def strongest(samples: np.ndarray, low: float = 20.0, high: float = 5000.0) -> float:
    """Frequency [Hz] of the strongest tone between two."""
    whole = samples[4096:]
    strength = np.abs(np.fft.rfft(whole * np.hanning(len(whole))))
    pitches = np.fft.rfftfreq(len(whole), 1.0 / RATE)
    strength[(pitches < low) | (pitches > high)] = 0.0
    return float(pitches[strength.argmax()])


@pytest.mark.parametrize(("rpm", "blades"), [(6000.0, 2), (9000.0, 2), (6000.0, 3)])
def test_a_propeller_is_heard_at_its_blades_passing(rpm, blades):
    """Blade passing frequency: turns a second times blades, by definition."""
    one = Turning(rpm, blades, 0.2, 0.4)
    assert passing(one) == pytest.approx(rpm / 60.0 * blades)
    assert strongest(played(Voice((one,)))) == pytest.approx(rpm / 60.0 * blades, rel=0.02)


def test_it_is_louder_faster_and_nearer_and_silent_when_it_stands():
    slow, fast = (Voice((Turning(rpm, 2, 0.2, 0.3),)) for rpm in (3000.0, 9000.0))
    assert loudness(played(fast)) > 3.0 * loudness(played(slow))
    far = fast._replace(distance=80.0)
    assert loudness(played(far)) < 0.2 * loudness(played(fast))
    assert loudness(played(Voice((Turning(0.0, 2, 0.2, 0.0),)))) == 0.0


def test_coming_nearer_it_sounds_higher():
    """Doppler: c / (c - v) at 20 m/s by the textbook, c of the standard day, ISO 2533."""
    assert heard_shift(20.0) == pytest.approx(340.294 / 320.294)
    voice = Voice((Turning(6000.0, 2, 0.2, 0.0),), closing=20.0)
    assert strongest(played(voice)) == pytest.approx(200.0 * 343.0 / 323.0, rel=0.02)


def test_a_servo_buzzes_only_while_it_holds():
    quiet, held, hard = (played(Voice(servos=(load,))) for load in (0.05, 0.3, -0.95))
    assert loudness(quiet) == 0.0
    assert loudness(hard) > 1.8 * loudness(held) > 0.0
    assert strongest(held) == pytest.approx(BUZZ, rel=0.02)


def test_air_hisses_with_speed_and_rumbles_in_a_stall():
    slow, fast = (Voice(airspeed=speed) for speed in (6.0, 18.0))
    assert loudness(played(fast)) > 6.0 * loudness(played(slow)) > 0.0  # as its square
    stalled = slow._replace(stalled=0.8)
    low = np.array([_share_below(played(voice), 300.0) for voice in (slow, stalled)])
    assert loudness(played(stalled)) > 2.0 * loudness(played(slow))
    assert low[0] < 0.1
    assert low[1] > 0.4


def _share_below(samples: np.ndarray, pitch: float) -> float:
    """Of the power."""
    strength = np.abs(np.fft.rfft(samples[2048:])) ** 2
    pitches = np.fft.rfftfreq(len(samples) - 2048, 1.0 / RATE)
    return float(strength[pitches < pitch].sum() / strength.sum())


def test_pieces_join_without_a_click():
    synth = Synth()
    first = synth.piece(Voice((Turning(5000.0, 2, 0.2, 0.3),)), 1024).astype(float)
    second = synth.piece(Voice((Turning(5200.0, 2, 0.2, 0.3),)), 1024).astype(float)
    third = synth.piece(Voice(), 1024).astype(float)
    for before, after in ((first, second), (second, third)):
        inside = max(np.abs(np.diff(before[-200:])).max(), np.abs(np.diff(after[:200])).max())
        assert abs(after[0] - before[-1]) <= 1.2 * inside + 50.0
    assert np.abs(third[-20:]).max() < 600.0


PLAYED = """
    import time
    from firstthrow.scenes.words.sound import Sound
    from firstthrow.scenes.words.synth import Turning, Voice

    sound = Sound()
    print(sound.works)
    end = time.monotonic() + 0.8
    while sound.works and time.monotonic() < end:
        sound.hear(Voice((Turning(9000.0, 2, 0.2, 0.5),)))
        sound.mute = time.monotonic() > end - 0.4
        time.sleep(1 / 60)
    sound.close()
"""


ABSENT = """
    from firstthrow.scenes.words import sound

    class Absent:
        def __getattr__(self, name):  # as pygame has it for a part that could not be loaded
            raise NotImplementedError("mixer module not available")

    sound.pygame.mixer = Absent()
    print(sound.Sound().works)
"""


def run_sound(script: str = PLAYED, **environment) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(script)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        env={**os.environ, **environment},
        timeout=60,
        check=False,
    )


def test_the_device_gets_the_tone_until_it_is_muted(tmp_path):
    """Through SDL's own driver that writes what a sound card would get to a file."""
    heard = tmp_path / "heard.raw"
    done = run_sound(SDL_AUDIODRIVER="disk", SDL_DISKAUDIOFILE=str(heard))
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "True"
    samples = np.frombuffer(heard.read_bytes(), dtype=np.int16).astype(float)
    assert len(samples) > 0.3 * RATE
    start = int(np.argmax(np.abs(samples) > 500.0))
    loud = samples[start : start + int(0.25 * RATE)]
    assert strongest(loud, 100.0, 1000.0) == pytest.approx(300.0, rel=0.05)
    assert np.abs(samples[-1024:]).max() < 0.1 * np.abs(loud).max()


def test_without_a_device_it_is_silent_and_says_so_once():
    done = run_sound(SDL_AUDIODRIVER="alsa", AUDIODEV="no-such-device")
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "False"
    assert done.stderr == "No sound: there is nothing on this machine to play it on.\n"


def test_a_mixer_that_is_not_there_is_said_with_what_brings_it():
    done = run_sound(ABSENT)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == "False"
    assert done.stderr == (
        "No sound: pygame's mixer cannot be loaded; on Debian: sudo apt-get install "
        "libsdl2-mixer-2.0-0.\n"
    )


def test_a_device_that_goes_in_flight_is_silence_and_no_more():
    """SDL's driver takes a file that nothing can be written to for a device that was pulled out."""
    done = run_sound(SDL_AUDIODRIVER="disk", SDL_DISKAUDIOFILE="/dev/full")
    assert (done.returncode, done.stdout.strip(), done.stderr) == (0, "True", "")


def test_the_mute_key_and_the_voice_in_the_window(display):
    from driven import FRAME, Driven

    from firstthrow.scenes.flight.rehearsal import Rehearsal
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.window.window import TITLE, App
    from firstthrow.sim.describe.config import find, load_airframe, load_field

    airframe = load_airframe(find("airframes", "pantry"))
    meadow = load_field(find("fields", "water-meadow"))
    app = App(Rehearsal(airframe, meadow), load_hands("keyboard"))
    driven = Driven(app, TITLE)
    try:
        heard: list[Voice] = []
        app.aids.sound.hear = heard.append
        driven.key_down("w")
        driven.until(lambda: app.rehearsal.reading.motor_motor_rpm > 3000.0, "the motor runs")
        driven.key_up("w")
        assert heard[-1].turning[0].rpm == pytest.approx(
            app.rehearsal.reading.motor_motor_rpm, rel=0.05
        )
        assert 3.0 < heard[-1].distance < 6.0  # the pilot stands 4 m behind
        driven.key("m")
        driven.until(lambda: app.aids.sound.mute, "M mutes")
        assert "mute" in app.aids.corner
        driven.key("p")
        driven.until(lambda: app.rehearsal.clock.paused, "P pauses")
        app.frame(FRAME)
        assert heard[-1] == Voice()
    finally:
        driven.key_up("w")
        app.close()
