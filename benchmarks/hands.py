"""How well hands are measured: python benchmarks/hands.py [--pilots N] [--flights] [--keys]

Simulated pilots of random hands do the exercises on `pantry` (with --keys through the keyboard's
levers, with --flights three free flights each instead). Prints for each figure how often its 95 %
interval held the truth, and how far off it was in the middle.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable

import numpy as np

from firstthrow.scenes.hands.keyboard import Keyboard
from firstthrow.sim.build.sticks import Sticks
from firstthrow.sim.describe.config import find, load_airframe, load_field
from firstthrow.sim.flight.flight import fly
from firstthrow.sim.flight.pilot import launch_throttle
from firstthrow.sim.flight.record import Record, Rows, columns, flight_meta, sidecar
from firstthrow.sim.flight.simulated_hands import Human
from firstthrow.sim.flight.skills import SKILLS, Skill, hands
from firstthrow.sim.study.hands.element import FRAME, Element, element
from firstthrow.sim.study.hands.flights import in_flight
from firstthrow.sim.study.hands.measure import CannotBeMeasured, measure
from firstthrow.sim.study.hands.simulated import do_all
from firstthrow.sim.study.subject import Subject

FLIGHTS, SECONDS = 3, 90.0
NEAR = 0.03  # of a stick: no key is pressed for less


def drawn(random: np.random.Generator) -> Skill:
    u = random.uniform
    return SKILLS["club"]._replace(
        delay=round(u(12, 24)) * FRAME,
        lag=u(0.08, 0.22),
        crossover=u(1.3, 2.6),
        crossover_roll=u(1.3, 2.8),
        lead_pitch=u(0.05, 0.35),
        lead_roll=u(0.05, 0.3),
        dead_zone=u(0.01, 0.06),
        trimming=u(0.05, 0.3),
        remnant=u(0.15, 0.4),
        remnant_time=u(0.1, 0.35),
        wander=0.0,
        wrong_chance=0.1,
        stick_speed=8.0,
    )


def truth(subject: Subject, steered: Element, skill: Skill) -> dict[str, float]:
    own = hands(skill, subject.model, subject.airframe, launch_throttle(subject.airframe))
    at = (own.gain_pitch, own.lead_pitch), (own.gain_roll, own.lead_roll)
    found = {f"{name}_s": getattr(skill, name) for name in ("delay", "lag", "remnant_time")}
    found |= {"dead_zone_rad": skill.dead_zone, "remnant": skill.remnant}
    for axis, name in enumerate(("pitch", "roll")):
        gain, lead = map(float, at[axis])
        found |= {f"gain_{name}_per_rad": gain, f"lead_{name}_s": lead}
        found[f"crossover_{name}_rad_s"] = steered.crossover(axis, gain, lead) or np.nan
    return {**found, "trimming_per_s": skill.trimming}


def keys() -> Callable[[Sticks], Sticks]:
    """Sticks as thumbs on keys bring them there: pressed while more is wanted, else let go."""
    keyboard = Keyboard()

    def through(wanted: Sticks) -> Sticks:
        held = set()
        for want, lever, more, less in (
            (wanted.pitch, keyboard.pitch, "pitch_back", "pitch_forward"),
            (wanted.roll, keyboard.roll, "roll_right", "roll_left"),
        ):
            if want > max(lever.place, 0.0) + NEAR:
                held.add(more)
            elif want < min(lever.place, 0.0) - NEAR:
                held.add(less)
        return keyboard.sticks(FRAME, held)

    return through


def flown(subject: Subject, skill: Skill, seed: int) -> Record:
    rows = Rows()
    pilot = Human(subject.airframe, subject.field, skill, seed=seed, model=subject.model)
    fly(subject.airframe, subject.field, pilot, SECONDS, seed=seed, record=rows)
    meta = sidecar(subject.airframe, flight_meta(subject.field, launch="hand", pilot="thumbs"))
    return rows.record(columns(subject.airframe), meta)


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    words.add_argument("--pilots", type=int, default=20)
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--flights", action="store_true")
    words.add_argument("--keys", action="store_true")
    chosen = words.parse_args()
    field = load_field(find("fields", "water-meadow"))
    subject = Subject(load_airframe(find("airframes", "pantry")), field)
    steered, random = element(subject), np.random.default_rng(chosen.seed)
    held: dict[str, list[tuple[bool, float]]] = {}
    lost = 0
    for pilot in range(chosen.pilots):
        skill, seed = drawn(random), 7919 * chosen.seed + 11 * pilot
        try:
            if chosen.flights:
                records = [flown(subject, skill, seed + k) for k in range(FLIGHTS)]
                found = in_flight(steered, records)
            else:
                device = keys if chosen.keys else lambda: lambda sticks: sticks
                runs = do_all(subject, steered, skill, seed, device)
                found = measure(steered, runs, chosen.keys)
        except CannotBeMeasured as why:
            lost += 1
            print(f"pilot {pilot}: {why}", flush=True)
            continue
        for name, value in truth(subject, steered, skill).items():
            figure = getattr(found, name, None)
            if figure is not None:
                off = figure.value - value if chosen.flights else figure.value / value - 1.0
                held.setdefault(name, []).append((figure.holds(value), off))
    print(f"{chosen.pilots - lost} of {chosen.pilots} pilots measured")
    how = "off" if chosen.flights else "off, share"
    print(f"{'figure':<24}{'held':>10}{how:>14}{'spread':>10}")
    for name, each in held.items():
        offs = np.array([off for _, off in each])
        count = f"{sum(inside for inside, _ in each)} of {len(each)}"
        print(f"{name:<24}{count:>10}{np.median(offs):>14.3f}{np.median(np.abs(offs)):>10.3f}")


if __name__ == "__main__":
    main()
