"""Pictures and films of a replay: frame after frame as the window would draw them, to a file.

PNG and GIF are written by Pillow, MP4 by imageio with the ffmpeg that imageio-ffmpeg brings:
165 MB, so that they are an extra, `film`.
"""

from __future__ import annotations

import ctypes.util
import math
import os
import sys
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path

import numpy as np
from scipy.io import wavfile

from firstthrow.scenes.words.speaking import Speaking
from firstthrow.scenes.words.speech import phrase
from firstthrow.scenes.words.synth import RATE, Synth, Voice
from firstthrow.scenes.world.camera import pilot_eye
from firstthrow.sim.describe.replace import naming
from firstthrow.sim.units import ms

SUFFIXES = (".png", ".mp4", ".gif")
RATES = {".mp4": 30.0, ".gif": 12.5}  # pictures a second; a GIF counts whole hundredths
HEARD = 1.0 / 30.0  # [s] after which the sound of a film hears anew
COLOURS = 128  # of a GIF's palette, shared by all its pictures
STILL = 0.6  # share of a record's time whose picture is taken when no time is asked for


class NoPictures(Exception):
    """This machine has nothing to draw with; says what is missing."""


def prepare() -> None:
    """Settles how pyglet draws, before anything of it opens a window: without a display where
    the machine can, as pictures for a file need none. Raises NoPictures."""
    import pyglet

    if not sys.platform.startswith("linux"):
        return
    if ctypes.util.find_library("EGL"):
        pyglet.options.headless = True
    elif not os.environ.get("DISPLAY"):
        raise NoPictures(
            "There is no display, and no EGL to draw without one (on Debian: apt-get install "
            "libegl1 libgl1)."
        )


def check_encoder() -> None:
    """Raises NoPictures where no MP4 can be written, and says what is to be done."""
    try:
        import_module("imageio.v2")
        import_module("imageio_ffmpeg").get_ffmpeg_exe()
    except (ImportError, RuntimeError) as error:
        raise NoPictures(
            "An MP4 film needs an encoder, which is not installed: pip install imageio "
            "imageio-ffmpeg. A film whose name ends in .gif needs none."
        ) from error


def pose_at(app, time: float, settle: float = 1.5, frame: float = 1.0 / 30.0) -> None:
    """Moves the replay to a time, with eyes that have followed it there."""
    replay = app.rehearsal
    replay.clock.paused = False
    app.eyes.afresh()
    count = round(settle / frame)
    for k in range(count, -1, -1):
        replay.seek(time - k * frame)
        app._view(frame, app._pose(frame))
    app.aids.frame(0.0)


def pictures(app, start: float, end: float, rate: float) -> Iterator[np.ndarray]:
    """(height, width, 3) bytes of each picture from `start` to `end` [s], `rate` a second."""
    from firstthrow.scenes.world.snapshot import pixels

    pose_at(app, start)
    count = max(1, round((end - start) * rate) + 1)
    for k in range(count):
        app.rehearsal.seek(min(end, start + k / rate))
        app.now += 1.0 / rate
        app.aids.frame(1.0 / rate)
        app.draw(1.0 / rate)
        yield pixels(app.window)
        app.window.flip()


def soundtrack(app, start: float, end: float) -> np.ndarray:
    """(n,) samples, int16, of what the standing pilot hears from `start` to `end` [s], with the
    spoken words where the window has them."""
    from firstthrow.scenes.words.sound import voice_of

    replay, synth = app.rehearsal, Synth()
    ear, piece = pilot_eye(replay.field.heading), round(HEARD * RATE)
    speaking, words = Speaking(), []
    pieces = []
    for k in range(max(1, math.ceil((end - start) / HEARD))):
        replay.seek(min(end, start + k * HEARD))
        voice = Voice() if replay.over else voice_of(replay.airframe, replay.reading, ear)
        pieces.append(synth.piece(voice, piece))
        said = speaking.due(replay.reading, app.facts)
        if said and app.aids.speaks and not replay.over:
            words.append((k * piece, said))
    return with_words(np.concatenate(pieces), words)


def with_words(samples: np.ndarray, words: list[tuple[int, str]]) -> np.ndarray:
    """(n,) samples, int16, with phrases spoken over them from a sample on each."""
    total = samples.astype(np.int32)
    for start, name in words:
        spoken = phrase(name)[: max(0, len(total) - start)]
        total[start : start + len(spoken)] += spoken
    return np.clip(total, -32767, 32767).astype(np.int16)


def write(
    frames: Iterator[np.ndarray],
    path: Path,
    told: Callable[[int], None],
    sound: np.ndarray | None = None,
) -> int:
    """Writes them to a file of that suffix, whole or not at all; returns how many there were.
    Calls `told` with the number of each; `sound` goes into a film that can have it. Raises
    OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.stem}.part{path.suffix}")
    heard = path.with_name(f".{path.stem}.part.wav")
    kinds = {".png": _write_png, ".mp4": _write_mp4, ".gif": _write_gif}
    try:
        with naming(path):
            if sound is not None and path.suffix.lower() == ".mp4":
                wavfile.write(heard, RATE, sound)
                count = _write_mp4(frames, beside, told, heard)
            else:
                count = kinds[path.suffix.lower()](frames, beside, told)
            os.replace(beside, path)
    finally:
        beside.unlink(missing_ok=True)
        heard.unlink(missing_ok=True)
    return count


def _write_png(frames, path: Path, told) -> int:
    from PIL import Image

    Image.fromarray(next(iter(frames))).save(path)
    told(1)
    return 1


def _write_mp4(frames, path: Path, told, sound: Path | None = None) -> int:
    import imageio.v2 as imageio

    count = 0
    writer = imageio.get_writer(
        path,
        format="FFMPEG",
        fps=RATES[".mp4"],
        codec="libx264",
        quality=7,
        macro_block_size=2,
        pixelformat="yuv420p",
        ffmpeg_log_level="error",
        **({"audio_path": str(sound), "audio_codec": "aac"} if sound is not None else {}),
    )
    try:
        for frame in frames:
            writer.append_data(frame)
            count += 1
            told(count)
    finally:  # left by an error, its own `with` would leave ffmpeg running
        writer.close()
    return count


def _write_gif(frames, path: Path, told) -> int:
    """One palette for the whole film, so that grass and sky do not flicker."""
    from PIL import Image

    shown: list = []
    palette = None
    for frame in frames:
        image = Image.fromarray(frame)
        if palette is None:
            palette = image.quantize(COLOURS)
        shown.append(image.quantize(COLOURS, palette=palette, dither=Image.Dither.NONE))
        told(len(shown))
    shown[0].save(
        path,
        save_all=True,
        append_images=shown[1:],
        duration=round(ms(1.0 / RATES[".gif"])),
        loop=0,
    )
    return len(shown)


def still_time(replay) -> float:
    """The time of a single picture when none is asked for."""
    return max(0.0, replay.start) + STILL * (replay.end - max(0.0, replay.start))
