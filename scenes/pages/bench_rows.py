"""What a builder changes between two throws, as rows of values. Pure.

A `Setup` is an airframe with its field. Rows speak in the builder's units; the descriptions stay
in SI.
"""

from __future__ import annotations

from typing import NamedTuple

from firstthrow.sim.build.shape import pieces
from firstthrow.sim.build.sticks import PITCHES, ROLLS, YAWS
from firstthrow.sim.build.weights import balance, parts
from firstthrow.sim.describe.airframe import Airframe, Item
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.edit import get, put
from firstthrow.sim.describe.field import Field
from firstthrow.sim.units import from_unit, grams, mm, to_unit

NEW = "ballast"  # an item that can be had where the file has none of that name
MOST_WIND, MOST_THROW_SPEED = 12.0, 20.0  # [m/s]
MASSES = (400.0, 1600.0, 6400.0, 25600.0)  # [g] ends of a mass's range, the next one above it


class Setup(NamedTuple):
    airframe: Airframe
    field: Field


class Row(NamedTuple):
    """One value that can be changed; `path` leads to it from the set-up, SI."""

    name: str
    words: str
    path: tuple[str, ...]
    unit: str
    step: float  # in the unit, as are the bounds
    least: float
    most: float
    heading: str = ""  # stands above the row
    round_: bool = False  # a bearing: beyond one end comes the other

    @property
    def places(self) -> int:
        return 0 if self.step >= 1.0 else 1


PART = Row("part", "part to move", (), "", 1.0, 0.0, 0.0, "Balance")


def cg(airframe: Airframe) -> float:
    """Aft of the datum [m]."""
    return float(balance(parts(airframe)).place[0])


def part_names(airframe: Airframe) -> tuple[str, ...]:
    """Items that can be moved; ballast may be added."""
    names = tuple(airframe.items)
    return names if NEW in names else (*names, NEW)


def usual_part(airframe: Airframe) -> str:
    """What a builder moves first: the pack, if it is an item."""
    return airframe.pack_item or part_names(airframe)[0]


def extent(airframe: Airframe) -> tuple[float, float]:
    """Foremost and rearmost place of sheets, items and propellers, aft of the datum [m]."""
    aft = [float(x) for piece in pieces(airframe) for x in piece.corners[:, 0]]
    aft += [item.aft for item in airframe.items.values()]
    aft += [motor.aft for motor in airframe.motors.values()]
    return min(aft), max(aft)


def with_ballast(setup: Setup) -> Setup:
    """With an item of that name, weightless at the very front, if there was none."""
    items = setup.airframe.items
    if NEW in items:
        return setup
    item = Item.model_construct(mass=0.0, aft=extent(setup.airframe)[0], known="measured")
    return put(setup, ("airframe", "items"), {**items, NEW: item})


def rows(setup: Setup, part: str) -> list[Row]:
    """All that this airframe lets one change, `part` being the item to be moved."""
    u = setup.airframe.units
    return [PART, *(_in(row, u) for row in _balance(setup, part)), *rows_beside(setup)]


def rows_beside(setup: Setup) -> list[Row]:
    """Those that are the same whichever part is moved."""
    made = (*_surfaces(setup), *_boards(setup), *_mix(setup), *_flying(setup))
    return [_in(row, setup.airframe.units) for row in made]


# A row's unit, the builder's own in its place, and the step that is as fine there.
OWN = {
    ("mm", "in"): {1.0: 0.05, 0.5: 0.02},
    ("g", "oz"): {1.0: 0.05},
    ("m/s", "mph"): {0.5: 1.0},
}


def _in(row: Row, u: Units) -> Row:
    """The row in the builder's units."""
    own = {"mm": u.lengths, "g": u.masses, "m/s": u.speeds}.get(row.unit, row.unit)
    if own == row.unit:
        return row
    step = OWN[row.unit, own][row.step]
    low, high = (
        step * round(to_unit(from_unit(end, row.unit), own) / step) for end in (row.least, row.most)
    )
    return row._replace(unit=own, step=step, least=low, most=high)


