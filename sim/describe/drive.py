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
    Distance,
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
    blades: StrictInt = Key(default=2, ge=2, le=6, description="how many")
    blade_width: BladeWidth = Key(
        description="chord at three quarters of the radius", examples=["19 mm"]
    )
    blade_thickness: BladeThickness = Key(
        description="thickest point of the section there", examples=["2.2 mm"]
    )
    mass: PropellerMass = Key(description="with nut and washer", examples=["8 g"])
    turns: Turns = Key("clockwise", description="seen from behind")
    backwards: StrictBool = Key(False, description="fitted back to front")


class Motor(Placed):
    """Motor and propeller; the place is the centre of the propeller disc."""

    kv: AngularSpeedPerVolt = Key(description="turns with each volt, without load")
    resistance: Resistance = Key(description="of the winding, lead to lead", examples=["110 mohm"])
    no_load_current: Current = Key(
        description="that it draws without a propeller", examples=["0.5 A"]
    )
    limit: PositiveCurrent = Key(description="the most it bears for long")
    down: Angle = Key(0.0, description="thrust line tilted down at the front", examples=["2 deg"])
    right_tilt: Angle = Key(
        0.0, description="thrust line turned right at the front", examples=["1 deg"]
    )
    leads_swapped: StrictBool = Key(
        False, description="two of its three leads exchanged: it turns the other way"
    )
    propeller: Propeller = Key(description="what it turns")


class Pack(Described):
    cells: Cells = Key(description="in series")
    capacity: Capacity = Key(description="when full")
    resistance: Resistance = Key(description="per cell")
    charge: Fraction = Key(1.0, description="how full it is at the launch")
    limit: PositiveCurrent = Key(description="the most it gives for long")


class Controller(Described):
    limit: PositiveCurrent = Key(description="its rating: what it carries for long, for each motor")
    burst: PositiveCurrent | None = Key(
        None,
        description="what it carries for 10 s; a quarter more than its rating when not given",
        examples=["35 A"],
    )
    limits_current: StrictBool = Key(
        False,
        description="takes off throttle to keep to its rating; most do not, and burn or cut out",
    )
    resistance: Resistance = Key(description="from pack to motor", examples=["4 mohm"])
    cutoff: CellVoltage = Key(description="per cell, under load")
    supply: Voltage = Key(description="to receiver and servos", examples=["5 V"])
    supply_limit: PositiveCurrent = Key(
        description="the most it gives to receiver and servos", examples=["3 A"]
    )


class Receiver(Described):
    reach: Distance | None = Key(
        None,
        description="from the pilot, beyond which it hears nothing: servos limp, motor off; "
        "further than one sees when not given",
        examples=["900 m"],
    )


class Servo(Described):
    speed: SweepTime = Key(description="for 60 degrees, unloaded", examples=["0.10 s/60deg"])
    torque: Moment = Key(description="stall")
    travel: PositiveThrow = Key(
        description="either side of centre at full command", examples=["45 deg"]
    )
    dead_band: Throw = Key(
        0.0, description="commands smaller than this are not followed", examples=["0.4 deg"]
    )
    slop: Throw = Key(0.0, description="at the arm", examples=["0.5 deg"])
    delay: Delay = Key(
        0.0, description="from stick to servo, the radio included", examples=["20 ms"]
    )
    idle_current: Current = Key(description="at rest", examples=["8 mA"])
    stall_current: PositiveCurrent = Key(
        description="held fast at full effort", examples=["700 mA"]
    )
