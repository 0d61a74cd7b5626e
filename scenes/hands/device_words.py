"""What is said of a device and its assignment, in the window and on the command line."""

from __future__ import annotations

from firstthrow.scenes.hands.hands import FUNCTIONS, HAT, Hands

HAT_WAYS = ("up", "right", "down", "left")
MODES = {
    1: ("pitch, yaw", "throttle, roll"),
    2: ("throttle, yaw", "pitch, roll"),
    3: ("pitch, roll", "throttle, yaw"),
    4: ("throttle, roll", "pitch, yaw"),
}  # left stick, right stick: up and down first


def button_words(number: int) -> str:
    if number < HAT:
        return f"button {number}"
    hat, way = divmod(number - HAT, 4)
    return f"hat {hat} {HAT_WAYS[way]}"


def device_buttons(thumbs) -> dict[str, str] | None:
    """Words for the buttons and switches of the device that flies, by action; None when the
    keyboard does. `thumbs` is `person.Thumbs`."""
    if not thumbs.by_gamepad:
        return None
    hands = thumbs.gamepad.hands
    switches = {action: f"switch on axis {s.index}" for action, s in hands.switches.items()}
    return {**{a: button_words(n) for a, n in hands.buttons.items()}, **switches}


def axis_words(hands: Hands, index: int) -> str:
    """What an axis is for: 'roll', 'roll, inverted', 'switch: low rates', ''."""
    for name in FUNCTIONS:
        axis = getattr(hands, name)
        if axis is not None and axis.index == index:
            called = " and ".join(axis.moves).replace("_", " ") if axis.moves else name
            return called + (", inverted" if axis.invert else "")
    for action, switch in hands.switches.items():
        if switch.index == index:
            return f"switch: {action.replace('_', ' ')}"
    return ""


def arming_words(waiting: tuple[str, ...]) -> str:
    """What stands between the person and a running motor."""
    return "armed" if not waiting else "motor not armed: " + ", ".join(waiting)
