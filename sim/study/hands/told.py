"""Measured hands in words, held against the three invented skills."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from math import degrees, log10
from textwrap import wrap
from typing import NamedTuple

from firstthrow.sim.flight.skills import SKILLS, Skill
from firstthrow.sim.study.hands.flights import InFlight
from firstthrow.sim.study.hands.measure import Figure, Measured
from firstthrow.sim.study.hands.practice import LEAST, MOST, Practice, copy
from firstthrow.sim.study.odds.survival import ByHands
from firstthrow.sim.study.subject import Subject

LIKE = 0.08  # of a skill's figure: as near as this is the same
WIDE = 34  # letters of a scale
TEXT = 92  # letters of a line
NOT_A_FIELD = (
    "A screen is no field: depth, wind on the face, fear and a real stick are missing. By how much "
    "practice before a screen flatters is not known: take these odds as the better end."
)
IN_THE_FIELD = (
    "What no screen can check remains: balance on two fingers, directions before each flight, a "
    "range check, a gentle glide or a helper who throws, room and calm air."
)

WITH_KEYS = (
    "Keys blur the rest: through them grip reads about a fifth too weak, and what goes unseen a "
    "third too large; the delay is right."
)
WHICH_HAND = (
    "Which hand you prefer does not show: in most stick modes one thumb moves pitch and roll both."
)


class Row(NamedTuple):
    """One figure beside those of the skills."""

    name: str
    figure: Figure
    unit: str
    skills: dict[str, float]
    sentence: str

    @property
    def ends(self) -> tuple[float, float]:
        """Of a scale that shows it and the skills."""
        shown = [*self.skills.values(), self.figure.low, self.figure.high, self.figure.value]
        least = max(min(shown), 0.02 * max(shown))
        return 0.85 * least, 1.15 * max(shown)

    def place(self, value: float) -> float:
        """Of a value on the scale, 0..1, by its logarithm."""
        low, high = self.ends
        return log10(min(max(value, low), high) / low) / log10(high / low)


def _scaled(figure: Figure, scale: float) -> Figure:
    return Figure(scale * figure.value, scale * figure.low, scale * figure.high)


def rows(now: Measured) -> list[Row]:
    """The figures that the skills have, too."""
    speed = Figure(now.stick_speed_per_s, now.stick_speed_per_s, now.stick_speed_per_s)
    deg, percent = degrees(1.0), 100.0
    kinds: tuple[tuple[str, Figure, float, str, Callable[[Skill], float], str], ...] = (
        ("delay", now.delay_s, 1.0, "s", lambda s: s.delay, "You answer after {}"),
        ("muscles", now.lag_s, 1.0, "s", lambda s: s.lag, "Your thumbs follow within {}"),
        (
            "grip, pitch",
            now.crossover_pitch_rad_s,
            1.0,
            "rad/s",
            lambda s: s.crossover,
            "In pitch you hold what moves slower than {}",
        ),
        (
            "grip, roll",
            now.crossover_roll_rad_s,
            1.0,
            "rad/s",
            lambda s: s.crossover_roll or s.crossover,
            "In roll you hold what moves slower than {}",
        ),
        (
            "unseen",
            now.dead_zone_rad,
            deg,
            "deg",
            lambda s: s.dead_zone,
            "Errors below {} you let be",
        ),
        (
            "stick speed",
            speed,
            1.0,
            "a second",
            lambda s: s.stick_speed,
            _of_the_stick(now),
        ),
        (
            "wrong moves",
            now.wrong_chance,
            percent,
            "%",
            lambda s: s.wrong_chance,
            f"{now.wrong_moves} of {now.first_moves} first moves went the wrong way, so about {{}}",
        ),
    )
    found = []
    for name, figure, times, unit, of, words in kinds:
        shown = _scaled(figure, times)
        skills = {skill: times * of(SKILLS[skill]) for skill in SKILLS}
        is_theirs = name != "stick speed" or now.speed_shows
        beside = f": {_beside(shown, skills)}" if is_theirs else ""
        sentence = f"{words.format(_value(shown.value, unit))}{beside}."
        found.append(Row(name, shown, unit, skills, sentence))
    return found


def _of_the_stick(now: Measured) -> str:
    if now.keys:
        return "The keys move the stick at up to {}, whoever presses them"
    if now.stick_is_limited:
        return "Your stick stops at {}"
    return "No stick faster than {} was asked"


def _beside(figure: Figure, skills: dict[str, float]) -> str:
    """Where a figure stands among the skills, which go from beginner to expert."""
    value, names = figure.value, list(skills)
    for name in names:
        if abs(value - skills[name]) <= LIKE * skills[name]:
            return f"as {name} hands"
    better = -1.0 if skills[names[0]] > skills[names[-1]] else 1.0
    passed = [name for name in names if better * (value - skills[name]) > 0.0]
    if not passed:
        return "short of beginner hands"
    if len(passed) == len(names):
        return "better than expert hands"
    return f"between {passed[-1]} and {names[len(passed)]} hands"


def _value(value: float, unit: str) -> str:
    digits = 2 if unit == "s" else 0 if unit == "%" else 1
    return f"{value:.{digits}f} {unit}"


def scale(row: Row) -> str:
    """The row's scale in letters: b, c, e for the skills, o for these hands, = their interval."""
    marks = ["."] * WIDE

    def at(value: float) -> int:
        return min(WIDE - 1, int(row.place(value) * WIDE))

    for k in range(at(row.figure.low), at(row.figure.high) + 1):
        marks[k] = "="
    for name, value in row.skills.items():
        marks[at(value)] = name[0]
    marks[at(row.figure.value)] = "o"
    return "".join(marks)


