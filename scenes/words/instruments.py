"""What the instruments say and where they stand, as plain data; `panels` draws it.

The look is a builder's: paper tags with dark ink, one subject a tag. Never colour alone: an
alarm also changes the words and gives the tag a thick edge.
"""

from __future__ import annotations

import math
import re
from typing import NamedTuple

from firstthrow.scenes.flight.facts import Facts, surface_angles
from firstthrow.scenes.hands.bindings import BINDINGS, NOW, help_lines, key_words
from firstthrow.scenes.words.controllers import controller_words
from firstthrow.sim.build.controller import Burden
from firstthrow.sim.build.shape import SurfaceSpan, spoken
from firstthrow.sim.describe.builder_units import METRIC, Units
from firstthrow.sim.flight.outcome import Outcome
from firstthrow.sim.flight.speeds import SLOW, STALLED
from firstthrow.sim.learn.debrief import BENDING, LOW_SUPPLY
from firstthrow.sim.study.faults import FAULTS

Colour = tuple[int, int, int]

PAPER: Colour = (245, 240, 226)
INK: Colour = (28, 34, 40)
QUIET: Colour = (84, 84, 78)  # second-rank words
MARK: Colour = (178, 62, 14)  # alarms, on paper
BLUE: Colour = (24, 82, 128)  # bars
TRAY: Colour = (214, 205, 182)  # the groove a bar moves in

# (ink, ground) of every text that is ever drawn
TEXT_PAIRS = ((INK, PAPER), (QUIET, PAPER), (MARK, PAPER), (PAPER, INK), (PAPER, MARK))

TAG_WIDTH, TAG_HEIGHT, GAP = 212.0, 96.0, 10.0  # pixels at scale 1
CORNER_HEIGHT = 24.0  # of the line in the top corner
HELD_FAST = 0.9  # share of the stall torque from which a servo is about to give way
LEAST_ASKED = 3.0  # [deg] below which a share of the angle asked says nothing
BLOWN = 0.9  # share of the angle asked below which a surface is blown back
DEVICE = re.compile(r"(^|[.?!] +)([bhs])(?=utton \d|at \d|witch on )")
SCALES = (0.8, 1.0, 1.25, 1.5, 2.0)
SUITS = 700.0  # pixels of the window's height for which text of scale 1 is made
TAGS = ("air", "height", "power", "surfaces", "sticks")

CAUTION = (
    "Rehearsal only. At the field: people behind you, propeller clear of everyone, "
    "local rules followed, an experienced club instructor at your side.",
)


class Tag(NamedTuple):
    title: str
    big: str
    small: tuple[str, ...]
    alarm: bool = False


class Rect(NamedTuple):
    x: float
    y: float
    width: float
    height: float

    def overlaps(self, other: Rect) -> bool:
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )


class Card(NamedTuple):
    """A larger notice: start, pause, outcome, help."""

    title: str
    lines: tuple[str, ...]
    small: tuple[str, ...] = ()
    alarm: bool = False
    table: bool = False  # lines of a table, which may fill the window
    share: float | None = None  # of a work that is done: a bar at the foot


