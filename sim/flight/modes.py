"""Natural modes about a trim: linearised motion, eigenvalues, names, words.

Coordinates: u, w, q, pitch angle (longitudinal) and v, p, r, bank (lateral) in one matrix,
since torque, swirl and gyroscopic moments couple the two, and the rotor speeds, since a
windmilling propeller follows the airspeed so slowly that it takes part in the phugoid.
A surface whose load holds its servo at the edge of the dead band gives way with the load, at
once, since servos are far quicker than the modes; one that rests inside the band stays there.
Position and heading do not act back in still air off the ground.

Published examples come through the same naming from their dimensional derivatives, see
`longitudinal_matrix` and `lateral_matrix`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from firstthrow.sim.build.model import Model
from firstthrow.sim.flight.evaluate import rates_of
from firstthrow.sim.flight.polar import reference
from firstthrow.sim.kernels.layout import ATTITUDE, RATE, ROTOR, SURFACE, VELOCITY
from firstthrow.sim.kernels.rotation import angles, from_angles

# Order of the coordinates, rotors after them; where each lies in the state (but the angles).
COORDINATES = ("u", "w", "q", "pitch", "v", "p", "r", "bank")
_SLOT = {
    "u": VELOCITY,
    "v": VELOCITY + 1,
    "w": VELOCITY + 2,
    "p": RATE,
    "q": RATE + 1,
    "r": RATE + 2,
}
LATERAL = np.array([name in ("v", "p", "r", "bank") for name in COORDINATES])
STEP = 5e-3
ANGLE = 1e-4  # of a surface, for the same [rad]
COUPLED = 0.35  # modes with at least this share of either half belong to neither
GONE = 0.1  # a swing that has come down to this has died


class Mode(NamedTuple):
    name: str
    eigenvalue: complex  # [1/s], of a pair the one with positive imaginary part
    vector: np.ndarray  # in the coordinates of the matrix

    @property
    def period(self) -> float | None:
        """[s]; None for a mode that does not swing."""
        return float(2.0 * np.pi / self.eigenvalue.imag) if self.eigenvalue.imag else None

    @property
    def damping_ratio(self) -> float | None:
        """Minus real part over modulus; None for a mode that does not swing."""
        if not self.eigenvalue.imag:
            return None
        return float(-self.eigenvalue.real / abs(self.eigenvalue))

    @property
    def time_to_double(self) -> float | None:
        """[s]; None for a mode that does not grow."""
        real = self.eigenvalue.real
        return float(np.log(2.0) / real) if real > 0.0 else None

    @property
    def time_to_half(self) -> float | None:
        """[s]; None for a mode that does not die away."""
        real = self.eigenvalue.real
        return float(-np.log(2.0) / real) if real < 0.0 else None


def coordinates(model: Model, state: np.ndarray) -> np.ndarray:
    """(8 + motors,) coordinates of a state (SIZE,)."""
    bank, pitch, _ = angles(*state[ATTITUDE : ATTITUDE + 4])
    own = {"pitch": pitch, "bank": bank}
    motion = [own[n] if n in own else state[_SLOT[n]] for n in COORDINATES]
    return np.array([*motion, *state[ROTOR : ROTOR + model.record.n_motors]])


def moved(state: np.ndarray, change: np.ndarray) -> np.ndarray:
    """The state with its coordinates changed by `change` (8 + motors,), heading as it was."""
    found = state.copy()
    bank, pitch, heading = angles(*state[ATTITUDE : ATTITUDE + 4])
    by = dict(zip(COORDINATES, change[:8], strict=True))
    found[ATTITUDE : ATTITUDE + 4] = from_angles(
        bank + by.pop("bank"), pitch + by.pop("pitch"), heading
    )
    for name, value in by.items():
        found[_SLOT[name]] += value
    found[ROTOR : ROTOR + len(change) - 8] += change[8:]
    return found


def sizes(model: Model, state: np.ndarray) -> np.ndarray:
    """(8 + motors,) that make the coordinates comparable: speed, chords per time, radians."""
    speed = float(np.linalg.norm(state[VELOCITY:RATE]))
    rate = speed / reference(model)[1]
    own = {"u": speed, "v": speed, "w": speed, "p": rate, "q": rate, "r": rate}
    rotors = np.abs(state[ROTOR : ROTOR + model.record.n_motors]) + 10.0
    return np.array([*(own.get(n, 1.0) for n in COORDINATES), *rotors])


def coordinate_rates(model: Model, state: np.ndarray, command: np.ndarray) -> np.ndarray:
    """Rates of the coordinates."""
    return _of_coordinates(model, state, rates_of(model, state, command)[0])


def _of_coordinates(model: Model, state: np.ndarray, rates: np.ndarray) -> np.ndarray:
    """Of the rates of a whole state (SIZE,) those of its coordinates."""
    bank, pitch, _ = angles(*state[ATTITUDE : ATTITUDE + 4])
    p, q, r = state[RATE : RATE + 3]
    turn = (q * np.sin(bank) + r * np.cos(bank)) / np.cos(pitch)
    own = {"pitch": q * np.cos(bank) - r * np.sin(bank), "bank": p + turn * np.sin(pitch)}
    motion = [own[n] if n in own else rates[_SLOT[n]] for n in COORDINATES]
    return np.array([*motion, *rates[ROTOR : ROTOR + model.record.n_motors]])


def system_matrix(model: Model, state: np.ndarray, command: np.ndarray) -> np.ndarray:
    """(n, n) matrix of small motions about a steady state, n = 8 + motors, see COORDINATES.

    Central differences of the flight's own rates, STEP of each coordinate's size: wide enough
    to bridge the intervals of tables, narrow enough to stay on the straight part.

    Surfaces that give way are taken out by static condensation: with x the coordinates and d
    the surfaces, dx/dt = A x + B d and 0 = C x + D d leave A - B inv(D) C.
    """
    pressed = _pressed(model, state, command)

    def slope(ahead: np.ndarray, behind: np.ndarray, width: float) -> np.ndarray:
        """(n + pressed surfaces,) change of all rates by one coordinate or surface."""
        ends = []
        for there in (ahead, behind):
            rates, _ = rates_of(model, there, command)
            of_motion = _of_coordinates(model, there, rates)
            ends.append(np.concatenate([of_motion, rates[SURFACE + pressed]]))
        return (ends[0] - ends[1]) / width

    columns = [
        slope(moved(state, change), moved(state, -change), 2.0 * change.sum())
        for change in np.diag(STEP * sizes(model, state))
    ]
    n = len(columns)
    for k in pressed:
        ahead, behind = state.copy(), state.copy()
        width = min(ANGLE, _past_band(model, state, command)[k])
        ahead[SURFACE + k] += 0.5 * width
        behind[SURFACE + k] -= 0.5 * width
        columns.append(slope(ahead, behind, width))
    whole = np.array(columns).T
    return whole[:n, :n] - whole[:n, n:] @ np.linalg.solve(whole[n:, n:], whole[n:, :n])


def _past_band(model: Model, state: np.ndarray, command: np.ndarray) -> np.ndarray:
    """(surfaces,) how far beyond the servo's dead band each surface rests [rad]; < 0 inside."""
    m, n = model.record, int(model.record.n_surfaces)
    return np.abs(command[:n] - state[SURFACE : SURFACE + n]) - m.servo_band[:n]


