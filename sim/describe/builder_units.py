"""The builder's own units: which a file is written in, and any quantity written in them.

Lengths in millimetres or inches, masses in grams or ounces, each as most of the file has it; all
else follows one of the two, so that a page never mixes them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

from pydantic import Field as Key

from firstthrow.sim.describe.described import Described
from firstthrow.sim.describe.keys import annotation_of, children, listed, mapped, model_of
from firstthrow.sim.describe.keys import quantity_kind as kind_of
from firstthrow.sim.numerals import split
from firstthrow.sim.units import INCH, LENGTH, MASS, Kind, g_dm2, grams, kgf, to_unit

INCHES = ("in", "ft")
OUNCES = ("oz", "lb")


class Scale(NamedTuple):
    """How values in an SI unit are written along an axis or below a heading."""

    unit: str
    factor: float  # a value in SI times it is one in the unit


class Units(Described):
    """What answers for people are written in; JSON, CSV and records are SI whatever it says."""

    lengths: Literal["mm", "in"] = Key(
        "mm", description="small lengths; speeds and distances go with them"
    )
    masses: Literal["g", "oz"] = Key("g", description="masses; forces and moments go with them")

    @property
    def inches(self) -> bool:
        return self.lengths == "in"

    @property
    def ounces(self) -> bool:
        return self.masses == "oz"

    @property
    def speeds(self) -> str:
        return "mph" if self.inches else "m/s"

    @property
    def distances(self) -> str:
        """Over the field."""
        return "ft" if self.inches else "m"

    @property
    def moments(self) -> str:
        return "oz in" if self.ounces else "N m"

    @property
    def torques(self) -> str:
        """Of servos, as their makers print it."""
        return "oz in" if self.ounces else "kgcm"

    def in_lengths(self, metres: float) -> float:
        return to_unit(metres, self.lengths)

    def in_speeds(self, m_s: float) -> float:
        return to_unit(m_s, self.speeds)

    def length(self, metres: float, digits: int = 0, sign: str = "") -> str:
        """`digits` of a millimetre; of an inch two more, or one where that is a hundredth."""
        return f"{self.bare_length(metres, digits, sign)} {self.lengths}"

    def bare_length(self, metres: float, digits: int = 0, sign: str = "") -> str:
        digits = max(2, digits + 1) if self.inches else digits
        return _figure(self.in_lengths(metres), digits, sign)

    def distance(self, metres: float, digits: int = 0) -> str:
        figure = to_unit(metres, self.distances)
        return f"{_figure(figure, max(0, digits - self.inches))} {self.distances}"

    def mass(self, kilograms: float, digits: int = 0, sign: str = "") -> str:
        """`digits` of a gram; of an ounce two, or one from ten ounces on."""
        figure = to_unit(kilograms, self.masses)
        if self.ounces:
            digits = 1 if abs(figure) >= 9.995 and not digits else 2
        return f"{_figure(figure, digits, sign)} {self.masses}"

    def speed(self, m_s: float, digits: int = 1) -> str:
        return f"{self.bare_speed(m_s, digits)} {self.speeds}"

    def bare_speed(self, m_s: float, digits: int = 1) -> str:
        return _figure(self.in_speeds(m_s), digits)

    def throw(self, m_s: float) -> str:
        """A speed that an arm gives: in feet a second as well, where miles an hour say little."""
        told = self.speed(m_s)
        return f"{told} ({to_unit(m_s, 'ft/s'):.0f} ft/s)" if self.inches else told

    def force(self, newtons: float, digits: int = 1) -> str:
        if self.ounces:
            return f"{_figure(to_unit(newtons, 'ozf'), digits)} oz"
        return f"{_figure(newtons, digits)} N"

    def pull(self, newtons: float) -> str:
        """Thrust as the scale shows it that it pulls."""
        if self.ounces:
            return f"{_figure(to_unit(newtons, 'ozf'), 1)} oz"
        return f"{_figure(to_unit(newtons, 'gf'), 0)} gf"

    def moment(self, newton_metres: float, digits: int = 1) -> str:
        digits = max(0, digits - 1) if self.ounces else digits
        return f"{_figure(to_unit(newton_metres, self.moments), digits)} {self.moments}"

    def torque(self, newton_metres: float, digits: int = 1) -> str:
        return f"{self.bare_torque(newton_metres, digits)} {self.torques}"

    def bare_torque(self, newton_metres: float, digits: int = 1) -> str:
        return _figure(to_unit(newton_metres, self.torques), digits)

    def loading(self, kg_m2: float) -> str:
        if self.ounces:
            return f"{to_unit(kg_m2, 'oz') * to_unit(1.0, 'ft') ** -2:.1f} oz/ft2"
        return f"{g_dm2(kg_m2):.1f} g/dm2"

    def inertia(self, kg_m2: float) -> str:
        """The figure alone."""
        return f"{to_unit(kg_m2, 'oz') / INCH**2:.0f}" if self.ounces else f"{grams(kg_m2):.2f}"

    @property
    def inertias(self) -> str:
        return "oz in2" if self.ounces else "g m2"

    def lifted(self, newtons: float) -> str:
        """A thrust as the mass that it lifts."""
        return self.pull(newtons) if self.ounces else f"{kgf(newtons):.2f} kg"

    def scale(self, unit: str) -> Scale:
        """Of an SI unit; one that the builder reads anyway stays as it is."""
        shown = {
            "m": self.lengths,
            "kg": self.masses,
            "m/s": self.speeds,
            "N": "ozf" if self.ounces else "N",
        }.get(unit, unit)
        return Scale(shown.removesuffix("f"), 1.0 if shown == unit else to_unit(1.0, shown))

    @property
    def over_field(self) -> Scale:
        """Of heights flown and distances [m]."""
        return Scale(self.distances, to_unit(1.0, self.distances))

    @property
    def pulls(self) -> Scale:
        """Of thrust [N], as the scale shows it that it pulls."""
        return Scale("oz" if self.ounces else "gf", to_unit(1.0, "ozf" if self.ounces else "gf"))

    def unit_of(self, kind: Kind) -> str:
        """The unit in which a file of these units has a kind of quantity."""
        if kind is LENGTH:
            return self.lengths
        return self.masses if kind is MASS else kind.usual


METRIC = Units()


def units_of(model: Any, tree: dict[str, Any]) -> dict[str, str]:
    """As most of a file's lengths and masses are written."""
    found = Counter(_spoken(model, tree))
    inches, millimetres = found["in"], found["mm"]
    ounces, grams = found["oz"], found["g"]
    return {
        "lengths": "in" if inches > millimetres else "mm",
        "masses": "oz" if ounces > grams else "g",
    }


