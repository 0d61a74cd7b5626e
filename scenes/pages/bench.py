"""The bench: two set-ups, A and B, what is chosen on it, and what it changed in the file. Pure."""

from __future__ import annotations

from firstthrow.scenes.pages.bench_rows import (
    NEW,
    PART,
    Row,
    Setup,
    changed,
    part_names,
    rows,
    rows_beside,
    stepped,
    usual_part,
    value,
    with_ballast,
)
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.edit import Edit, get
from firstthrow.sim.describe.field import STANDARD

FASTER = 5  # steps at once of a coarse change


def edits(before: Airframe, now: Airframe) -> list[Edit]:
    """What the bench changed, for the airframe file; a new part that weighs nothing is none."""
    found: list[Edit] = []
    u = now.units
    for name, item in now.items.items():
        if name not in before.items:
            if item.mass > 0.0:
                found += [
                    Edit(("items", name, "mass"), item.mass, u.masses),
                    Edit(("items", name, "aft"), item.aft, u.lengths),
                ]
                aside = ("right", item.right), ("up", item.up)
                found += [Edit(("items", name, k), at, u.lengths) for k, at in aside if at]
            continue
        found += _differing(before, now, ("items", name, "aft"), u.lengths)
        found += _differing(before, now, ("items", name, "mass"), u.masses)
    for row in rows_beside(Setup(now, STANDARD)):
        if row.path[0] == "airframe":
            found += _differing(before, now, row.path[1:], row.unit)
    return found


def _differing(before: Airframe, now: Airframe, path: tuple[str, ...], unit: str) -> list[Edit]:
    was, is_ = get(before, path), get(now, path)
    return [Edit(path, is_, unit)] if abs(was - is_) > 1e-9 else []


class Bench:
    """Two set-ups and which one is in use; the row and the part that are chosen."""

    def __init__(self, first: Setup, written: Airframe | None = None):
        """`written` is what the file says, where that is not what is flown."""
        self.first = first
        self.written = written or first.airframe
        self.setups = [first, first]
        self.at = 0  # of `setups`
        self.row = 1
        self.balanced: list[tuple[Airframe, float]] = []
        self.part = usual_part(first.airframe)
        if self.part == NEW:
            self.choose_part(NEW)

    def value(self, row: Row, setup: Setup | None = None) -> float:
        """In the row's unit, of the set-up in use; the balance is worked out once for each."""
        setup = setup or self.now
        if row.path != ("cg",):
            return value(setup, row)
        known = [at for airframe, at in self.balanced if airframe is setup.airframe]
        if not known:
            known = [value(setup, row)]
            self.balanced = [*self.balanced[-2:], (setup.airframe, known[0])]
        return known[0]

    @property
    def now(self) -> Setup:
        return self.setups[self.at]

    @property
    def letter(self) -> str:
        return "AB"[self.at]

    @property
    def other(self) -> str:
        return "AB"[1 - self.at]

    @property
    def rows(self) -> list[Row]:
        return rows(self.now, self.part)

    @property
    def chosen(self) -> Row:
        return self.rows[self.row]

    def move(self, way: int) -> None:
        """To the next row or the one before, round and round."""
        self.row = (self.row + way) % len(self.rows)

    def choose_part(self, name: str) -> None:
        if name == NEW:
            self.setups = [with_ballast(setup) for setup in self.setups]
        self.part = name

    def step(self, steps: int) -> None:
        """Changes the chosen row by so many steps."""
        if self.chosen == PART:
            names = part_names(self.now.airframe)
            way = 1 if steps > 0 else -1
            self.choose_part(names[(names.index(self.part) + way) % len(names)])
            return
        self.setups[self.at] = stepped(self.now, self.chosen, self.part, steps)

    def set(self, to: float, row: Row | None = None) -> None:
        """A row, the chosen one if none is said, to the whole step nearest a value."""
        row = row or self.chosen
        if row != PART:
            near = round(to / row.step) * row.step
            self.setups[self.at] = changed(self.now, row, self.part, near)

    def at_first(self, row: Row) -> float | None:
        """What the row was before the bench; None for a part that was not there."""
        if row == PART or (
            row.name in ("place", "mass", "cg") and self.part not in self.first.airframe.items
        ):
            return None
        return self.value(row, self.first)

    def is_changed(self, row: Row) -> bool:
        before = self.at_first(row)
        if before is None:
            return row.name == "mass" and self.value(row) > 0.0
        return abs(before - self.value(row)) > 1e-6

    def back(self) -> None:
        """The chosen row as it was before the bench; the CG by its part's place."""
        row = self.chosen
        if row.name == "cg":
            row = next(r for r in self.rows if r.name == "place")
        before = self.at_first(row)
        if before is not None:
            self.setups[self.at] = changed(self.now, row, self.part, before)
        elif row.name == "mass":
            self.setups[self.at] = changed(self.now, row, self.part, 0.0)

    def swap(self) -> None:
        self.at = 1 - self.at

    def copy(self) -> None:
        """The set-up in use becomes the other one, too."""
        self.setups[1 - self.at] = self.now

    def edits(self) -> list[Edit]:
        return edits(self.written, self.now.airframe)

    def keep(self) -> None:
        """The file says now what is in use."""
        self.written = self.now.airframe
