"""Thirteen airframes that every verdict has to stand up to: the four shipped ones and nine others.

The squares and the large slabs were drafted by `firstthrow new` and are thrown faster than an arm
can; the others are shipped airframes with sheets, motors or places changed, as someone builds them
who has not balanced them yet.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from odd import PANTRY

from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.describe.config import find, load_airframe
from firstthrow.sim.describe.edit import put
from firstthrow.sim.describe.sheets import Outline

FILES = Path(__file__).parent / "airframes"
SHIPPED = ("pantry", "pantry-swept", "glasshouse", "allotment")
DRAFTED = ("square-24in", "square-500", "slab-2000x800", "slab-2300x1150")
PUSHER = (
    "motors.motor.aft=385 mm",
    "items.motor.aft=365 mm",
    "items.pack.aft=-60 mm",
    "items.ballast.aft=-110 mm",
    "items.nose_stick.aft=-40 mm",
    "sheets.fin.aft=215 mm",
    "skids.rear.up=-120 mm",
)
CANARD = (
    "sheets.tailplane.aft=-300 mm",
    "sheets.tailplane.incidence=3 deg",
    "items.pack.aft=-230 mm",
)
NAMES = (*SHIPPED, *DRAFTED, "swept-square", "delta", "pusher", "twin", "canard")


def _cut(airframe: Airframe, corners: tuple[tuple[float, float], ...]) -> Airframe:
    """With its slab cut to corners (aft, out) [m]; mass from the material."""
    outline = Outline.model_construct(chord=None, span=None, height=None, corners=corners)
    return put(
        put(airframe, ("sheets", "slab", "outline"), outline), ("sheets", "slab", "mass"), None
    )


def _twin(folder: Path) -> Airframe:
    """Two smaller propellers ahead of the slab, side by side, turning against one another."""
    start, end = PANTRY.index("[motors.motor]"), PANTRY.index("[pack]")
    one = PANTRY[start:end]
    for old, new in (
        ('size = "8x4 in"', 'size = "5x3 in"'),
        ('kv = "850 rpm/V"', 'kv = "1500 rpm/V"'),
        ('mass = "8 g"', 'mass = "4 g"'),
        ('blade_width = "19 mm"', 'blade_width = "12 mm"'),
        ('right_tilt = "1 deg"\n', ""),
    ):
        one = one.replace(old, new)
    pair = ""
    for name, right in (("left", "-140 mm"), ("right", "140 mm")):
        told = one.replace("motors.motor", f"motors.{name}")
        if name == "right":
            told = told.replace('"clockwise"', '"counterclockwise"')
        pair += told.replace('aft = "-90 mm"', f'aft = "-60 mm"\nright = "{right}"', 1)
    path = folder / "twin.toml"
    path.write_text(PANTRY[:start] + pair + PANTRY[end:], encoding="utf-8")
    return load_airframe(path)


@lru_cache
def airframe(name: str, folder: Path) -> Airframe:
    """One of NAMES; `folder`: where a file may be written."""
    if name in SHIPPED:
        return load_airframe(find("airframes", name))
    if name in DRAFTED:
        return load_airframe(FILES / f"{name}.toml")
    if name == "swept-square":
        square = load_airframe(FILES / "square-500.toml")
        return _cut(square, ((0.0, 0.0), (0.15, 0.25), (0.5, 0.25), (0.5, 0.0)))
    if name == "delta":
        pantry = load_airframe(find("airframes", "pantry"))
        return _cut(pantry, ((0.0, 0.0), (0.28, 0.35), (0.35, 0.35), (0.35, 0.0)))
    if name == "twin":
        return _twin(folder)
    base, changes = ("pantry", PUSHER) if name == "pusher" else ("allotment", CANARD)
    return load_airframe(find("airframes", base), list(changes))