def _spoken(kind: Any, value: Any) -> Iterator[str]:
    """For each length and mass below, whose it is: in, mm, oz or g."""
    inner, entries = model_of(kind), mapped(kind)
    if isinstance(value, dict):
        known = children(kind)
        for key, part in value.items():
            below = annotation_of(inner, key) if inner and key in known else entries
            if below is not None:
                yield from _spoken(below, part)
    elif isinstance(value, list) and kind is not None:
        try:
            kinds = listed(kind, len(value))
        except (IndexError, TypeError):
            return
        for below, part in zip(kinds, value, strict=False):
            yield from _spoken(below, part)
    elif isinstance(value, str) and kind_of(kind) in (LENGTH, MASS):
        yield from _family(value, kind_of(kind))


def _family(text: str, kind: Kind | None) -> Iterator[str]:
    """Nothing for what cannot be read, or is nought in any unit."""
    assert kind is not None
    try:
        number, unit = split(text, kind.example)
    except ValueError:
        return
    unit = kind.spellings.get(unit, unit)
    if number == 0.0 or unit not in kind.units:
        return
    if kind is LENGTH:
        yield "in" if unit in INCHES else "mm"
    else:
        yield "oz" if unit in OUNCES else "g"


def _figure(value: float, digits: int, sign: str = "") -> str:
    """Without a minus before nothing."""
    return f"{round(value, digits) + 0.0:{sign}.{digits}f}"
