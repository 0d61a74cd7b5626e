"""Sizes in the questions of `firstthrow new`: how a sheet is typed, how a default is offered."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from firstthrow.sim.describe.builder_units import Units


class Size(NamedTuple):
    """Span and chord of a sheet [m], and the units that it was given in."""

    span: float
    chord: float
    units: Units

    @property
    def text(self) -> str:
        """As one types it: 1200x600, 24x24in."""
        from firstthrow.sim.units import to_unit

        sides = (self.span, self.chord)
        told = "x".join(f"{self.units.in_lengths(side):.4g}" for side in sides)
        return (
            f"{told}in"
            if self.units.inches
            else "x".join(f"{to_unit(side, 'mm'):.0f}" for side in sides)
        )


def sheet(text: str) -> Size:
    """'1200x600': in mm, and where that is too small in inches. Raises ValueError."""
    from firstthrow.sim.describe.builder_units import METRIC, Units
    from firstthrow.sim.numerals import pair
    from firstthrow.sim.units import LENGTH, read_pair

    for bare in ("mm", "in"):
        span, chord = read_pair(text, bare, "span x chord", "1200x600 mm")
        if 0.1 <= chord <= 3.0 and 0.1 <= span <= 6.0:
            said = pair(text, "span x chord", "1200x600 mm").units[0].strip()
            inches = (LENGTH.spellings.get(said, said) or bare) in ("in", "ft")
            units = Units(lengths="in", masses="oz") if inches else METRIC
            return Size(span, chord, units)
    raise ValueError(f"'{text}': wanted a chord of 0.1 to 3 m, a span of 0.1 to 6 m")


def offered(kind: str, value, units: Units) -> str:
    """A default as the person would write it."""
    from firstthrow.sim import units as known
    from firstthrow.sim.describe.write import quantity_text

    return quantity_text(value, getattr(known, kind), units.unit_of)
