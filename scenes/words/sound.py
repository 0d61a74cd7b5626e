"""Plays what `synth` makes, through pygame's mixer; says so where the machine has no sound."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator

import numpy as np

from firstthrow.scenes.flight.track import attitude_of, place_of
from firstthrow.scenes.hands.sdl import pygame
from firstthrow.scenes.words.speech import phrase
from firstthrow.scenes.words.synth import NEAR, RATE, Synth, Turning, Voice
from firstthrow.scenes.world.camera import rotation

PIECE = 1024  # samples, 46 ms: the ear finds the throttle at once, a slow frame leaves no gap
QUIET = Voice()


class Sound:
    """Open as long as the window; `hear` on every frame. `works`: there is a device."""

    def __init__(self, mute: bool = False, wanted: bool = True):
        self.mute = mute
        self.synth = Synth()
        self.works, self.channel = False, None
        why = _silent() if wanted else ""
        if why:
            print(f"No sound: {why}.", file=sys.stderr)
        elif wanted:
            self.works, self.channel = True, pygame.mixer.Channel(0)

    def hear(self, voice: Voice) -> None:
        """Keeps the device one piece ahead; one that has gone takes them all the same."""
        if not self.works:
            return
        for _ in range(2):
            if self.channel is None or self.channel.get_queue() is not None:
                return
            samples = self.synth.piece(QUIET if self.mute else voice, PIECE)
            self.channel.queue(pygame.mixer.Sound(buffer=samples.tobytes()))

    def say(self, name: str) -> None:
        """A phrase of `speech`, over all else; one that is being spoken gives way."""
        if self.works and not self.mute:
            pygame.mixer.Channel(1).play(pygame.mixer.Sound(buffer=phrase(name).tobytes()))

    def close(self) -> None:
        if self.works:
            pygame.mixer.quit()
            self.works, self.channel = False, None


def _silent() -> str:
    """Why nothing can be played, in words; empty once the device is open."""
    if pygame.mixer is None:  # a pygame built without it
        return "pygame has no mixer here"
    try:
        with _hushed():
            pygame.mixer.init(RATE, -16, 1, 512, allowedchanges=0)
    except NotImplementedError:  # what it needs of the system is not there
        return (
            "pygame's mixer cannot be loaded; on Debian: sudo apt-get install libsdl2-mixer-2.0-0"
        )
    except pygame.error:
        return "there is nothing on this machine to play it on"
    return ""


@contextlib.contextmanager
def _hushed() -> Iterator[None]:
    """Without the pages that sound libraries write on standard error when they find nothing."""
    try:
        kept = os.dup(2)
    except OSError:  # there is no standard error
        yield
        return
    sys.stderr.flush()
    nothing = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nothing, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(nothing)
        os.close(kept)


def voice_of(airframe, reading, ear: np.ndarray) -> Voice:
    """What a reading sounds like at an `ear` that stands still, in field axes [m]."""
    turning = tuple(
        Turning(
            getattr(reading, f"motor_{name}_rpm"),
            motor.propeller.blades,
            motor.propeller.size[0],
            getattr(reading, f"motor_{name}_A") / motor.limit,
        )
        for name, motor in airframe.motors.items()
    )
    servos = tuple(
        getattr(reading, name)
        for name in reading._fields
        if name.startswith("servo_") and name.endswith("_load")
    )
    away = place_of(reading) - ear
    distance = float(np.linalg.norm(away))
    travel = rotation(tuple(attitude_of(reading))) @ (reading.u_m_s, reading.v_m_s, reading.w_m_s)
    closing = -float(travel @ away) / distance if distance > NEAR else 0.0
    flies = reading.time_s > 0.0
    airspeed = reading.airspeed_m_s if flies else 0.0
    stalled = reading.separated_fraction if flies else 0.0
    return Voice(turning, servos, distance, closing, airspeed, stalled)
