"""Frozen description of what drives an airframe and moves its surfaces: motors to servos."""

from __future__ import annotations

from pydantic import Field as Key
from pydantic import StrictBool, StrictInt

from firstthrow.sim.describe.described import Described, Placed
from firstthrow.sim.describe.quantities import (
    Angle,
    AngularSpeedPerVolt,
    BladeThickness,
    BladeWidth,
    Capacity,
    Cells,
    CellVoltage,
    Current,
    Delay,
    Fraction,
    Moment,
    PositiveCurrent,
    PositiveThrow,
    PropellerMass,
    PropellerSize,
    Resistance,
    SweepTime,
    Throw,
    Turns,
    Voltage,
)


class Propeller(Described):
    size: PropellerSize = Key(description="(diameter, pitch)")
    blades: StrictInt = Key(default=2, ge=2, le=6)
    blade_width: BladeWidth = Key(description="chord at three quarters of the radius")
    blade_thickness: BladeThickness = Key(description="thickest point of the section there")
    mass: PropellerMass
    turns: Turns = Key("clockwise", description="seen from behind")
    backwards: StrictBool = Key(False, description="fitted back to front")


class Motor(Placed):
    """Motor and propeller; the place is the centre of the propeller disc."""

    kv: AngularSpeedPerVolt
    resistance: Resistance
    no_load_current: Current
    limit: PositiveCurrent
    down: Angle = Key(0.0, description="thrust line tilted down at the front")
    right_tilt: Angle = Key(0.0, description="thrust line turned right at the front")
    leads_swapped: StrictBool = False
    propeller: Propeller


class Pack(Described):
    cells: Cells
    capacity: Capacity
    resistance: Resistance = Key(description="per cell")
    charge: Fraction = 1.0
    limit: PositiveCurrent


class Controller(Described):
    limit: PositiveCurrent = Key(description="its rating: what it carries for long, for each motor")
    burst: PositiveCurrent | None = Key(
        None, description="what it carries for 10 s; a quarter more than its rating when not given"
    )
    limits_current: StrictBool = Key(
        False,
        description="takes off throttle to keep to its rating; most do not, and burn or cut out",
    )
    resistance: Resistance
    cutoff: CellVoltage = Key(description="per cell, under load")
    supply: Voltage = Key(description="to receiver and servos")
    supply_limit: PositiveCurrent


class Servo(Described):
    speed: SweepTime = Key(description="for 60 degrees, unloaded")
    torque: Moment = Key(description="stall")
    travel: PositiveThrow = Key(description="either side of centre at full command")
    dead_band: Throw = 0.0
    slop: Throw = Key(0.0, description="at the arm")
    delay: Delay = 0.0
    idle_current: Current
    stall_current: PositiveCurrent