def lines(now: Measured) -> list[str]:
    """The picture and a sentence for each."""
    told = [f"  {'b beginner  c club  e expert  o you  = 95 % sure':>{WIDE + 15}}"]
    for row in rows(now):
        told.append(f"  {row.name:<12} {scale(row)}  {row.sentence}")
    n = now.remnant
    told += [
        "",
        f"  Lead: pitch {_sure(now.lead_pitch_s, 's')}, roll {_sure(now.lead_roll_s, 's')}.",
        f"  Noise: {_sure(_scaled(n, 100.0), '%')} of the error that you see, changing within "
        f"{now.remnant_time_s.value:.2f} s.",
        f"  {100.0 * now.explained_fraction:.0f} % of what you did answers what was to be seen.",
        *(f"  {line}" for line in wrapped(sides(now))),
        *(f"  {line}" for line in wrapped(WITH_KEYS) if now.keys),
    ]
    return told


def sides(now: Measured) -> str:
    """Which way these hands lean; empty where that was not looked at."""
    if now.side_pitch is None or now.side_roll is None:
        return ""
    found = []
    for side, plus, minus, held in (
        (now.side_pitch, "back", "forward", ("the nose", "high", "low")),
        (now.side_roll, "to the right", "to the left", ("the wings", "banked right", "left")),
    ):
        if side.is_firmer:
            found.append(
                f"you answer {100.0 * abs(side.firmer):.0f} % more firmly than on the mean "
                f"{plus if side.firmer > 0.0 else minus}"
            )
        if side.leans:
            what, more, less = held
            off = degrees(abs(side.stands_rad))
            found.append(f"you leave {what} {off:.1f} deg {more if side.stands_rad > 0 else less}")
    told = " and ".join(found) if found else "neither is surely favoured"
    return f"Sides: {told}. {WHICH_HAND}"


def _sure(figure: Figure, unit: str) -> str:
    digits = 0 if unit == "%" else 2
    return f"{figure.value:.{digits}f} {unit} ({figure.low:.{digits}f} to {figure.high:.{digits}f})"


def in_flight(shown: InFlight, airframe: str) -> list[str]:
    """What free flights showed."""
    many = "1 flight" if shown.flights == 1 else f"{shown.flights} flights"
    told = [f"answers after {_sure(shown.delay_s, 's')}"]
    for name, grip, lead in (
        ("pitch", shown.crossover_pitch_rad_s, shown.lead_pitch_s),
        ("roll", shown.crossover_roll_rad_s, shown.lead_roll_s),
    ):
        if grip is None or lead is None:
            told.append(f"{name}: the flights do not show it")
        else:
            told.append(f"{name}: grip {_sure(grip, 'rad/s')}, lead {_sure(lead, 's')}")
    words = f"In {many} of {airframe}, {shown.flown_s:.0f} s in clear air: {'; '.join(told)}."
    return wrapped(f"{words} Dead zone, noise and first moves show in the exercises alone.")


def since(now: Measured, before: Measured, when: date, today: date) -> str:
    """How soon one answers, against before: 'You answered 0.10 s later than the week before.'"""
    days = (today - when).days
    ago = {0: "earlier that day", 1: "the day before"}.get(days, f"{days} days before")
    ago = "the week before" if 5 <= days <= 9 else ago
    later = now.delay_s.value - before.delay_s.value
    spread = sum(((one.delay_s.high - one.delay_s.low) / 2.0) ** 2 for one in (now, before)) ** 0.5
    if abs(later) <= spread or abs(later) < 0.005:
        return f"You answered as soon as {ago}, as far as can be told."
    return f"You answered {abs(later):.2f} s {'later' if later > 0.0 else 'sooner'} than {ago}."


def of_100(share: float) -> int:
    """Rounded down: 94.8 of 100 are not the 95 that 'go' asks."""
    return int(100.0 * share + 1e-9)


def beside_club(mine: ByHands, club: ByHands) -> str:
    """Such as '83 of 100 launches survive with your hands, 39 of 40 by club hands'."""
    return f"{mine.words} with your hands, {club.survived} of {club.flown} by club hands"


def practise(subject: Subject, fits: Practice) -> str:
    """What to practise next."""
    name, share = subject.airframe.name, f"{fits.survived} of {fits.flown}"
    if fits.rung == 0:
        hard = "it is as hard as practice should be"
        why = hard if fits.fits else "no tamer or wilder copy tried suits your hands better"
        return f"Practise next with {name} as it is: {why}."
    there = copy(subject, fits.rung)
    moved = there.cg - subject.cg
    changes = [f"throws {fits.throws_times:.2f} times its own"]
    if abs(moved) > 1e-4:
        way = "aft" if moved > 0.0 else "ahead"
        changes.insert(0, f"balance {subject.airframe.units.length(abs(moved))} further {way}")
    wind = fits.wind_m_s
    changes.append(f"wind {subject.airframe.units.speed(wind)}" if wind else "still air")
    kind = "wilder" if fits.rung > 0 else "tamer"
    words = f"Practise next with a {kind} {name}: {', '.join(changes)}; {share} survive there"
    if fits.fits:
        return f"{words}. firstthrow fly --practice flies it."
    wanted = f"{100.0 * LEAST:.0f} to {100.0 * MOST:.0f} of 100"
    return f"{words}: no copy tried comes nearer to {wanted}. firstthrow fly --practice flies it."


def wrapped(text: str) -> list[str]:
    return wrap(text, TEXT)
