"""The program's window in this process, with the person's side of it: keys, eyes, patience."""

from __future__ import annotations

import contextlib
import importlib
import math
import os
import shutil
import subprocess
import time
from collections.abc import Iterator

import numpy as np
import pytest

from firstthrow.scenes.world.camera import on_screen, rotation

FRAME = 1.0 / 60.0
PATIENCE = 10.0  # of frames that a state is waited for [s]


@contextlib.contextmanager
def screen() -> Iterator[tuple[subprocess.Popen, str]]:
    """An Xvfb and the name of its display; fails where there is none to be had."""
    program = shutil.which("Xvfb")
    if program is None:
        pytest.fail("no DISPLAY and no Xvfb: install xvfb, the window tests need a display")
    reads, writes = os.pipe()
    server = subprocess.Popen(
        [
            program,
            "-displayfd",
            str(writes),
            "-screen",
            "0",
            "1280x720x24",
            "-nolisten",
            "tcp",
            "-noreset",
        ],
        pass_fds=(writes,),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(writes)
    with os.fdopen(reads) as pipe:
        number = pipe.readline().strip()
    if not number:
        pytest.fail(f"Xvfb gave no display; it ended with {server.wait()}")
    try:
        yield server, f":{number}"
    finally:
        server.terminate()
        server.wait(timeout=10)


def never_turned(monkeypatch) -> None:
    """Pictures are copied as by a driver that gave the window samples of its own: as they lie."""
    gl = importlib.import_module("pyglet.gl")  # and not what pyglet has in its place at first
    blit = gl.glBlitFramebuffer

    def upright(x0, y0, x1, y1, left, low, right, high, *kind):
        assert (x1 - x0, y1 - y0) == (right - left, high - low)
        blit(x0, y0, x1, y1, left, low, right, high, *kind)

    monkeypatch.setattr(gl, "glBlitFramebuffer", upright)


class Driven:
    """Real key events to the window named `name`; frames of a stated length; pixels back."""

    def __init__(self, app, name: str):
        self.app, self.name = app, name
        self.focus()

    def focus(self) -> None:
        found = self.until(lambda: self._search(), "the window is on the display")
        self._xdotool("windowfocus", found)

    def _search(self) -> str:
        asked = subprocess.run(
            ["xdotool", "search", "--name", f"^{self.name}$"],
            capture_output=True,
            text=True,
            check=False,
        )
        return asked.stdout.split()[0] if asked.stdout.split() else ""

    def _xdotool(self, *words: str) -> None:
        subprocess.run(["xdotool", *words], check=True, capture_output=True)

    def key(self, name: str) -> None:
        self._xdotool("key", name)

    def key_down(self, name: str) -> None:
        self._xdotool("keydown", name)

    def key_up(self, name: str) -> None:
        self._xdotool("keyup", name)

    def frames(self, count: int) -> None:
        for _ in range(count):
            self.app.frame(FRAME)

    def until(self, met, what: str, frame: float = FRAME, most: float = 30.0):
        """Frames until the condition holds; fails with `what` after `most` seconds of waiting, in
        which a machine busy with other things may have drawn few frames: not before so many."""
        end, drawn = time.monotonic() + most, 0
        while True:
            answer = met()
            if answer:
                return answer
            if time.monotonic() > end and drawn * FRAME > PATIENCE:
                raise AssertionError(f"never: {what}")
            self.app.frame(frame)
            drawn += 1

    def picture(self) -> np.ndarray:
        """(height, width, 3) what the window shows now, first row at the top."""
        import pyglet

        self.app.window.switch_to()
        self.app.draw(0.0)
        image = pyglet.image.get_buffer_manager().get_color_buffer().get_image_data()
        rows = np.frombuffer(image.get_data("RGBA", image.width * 4), dtype=np.uint8)
        picture = rows.reshape(image.height, image.width, 4)[::-1, :, :3].astype(int)
        self.app.window.flip()
        return picture

    def pixel(self, point: np.ndarray) -> tuple[float, float]:
        """Column and row of a point given in body axes, in the present view."""
        pose = self.app._pose(0.0)
        place = pose.place + rotation(tuple(pose.attitude)) @ point
        wide, tall = self.app.canvas.width, self.app.canvas.height
        right, up = on_screen(self.app._view(0.0, pose), wide / tall, place)
        return 0.5 * wide * (1.0 + right), 0.5 * tall * (1.0 - up)

    def mouse(self, *words: str) -> None:
        """Mouse actions of xdotool, such as mousemove, mousedown, mouseup, each on its own."""
        self._xdotool(*words)
        time.sleep(0.1)
        self.frames(1)

    def point(self, x: int, y: int) -> None:
        """The mouse to a pixel of the window, counted from its upper left corner."""
        self.mouse("mousemove", "--window", self._search(), str(x), str(y))

    def drag(self, start: tuple[int, int], end: tuple[int, int]) -> None:
        """With the left button, by way of the middle."""
        self.point(*start)
        self.mouse("mousedown", "1")
        self.point((start[0] + end[0]) // 2, (start[1] + end[1]) // 2)
        self.point(*end)
        self.mouse("mouseup", "1")


def throw(window: Driven, throttle: float = 0.4) -> None:
    """By the keys: throttle up, then thrown."""
    app = window.app
    window.key_down("w")
    window.until(lambda: app.rehearsal.reading.throttle > throttle, "throttle comes up")
    window.key_up("w")
    window.key("space")
    window.until(lambda: app.rehearsal.flown, "Space throws")


def changed(first: np.ndarray, second: np.ndarray, least: int = 24) -> np.ndarray:
    """(rows, columns) of pixels that differ clearly."""
    return np.argwhere(np.abs(first - second).max(axis=2) > least)


def horizon_tilt(picture: np.ndarray) -> float:
    """Tilt of the upper edge of the green [deg], positive when the right side is higher; sky and
    clouds are at least as blue as they are green."""
    tall, wide, _ = picture.shape
    green = picture[..., 1] > picture[..., 2] + 8
    columns = np.arange(wide // 4, 3 * wide // 4, 16)
    edge = np.array(
        [np.nan if green[0, c] else np.argmax(green[:, c]) for c in columns], dtype=float
    )
    good = np.isfinite(edge) & (edge > 5) & (edge < tall - 5)
    assert good.sum() > 8, "no horizon to be seen"
    slope = np.polyfit(columns[good], -edge[good], 1)[0]
    return math.degrees(math.atan(slope))
