"""Keys by their place on the keyboard, whatever letters the person's layout prints on them.

A place is called by what a United States keyboard has there, as pyglet names it. X11 and Windows
tell what their layout puts on a scan code; on macOS pyglet names keys by place already.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping
from typing import NamedTuple

# Scan codes of the main block. Source: Linux `input-event-codes.h`, which has here the numbers of
# the PC's scan code set 1; X11's key codes are 8 more.
CODES = {
    **{f"_{(k + 1) % 10}": 2 + k for k in range(10)},
    "MINUS": 12,
    "EQUAL": 13,
    **{letter: 16 + k for k, letter in enumerate("QWERTYUIOP")},
    "BRACKETLEFT": 26,
    "BRACKETRIGHT": 27,
    **{letter: 30 + k for k, letter in enumerate("ASDFGHJKL")},
    "SEMICOLON": 39,
    "APOSTROPHE": 40,
    **{letter: 44 + k for k, letter in enumerate("ZXCVBNM")},
    "COMMA": 51,
    "PERIOD": 52,
    "SLASH": 53,
}
MARKS = {
    "MINUS": "-",
    "EQUAL": "=",
    "BRACKETLEFT": "[",
    "BRACKETRIGHT": "]",
    "SEMICOLON": ";",
    "APOSTROPHE": "'",
    "COMMA": ",",
    "PERIOD": ".",
    "SLASH": "/",
}
X11_BASE = 8
DEAD = {0xFE50: "`", 0xFE51: "´", 0xFE52: "^", 0xFE53: "~", 0xFE57: "¨", 0xFE5B: "¸"}


class Places(NamedTuple):
    """`names`: pyglet's symbol -> place; `printed`: place -> what is printed there, where that
    is another thing."""

    names: Mapping[int, str] = {}
    printed: Mapping[str, str] = {}

    def name(self, symbol: int, usual: str) -> str:
        """The place of a symbol; `usual` for one that is the same on all keyboards."""
        return self.names.get(symbol, usual)


def places_of(found: Iterable[tuple[str, tuple[int, ...], int]]) -> Places:
    """From (place, keysyms plain and shifted, the symbol of a key with no name) of a layout."""
    table = list(found)
    names: dict[int, str] = {}
    for place, _, nameless in table:
        names[nameless] = place
    for level in (0, 1):
        for place, symbols, _ in table:
            if level < len(symbols) and symbols[level]:
                names.setdefault(symbols[level], place)
    printed = {place: _printed(symbols[0]) for place, symbols, _ in table if symbols}
    own = {place: letter for place, letter in printed.items() if letter and letter != _usual(place)}
    return Places(names, own)


def _printed(symbol: int) -> str:
    """Of a keysym that is a Latin-1 letter or a dead accent; empty for others."""
    if symbol in DEAD:
        return DEAD[symbol]
    return chr(symbol).upper() if 0x20 < symbol <= 0xFF else ""


def _usual(place: str) -> str:
    return MARKS.get(place, place.removeprefix("_"))


def places(window) -> Places:
    """Of the keyboard in use; empty where the system's own names go by place."""
    if sys.platform.startswith("linux"):
        return _of_x11(window)
    return _of_windows() if sys.platform == "win32" else Places()


def _of_x11(window) -> Places:
    display = getattr(window, "_x_display", None)
    if not display:  # drawn without a display
        return Places()
    from pyglet.libs.x11 import xlib
    from pyglet.window import key

    return places_of(
        (
            place,
            tuple(int(xlib.XKeycodeToKeysym(display, code + X11_BASE, level)) for level in (0, 1)),
            key.user_key(code + X11_BASE),
        )
        for place, code in CODES.items()
    )


def _of_windows() -> Places:
    import ctypes

    from pyglet.window import key

    user = ctypes.windll.user32  # type: ignore[attr-defined]  # there on Windows only
    by_code, to_letter = 1, 2  # MAPVK_VSC_TO_VK, MAPVK_VK_TO_CHAR

    def found():
        for place, code in CODES.items():
            virtual = user.MapVirtualKeyW(code, by_code)
            letter = user.MapVirtualKeyW(virtual, to_letter) & 0xFFFF
            plain = ord(chr(letter).lower()) if letter else 0
            yield place, (plain,), key.user_key(virtual)

    return places_of(found())
