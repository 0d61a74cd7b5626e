"""A joystick without hardware: SDL's own virtual device, in the SDL that pygame has loaded."""

from __future__ import annotations

import ctypes
from pathlib import Path

import pygame

BARE_STICK = 0  # SDL's type for a device that is no gamepad, such as a transmitter
FULL = 32767


def _sdl() -> ctypes.CDLL:
    folder = Path(pygame.__file__).parent
    beside = (folder.parent / name for name in ("pygame.libs", "pygame_ce.libs"))
    places = (*beside, folder / ".dylibs", folder)
    for place in places:
        for found in sorted([*place.glob("*SDL2-2*"), *place.glob("SDL2.dll")]):
            return ctypes.CDLL(str(found))
    return ctypes.CDLL("libSDL2-2.0.so.0")


class VirtualStick:
    """Plugged in on construction; axes and buttons move as if by hand; `unplug` removes it."""

    def __init__(self, axes: int = 6, buttons: int = 12, hats: int = 0):
        self.sdl = _sdl()
        self.sdl.SDL_JoystickOpen.restype = ctypes.c_void_p
        index = self.sdl.SDL_JoystickAttachVirtual(BARE_STICK, axes, buttons, hats)
        if index < 0:
            self.sdl.SDL_GetError.restype = ctypes.c_char_p
            raise OSError(self.sdl.SDL_GetError().decode())
        self.handle = ctypes.c_void_p(self.sdl.SDL_JoystickOpen(index))

    def axis(self, number: int, place: float) -> None:
        """`place` -1..1."""
        value = ctypes.c_int16(round(FULL * place))
        assert self.sdl.SDL_JoystickSetVirtualAxis(self.handle, number, value) == 0

    def button(self, number: int, down: bool) -> None:
        value = ctypes.c_uint8(down)
        assert self.sdl.SDL_JoystickSetVirtualButton(self.handle, number, value) == 0

    def hat(self, number: int, ways: int) -> None:
        """`ways` 1 up, 2 right, 4 down, 8 left, 0 let go."""
        value = ctypes.c_uint8(ways)
        assert self.sdl.SDL_JoystickSetVirtualHat(self.handle, number, value) == 0

    def unplug(self) -> None:
        """By its own number, as the place in SDL's list changes when another goes."""
        own = self.sdl.SDL_JoystickInstanceID(self.handle)
        for index in range(self.sdl.SDL_NumJoysticks()):
            if self.sdl.SDL_JoystickGetDeviceInstanceID(index) == own:
                self.sdl.SDL_JoystickDetachVirtual(index)
                break
        self.sdl.SDL_JoystickClose(self.handle)