def _pressed(model: Model, state: np.ndarray, command: np.ndarray) -> np.ndarray:
    """Slots of the surfaces that give way with their load: neither inside the dead band, nor at
    a stop, nor stuck."""
    m, n = model.record, int(model.record.n_surfaces)
    free = np.abs(state[SURFACE : SURFACE + n]) < m.surface_travel[:n] - ANGLE
    past = _past_band(model, state, command) > 1e-7
    return np.flatnonzero(past & free & (m.servo_speed[:n] > 0.0))


def modes_of(
    matrix: np.ndarray, lateral: np.ndarray, scale: np.ndarray | None = None, rotors: int = 0
) -> list[Mode]:
    """Named modes of a matrix of small motions: longitudinal, lateral, rotors, fastest first.

    matrix: (n, n), its last `rotors` coordinates those of rotors; lateral: (n,) which
    coordinates are lateral; scale: (n,) sizes that make the coordinates comparable, for
    telling which half a mode belongs to.
    """
    values, vectors = np.linalg.eig(matrix)
    share = np.abs(vectors / (np.ones(len(values)) if scale is None else scale)[:, None]) ** 2
    motion = len(values) - rotors
    spinning = np.where(values.imag == 0.0, share[motion:].sum(axis=0) / share.sum(axis=0), -1.0)
    rotor = set(np.argsort(-spinning)[:rotors].tolist())
    sideways = share[:motion][lateral[:motion]].sum(axis=0) / share[:motion].sum(axis=0)
    halves: dict[str, list[int]] = {"longitudinal": [], "lateral": [], "coupled": [], "rotor": []}
    for k in np.argsort(-np.abs(values), kind="stable").tolist():
        if values[k].imag < 0.0:
            continue
        if k in rotor:
            half = "rotor"
        elif COUPLED < sideways[k] < 1.0 - COUPLED:
            half = "coupled"
        else:
            half = "lateral" if sideways[k] > 0.5 else "longitudinal"
        halves[half].append(k)
    names = {
        "longitudinal": _name_longitudinal,
        "lateral": _name_lateral,
        "coupled": lambda found: [_single("coupled", v) for v in found],
        "rotor": lambda found: ["rotor"] * len(found),
    }
    return [
        Mode(name, complex(values[k]), vectors[:, k])
        for half, kept in halves.items()
        for name, k in zip(names[half]([complex(values[k]) for k in kept]), kept, strict=True)
    ]


