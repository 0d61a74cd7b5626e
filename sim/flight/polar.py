"""Forces of the air on the whole airframe, without propeller or ground: slopes and polars."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.build.shape import surface_spans
from firstthrow.sim.build.sticks import PITCHES
from firstthrow.sim.describe.airframe import Airframe
from firstthrow.sim.flight.evaluate import air_load, rates_of
from firstthrow.sim.kernels.layout import (
    MAX_SURFACES,
    SEPARATED,
    VELOCITY,
)


class Polar(NamedTuple):
    """Coefficients over the main sheet's area and mean chord; (n,) each."""

    alpha: np.ndarray  # [rad]
    lift: np.ndarray
    drag: np.ndarray
    moment: np.ndarray  # nose up about the centre of gravity
    normal: np.ndarray  # force up, square to the body's x axis
    pressure_place: np.ndarray  # centre of pressure / chord, from its leading edge
    separated: np.ndarray  # share of the flat sheets that is stalled
    area: float
    chord: float


def reference(model: Model) -> tuple[float, float, float]:
    """Area [m2], mean aerodynamic chord [m] and its leading edge aft of the datum [m].

    Of the flat sheet that carries most area; MAC = integral c^2 dy / S.
    """
    strips = model.strips
    main = model.record.strip_main[: len(strips.chord)] > 0.0
    if not main.any():
        main = np.abs(strips.normal[:, 2]) > 0.5
    area = strips.area[main].sum()
    chord = (strips.area * strips.chord)[main].sum() / area
    lead = strips.middle[:, 0] - 0.5 * strips.chord
    return float(area), float(chord), float((strips.area * lead)[main].sum() / area)


def polar(model: Model, alpha: np.ndarray, surfaces=(0.0,) * MAX_SURFACES, speed=10.0) -> Polar:
    area, chord, lead = reference(model)
    pressure = 0.5 * model.record.density * speed**2 * area
    rows, stalled = [], []
    for a in alpha:
        flow = -speed * np.array([np.cos(a), 0.0, np.sin(a)])
        load, report = air_load(model, flow, (0.0, 0.0, 0.0), surfaces)
        x, z = load[0], load[2]
        stalled.append(report[SEPARATED])
        rows.append(
            (
                x * np.sin(a) - z * np.cos(a),
                -x * np.cos(a) - z * np.sin(a),
                load[4] / chord,
                -z,
            )
        )
    lift, drag, moment, normal = np.array(rows).T / pressure
    with np.errstate(divide="ignore", invalid="ignore"):
        place = (model.balance.place[0] - lead) / chord - moment / normal
    return Polar(
        np.asarray(alpha), lift, drag, moment, normal, place, np.array(stalled), area, chord
    )


def pitch_surfaces(airframe: Airframe, angle: float) -> np.ndarray:
    """(MAX_SURFACES,) with `angle` (trailing edge down) on every surface that takes pitch."""
    surfaces = np.zeros(MAX_SURFACES)
    for span in surface_spans(airframe):
        if airframe.sheets[span.sheet].surfaces[span.surface].role in PITCHES:
            surfaces[span.slot] = angle
    return surfaces


def neutral_point(model: Model) -> float:
    """Aft of the datum [m]: where the pitching moment does not change with incidence about none,
    surfaces neutral, no propeller: that of a fast dive (see `neutral_point_about`)."""
    a = np.radians(0.5)
    low, high = (air_load(model, -10.0 * np.array([np.cos(t), 0.0, np.sin(t)]))[0] for t in (-a, a))
    ahead = (high[4] - low[4]) / -(high[2] - low[2])  # of the centre of gravity
    return float(model.balance.place[0] - ahead)


def neutral_point_about(model: Model, state: np.ndarray, command: np.ndarray) -> float:
    """Aft of the datum [m]: where the pitching moment does not change with incidence about a
    steady flight, propeller and stream included.

    The side-edge lift of a plate acts behind its potential lift and grows with the square of
    incidence, so this place moves aft with incidence (Lamar, J. Aircraft 11(6), 1974).
    state: (SIZE,); command: (COMMAND_SIZE,). The direction of flight is turned by half a degree
    either way with attitude, speed, rotors and sticks kept.
    """
    turn = np.radians(0.5)
    inertia = np.linalg.inv(model.record.mass_inverse)
    loads = []
    for way in (-turn, turn):
        there = state.copy()
        u, w = state[VELOCITY], state[VELOCITY + 2]
        there[VELOCITY] = u * np.cos(way) - w * np.sin(way)
        there[VELOCITY + 2] = w * np.cos(way) + u * np.sin(way)
        loads.append(inertia @ rates_of(model, there, command)[0][VELOCITY : VELOCITY + 6])
    low, high = loads
    return float(model.balance.place[0] - (high[4] - low[4]) / -(high[2] - low[2]))
