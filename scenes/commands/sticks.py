"""`firstthrow sticks`: gamepads and transmitters with live bars, and their guided assignment."""

from __future__ import annotations

import argparse
import json
import queue
import sys
import threading
import time

from firstthrow.scenes.commands.shared import DONE, FAILED, WRONG_INPUT, say
from firstthrow.scenes.commands.view_options import lasting

PACE = 1.0 / 30.0  # [s] between two readings
SETTLE = 0.3  # [s] in which devices announce themselves
WIDE = 31  # characters of a bar


def add(commands) -> None:
    """Adds the command's words to the command line."""
    sticks = commands.add_parser(
        "sticks",
        help="see and assign a gamepad or transmitter",
        description="Live bars of a gamepad or transmitter until Ctrl-C; --assign leads through "
        "its assignment and keeps it for this device.",
    )
    sticks.set_defaults(command=run)
    add = sticks.add_argument
    add("--device", metavar="N", type=_number, default=1, help="which of several, from 1 (1)")
    add("--assign", action="store_true", help="guided assignment, step by step")
    add(
        "--channels",
        metavar="AIRFRAME",
        help="with --assign: it sends mixed channels, for this airframe's servos",
    )
    add("--mode", type=int, choices=(1, 2, 3, 4), help="which stick carries what, as it is drawn")
    add("--seconds", metavar="S", type=lasting, help="end by itself after S seconds")
    add("--json", action="store_true", help="print what is plugged in once, as JSON")


