"""Against general libraries: a rigid-body engine's batch, an adaptive integrator."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from benchmarks.ready import Cruise, Line, Stepper, interleaved
from firstthrow.sim.kernels import integrate
from firstthrow.sim.kernels.derivative import derivative
from firstthrow.sim.kernels.layout import GUST_SIZE, REPORT_SIZE, SIZE, SUPPLY_VOLTAGE
from firstthrow.sim.kernels.moving import scratch
from firstthrow.sim.units import mm

BATCH, STEPS = 32, 500
SPAN = 6.0  # [s] of the flight integrated both ways


def _box(elements: int) -> str:
    """One free slab cut into so many fluid elements, none of which collides."""
    half = 0.35 / elements
    geoms = "".join(
        f'<geom type="box" size="0.175 {half} 0.003" pos="0 {-0.35 + half + 2 * half * k} 0" '
        f'mass="{0.4 / elements}" fluidshape="ellipsoid" contype="0" conaffinity="0"/>'
        for k in range(elements)
    )
    return (
        f'<mujoco><option timestep="{integrate.STEP}" density="1.2" viscosity="1.8e-5" '
        f'integrator="RK4"/><worldbody><body pos="0 0 500"><freejoint/>{geoms}</body>'
        "</worldbody></mujoco>"
    )


def rigid_body_engine(at: Cruise) -> list[Line]:
    """Steps a second of a batch on all cores, the same step, in one run."""
    try:
        import mujoco
        from mujoco import rollout
    except ImportError:
        return [Line("mujoco's batch", "not installed: pip install firstthrow[bench]", "", None)]
    cores = os.cpu_count() or 1
    strips = int(at.model.record.n_strips)
    works = [_our_batch(at, cores)]
    with rollout.Rollout(nthread=cores) as engine:
        for elements in (1, strips):
            works.append(_their_batch(mujoco, engine, elements, cores))
        ours, one, many = interleaved(9, *works)
    total = BATCH * STEPS
    lines = [
        Line("our batch, all cores", f"{total / ours / 1e3:.0f} thousand steps/s", "", None),
    ]
    for taken, elements, least in ((one, 1, 3.0), (many, strips, 10.0)):
        what = f"against mujoco {mujoco.__version__}, {elements} element" + "s" * (elements > 1)
        told = f"{taken / ours:.2f} times ({total / taken / 1e3:.0f} thousand steps/s)"
        lines.append(Line(what, told, f"> {least:g}", taken / ours > least))
    return lines


def _our_batch(at: Cruise, cores: int):
    pool = ThreadPoolExecutor(cores)
    steppers = [Stepper(at, STEPS) for _ in range(BATCH)]
    return lambda: list(pool.map(lambda stepper: stepper(), steppers))


def _their_batch(mujoco, engine, elements: int, cores: int):
    model = mujoco.MjModel.from_xml_string(_box(elements))
    data = [mujoco.MjData(model) for _ in range(cores)]
    data[0].qvel[0] = 10.0
    kind = mujoco.mjtState.mjSTATE_FULLPHYSICS
    start = np.zeros(mujoco.mj_stateSize(model, kind))
    mujoco.mj_getState(model, data[0], start, kind)
    starts = np.tile(start, (BATCH, 1))
    return lambda: engine.rollout([model] * BATCH, data, starts, nstep=STEPS)


def adaptive(at: Cruise) -> list[Line]:
    """A 6 s flight by our steps and by scipy's RK45, both against much finer steps."""
    from scipy.integrate import solve_ivp

    body, space = at.model.body, scratch()
    report, gust, rates = np.zeros(REPORT_SIZE), np.zeros(GUST_SIZE), np.zeros(SIZE)
    pulled = at._replace(command=at.command.copy())
    pulled.command[: body.record[0].n_surfaces] -= np.radians(2.0)  # it pitches up and swings

    def slope(t: float, state: np.ndarray) -> np.ndarray:
        derivative(body, state, pulled.command, gust, rates, report, space)
        return rates.copy()

    def theirs() -> np.ndarray:
        report[:] = 0.0
        report[SUPPLY_VOLTAGE] = body.record[0].supply_voltage
        found = solve_ivp(slope, (0.0, SPAN), pulled.state, method="RK45", rtol=1e-6, atol=1e-6)
        return found.y[:, -1]

    count = round(SPAN / integrate.STEP)
    ours = Stepper(pulled, count)
    finest = Stepper(pulled, 32 * count, integrate.STEP / 32)().copy()
    own = float(np.linalg.norm((ours() - finest)[:3]))
    other = float(np.linalg.norm((theirs() - finest)[:3]))
    mine, rk45 = interleaved(7, ours, theirs)
    return [
        Line("6 s flight against RK45 at 1e-6", f"{rk45 / mine:.1f} times", "> 2", rk45 > 2 * mine),
        Line(
            "error of place after 6 s",
            f"{mm(own):.3f} mm, RK45 {mm(other):.3f} mm",
            "no larger",
            own <= other,
        ),
    ]
