"""Which key does what: one table, from which the key handling and the help text both come."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple


class Binding(NamedTuple):
    action: str
    key: str  # pyglet's name of the key
    words: str  # what the help says
    held: bool = False  # acts for as long as it is down


BINDINGS = (
    Binding("pitch_forward", "UP", "stick forward: nose down", True),
    Binding("pitch_back", "DOWN", "stick back: nose up", True),
    Binding("roll_left", "LEFT", "stick left: roll left", True),
    Binding("roll_right", "RIGHT", "stick right: roll right", True),
    Binding("throttle_up", "W", "more throttle", True),
    Binding("throttle_down", "S", "less throttle", True),
    Binding("yaw_left", "A", "nose left", True),
    Binding("yaw_right", "D", "nose right", True),
    Binding("motor_off", "X", "throttle shut at once"),
    Binding("low_rates", "L", "low or high rates"),
    Binding("trim_down", "HOME", "trim nose down"),
    Binding("trim_up", "END", "trim nose up"),
    Binding("trim_left", "DELETE", "trim left"),
    Binding("trim_right", "PAGEDOWN", "trim right"),
    Binding("release", "SPACE", "throw"),
    Binding("countdown", "C", "throw after a count of three"),
    Binding("scatter", "K", "thrower's scatter: every throw differs, or not"),
    Binding("again", "R", "back in the hand, or on its wheels"),
    Binding("look_back", "_1", "after a flight: see it again, slowly, with its forces"),
    Binding("put_right", "_2", "after a flight: the same throw, put right"),
    Binding("to_bench", "_3", "after a flight: what puts it right, to the airframe file"),
    Binding("evening", "_4", "all flights of today on one page"),
    Binding("hand_over", "O", "simulated hands take the sticks, or give them back"),
    Binding("pause", "P", "pause, and go on"),
    Binding("slower", "T", "slow motion: full, half, quarter"),
    Binding("view", "V", "next view: standing, towed, riding, tail"),
    Binding("steady", "J", "horizon held level when riding, or not"),
    Binding("loupe", "H", "loupe on a far airframe shown or hidden"),
    Binding("marks", "I", "rings on the grass and plumb line shown or hidden"),
    Binding("zoom", "Z", "eye that narrows on a far airframe, or not"),
    Binding("streamer", "B", "streamer of the last seconds shown or hidden"),
    Binding("tracing", "G", "tracing of the flight before shown or hidden"),
    Binding("mute", "M", "sound on or off"),
    Binding("speech", "E", "spoken words on or off: height, stall, low pack"),
    Binding("figures", "F", "instruments shown or hidden"),
    Binding("bigger", "EQUAL", "larger text"),
    Binding("smaller", "MINUS", "smaller text"),
    Binding("help", "F1", "this page"),
    Binding("directions", "F2", "direction check: what must move where"),
    Binding("drill", "F3", "direction drill: what is wrong with it?"),
    Binding("faults", "F4", "fault cards"),
    Binding("keys", "F8", "keys and buttons: which does what"),
    Binding("devices", "F5", "gamepad or transmitter: choose, assign"),
    Binding("first_ten", "F6", "launch drill: the first ten seconds, five times"),
    Binding("lessons", "F10", "flying lessons: aims on the field, and marks"),
    Binding("exercises", "F9", "your hands: three exercises that measure them"),
    Binding("bench", "F7", "bench: balance, throws, mix, wind, while it flies"),
    Binding("bench_balance", "Q", "bench: at the balance"),
    Binding("bench_up", "U", "bench: row above"),
    Binding("bench_down", "N", "bench: row below"),
    Binding("bench_less", "COMMA", "bench: less; with Shift five steps"),
    Binding("bench_more", "PERIOD", "bench: more; with Shift five steps"),
    Binding("bench_back", "BACKSPACE", "bench: the row as it was"),
    Binding("other_setup", "TAB", "set-up A or B, also with the bench closed"),
    Binding("copy_setup", "Y", "bench: make the other set-up like this one"),
    Binding("bench_write", "ENTER", "bench: write to the airframe file"),
    Binding("quit", "ESCAPE", "leave"),
)

KEY_WORDS = {
    "UP": "Up arrow",
    "DOWN": "Down arrow",
    "LEFT": "Left arrow",
    "RIGHT": "Right arrow",
    "SPACE": "Space",
    "EQUAL": "=",
    "MINUS": "-",
    "ESCAPE": "Esc",
    "HOME": "Home",
    "END": "End",
    "DELETE": "Delete",
    "PAGEDOWN": "Page Down",
    "BACKSPACE": "Backspace",
    "TAB": "Tab",
    "ENTER": "Enter",
    "COMMA": "Comma",
    "PERIOD": "Full stop",
}

ACTIONS = {binding.key: binding.action for binding in BINDINGS}
HELD = frozenset(binding.action for binding in BINDINGS if binding.held)


class InForce:
    """What holds now of the one keyboard and the one device there are: keys the person has changed,
    letters that the layout prints, buttons of a device that flies."""

    def __init__(self) -> None:
        self.keys = {binding.action: binding.key for binding in BINDINGS}
        self.actions = dict(ACTIONS)
        self.printed: Mapping[str, str] = {}
        self.buttons: Mapping[str, str] | None = None  # action -> words; None: the keyboard flies

    def change(self, changed: Mapping[str, str]) -> None:
        """Other keys for some actions, all others as usual. ValueError where two share one."""
        keys = {**{b.action: b.key for b in BINDINGS}, **changed}
        actions: dict[str, str] = {}
        for action, key in keys.items():
            if key in actions:
                raise ValueError(f"{key} is both {actions[key]} and {action}")
            actions[key] = action
        self.keys, self.actions = keys, actions


NOW = InForce()


def words_of(key: str) -> str:
    """How a key is called in a sentence: by what is printed on it."""
    return NOW.printed.get(key) or KEY_WORDS.get(key, key.removeprefix("_"))


def key_words(action: str) -> str:
    """How the button or the key of an action is called in a sentence, of the device in use. Raises
    KeyError for an unknown action."""
    if NOW.buttons is not None and action in NOW.buttons:
        return NOW.buttons[action]
    return words_of(NOW.keys[action])


def help_lines() -> list[tuple[str, str]]:
    """(key, what it does) for every binding, in the table's order."""
    return [(words_of(NOW.keys[b.action]), b.words) for b in BINDINGS]
