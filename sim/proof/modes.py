"""Natural modes of two aircraft from their published derivatives, and Lanchester's phugoid."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from firstthrow.sim.flight.modes import Mode, lateral_matrix, longitudinal_matrix, modes_of
from firstthrow.sim.proof.check import Check, Curve, Line, Sure
from firstthrow.sim.units import GRAVITY

NO_LATERAL, ALL_LATERAL = np.zeros(4, dtype=bool), np.ones(4, dtype=bool)
ETKIN = (
    "Etkin and Reid, Dynamics of Flight, 3rd ed. 1996, ch. 4-6; data after NASA CR-2144 (Heffley "
    "and Jewell 1972). Longitudinal derivatives and matrix read in a secondary copy; lateral ones "
    "and the roots from memory, solved again: the printed digits come back"
)
NELSON = (
    "Nelson, Flight Stability and Automatic Control, 2nd ed. 1998, example 4.3 and appendix B. "
    "Coefficients read in a public data file; geometry, inertia and roots from memory, solved "
    "again: the printed digits come back"
)
LANCHESTER = (
    "Lanchester, Aerodonetics (1908): T = pi sqrt(2) V / g; with drag, damping ratio "
    "1 / (sqrt(2) L/D), worked out here"
)
FEET = 32.2  # gravity as both examples have it [ft/s2]


def by_name(modes: list[Mode]) -> dict[str, Mode]:
    return {mode.name: mode for mode in modes}


@lru_cache
def large_transport() -> dict[str, Mode]:
    """In lbf, slug, ft, s as printed."""
    mass, speed = 19771.4, 774.0  # 636 636 lbf
    along = longitudinal_matrix(
        mass,
        3.31e7,
        speed,
        FEET,
        x_u=-135.8,
        x_w=275.8,
        z_u=-1778.0,
        z_w=-6188.0,
        z_q=-1.017e5,
        z_w_dot=130.8,
        m_u=3581.0,
        m_w=-35150.0,
        m_q=-1.122e7,
        m_w_dot=-3826.0,
    )
    across = lateral_matrix(
        mass,
        1.83e7,
        4.97e7,
        -1.56e6,
        speed,
        FEET,
        y_v=-1103.0,
        l_v=-68850.0,
        l_p=-7.934e6,
        l_r=7.302e6,
        n_v=47900.0,
        n_p=-980900.0,
        n_r=-6.590e6,
    )
    return by_name([*modes_of(along, NO_LATERAL), *modes_of(across, ALL_LATERAL)])


@lru_cache
def light_aircraft() -> dict[str, Mode]:
    """Dimensional derivatives by Nelson, table 3.5, without those the example leaves out."""
    speed, chord, area = 176.0, 5.7, 184.0
    lift, drag = 0.41, 0.05
    force = 0.5 * 0.002377 * speed * area  # q S / u0
    matrix = longitudinal_matrix(
        2750.0 / FEET,
        3e3,
        speed,
        FEET,
        x_u=-2.0 * drag * force,
        x_w=(lift - 0.33) * force,
        z_u=-2.0 * lift * force,
        z_w=-(4.44 + drag) * force,
        m_u=0.0,
        m_w=-0.683 * force * chord,
        m_q=-9.96 * force * 0.5 * chord**2,
        m_w_dot=-4.36 * force * 0.5 * chord**2 / speed,
    )
    return by_name(modes_of(matrix, NO_LATERAL))


SPEED = 12.0  # [m/s]


@lru_cache
def phugoid(ratio: float = 8.0) -> Mode:
    """Of a point held at one angle of attack by a stiff pitch, with the drag of a glide ratio."""
    lift = GRAVITY / SPEED  # of a unit mass, by speed
    matrix = longitudinal_matrix(
        1.0,
        1e-4,
        SPEED,
        GRAVITY,
        x_u=-2.0 * lift / ratio,
        x_w=0.0,
        z_u=-2.0 * lift,
        z_w=-10.0,
        m_u=0.0,
        m_w=-1e3,
        m_q=-1.0,
    )
    return by_name(modes_of(matrix, NO_LATERAL))["phugoid"]


def _parts(modes, *names: str) -> list[float]:
    """Real and imaginary part of each; of one without swing the real part."""
    found: list[float] = []
    for name in names:
        value = modes()[name].eigenvalue
        found += [value.real, value.imag] if value.imag else [value.real]
    return found


def _times(*names: str) -> list[float]:
    """Period, where there is one, and time to half, of each."""
    found: list[float] = []
    for name in names:
        mode = large_transport()[name]
        found += [time for time in (mode.period, mode.time_to_half) if time is not None]
    return found


BOTH = ("real part", "imaginary part")
CHECKS = (
    Check(
        "E-R short period",
        "short period of a large transport [1/s]",
        (-0.3719, 0.8875),
        lambda: _parts(large_transport, "short period"),
        ETKIN,
        Sure.MEMORY,
        relative=0.005,
        at=BOTH,
    ),
    Check(
        "E-R phugoid",
        "phugoid of a large transport [1/s]",
        (-0.00329, 0.06723),
        lambda: _parts(large_transport, "phugoid"),
        ETKIN,
        Sure.MEMORY,
        relative=0.01,
        at=BOTH,
    ),
    Check(
        "E-R Dutch roll",
        "Dutch roll of a large transport [1/s]",
        (-0.0330, 0.9465),
        lambda: _parts(large_transport, "Dutch roll"),
        ETKIN,
        Sure.MEMORY,
        relative=0.01,
        at=BOTH,
    ),
    Check(
        "E-R roll",
        "roll of a large transport [1/s]",
        (-0.5625,),
        lambda: _parts(large_transport, "roll"),
        ETKIN,
        Sure.MEMORY,
        relative=0.01,
    ),
    Check(
        "E-R spiral",
        "spiral of a large transport [1/s]",
        (-0.00730,),
        lambda: _parts(large_transport, "spiral"),
        ETKIN,
        Sure.MEMORY,
        relative=0.03,
    ),
    Check(
        "E-R times",
        "periods and times to half of a large transport, as printed [s]",
        (93.5, 211.0, 7.08, 1.86, 6.64, 21.0, 1.23, 95.0),
        lambda: _times("phugoid", "short period", "Dutch roll", "roll", "spiral"),
        ETKIN,
        Sure.MEMORY,
        relative=0.01,
        at=(
            "phugoid, period",
            "phugoid, half",
            "short period, period",
            "short period, half",
            "Dutch roll, period",
            "Dutch roll, half",
            "roll, half",
            "spiral, half",
        ),
    ),
    Check(
        "N short period",
        "short period of a light aircraft [1/s]",
        (-2.51, 2.59),
        lambda: _parts(light_aircraft, "short period"),
        NELSON,
        Sure.MEMORY,
        relative=0.01,
        at=BOTH,
    ),
    Check(
        "N phugoid",
        "phugoid of a light aircraft [1/s]",
        (-0.0171, 0.213),
        lambda: _parts(light_aircraft, "phugoid"),
        NELSON,
        Sure.MEMORY,
        relative=0.03,
        at=BOTH,
    ),
    Check(
        "L frequency",
        "phugoid at 12 m/s of what keeps its angle of attack, glide ratio 8 [rad/s]",
        (1.156,),
        lambda: [abs(phugoid().eigenvalue)],
        LANCHESTER,
        Sure.DERIVED,
        relative=0.005,
    ),
    Check(
        "L damping",
        "damping ratio of the same",
        (0.0884,),
        lambda: [float(phugoid().damping_ratio or 0.0)],
        LANCHESTER,
        Sure.DERIVED,
        relative=0.02,
    ),
)


def _damping() -> list[Line]:
    ratios = np.linspace(4.0, 14.0, 21)
    return [Line("modes", ratios, [float(phugoid(float(r)).damping_ratio or 0.0) for r in ratios])]


def _lanchester() -> list[Line]:
    ratios = np.array([5.0, 8.0, 12.0])
    return [Line("modes", ratios, 1.0 / (np.sqrt(2.0) * ratios))]


CURVES = (
    Curve(
        "Damping of the phugoid, and 1 / (sqrt(2) L/D)",
        "glide ratio",
        "damping ratio",
        (),
        _damping,
        _lanchester,
    ),
)
