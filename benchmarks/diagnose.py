"""How often the first cause told is the true one: python benchmarks/diagnose.py [--seeds N]

Launches by simulated hands of an airframe that is off its file by all that is not known, thrown
with an arm's scatter, with each fault card in turn and with none; each record is diagnosed
blindly. Prints how often the true cause came first, and first to third, what it was taken for,
and how many sound flights were said to have a fault. A cause that the record could not tell from
the first counts as that; a flight in which the fault changed nothing (a receiver that never
restarted, a switch never used) is left out and counted apart.
"""

from __future__ import annotations

import argparse
from collections import Counter
from zlib import crc32

import numpy as np
from tqdm import tqdm

import firstthrow.sim as firstthrow
from firstthrow.sim.build.deviated import deviated
from firstthrow.sim.build.model import build
from firstthrow.sim.describe.edit import put
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.record import Record, Rows, flight_meta, sidecar
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.learn.causes import SOUND
from firstthrow.sim.learn.diagnose import PASSED_OVER, diagnose
from firstthrow.sim.learn.stretches import Seen, misses
from firstthrow.sim.study.faults import FAULTS, apply
from firstthrow.sim.study.odds.scatter import Scatter
from firstthrow.sim.study.subject import Subject

SECONDS = 5.0
FIELDS = ("water-meadow", "water-meadow-breeze")
SKILLS = ("club", "beginner", "expert")
TELLS = 3.0  # log likelihood from which a fault made a difference
OF_THE_THROW = ("slow-throw", "low-throttle", "gust-at-release")


def flown(subject: Subject, fault: str, seed: int) -> tuple[Record, float]:
    """A record, and by how much the fault could have been told in it (log likelihood)."""
    airframe, field = subject.airframe, subject.field
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
    wrong, gusty = apply(fault, sound, field) if fault else (sound, field)
    model = deviated(build(wrong, gusty), wrong, off)
    skill, rows = SKILLS[seed % len(SKILLS)], Rows()
    hands = Human(airframe, field, skill, "hand", seed)
    flight = fly(wrong, gusty, hands, SECONDS, "hand", seed, rows, model)
    meta = sidecar(airframe, flight_meta(field, seed=seed, launch="hand", pilot=f"human:{skill}"))
    record = rows.record(flight.columns, meta)
    seen = Seen(record, subject, SECONDS)
    without = deviated(build(sound, field), sound, off)
    apart = misses(seen, sound, without) - misses(seen, wrong, model)
    return record, 0.25 * float(np.sum(apart**2))


def main() -> None:
    parser = argparse.ArgumentParser(description="How often the first cause told is the true one.")
    parser.add_argument("--seeds", type=int, default=20, help="flights of each fault (20)")
    parser.add_argument("--sound", type=int, default=200, help="flights without one (200)")
    parser.add_argument("--airframe", default="pantry")
    chosen = parser.parse_args()
    airframe = firstthrow.airframe(chosen.airframe)
    subjects = [Subject(airframe, firstthrow.field(name)) for name in FIELDS]
    jobs = [("", seed) for seed in range(chosen.sound)]
    jobs += [(fault, seed) for fault in FAULTS for seed in range(chosen.seeds)]
    taken: dict[str, Counter[str]] = {}
    third: Counter[str] = Counter()
    for fault, seed in tqdm(jobs, unit="flight"):
        subject, true = subjects[seed % 2], fault or SOUND
        row = taken.setdefault(true, Counter())
        record, told = flown(subject, fault, seed)
        found = diagnose(record, airframe, subject.field)
        if found is None:
            row["(too short)"] += 1
        elif fault and fault not in OF_THE_THROW and told < TELLS:
            row["(no difference)"] += 1
        else:
            first = found.first
            row[true if true in first.alike else first.name] += 1
            names = [name for one in found.likely[:3] for name in (one.name, *one.alike)]
            third[true] += true in names
    print(f"{'true cause':<22} {'first':>9} {'to third':>9}  taken for")
    for true, row in taken.items():
        counted = sum(count for name, count in row.items() if not name.startswith("("))
        rest = ", ".join(f"{name} {count}" for name, count in row.most_common() if name != true)
        print(f"{true:<22} {row[true]:>4}/{counted:<4} {third[true]:>4}/{counted:<4}  {rest}")
    faults = [row for true, row in taken.items() if true != SOUND]
    counted = sum(c for row in faults for name, c in row.items() if not name.startswith("("))
    right = sum(row[true] for true, row in taken.items() if true != SOUND)
    print(f"all faults: first in {right / max(1, counted):.0%} of {counted}")


if __name__ == "__main__":
    main()