def _number(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or int(text) < 1:
        raise argparse.ArgumentTypeError(f"'{text}': wanted a whole number from 1")
    return int(text)


def run(chosen: argparse.Namespace) -> int:
    """Lists, shows or assigns; 1 without a device."""
    from firstthrow.scenes.hands.gamepad import Gamepad
    from firstthrow.scenes.hands.hands import load_hands
    from firstthrow.scenes.hands.profiles import load_profile

    servos = _servos(chosen)
    pad = Gamepad(load_hands("gamepad-mode-2"), load_profile)
    try:
        _settle(pad)
        if not chosen.json and not pad.devices:
            say("No gamepad or transmitter is plugged in.")
            return FAILED
        if pad.devices and not 1 <= chosen.device <= len(pad.devices):
            say(f"--device {chosen.device}: wanted 1 to {len(pad.devices)}")
            return WRONG_INPUT
        if pad.devices:
            pad.choose(pad.devices[chosen.device - 1].number)
        if pad.trouble:
            say(pad.trouble)
        if chosen.json:
            print(json.dumps(_facts(pad), indent=1))
            return DONE
        return _assign(pad, chosen, servos) if chosen.assign else _watch(pad, chosen)
    finally:
        pad.close()


def _servos(chosen) -> tuple:
    """Servos of the airframe for mixed channels, none for raw sticks. Raises ConfigError."""
    if not chosen.channels:
        return ()
    from firstthrow.sim.build.straight import CHANNELS, servos
    from firstthrow.sim.describe.config import ConfigError, find, load_airframe

    if not chosen.assign:
        raise ConfigError(["--channels: goes with --assign"])
    found = servos(load_airframe(find("airframes", chosen.channels)))
    if not 0 < len(found) <= len(CHANNELS):
        raise ConfigError([f"--channels {chosen.channels}: has {len(found)} servos; wanted 1 to 3"])
    return found


def _settle(pad) -> None:
    end = time.monotonic() + SETTLE
    while time.monotonic() < end:
        pad.poll()
        time.sleep(0.01)


def _facts(pad) -> dict:
    """What `--json` prints: every device, and of the one in use what it reads and is for."""
    from firstthrow.scenes.hands.profiles import path_of

    devices = [
        {
            "name": d.name,
            "guid": d.guid,
            "axes": d.axes,
            "buttons": d.buttons,
            "profile": str(path) if (path := path_of(d.name, d.guid)).exists() else None,
            "in_use": pad.connected and d.number == pad.device.get_instance_id(),
        }
        for d in pad.devices
    ]
    if not pad.connected:
        return {"devices": devices}
    hands = pad.hands
    return {
        "devices": devices,
        "raw": pad.raw(),
        "mode": hands.mode,
        "sends": hands.sends,
        "axes": {
            name: {"index": axis.index, "invert": axis.invert, "dead_zone": axis.dead_zone}
            for name in ("roll", "pitch", "yaw", "throttle")
            if (axis := getattr(hands, name)) is not None
        },
        "buttons": hands.buttons,
        "armed": pad.armed,
    }


def _lines(pad) -> list[str]:
    from firstthrow.scenes.hands.device_words import arming_words, axis_words

    lines = [f"{pad.name}   mode {pad.hands.mode}   {arming_words(pad.waiting())}"]
    for k, value in enumerate(pad.raw()):
        told = axis_words(pad.hands, k) or ("" if k in pad.alive else "not moved yet")
        lines.append(f"  axis {k:<3}{bar(value)} {value:+.2f}  {told}")
    return lines


def bar(value: float) -> str:
    """`[      |####    ]` for -1..1, from the middle."""
    half = WIDE // 2
    at = round(half * max(-1.0, min(1.0, value)))
    low, high = sorted((half, half + at))
    cells = ["#" if low <= k <= high and at else " " for k in range(WIDE)]
    cells[half] = "|"
    return f"[{''.join(cells)}]"


class _Screen:
    """Lines that are drawn over each other on a terminal, and once at the end elsewhere."""

    def __init__(self) -> None:
        self.live = sys.stdout.isatty()
        self.count = 0
        self.last: list[str] = []

    def show(self, lines: list[str]) -> None:
        self.last = lines
        if self.live:
            up = f"\x1b[{self.count}A" if self.count else ""
            print(up + "".join(f"\x1b[2K{line}\n" for line in lines), end="", flush=True)
            self.count = len(lines)

    def end(self) -> None:
        if not self.live and self.last:
            print("\n".join(self.last))


def _watch(pad, chosen) -> int:
    screen, end = _Screen(), time.monotonic() + (chosen.seconds or float("inf"))
    try:
        while time.monotonic() < end:
            for happened in pad.poll():
                if happened == "unplugged":
                    say("It was unplugged.")
            if not pad.connected:
                return FAILED
            screen.show(_lines(pad))
            time.sleep(PACE)
    except KeyboardInterrupt:
        return DONE
    finally:
        screen.end()
    return DONE


def _typed() -> queue.Queue:
    """Lines typed by the person, read beside the bars on any system."""
    lines: queue.Queue = queue.Queue()

    def read() -> None:
        for line in sys.stdin:
            lines.put(line.strip().lower())

    threading.Thread(target=read, daemon=True).start()
    return lines


def _assign(pad, chosen, servos) -> int:
    from firstthrow.scenes.hands.assignment import Guide

    guide, lines, shown = Guide(servos, chosen.mode or pad.hands.mode), _typed(), -1
    say("Enter goes on; s leaves one out; f ends with the buttons found so far. Ctrl-C stops.")
    before, end = time.monotonic(), time.monotonic() + (chosen.seconds or float("inf"))
    while time.monotonic() < end:
        pad.poll()
        if not pad.connected:
            say("It was unplugged: nothing is changed.")
            return FAILED
        now = time.monotonic()
        guide.see(now - before, pad.raw(), pad.pressed)
        before = now
        if guide.at != shown:
            shown = guide.at
            say(f"{guide.at + 1}/{len(guide.steps)}  {guide.step.prompt}")
        while not lines.empty():
            if _answer(guide, lines.get()):
                return _keep(pad, guide)
        time.sleep(PACE)
    say("Not finished in time: nothing is changed.")
    return FAILED


def _answer(guide, typed: str) -> bool:
    """Does what was typed; whether the guide is through."""
    if guide.done:
        return True
    if typed == "f":
        guide.finish()
    elif typed == "s" or guide.step.kind == "button":
        guide.skip()
    else:
        guide.go()
    if guide.complaint:
        say(f"   {guide.complaint}")
    return False


def _keep(pad, guide) -> int:
    from firstthrow.scenes.hands.profiles import save_profile

    path = save_profile(guide.hands(pad.name), pad.name, pad.guid)
    print(f"Kept: {path}")
    return DONE
