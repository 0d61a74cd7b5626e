"""What is uncertain about a real airframe, how unsure, and the airframe with other values of it.

A flight feels where the balance lies against the neutral point, not the two apart: the CG here
stands for their distance, and its spread holds both. Spreads are those of `build.unknowns`.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot, radians, sqrt
from typing import NamedTuple

from firstthrow.sim.build.model import VARIANT, Model
from firstthrow.sim.build.moved import rebalanced
from firstthrow.sim.build.shape import main_name
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.build.unknown_kinds import What
from firstthrow.sim.build.unknowns import spread_of
from firstthrow.sim.build.warp import fill_warp, warped
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.notes import Ballast, Notes
from firstthrow.sim.study.spreads import cg_spread, drag_spread, effect_spread, neutral_spread
from firstthrow.sim.study.subject import Subject

WORDS = {
    "cg": ("CG, aft", "mm"),
    "reflex": ("reflex, acts up", "deg"),
    "bow": ("bow, hollow up", "mm"),
    "twist": ("twist, right tip up", "deg"),
    "effect": ("effect of surfaces", "%"),
    "thrust_down": ("thrust line, down", "deg"),
    "thrust_right": ("thrust line, right", "deg"),
    "propeller": ("propeller strength", "%"),
    "drag": ("drag", "%"),
}
SCALES = {"mm": 1e-3, "deg": radians(1.0), "%": 0.01}


class Quantity(NamedTuple):
    """One that is fitted, as an offset from the file; `spread` is its standard deviation, SI."""

    name: str
    spread: float


def quantities(airframe: Airframe, notes: Notes) -> tuple[Quantity, ...]:
    """What may be off on this airframe."""
    subject = Subject(airframe)
    usual = {
        "cg": hypot(float(cg_spread(subject)[0]), neutral_spread(subject).total),
        "reflex": _of_all(subject, What.NEUTRAL, PITCHES),
    }
    name = main_name(airframe)
    if name is not None:
        usual["bow"] = spread_of(subject.unknowns, What.BOW, name)
        # Twist of both tips alike does what reflex does; what is left is one against the other.
        usual["twist"] = sqrt(0.5) * spread_of(subject.unknowns, What.TWIST_RIGHT, name)
    usual |= {
        "effect": effect_spread(subject),
        "thrust_down": _widest(subject, What.THRUST_DOWN),
        "thrust_right": _widest(subject, What.THRUST_RIGHT),
        "propeller": _widest(subject, What.THRUST),
        "drag": drag_spread(subject),
    }
    names = [n for n in usual if usual[n] > 0.0]
    return tuple(Quantity(n, getattr(notes.spreads, n) or usual[n]) for n in names)


def _widest(subject: Subject, what: What) -> float:
    """The largest spread of a kind, what is alike in all of them; none where there is none."""
    return max((row.spread for row in subject.unknowns if row.what is what), default=0.0)


def _of_all(subject: Subject, what: What, roles: tuple[str, ...]) -> float:
    """Spread of the mean over the surfaces of these roles."""
    count = sum(span.role in roles for span in subject.surfaces)
    return _widest(subject, what) / sqrt(count) if count else 0.0


def new_ballast(airframe: Airframe, notes: Notes) -> dict[str, Ballast]:
    """Ballast of the notes that the file does not have yet, by a name that is free."""
    found = {}
    for name, lump in notes.ballast.items():
        item = airframe.items.get(name)
        if item is None:
            found[name] = lump
        elif abs(item.mass - lump.mass) > 1e-6 or abs(item.aft - lump.aft) > 1e-6:
            found[f"{name}_added"] = lump
    return found


def with_ballast(airframe: Airframe, notes: Notes) -> Airframe:
    """As it flew: with the ballast that the notes say was added, as measured items."""
    items = dict(airframe.items)
    for key, lump in new_ballast(airframe, notes).items():
        items[key] = Item.model_construct(
            mass=lump.mass, aft=lump.aft, right=lump.right, up=lump.up, known="measured"
        )
    return airframe.model_copy(update={"items": items})


def corrected(airframe: Airframe, off: Mapping[str, float]) -> Airframe:
    """The airframe with each named quantity off by so much from its file, SI."""
    known = airframe.corrections
    corrections = known.model_copy(
        update={
            "balance": known.balance + off.get("cg", 0.0),
            "reflex": known.reflex + off.get("reflex", 0.0),
            "effect": known.effect + off.get("effect", 0.0),
            "propeller": known.propeller + off.get("propeller", 0.0),
            "drag": known.drag + off.get("drag", 0.0),
        }
    )
    down, right = off.get("thrust_down", 0.0), off.get("thrust_right", 0.0)
    motors = {
        name: motor.model_copy(
            update={"down": motor.down + down, "right_tilt": motor.right_tilt + right}
        )
        for name, motor in airframe.motors.items()
    }
    sheets, name = dict(airframe.sheets), main_name(airframe)
    bow, twist = off.get("bow", 0.0), off.get("twist", 0.0)
    if name is not None and (bow or twist):
        sheets[name] = warped(sheets[name], bow, -twist, twist)
    changed = {"corrections": corrections, "motors": motors, "sheets": sheets}
    return airframe.model_copy(update=changed)


class Believed:
    """Models of an airframe with other values of its uncertain quantities, quickly.

    Only a turned thrust line needs the air worked out anew; all else are small changes of a copy.
    `subject` is the airframe as its file says.
    """

    def __init__(self, airframe: Airframe) -> None:
        self.airframe, self.subject = airframe, Subject(airframe)
        self._turned = {(0.0, 0.0): self.subject}

    def model(self, off: Mapping[str, float]) -> tuple[Airframe, Model]:
        now = corrected(self.airframe, off)
        key = (off.get("thrust_down", 0.0), off.get("thrust_right", 0.0))
        if key not in self._turned:
            turned = {"thrust_down": key[0], "thrust_right": key[1]}
            self._turned[key] = Subject(corrected(self.airframe, turned), kept_as=VARIANT)
        model = rebalanced(self._turned[key].model, balance(parts(now)))
        fill_warp(model.record, now, model.strips)
        base = self.airframe.corrections
        for drag in (model.record.strip_drag, model.record.fitting_drag):
            drag *= now.corrections.drag / base.drag
        model.record.surface_effect[:] *= now.corrections.effect / base.effect
        model.record.mix_trim[1] += now.corrections.reflex - base.reflex
        propellers = model.body.propellers * (now.corrections.propeller / base.propeller)
        return now, model.with_body(model.record, propellers)