def contrast(first: Colour, second: Colour) -> float:
    """Contrast ratio 1..21 of two sRGB colours. Source: W3C, WCAG 2.1, relative luminance."""

    def luminance(colour: Colour) -> float:
        parts = [c / 255.0 for c in colour]
        r, g, b = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    high, low = sorted((luminance(first), luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def fitted(width: float, height: float, scale: float) -> float:
    """The scale asked for, or the largest at which the tags fit a window so small."""
    across = width / (2.0 * TAG_WIDTH + 3.0 * GAP)
    upward = height / (3.0 * TAG_HEIGHT + 5.0 * GAP + CORNER_HEIGHT)
    return min(scale, across, upward)


def in_one_row(width: float, scale: float) -> bool:
    return len(TAGS) * (TAG_WIDTH + GAP) * scale + GAP * scale <= width


def layout(width: float, scale: float) -> dict[str, Rect]:
    """Place of each tag: in a row along the bottom, or, where that is too wide, in two columns
    at the sides, which leave the middle to the airframe; on whole pixels. `scale` as `fitted` gives
    it."""
    wide, tall, gap = (float(int(scale * size)) for size in (TAG_WIDTH, TAG_HEIGHT, GAP))
    if in_one_row(width, scale):
        left = float(int(0.5 * (width - len(TAGS) * wide - (len(TAGS) - 1) * gap)))
        return {n: Rect(left + k * (wide + gap), gap, wide, tall) for k, n in enumerate(TAGS)}
    places = {}
    for names, left in ((TAGS[:3], gap), (TAGS[3:], width - gap - wide)):
        for k, name in enumerate(reversed(names)):
            places[name] = Rect(left, gap + k * (tall + gap), wide, tall)
    return places


def suited(height: float) -> float:
    """The text size that suits a window of a height, to start with."""
    return max((s for s in SCALES if s * SUITS <= height), default=SCALES[0])


def next_scale(scale: float, way: int) -> float:
    """The next larger (+1) or smaller (-1) of `SCALES`, stopping at the ends."""
    near = min(range(len(SCALES)), key=lambda k: abs(SCALES[k] - scale))
    return SCALES[max(0, min(len(SCALES) - 1, near + way))]


def stall_margin(reading) -> float:
    """Airspeed over the stall speed [m/s]."""
    return reading.airspeed_m_s - reading.stall_speed_m_s


def over_stall(reading) -> float:
    """Airspeed in stall speeds."""
    return reading.airspeed_m_s / max(reading.stall_speed_m_s, 0.1)


def is_stalled(reading) -> bool:
    return reading.separated_fraction > STALLED


def air_tag(reading, flying: bool, u: Units = METRIC) -> Tag:
    big, attack = u.speed(reading.airspeed_m_s), f"angle of attack {round(reading.alpha_deg)}°"
    if not flying:
        return Tag("Airspeed", big, (f"stalls at {u.speed(reading.stall_speed_m_s)}",))
    margin = stall_margin(reading)
    if is_stalled(reading):
        return Tag("Airspeed: stalled", big, ("nose down, let it fly", attack), True)
    if margin < 0.0:
        return Tag(
            "Airspeed: too slow", big, (f"{u.bare_speed(-margin)} below its stall", attack), True
        )
    return Tag("Airspeed", big, (f"{u.bare_speed(margin)} above its stall", attack))


def height_tag(reading, u: Units = METRIC) -> Tag:
    away = math.hypot(reading.north_m, reading.east_m)
    climb = reading.climb_m_s
    if abs(climb) < 0.15:
        words = "level"
    else:
        words = f"{'climbs' if climb > 0 else 'sinks'} {u.speed(abs(climb))}"
    big = u.distance(max(0.0, reading.height_m))
    return Tag("Height", big, (words, f"{u.distance(away)} from launch"))


def power_tag(reading, facts: Facts) -> Tag:
    low = reading.pack_V < facts.cutoff_V
    state = f"{reading.pack_V:.1f} V   {reading.pack_A:.0f} A"
    used = f"used {reading.pack_used_mAh:.0f} of {facts.capacity_mAh:.0f} mAh"
    title = "Throttle: pack is low" if low else "Throttle"
    return Tag(title, f"{100.0 * reading.throttle:.0f} %", (state, used), low)


def surface_words(surface: SurfaceSpan, degrees: float) -> str:
    """'left elevon 6° up' for a trailing edge that is up (a negative angle)."""
    if abs(degrees) < 0.5:
        return f"{spoken(surface.name)} 0°"
    ways = ("left", "right") if surface.upright else ("down", "up")
    return f"{spoken(surface.name)} {abs(degrees):.0f}° {ways[0] if degrees > 0 else ways[1]}"


def surfaces_tag(reading, facts: Facts) -> Tag:
    words = tuple(
        surface_words(surface, angle)
        for surface, angle in zip(facts.surfaces, surface_angles(reading, facts), strict=True)
    )
    held = max((abs(load) for load in servo_loads(reading, facts)), default=0.0)
    title = f"Surfaces   servo load {100.0 * held:.0f} %"
    return Tag(title, "", words, held > HELD_FAST)


def servo_loads(reading, facts: Facts) -> tuple[float, ...]:
    """Share of the stall torque of each servo, signed, in slot order."""
    return tuple(getattr(reading, f"servo_{surface.name}_load") for surface in facts.surfaces)


def sticks_tag(reading, source: str, trims: tuple[float, float] = (0.0, 0.0)) -> Tag:
    rates = "low rates" if reading.low_rates else "high rates"
    trimmed = trim_words(*trims)
    return Tag(f"Sticks: {source}", "", (f"{rates}, {trimmed}" if trimmed else rates,))


def trim_words(roll: float, pitch: float) -> str:
    """'trim 4% up 2% left' of full stick; empty with none."""
    found = [
        f"{abs(100.0 * value):.0f}% {more if value > 0.0 else less}"
        for value, more, less in ((pitch, "up", "down"), (roll, "right", "left"))
        if abs(value) > 0.004
    ]
    return "trim " + " ".join(found) if found else ""


def wind_words(speed: float, u: Units = METRIC) -> str:
    return u.speed(speed) if speed >= 0.05 else "calm"


def stick_squares(mode: int, roll, pitch, yaw, throttle) -> tuple[tuple, tuple]:
    """Where the knobs of the left and right stick stand, -1..1 right and away from the pilot.

    Pulling back brings the knob nearer, so pitch is turned round. Modes as transmitters have
    them: in 2 and 4 throttle is left, in 1 and 3 right; in 1 and 2 roll is right, in 3 and 4 left.
    """
    power, nose = 2.0 * throttle - 1.0, -pitch
    return {
        1: ((yaw, nose), (roll, power)),
        2: ((yaw, power), (roll, nose)),
        3: ((roll, nose), (yaw, power)),
        4: ((roll, power), (yaw, nose)),
    }[mode]


def tags(
    reading, facts: Facts, flying: bool, source: str, trims: tuple[float, float] = (0.0, 0.0)
) -> dict[str, Tag]:
    """What every tag says for a reading, in the order of `TAGS`; `trims` roll and pitch."""
    return {
        "air": air_tag(reading, flying, facts.units),
        "height": height_tag(reading, facts.units),
        "power": power_tag(reading, facts),
        "surfaces": surfaces_tag(reading, facts),
        "sticks": sticks_tag(reading, source, trims),
    }


def warnings(
    reading,
    facts: Facts,
    flying: bool,
    asleep: bool = False,
    burdens: tuple[Burden, ...] = (),
) -> tuple[str, ...]:
    """Short sentences for what needs the pilot now, the most urgent first; `asleep` while the
    receiver restarts."""
    found = []
    if asleep:
        found.append("RECEIVER RESTARTING: nothing answers the sticks")
    found += controller_words(burdens)
    if flying and is_stalled(reading):
        found.append("STALLED: stick forward")
    elif flying and 1.0 <= over_stall(reading) < SLOW:
        found.append("slow: close to the stall")
    if reading.bending_fraction > BENDING:
        found.append(f"bending: {100 * reading.bending_fraction:.0f} % of the slab's strength")
    for surface in facts.surfaces:
        found += blown_words(reading, surface.name)
    if reading.pack_V < facts.cutoff_V:
        found.append("pack is low: land")
    if facts.supply_V and not asleep and reading.supply_V < LOW_SUPPLY * facts.supply_V:
        found.append(f"servo supply sags to {reading.supply_V:.1f} V")
    return tuple(found)


def blown_words(reading, name: str) -> list[str]:
    """'left elevon blown back to 60 %' of the angle asked; 'servo held by the air' while it still
    gets there. Empty for a servo that holds."""
    if abs(getattr(reading, f"servo_{name}_load")) <= HELD_FAST:
        return []
    called = spoken(name)
    asked = getattr(reading, f"surface_{name}_asked_deg")
    share = getattr(reading, f"surface_{name}_deg") / asked if abs(asked) > LEAST_ASKED else 1.0
    if share < BLOWN:
        return [f"{called} blown back to {100.0 * max(0.0, share):.0f} %"]
    return [f"{called}: servo held by the air"]


def throttle_words() -> str:
    """How the device in use gives throttle."""
    if NOW.buttons is not None:
        return "Throttle stick up"
    return f"Hold {key_words('throttle_up')} for throttle"


def start_card(
    facts: Facts,
    scripted: bool,
    fault: str = "",
    warned: tuple[str, ...] = (),
    judged: tuple[str, ...] = (),
) -> Card:
    """Shown in the hand, or on the ground before the first throttle; `judged`: the verdict of the
    pre-flight on the airframe without any fault, and how to throw it."""
    wrong = (f"Fault card, {fault}: {FAULTS[fault].line}.",) if fault else ()
    if scripted:
        lines = ("A scripted pilot flies. Watch.", *wrong)
        return Card(f"{facts.name}, about to go", lines, CAUTION, bool(fault))
    wrong = (*wrong, *warned)
    throw, share = key_words("release"), f"{100 * facts.launch_throttle:.0f} %"
    if facts.kind == "ground":
        lines = (f"{throttle_words()} ({share} is planned): it rolls as it pulls.",)
        title = f"{facts.name}, on the ground"
    else:
        lines = (f"{throttle_words()} ({share} is planned).", f"{throw} throws.")
        title = f"{facts.name}, in the hand"
    steer = "Arrow keys: nose and roll." if NOW.buttons is None else "Sticks: nose and roll."
    keys = f"{steer}   {key_words('help')}: all keys."
    return Card(title, (*wrong, *judged, *lines, keys), CAUTION, bool(wrong))


def preparing_card(facts: Facts, what: str, share: float) -> Card:
    """Shown while the physics is compiled: what of it, and how far that is."""
    where = "on the ground" if facts.kind == "ground" else "in the hand"
    lines = (
        f"Preparing the physics for this machine, once: {what}.",
        "It can be flown when that is done.",
        f"Mouse, wheel, arrow keys: look round.   {key_words('help')}: all keys.",
    )
    return Card(f"{facts.name}, {where}", lines, CAUTION, share=share)


def outcome_card(outcome: Outcome, flight_time: float, top: float, kind="hand", u=METRIC) -> Card:
    """What happened, and how to go again."""
    again = key_words("again")
    since, back = "in the air", "back in the hand"
    if kind == "ground":
        since, back = "from the first throttle", "back on its wheels"
    figures = f"{flight_time:.1f} s {since}, highest {u.distance(top)}."
    title = outcome.word.plain.capitalize()
    lines = (outcome.text, figures, f"{again}: {back}.")
    return Card(title, lines, (), outcome.word.broken)


def leave_card() -> Card:
    quit_ = key_words("quit")
    return Card("Leave?", (f"{quit_} leaves. Any other key stays.",))


def pause_card(why: str) -> Card:
    words = (why,) if why else ()
    look = "Mouse, wheel, arrow keys: look round."
    return Card("Paused", (*words, f"{key_words('pause')} goes on. {look}"))


def help_card() -> Card:
    buttons = NOW.buttons
    if buttons is None:
        lines = tuple(f"{key:<13}{words}" for key, words in help_lines())
    else:
        lines = tuple(
            f"{key:<13}{buttons.get(binding.action, 'stick' if binding.held else '-'):<18}{words}"
            for (key, words), binding in zip(help_lines(), BINDINGS, strict=True)
        )
    return Card("Keys", lines, (f"{key_words('help')} closes this page.",), table=True)


def state_line(view: str, rate: float, zooms: bool, fault: str = "") -> str:
    """View, time and fault card, for the top corner."""
    parts = [f"{view} view"]
    if view == "standing" and not zooms:
        parts.append("no zoom")
    if rate != 1.0:
        parts.append(f"time x {rate:g}")
    if fault:
        parts.append(f"fault card: {fault}")
    return "   ".join(parts)


def begun(text: str) -> str:
    """Sentences that begin with the name of a button, which is written small elsewhere."""
    return DEVICE.sub(lambda found: found[1] + found[2].upper(), text)


def wrapped(text: str, width: int) -> tuple[str, ...]:
    """Text broken at spaces into lines of at most `width` characters where words allow it."""
    lines, line = [], ""
    for word in text.split():
        if line and len(line) + 1 + len(word) > width:
            lines.append(line)
            line = word
        else:
            line = f"{line} {word}".strip()
    return (*lines, line) if line else tuple(lines)