def _balance(setup: Setup, part: str) -> list[Row]:
    front, rear = (mm(x) for x in extent(setup.airframe))
    item = ("airframe", "items", part)
    mass = grams(get(setup, (*item, "mass")))
    most = next((m for m in MASSES if mass < m), mass)
    return [
        Row(
            "place",
            f"{spoken(part)}, aft",
            (*item, "aft"),
            "mm",
            1.0,
            round(front) - 50.0,
            round(rear) + 50.0,
        ),
        Row("mass", f"{spoken(part)}, mass", (*item, "mass"), "g", 1.0, 0.0, most),
        Row(
            "cg", f"CG, by moving the {spoken(part)}", ("cg",), "mm", 1.0, round(front), round(rear)
        ),
    ]


def _surfaces(setup: Setup) -> list[Row]:
    airframe = setup.airframe
    made = []
    mixing = ("airframe", "mixing")
    if _most(airframe, PITCHES):
        made.append(Row("reflex", "reflex", (*mixing, "reflex"), "deg", 0.1, -15.0, 15.0))
    if _most(airframe, ROLLS):
        made.append(Row("roll_trim", "roll trim", (*mixing, "roll_trim"), "deg", 0.05, -8.0, 8.0))
    if _most(airframe, YAWS):
        made.append(Row("yaw_trim", "yaw trim", (*mixing, "yaw_trim"), "deg", 0.1, -10.0, 10.0))
    for rate in ("high", "low"):
        for axis, most in _axes(airframe):
            made.append(
                Row(
                    f"{rate}_{axis}",
                    f"{axis} throw, {rate} rates",
                    (*mixing, rate, axis),
                    "deg",
                    0.5,
                    0.0,
                    most,
                )
            )
    for axis, _ in _axes(airframe):
        made.append(
            Row(f"expo_{axis}", f"{axis} expo", (*mixing, "expo", axis), "%", 5.0, -50.0, 100.0)
        )
    if made:
        made[0] = made[0]._replace(heading="Surfaces")
    return made


def _boards(setup: Setup) -> list[Row]:
    """How far the flat sheets are from flat."""
    made = []
    for name, sheet in setup.airframe.sheets.items():
        if sheet.stance != "flat":
            continue
        path, words = ("airframe", "sheets", name), spoken(name)
        made += [
            Row(f"{name}_bow", f"{words}, bow", (*path, "bow"), "mm", 0.5, -20.0, 20.0),
            Row(f"{name}_left", f"{words}, left tip", (*path, "twist_left"), "deg", 0.1, -6.0, 6.0),
            Row(
                f"{name}_right",
                f"{words}, right tip",
                (*path, "twist_right"),
                "deg",
                0.1,
                -6.0,
                6.0,
            ),
        ]
    if made:
        made[0] = made[0]._replace(heading="Boards: hollow up, nose up")
    return made


def _mix(setup: Setup) -> list[Row]:
    airframe, mixing = setup.airframe, ("airframe", "mixing")
    roles = _roles(airframe)
    made = []
    if _most(airframe, ROLLS):
        made.append(
            Row("differential", "differential", (*mixing, "differential"), "%", 5.0, 0.0, 100.0)
        )
    if "rudder" in roles:
        made.append(
            Row(
                "roll_to_yaw",
                "roll stick to rudder",
                (*mixing, "roll_to_yaw"),
                "%",
                5.0,
                0.0,
                100.0,
            )
        )
    if "flaperon" in roles:
        made.append(Row("droop", "droop", (*mixing, "droop"), "deg", 0.5, 0.0, 30.0))
    if len(airframe.motors) > 1:
        made.append(
            Row(
                "yaw_to_throttle",
                "yaw stick to motors",
                (*mixing, "yaw_to_throttle"),
                "%",
                5.0,
                0.0,
                100.0,
            )
        )
    for name, line in airframe.mixing.also.items():
        key, unit, step, most = (
            ("share", "%", 1.0, 100.0)
            if line.moves in airframe.motors
            else ("angle", "deg", 0.5, 30.0)
        )
        made.append(
            Row(
                f"also_{name}",
                f"mix {spoken(name)}",
                (*mixing, "also", name, key),
                unit,
                step,
                -most,
                most,
            )
        )
    if made:
        made[0] = made[0]._replace(heading="Mix")
    return made


