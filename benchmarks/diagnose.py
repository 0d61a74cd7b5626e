"""How often the first cause told is the true one: python benchmarks/diagnose.py [--seeds N]

Launches by simulated hands and thumbs of an airframe that is off its file by all that is not
known, thrown with an arm's scatter, with each fault in turn and with none; each record is diagnosed
blindly. Prints how often the true cause came first, and first to third, what it was taken for,
and how many sound flights were said to have a fault. A cause that the record could not tell from
the first counts as that. What lasts less than 1.5 s is thrown again from a hill; where the fault
changed nothing (a receiver that never restarted, a switch never used), or less than what is not
known of the airframe can make up for, it is flown again from there as one flies to find faults:
both sticks to their ends, let go, pulled up. What is still too short, or cannot show, is left out
and counted apart: where the record could tell the fault from none by less than it takes to claim
it (`claims.enough`). How many of those were told all the same, or said not to be told from none, is
printed beside them; and what the sums would be if all counted that tell two faults apart.

With --kept FILE each answer is written there as a line of JSON, and what stands there already is
not flown again: a long run can be stopped, gone on with, and shared out by --first.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from pathlib import Path
from time import process_time
from zlib import crc32

import numpy as np
from tqdm import tqdm

import firstthrow.sim as firstthrow
from firstthrow.sim.build.deviated import deviated
from firstthrow.sim.build.model import build
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Record, Rows, flight_meta, sidecar
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.learn.causes import DEAF, RESTARTS, SOUND, causes
from firstthrow.sim.learn.claims import ALIKE, enough
from firstthrow.sim.learn.diagnose import diagnose
from firstthrow.sim.learn.evidence import PASSED_OVER, UNTIL, examined, tells
from firstthrow.sim.learn.hands_seen import SLIPS_OF_HANDS, came_to_trouble
from firstthrow.sim.learn.stretches import LOW
from firstthrow.sim.learn.why import lines
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

SECONDS = 5.0
LEAST = 1.5  # seconds of a record that count
TRIES = 3  # flights for one that counts, at most
HILL = 10.0  # m
WAYS = ("", "from a hill", "tried")  # how one flies, the next where that tells nothing
FIELDS = ("water-meadow", "water-meadow-breeze")
PILOTS = ("club", "thumbs", "beginner", "thumbs", "expert", "thumbs")
SLIPS = SLIPS_OF_HANDS
TOO_MUCH, TOO_LATE = 4.0, 0.8  # of their gain; from eye to nerve [s]
OF_THE_THROW = ("slow-throw", "low-throttle", "gust-at-release", "up-held")


class Thumbs:
    """Club eyes behind two keys an axis: a stick that is let go or goes all but all the way, at
    4 full throws a second, for more than is needed."""

    FULL, DOWN, UP, SPEED = 0.8, 0.35, 0.15, 4.0  # of a stick; throws a second

    def __init__(self, eyes: Human) -> None:
        self.eyes, self.held, self.at = eyes, [0.0, 0.0], [0.0, 0.0]

    def __call__(self, reading) -> Sticks:
        meant = self.eyes(reading)
        for axis, wanted in enumerate((meant.roll, meant.pitch)):
            pressed = abs(wanted) > (self.UP if self.held[axis] * wanted > 0.0 else self.DOWN)
            self.held[axis] = np.sign(wanted) * self.FULL if pressed else 0.0
            step = self.SPEED / 60.0
            self.at[axis] += float(np.clip(self.held[axis] - self.at[axis], -step, step))
        return meant._replace(roll=self.at[0], pitch=self.at[1])


def measured(airframe):
    """As its builder has it after an evening with scale, ruler and two sticks: all that can be
    measured has been, and was what the file says."""
    items = {n: one.model_copy(update={"known": "measured"}) for n, one in airframe.items.items()}
    items = {
        n: one.model_copy(update={"mass_spread": None, "place_spread": None})
        for n, one in items.items()
    }
    sheets = {}
    for name, sheet in airframe.sheets.items():
        flat = {key: getattr(sheet, key) for key in ("bow", "twist")}
        moving = {
            n: one.model_copy(update={"known": "measured"}) for n, one in sheet.surfaces.items()
        }
        sheets[name] = sheet.model_copy(update={**flat, "surfaces": moving})
    return airframe.model_copy(update={"items": items, "sheets": sheets})


def hands(airframe, field, who: str, seed: int, slip: str = ""):
    """A pilot who knows the sound airframe, and how it is thrown, but for a slip."""
    human = Human(airframe, field, "club" if who == "thumbs" else who, "hand", seed)
    if slip == "wrong-way":
        human.skill = human.skill._replace(wrong_chance=1.0)
        human.hands.wrong_for = SECONDS
    elif slip == "too-much":
        human.hands.gain_pitch *= TOO_MUCH
        human.hands.gain_roll *= TOO_MUCH
    elif slip == "too-late":
        human.hands.delay = TOO_LATE
    return Thumbs(human) if who == "thumbs" else human


PUSH, PULLED = 0.2, 4.0  # s
ENDS = ((1.0, 0.0), (-1.0, 0.0), (0.0, 0.0), (0.0, 1.0), (0.0, -0.7), (0.0, 0.0))  # roll, pitch


def _on_low_rates(pilot):
    return lambda reading: pilot(reading)._replace(low_rates=True)


def _trying(pilot):
    """Each stick to both ends, with the rate switch at low and then at high; let go; pulled up."""

    def flies(reading) -> Sticks:
        sticks, since = pilot(reading), reading.time_s - 0.6
        if since < 0.0:
            return sticks
        if since > 2.0 * len(ENDS) * PUSH:
            return Sticks(pitch=float(reading.time_s > PULLED), throttle=sticks.throttle)
        roll, pitch = ENDS[int(since / PUSH) % len(ENDS)]
        low = since < len(ENDS) * PUSH
        return Sticks(roll, pitch, 0.0, sticks.throttle, low)

    return flies


def flown(subject: Subject, fault: str, seed: int, way: str = "") -> tuple[Record, bool]:
    """A record, and whether the fault could come about in it."""
    airframe, field = subject.airframe, subject.field
    if way:
        airframe = put(airframe, ("launch", "hand", "height"), HILL)
    draw = np.random.default_rng([seed, crc32(f"{fault} {field.name}".encode())])
    known = [row for row in subject.unknowns if row.what not in PASSED_OVER]
    off = {row.key: row.spread * draw.standard_normal() for row in known}
    usual, hand = Scatter(), airframe.launch.by_hand
    thrown = {
        "speed": hand.speed + usual.speed * draw.standard_normal(),
        "pitch": hand.pitch + usual.pitch * draw.standard_normal(),
        "bank": hand.bank + usual.bank * draw.standard_normal(),
    }
    sound = put(airframe, ("launch", "hand"), hand.model_copy(update=thrown))
    wrong, gusty = apply(fault, sound, field) if fault in FAULTS else (sound, field)
    model = deviated(build(wrong, gusty), wrong, off)
    who, rows = PILOTS[seed // len(FIELDS) % len(PILOTS)], Rows()
    pilot = hands(airframe.model_copy(update={"launch": wrong.launch}), field, who, seed, fault)
    if seed % 3 == 0:
        pilot = _on_low_rates(pilot)
    if way == "tried":
        pilot = _trying(pilot)
    flight = fly(wrong, gusty, pilot, SECONDS, "hand", seed, rows, model)
    about = flight_meta(field, seed=seed, launch="hand", pilot=f"human:{who}")
    meta = sidecar(airframe, about, flight.end and (flight.end.word, flight.end.text))
    record = rows.record(flight.columns, meta)
    silent = _fell_silent(record) or fault not in (RESTARTS, DEAF)
    return record, silent


def _fell_silent(record: Record) -> bool:
    """Whether the receiver did in the air: a motor without current for a tenth of a second, though
    asked."""
    dead = (record.column("motor_motor_A") == 0.0) & (record.column("throttle") > 0.2)
    flown = (record.column("time_s") > 0.0) & (record.column("height_m") > LOW)
    return bool(dead[flown].sum() > 6)


def answered(subject: Subject, fault: str, seed: int) -> dict:
    """One flight and what was said of it: what `counted` counts."""
    answer: dict = {}
    for way in WAYS:
        record, came = flown(subject, fault, seed, way)
        length = float(record.column("time_s")[-1])
        answer |= {"fault": fault, "seed": seed, "seconds": length, "likely": [], "way": way}
        if length < LEAST:
            continue
        start = process_time()
        found = diagnose(record, subject.airframe, subject.field)
        if found is None:
            continue
        answer["likely"] = [(one.name, one.chance, list(one.alike)) for one in found.likely]
        answer |= {"words": lines(found), "cpu_s": process_time() - start}
        told, needed = shown(record, subject, fault)
        answer |= {"told": told if came else 0.0, "enough": needed}
        answer["trouble"] = came_to_trouble(record, UNTIL)
        if answer["told"] >= needed or fault in SLIPS or not fault:
            break
        answer.setdefault("faint", []).append({k: answer[k] for k in ("told", "likely", "way")})
    return answer


def shown(record: Record, subject: Subject, fault: str) -> tuple[float, float]:
    """By how much a record can tell a fault from none at best (log likelihood), and how much would
    be enough to claim it: what is not known does what it does to the airframe without the fault, or
    with it, whichever hides it better."""
    held = examined(record, subject.airframe, subject.field, None)
    if fault not in held.missed or held.seen.folded or fault in (RESTARTS, DEAF):
        return 1e9, ALIKE  # of throw, air and hands, or seen by itself
    apart = (held.missed[SOUND] - held.missed[fault]).ravel()
    none, *tried = causes(subject, held.seen)
    cause = next(one for one in tried if one.name == fault)
    told = min(tells(apart, held.slopes[SOUND]), tells(apart, held.moved(cause)))
    return told, enough(cause.usual, none.usual)


def row_of(answer: dict) -> str:
    """What a flight was taken for; in brackets where it does not count."""
    fault, likely = answer["fault"], answer["likely"]
    if not likely:
        return "(too short)"
    if answer["told"] < answer.get("enough", ALIKE):
        return "(cannot show)"
    if fault in SLIPS and not answer["trouble"]:
        return "(no trouble)"
    return _taken_for(fault, likely[0])


def _taken_for(fault: str, first: tuple[str, float, list[str]]) -> str:
    name, _, alike = first
    if fault in SLIPS and name.endswith(fault):  # of roll or of pitch
        return fault
    return fault if fault in alike else name


def _to_third(fault: str, likely: list) -> bool:
    return any(_taken_for(fault or SOUND, one) == (fault or SOUND) for one in likely[:3])


def told(answer: dict) -> bool:
    """Whether the fault is the first, or said not to be told from it."""
    name, _, alike = answer["likely"][0]
    return answer["fault"] in (name, *alike)


def report(answers: list[dict]) -> None:
    taken: dict[str, Counter[str]] = {}
    third: Counter[str] = Counter()
    for answer in answers:
        true = answer["fault"] or SOUND
        taken.setdefault(true, Counter())[row_of(answer)] += 1
        third[true] += _to_third(true, answer["likely"]) and not row_of(answer).startswith("(")
    print(f"{'true cause':<22} {'first':>9} {'to third':>9}  taken for")
    sums: Counter[str] = Counter()
    for true, row in taken.items():
        counted = sum(count for name, count in row.items() if not name.startswith("("))
        rest = ", ".join(f"{name} {count}" for name, count in row.most_common() if name != true)
        named = sum(
            told(one) for one in answers if row_of(one) == "(cannot show)" and one["fault"] == true
        )
        rest += f"; named of those that cannot show it: {named}" if row["(cannot show)"] else ""
        ways = Counter(
            one["way"] for one in answers if one["fault"] == true and row_of(one)[0] != "("
        )
        rest += "".join(f"; {way} {ways[way]}" for way in WAYS[1:] if ways[way])
        print(f"{true:<22} {row[true]:>4}/{counted:<4} {third[true]:>4}/{counted:<4}  {rest}")
        if true != SOUND:
            sums += Counter(first=row[true], third=third[true], counted=counted)
    counted = max(1, sums["counted"])
    print(
        f"all faults: first in {sums['first'] / counted:.1%}, to third in "
        f"{sums['third'] / counted:.1%} of {sums['counted']}"
    )
    _report_faint(answers)
    spent = [answer["cpu_s"] for answer in answers if "cpu_s" in answer]
    print(f"processor: median {np.median(spent):.2f} s a record, at most {max(spent):.2f} s")


def _report_faint(answers: list[dict]) -> None:
    """The sums, with each flight the first that could tell as much as tells two faults apart."""
    first = third = counted = 0
    for answer in answers:
        if not answer["fault"] or row_of(answer) == "(no trouble)":
            continue
        flights = [*answer.get("faint", []), *([answer] if answer["likely"] else [])]
        shows = next((one for one in flights if one["told"] >= ALIKE), None)
        if shows is not None:
            counted += 1
            first += _taken_for(answer["fault"], shows["likely"][0]) == answer["fault"]
            third += _to_third(answer["fault"], shows["likely"])
    if counted:
        print(
            f"of all that could tell by {ALIKE:g}: first in {first / counted:.1%}, to third in "
            f"{third / counted:.1%} of {counted}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description="How often the first cause told is the true one.")
    parser.add_argument(
        "--seeds", type=int, default=20, help="flights of each fault that count (20)"
    )
    parser.add_argument("--sound", type=int, default=200, help="flights without one (200)")
    parser.add_argument("--first", type=int, default=0, help="seed of the first (0)")
    parser.add_argument("--airframe", default="pantry")
    parser.add_argument("--measured", action="store_true", help="all measured that can be")
    parser.add_argument("--fault", nargs="*", help="only these")
    parser.add_argument("--kept", type=Path, help="file of answers to go on with")
    chosen = parser.parse_args()
    airframe = firstthrow.airframe(chosen.airframe)
    airframe = measured(airframe) if chosen.measured else airframe
    subjects = [Subject(airframe, firstthrow.field(name)) for name in FIELDS]
    faults = [*FAULTS, *SLIPS] if chosen.fault is None else chosen.fault
    kept = chosen.kept
    answers = [json.loads(line) for line in kept.open()] if kept and kept.exists() else []
    done = {(answer["fault"], answer["seed"]): answer for answer in answers}
    wanted = {fault: chosen.seeds for fault in faults} | {"": chosen.sound}
    for tried in tqdm(range(TRIES * max(wanted.values())), unit="seed"):
        seed = chosen.first + tried
        for fault in [one for one, left in wanted.items() if left > 0]:
            if tried >= TRIES * (chosen.seeds if fault else chosen.sound):
                wanted[fault] = 0
                continue
            answer = done.get((fault, seed))
            if answer is None:
                answer = answered(subjects[seed % len(FIELDS)], fault, seed)
                answers.append(answer)
                if kept:
                    with kept.open("a") as file:
                        print(json.dumps(answer), file=file)
            wanted[fault] -= not row_of(answer).startswith("(")
        if not any(left > 0 for left in wanted.values()):
            break
    report(answers)


if __name__ == "__main__":
    main()
