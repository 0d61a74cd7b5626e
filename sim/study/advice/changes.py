"""What a builder can change: each way worked out in size, applied to the description, and priced.

The work of each is our assumption: minutes at the bench for someone with the tools at hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import degrees, radians
from typing import Any, NamedTuple

from firstthrow.sim.build.scaled import main_size
from firstthrow.sim.describe.airframe import (
    Airframe,
    GroundLaunch,
    HandLaunch,
    LaunchKind,
    Skid,
    Wheel,
)
from firstthrow.sim.describe.builder_units import Units
from firstthrow.sim.describe.edit import put
from firstthrow.sim.study.alternatives import alternatives
from firstthrow.sim.study.ballast import NAME, NoBallast, at_place, lump, usual_place, with_item
from firstthrow.sim.study.fit_out import reflexed, strengthened
from firstthrow.sim.study.margin import NOTHING
from firstthrow.sim.study.odds.arm import RUN, arm_speed
from firstthrow.sim.study.places import Place, place_words
from firstthrow.sim.study.servos import ENOUGH
from firstthrow.sim.study.subject import Subject
from firstthrow.sim.study.throws import Throws
from firstthrow.sim.units import from_unit, to_unit

TRANSMITTER, BALLAST, PACK, LINKAGE, SERVO, SPAR, CUT, NOSE, WHEELS, PROPELLER, LIGHTER = (
    3.0,
    10.0,
    10.0,
    15.0,
    30.0,
    60.0,
    60.0,
    90.0,
    180.0,
    5.0,
    120.0,
)  # [min]
WORK = {
    "move_pack": PACK,
    "lighter_surfaces": LIGHTER,
    "longer_nose": NOSE,
    "cut_leading_edge": CUT,
}
THROTTLES = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
PITCHES = (4.0, 8.0, 12.0)  # of the throw [deg]
MARGINS = (0.03, -0.03)  # more and less static margin than now
MORE_THROW = (1.25, 1.5)
MOST_THROW = radians(30.0)
WHEEL = 0.05  # of the span: a wheel's diameter; each stands three times that from the middle
AHEAD = 0.2  # of the chord, the wheels ahead of the balance
REST, BREAKS_AT = 0.008, 3.2  # how far the weight presses one leg down [m]; [m/s]


class Change(NamedTuple):
    """A change and the airframe with it; no text for what is only set, see `settings`."""

    text: str
    work: float  # [min]
    airframe: Airframe
    place: Place | None = None  # of what is added, to be drawn
    balances: bool = False  # by ballast or pack
    rebalances: bool = False  # in place of what did so before it


def ballasted(now: Subject, margin: float) -> Iterator[Change]:
    """Easy ways to a static margin: ballast at either end, the pack moved."""
    where = usual_place(now, margin)
    try:
        added = at_place(now, margin, where)
    except NoBallast:
        added = None
    if added is not None and abs(added.mass) > NOTHING:
        verb = "put" if added.mass > 0.0 else "take off"
        mass = now.airframe.units.mass(abs(added.mass))
        text = f"{verb} {mass} at the {where.replace('_', ' ')}"
        text += f", {place_words(now.airframe, added.place)}"
        yield Change(text, BALLAST, added.after.airframe, added.place, balances=True)
    for change in _others(now, margin, where, ("move_pack",)):
        yield change._replace(balances=True)


def rebalanced(now: Subject, margin: float, before: Airframe) -> Iterator[Change]:
    """The same with ballast and pack first put back to where they were in `before`: what is told
    is the whole of it, and takes the place of what was told of ballast and pack."""
    items = {
        name: before.items[name] if name == now.airframe.pack_item else item
        for name, item in now.airframe.items.items()
        if name in before.items or not name.startswith(NAME)
    }
    put_back = now.changed(now.airframe.model_copy(update={"items": items}))
    for change in ballasted(put_back, margin):
        yield change._replace(rebalances=True)


def rebuilt(now: Subject, margin: float) -> Iterator[Change]:
    """The other ways to a static margin: lighter surfaces, a longer nose, a cut leading edge."""
    end = "nose" if margin > now.margin else "tail"
    yield from _others(now, margin, end, [name for name in WORK if name != "move_pack"])


def _others(now: Subject, margin: float, at: str, names: Iterable[str]) -> Iterator[Change]:
    for other in alternatives(now, margin, at, names):
        if other.reaches:
            work = WORK[other.name] + (BALLAST if other.needs else 0.0)
            yield Change(other.words, work, other.after.airframe, other.place)


def thrown_by_an_arm(now: Subject) -> Iterator[Change]:
    """As fast as an arm throws it, standing, and from a run."""
    hand = now.airframe.launch.hand
    if hand is None:
        return
    for run in (0.0, RUN):
        speed = int(10.0 * (arm_speed(now.mass) + run)) / 10.0
        if abs(speed - hand.speed) < 0.2:
            continue
        after = hand.model_copy(update={"speed": speed, "run": run})
        launch = now.airframe.launch.model_copy(update={"hand": after})
        yield Change("", 0.0, now.airframe.model_copy(update={"launch": launch}))


def launched_otherwise(
    now: Subject, throttle_limit: float | None, before: Airframe
) -> Iterator[Change]:
    """Throttle at the release, nose of the throw, reflex, elevator throw, balance; `before`: the
    airframe before it was balanced."""
    airframe = now.airframe
    thrown, ground = airframe.launch.thrown, airframe.launch.ground
    key = "hand" if thrown else "ground"
    has = thrown.throttle if thrown else ground.throttle if ground else 0.0
    for throttle in THROTTLES if airframe.motors else ():
        if throttle <= (throttle_limit or 1.0) + 1e-3 and abs(throttle - has) > 0.04:
            yield Change("", 0.0, put(airframe, ("launch", key, "throttle"), throttle))
    if thrown:
        for nose in PITCHES:
            if abs(radians(nose) - thrown.pitch) > radians(1.5):
                yield Change("", 0.0, put(airframe, ("launch", "hand", "pitch"), radians(nose)))
    level = reflexed(now)
    if abs(level.mixing.reflex - airframe.mixing.reflex) > radians(0.3):
        yield Change("", TRANSMITTER, level)
    yield from more_throw(now)
    for more in MARGINS:
        yield from rebalanced(now, now.margin + more, before)


def more_throw(now: Subject) -> Iterator[Change]:
    had = now.airframe.mixing.high.pitch
    for times in MORE_THROW:
        throw = min(MOST_THROW, times * had)
        if throw > had + radians(1.0):
            changed = put(now.airframe, ("mixing", "high", "pitch"), throw)
            yield Change("", TRANSMITTER, changed)


def settings(before: Airframe, after: Airframe) -> Iterator[str]:
    """What is set otherwise at the transmitter or in the throw, in words."""
    one, other = before.mixing, after.mixing
    for what, was, now in (
        ("reflex", one.reflex, other.reflex),
        ("elevator throw", one.high.pitch, other.high.pitch),
    ):
        if abs(was - now) > 1e-9:
            yield f"{degrees(now):.3g} deg of {what} (now {degrees(was):.3g})"
    if after.launch.kind != before.launch.kind:
        return
    if after.launch.kind == LaunchKind.GROUND:
        throttles = before.launch.from_ground.throttle, after.launch.from_ground.throttle
    else:
        throttles = before.launch.by_hand.throttle, after.launch.by_hand.throttle
        yield from _throw(before.launch.by_hand, after.launch.by_hand, after.units)
    was, now = throttles
    if abs(was - now) > 1e-9:
        yield f"launch with {100.0 * now:.0f} % throttle (now {100.0 * was:.0f} %)"


def _throw(was: HandLaunch, now: HandLaunch, units: Units) -> Iterator[str]:
    if abs(was.speed - now.speed) > 1e-9 or abs(was.run - now.run) > 1e-9:
        from_run = f", {units.throw(now.run)} of it by running (launch.hand.run)" if now.run else ""
        yield f"throw it at {units.throw(now.speed)}{from_run} (planned {units.throw(was.speed)})"
    if abs(was.pitch - now.pitch) > 1e-9:
        up = degrees(now.pitch), degrees(was.pitch)
        yield f"throw it with the nose {up[0]:.0f} deg up (planned {up[1]:.0f})"


def on_wheels(now: Subject, throttle_limit: float | None) -> Iterator[Change]:
    """Two main wheels ahead of the balance and a skid under the tail, for what no arm throws.

    Each wheel of a twentieth of the span and of the mass of a foam wheel with its wire, our
    assumption; the propeller clears the ground by half its radius.
    """
    airframe = now.airframe
    if airframe.launch.kind == LaunchKind.GROUND or airframe.wheels or not airframe.motors:
        return
    span, chord = main_size(airframe)
    disc = max(0.5 * motor.propeller.size[0] for motor in airframe.motors.values())
    radius, low = 0.5 * WHEEL * span, -1.5 * disc
    leg: dict[str, Any] = {
        "stiffness": now.weight / REST,
        "breaks_at": BREAKS_AT,
        "wire": 0.04 * radius,
        "wire_length": None,
    }
    wheel = Wheel.model_construct(
        aft=now.cg - AHEAD * chord,
        right=3.0 * WHEEL * span,
        up=low,
        mirrored=True,
        radius=radius,
        width=None,
        steers=False,
        rolling=0.06,
        friction=0.6,
        **leg,
    )
    trail = max(float(piece.corners[:, 0].max()) for piece in now.pieces)
    tail = Skid.model_construct(
        aft=trail, right=0.0, up=0.37 * low, mirrored=False, friction=0.35, **leg
    )
    each = 0.02 * now.mass
    fitted = airframe.model_copy(update={"wheels": {"main": wheel}, "skids": {"tail": tail}})
    for name, side in (("wheel_right", 1.0), ("wheel_left", -1.0)):
        at = (wheel.aft, side * wheel.right, low + radius)
        fitted = with_item(fitted, name, lump(each, at))
    throttle = min(1.0, throttle_limit or 1.0)
    launch = airframe.launch.model_copy(
        update={
            "kind": LaunchKind.GROUND,
            "ground": GroundLaunch.model_construct(throttle=throttle),
        }
    )
    u = airframe.units
    text = f"take off from two wheels of {u.length(2.0 * radius)}, {u.length(abs(wheel.aft))} "
    text += f"{'behind' if wheel.aft > 0.0 else 'ahead of'} the datum"
    yield Change(text, WHEELS, fitted.model_copy(update={"launch": launch}))


def stronger(now: Subject) -> Iterator[Change]:
    after, words = strengthened(now.airframe)
    if words:
        yield Change(f"let in {words}", SPAR, after)


def gentler_drive(now: Subject, throttle_limit: float | None) -> Iterator[Change]:
    """Less throttle at the launch, smaller propellers."""
    airframe = now.airframe
    kind = "hand" if airframe.launch.kind == LaunchKind.HAND else "ground"
    plan = getattr(airframe.launch, kind)
    if throttle_limit and plan is not None and plan.throttle > throttle_limit:
        to = int(100.0 * throttle_limit) / 100.0
        yield Change("", 0.0, put(airframe, ("launch", kind, "throttle"), to))
    for less in (1.0, 2.0, 3.0):
        motors, text = {}, ""
        for name, motor in airframe.motors.items():
            inches = [to_unit(size, "in") for size in motor.propeller.size]
            size = max(3.0, inches[0] - less)
            times = size / inches[0]
            blade = motor.propeller.model_copy(
                update={
                    "size": (from_unit(size, "in"), motor.propeller.size[1]),
                    "mass": motor.propeller.mass * times**3,
                    "blade_width": motor.propeller.blade_width * times,
                }
            )
            motors[name] = motor.model_copy(update={"propeller": blade})
            text = f"a propeller of {size:.3g}x{inches[1]:.3g} in instead of "
            text += f"{inches[0]:.3g}x{inches[1]:.3g} in"
        if motors:
            yield Change(text, PROPELLER, airframe.model_copy(update={"motors": motors}))


def stronger_servos(now: Subject, found: Throws | None) -> Iterator[Change]:
    """Servos of twice the torque that the worst moment asks, heavier by the two thirds power."""
    if found is None:
        return
    airframe = now.airframe
    wanted: dict[str, float] = {}
    for row, span in zip(found.surfaces, now.surfaces, strict=True):
        servo = airframe.servos[span.described.servo]
        share = row.servo.torque_available_N_m / servo.torque
        needed = ENOUGH * max(row.servo.torque_needed_N_m.values()) / share
        wanted[span.described.servo] = max(wanted.get(span.described.servo, 0.0), needed)
    changed, texts, times = dict(airframe.servos), [], 1.0
    for name, torque in wanted.items():
        had = airframe.servos[name].torque
        if torque > had:
            times = max(times, torque / had)
            changed[name] = airframe.servos[name].model_copy(update={"torque": torque})
            u = airframe.units
            texts.append(f"{name} servos of {u.torque(torque)} instead of {u.torque(had)}")
    if texts:
        items = {
            name: item.model_copy(update={"mass": item.mass * times ** (2.0 / 3.0)})
            if name.startswith("servo")
            else item
            for name, item in airframe.items.items()
        }
        after = airframe.model_copy(update={"servos": changed, "items": items})
        yield Change("; ".join(texts), SERVO, after)


def other_holes(now: Subject, found: Throws | None) -> Iterator[Change]:
    """Where a linkage locks before the throw that is asked: a shorter horn on the same arm, or
    the holes that `surfaces` names."""
    if found is None:
        return
    rows = zip(found.surfaces, now.surfaces, strict=True)
    locked = [(row.linkage, on) for row, on in rows if row.linkage.servo_for_throw_deg is None]
    airframe, u = now.airframe, now.airframe.units
    mark = from_unit(0.01, "in") if u.inches else from_unit(1.0, "mm")
    shorter = [
        (facts.arm_m, mark * int((facts.horn_by_sine_rule_m or 0.0) / mark)) for facts, _ in locked
    ]  # down to a mark: what is told reaches
    for holes in (shorter, [facts.full_travel_holes_m for facts, _ in locked]):
        changed, texts = airframe, {}
        for (_, on), hole in zip(locked, holes, strict=True):
            if hole is None or not hole[1] > 0.0:
                break
            (arm, horn), had = hole, on.described
            path = ("sheets", on.sheet, "surfaces", on.surface)
            changed = put(put(changed, (*path, "arm"), arm), (*path, "horn"), horn)
            text = f"{on.surface.replace('_', ' ')}: "
            if arm != had.arm:
                text += f"an arm of {u.length(arm)} instead of {u.length(had.arm)}, "
            texts[path] = f"{text}a horn of {u.length(horn)} instead of {u.length(had.horn)}"
        else:
            if texts:
                yield Change("; ".join(texts.values()), LINKAGE * len(texts), changed)
