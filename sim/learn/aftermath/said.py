"""What is said of a flight that has just ended: at once, and moment by moment."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.shape import SurfaceSpan, main_name, spoken
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import ConfigError
from firstthrow.sim.flight.record import Record
from firstthrow.sim.learn.circumstances import circumstances
from firstthrow.sim.learn.debrief import findings
from firstthrow.sim.learn.diagnose import Diagnosis
from firstthrow.sim.learn.finding import Kind
from firstthrow.sim.learn.why import BESIDES, lines
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.throws import edge_height

MOVED = 2e-3  # a trailing edge that stands elsewhere by less does not [m]


class Said(NamedTuple):
    """A sentence and the moment [s] from which it holds."""

    at_s: float
    text: str


def at_once(record: Record, subject: Subject) -> tuple[str, ...]:
    """What needs no working out: the throw and the throttle against the plan, the file's own
    balance. `subject`: as described, its model that of what flew or of what was described."""
    found = [_sentence(one.words) for one in circumstances(record, subject) if one.clear]
    behind = subject.cg - subject.neutral_point
    if behind > 0.0:
        found.append(
            f"As its file says, the CG is {subject.airframe.units.length(behind)} behind the "
            "neutral point."
        )
    return tuple(found) or (_as_planned(record, subject.airframe),)


def _as_planned(record: Record, airframe: Airframe) -> str:
    hand, time = airframe.launch.hand, record.column("time_s")
    row = int(np.searchsorted(time, 1e-6))
    if record.meta.get("launch", "hand") == "ground" or hand is None or row >= len(time):
        return "Throttle as planned."
    speed = float(np.sqrt(sum(record.column(f"{axis}_m_s")[row] ** 2 for axis in "uvw")))
    pitch = record.column("pitch_deg")[row]
    return (
        f"Thrown as planned: {airframe.units.throw(speed)}, nose {abs(pitch):.0f} deg "
        f"{'up' if pitch >= 0.0 else 'down'}."
    )


def reasons(found: Diagnosis, airframe: Airframe) -> list[str]:
    """As `why.lines`, the first with its number in lengths that a ruler has, where it has one."""
    return [_headline(found, airframe), *lines(found, airframe.units)[1:]]


def cause(found: Diagnosis, airframe: Airframe) -> str:
    """The cause in one sentence, with that number; another, where two things were so."""
    told = _headline(found, airframe).removeprefix("Why: ")
    also = [line for line in lines(found, airframe.units) if line.startswith(BESIDES)][:1]
    return " ".join([told[0].upper() + told[1:], *also])


def _headline(found: Diagnosis, airframe: Airframe) -> str:
    first, units = found.first, airframe.units
    told = lines(found, units)[0]
    if found.unexplained is not None:
        return told
    if first.name in FAULTS:
        number = in_lengths(first.name, airframe)
        return f"{told} {number}".rstrip()
    subject = Subject(airframe)
    gap = subject.cg - subject.neutral_point
    if gap > 0.0:
        return f"{told} The CG is {units.length(gap)} behind the neutral point."
    return told


def in_lengths(name: str, airframe: Airframe) -> str:
    """How large a fault is where one measures it: the balance moved, a trailing edge that does not
    stand where it ought to; empty where there is nothing for a ruler."""
    try:
        wrong, _ = apply(name, airframe, Subject(airframe).field)
    except ConfigError:
        return ""
    units = airframe.units
    right, off = Subject(airframe), Subject(wrong)
    found = []
    for words, sticks in _STICKS.items():
        for span, one in zip(right.surfaces, off.surfaces, strict=True):
            wanted, stands = (
                _edge(subject, at, sticks) for subject, at in ((right, span), (off, one))
            )
            found.append((abs(wanted - stands), words, span, wanted, stands))
    gap, words, span, wanted, stands = max(found, key=lambda one: one[0])
    if gap > MOVED:
        ways = ("right", "left") if span.upright else ("up", "down")
        return (
            f"{words}: the {spoken(span.name)} must stand {_stands(wanted, ways, units)}, "
            f"and stood {_stands(stands, ways, units)}."
        )
    if wrong.items != airframe.items:
        shift = float(balance(parts(wrong)).place[0] - balance(parts(airframe)).place[0])
        way = "aft" if shift > 0.0 else "forward"
        return f"The balance lies about {units.length(abs(shift))} further {way} than in the file."
    return _warp(airframe, wrong)


def _edge(subject: Subject, span: SurfaceSpan, sticks: Sticks) -> float:
    """How far a trailing edge stands off its sheet [m]; 0 for one that has come off."""
    surface = span.described
    if surface.off and surface.faulty(span.side):
        return 0.0
    angle = float(subject.mixer.angles(sticks)[span.slot])
    if surface.stuck is not None and surface.faulty(span.side):
        angle = surface.stuck
    return edge_height(-angle, surface.chord)


def _warp(airframe: Airframe, wrong: Airframe) -> str:
    name = main_name(airframe)
    if name is None:
        return ""
    one, other = airframe.sheets[name], wrong.sheets[name]
    twist = other.twist_left - one.twist_left
    low = edge_height(twist, Subject(airframe).chord)
    if abs(low) < MOVED:
        return ""
    way = "low" if low > 0.0 else "high"
    edge = airframe.units.length(abs(low))
    return f"Seen from behind, the left tip's trailing edge stands {edge} too {way}."


_STICKS = {
    "Sticks let go": Sticks(),
    "Stick right": Sticks(roll=1.0),
    "Stick back": Sticks(pitch=1.0),
    "Stick back, rates at low": Sticks(pitch=1.0, low_rates=True),
}


def _stands(height: float, ways: tuple[str, str], units) -> str:
    if abs(height) < MOVED:
        return "in line"
    return f"{units.length(abs(height))} {ways[0] if height > 0.0 else ways[1]}"


def moments(record: Record, found: Diagnosis | None = None) -> tuple[Said, ...]:
    """The sentence of each moment, in order of time: findings as they begin, the cause where it
    first shows, the outcome at the end."""
    end = float(record.column("time_s")[-1])
    told = []
    for finding in findings(record):
        sums_up = finding.kind in (Kind.OUTCOME, Kind.HEIGHT_LOST, Kind.PITCHED_UP)
        from_s = finding.end_s if sums_up else finding.start_s
        told.append(Said(min(end, max(0.0, from_s)), finding.text))
    if found is not None and found.first.from_s is not None and found.first.words == "":
        shown = lines(found, record.units)[0].partition("): ")[2]
        if shown:
            told.append(Said(max(0.0, found.first.from_s), shown[0].upper() + shown[1:]))
    told.sort(key=lambda said: said.at_s)
    if not told or told[0].at_s > 0.0:
        told.insert(0, Said(0.0, "Out of the hand." if _thrown(record) else "It rolls."))
    return tuple(told)


def _thrown(record: Record) -> bool:
    return record.meta.get("launch", "hand") != "ground"


def at(told: tuple[Said, ...], time: float) -> str:
    """The sentence that holds at a time [s]."""
    before = [said for said in told if said.at_s <= time + 1e-6]
    return before[-1].text if before else ""


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."