def _single(what: str, value: complex) -> str:
    if value.imag:
        return f"{what} swing"
    return f"{what} divergence" if value.real > 0.0 else f"{what} subsidence"


def _name_longitudinal(values: list[complex]) -> list[str]:
    """Names for longitudinal eigenvalues, fastest first; of pairs only one each."""
    pairs = [k for k, v in enumerate(values) if v.imag > 0.0]
    names = []
    for k, v in enumerate(values):
        faster = sum(2 if w.imag else 1 for w in values[:k])
        if v.imag > 0.0:
            # A pair between two single roots is neither of the usual two.
            single = ("short period", "pitch-speed swing", "phugoid")
            names.append(single[min(faster, 2)])
        elif v.real > 0.0:
            names.append("speed divergence" if 0 in pairs else "pitch divergence")
        else:
            names.append("pitch subsidence" if faster < 2 else "speed subsidence")
    return names


def _name_lateral(values: list[complex]) -> list[str]:
    """Names for lateral eigenvalues, fastest first; of pairs only one each."""
    reals = [k for k, v in enumerate(values) if not v.imag]
    pairs = [k for k, v in enumerate(values) if v.imag]
    names = [_single("yaw", v) for v in values]
    for k, name in zip(pairs, ("Dutch roll", "roll-spiral swing"), strict=False):
        names[k] = name
    if reals and (len(reals) > 1 or not pairs or reals[0] < pairs[0]):
        names[reals[0]] = "roll"
    if reals and names[reals[-1]] != "roll":
        names[reals[-1]] = "spiral"
    return names


def modes_about(model: Model, state: np.ndarray, command: np.ndarray) -> list[Mode]:
    """Modes of a model about a steady state, such as that of a trim."""
    motors = int(model.record.n_motors)
    lateral = np.concatenate([LATERAL, np.zeros(motors, dtype=bool)])
    matrix = system_matrix(model, state, command)
    return modes_of(matrix, lateral, sizes(model, state), motors)