def _flying(setup: Setup) -> list[Row]:
    wind, launch = ("field", "wind"), ("airframe", "launch")
    high = setup.airframe.units.distance(10.0)
    made = [
        Row(
            "wind",
            f"wind at {high}",
            (*wind, "speed"),
            "m/s",
            0.5,
            0.0,
            MOST_WIND,
            "Wind and launch",
        ),
        Row("wind_from", "wind from", (*wind, "from_bearing"), "deg", 5.0, 0.0, 355.0, "", True),
    ]
    if setup.airframe.launch.hand is not None:
        made += [
            Row(
                "throw_speed",
                "throw, speed",
                (*launch, "hand", "speed"),
                "m/s",
                0.5,
                0.0,
                MOST_THROW_SPEED,
            ),
            Row(
                "throw_throttle",
                "throw, throttle",
                (*launch, "hand", "throttle"),
                "%",
                1.0,
                0.0,
                100.0,
            ),
        ]
    if setup.airframe.launch.ground is not None:
        made.append(
            Row(
                "ground_throttle",
                "ground roll, throttle",
                (*launch, "ground", "throttle"),
                "%",
                1.0,
                0.0,
                100.0,
            )
        )
    return made


def _roles(airframe: Airframe) -> set[str]:
    return {s.role for sheet in airframe.sheets.values() for s in sheet.surfaces.values()}


def _most(airframe: Airframe, roles: tuple[str, ...]) -> float:
    """Furthest that a surface of these roles goes [deg]; 0 when there is none."""
    found = [
        s.travel
        for sheet in airframe.sheets.values()
        for s in sheet.surfaces.values()
        if s.role in roles
    ]
    return round(to_unit(max(found), "deg"), 1) if found else 0.0


def _axes(airframe: Airframe) -> list[tuple[str, float]]:
    kinds = (("pitch", PITCHES), ("roll", ROLLS), ("yaw", YAWS))
    found = [(axis, _most(airframe, roles)) for axis, roles in kinds]
    return [(axis, most) for axis, most in found if most > 0.0]


def spoken(name: str) -> str:
    return name.replace("_", " ")


def value(setup: Setup, row: Row) -> float:
    """In the row's unit."""
    if row.path == ("cg",):
        return to_unit(cg(setup.airframe), row.unit)
    return to_unit(get(setup, row.path), row.unit)


def changed(setup: Setup, row: Row, part: str, to: float) -> Setup:
    """The set-up with the row at a value in its unit, within its bounds.

    The centre of gravity is brought there by the part; it stays where a weightless part, or one
    at its own bounds, cannot bring it.
    """
    span = row.most - row.least
    to = to % 360.0 if row.round_ else min(row.most, max(row.least, to))
    if not span:
        return setup
    if row.path != ("cg",):
        return put(setup, row.path, from_unit(round(to, 6), row.unit))
    airframe = setup.airframe
    item = airframe.items[part]
    if not item.mass > 0.0:
        return setup
    now = balance(parts(airframe))
    shift = (from_unit(to, row.unit) - float(now.place[0])) * now.mass / item.mass
    place = next(r for r in rows(setup, part) if r.name == "place")
    digits = 1 if place.unit == "mm" else 3
    return changed(setup, place, part, round(to_unit(item.aft + shift, place.unit), digits))


def stepped(setup: Setup, row: Row, part: str, steps: int) -> Setup:
    """So many steps up or down, from the nearest whole step."""
    now = value(setup, row)
    near = round(now / row.step + 1e-9)
    return changed(setup, row, part, (near + steps) * row.step)


def said(row: Row, at: float) -> str:
    """A value in the row's unit, in words."""
    number = f"{at:.{2 if row.step < 0.1 else row.places}f}"
    number = number if float(number) else number.removeprefix("-")
    return f"{number}{'°' if row.unit == 'deg' else f' {row.unit}'}"