def is_pitch_unstable(modes: list[Mode]) -> bool:
    """Whether the nose, once moved, goes on moving away."""
    fast = ("short period", "pitch divergence")
    return any(m.name in fast and m.eigenvalue.real > 0.0 for m in modes)


def _seconds(time: float) -> str:
    return f"{time:.2f} s" if time < 0.095 else f"{time:.1f} s" if time < 9.95 else f"{time:.0f} s"


def _words(mode: Mode) -> str:
    if mode.period:
        if mode.time_to_double:
            ending = f"doubles in {_seconds(mode.time_to_double)}"
        elif not mode.time_to_half:
            ending = "goes on as it is"
        else:
            swings = max(1, round(_gone(mode) / mode.period))
            ending = f"dies in {swings} swing{'s' if swings > 1 else ''}"
        return f"{mode.name} swings every {_seconds(mode.period)}, {ending}"
    if mode.time_to_double:
        return f"{mode.name} doubles in {_seconds(mode.time_to_double)}"
    if mode.time_to_half:
        return f"{mode.name} halves in {_seconds(mode.time_to_half)}"
    return f"{mode.name} neither grows nor dies"


def _gone(mode: Mode) -> float:
    """Time after which a tenth is left [s]."""
    return float(np.log(GONE) / mode.eigenvalue.real)


def words(modes: list[Mode]) -> str:
    """One line for the builder. Back, or dead, is what has a tenth of it left."""
    back = [m for m in modes if m.name in ("short period", "pitch subsidence") and m.time_to_half]
    said = []
    if back:
        swing = "" if back[0].period else " without a swing"
        said.append(f"pitches back in {_seconds(max(map(_gone, back)))}{swing}")
    said += [_words(m) for m in modes if m not in back and m.name not in ("roll", "rotor")]
    return "; ".join(said)


def longitudinal_matrix(
    mass: float,
    inertia: float,
    speed: float,
    gravity: float,
    *,
    x_u: float,
    x_w: float,
    z_u: float,
    z_w: float,
    m_u: float,
    m_w: float,
    m_q: float,
    z_q: float = 0.0,
    z_w_dot: float = 0.0,
    m_w_dot: float = 0.0,
) -> np.ndarray:
    """(4, 4) for u, w, q, pitch from dimensional derivatives, stability axes, level flight.

    Any one system of units. Source: Etkin and Reid, Dynamics of Flight, 3rd ed. 1996, eq. 4.9.18.
    """
    carried = mass - z_w_dot
    turn = z_q + mass * speed
    z = np.array([z_u, z_w, turn, 0.0]) / carried
    m = (np.array([m_u, m_w, m_q, 0.0]) + m_w_dot * z) / inertia
    x = np.array([x_u / mass, x_w / mass, 0.0, -gravity])
    return np.array([x, z, m, [0.0, 0.0, 1.0, 0.0]])


def lateral_matrix(
    mass: float,
    i_x: float,
    i_z: float,
    i_zx: float,
    speed: float,
    gravity: float,
    *,
    y_v: float,
    l_v: float,
    l_p: float,
    l_r: float,
    n_v: float,
    n_p: float,
    n_r: float,
    y_p: float = 0.0,
    y_r: float = 0.0,
) -> np.ndarray:
    """(4, 4) for v, p, r, bank from dimensional derivatives, stability axes, level flight.

    Source: Etkin and Reid, Dynamics of Flight, 3rd ed. 1996, eq. 4.9.19.
    """
    roll, yaw = np.array([l_v, l_p, l_r, 0.0]), np.array([n_v, n_p, n_r, 0.0])
    cross = i_x * i_z - i_zx**2
    return np.array(
        [
            [y_v / mass, y_p / mass, y_r / mass - speed, gravity],
            (i_z * roll + i_zx * yaw) / cross,
            (i_zx * roll + i_x * yaw) / cross,
            [0.0, 1.0, 0.0, 0.0],
        ]
    )
