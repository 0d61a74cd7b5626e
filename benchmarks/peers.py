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

BATCH = 32
SPAN = 6.0  # [s] of each flight
CLOSE = 1e-3  # [m] of place at its end, which each must keep by the longest step it can
FINEST = 16  # of what is compared with: parts of a tick


def _box(elements: int, h: float) -> str:
    """One free slab cut into so many fluid elements, none of which collides."""
    half = 0.35 / elements
    geoms = "".join(
        f'<geom type="box" size="0.175 {half} 0.003" pos="0 {-0.35 + half + 2 * half * k} 0" '
        f'mass="{0.4 / elements}" fluidshape="ellipsoid" contype="0" conaffinity="0"/>'
        for k in range(elements)
    )
    return (
        f'<mujoco><option timestep="{h}" density="1.2" viscosity="1.8e-5" '
        f'integrator="RK4"/><worldbody><body pos="0 0 500"><freejoint/>{geoms}</body>'
        "</worldbody></mujoco>"
    )


def rigid_body_engine(at: Cruise) -> list[Line]:
    """Flights of a batch on all cores in one run, each within CLOSE by its own longest step."""
    try:
        import mujoco
        from mujoco import rollout
    except ImportError:
        return [Line("mujoco's batch", "not installed: pip install firstthrow[bench]", "", None)]
    cores, strips = os.cpu_count() or 1, int(at.model.record.n_strips)
    ticks = _our_step(_pulled(at))
    works, steps = [_our_batch(_pulled(at), cores, ticks)], []
    with rollout.Rollout(nthread=cores) as engine:
        for elements in (1, strips):
            steps.append(_their_step(mujoco, elements))
            works.append(_their_batch(mujoco, engine, elements, cores, steps[-1]))
        ours, one, many = interleaved(5, *works)
    told = f"{BATCH / ours:.0f} flights of {SPAN:g} s/s, steps of 1/{240 / ticks:.0f} s"
    lines = [Line("our batch, all cores", told, "", None)]
    for taken, elements, h, least in ((one, 1, steps[0], 5.0), (many, strips, steps[1], 15.0)):
        what = f"against mujoco {mujoco.__version__}, {elements} element" + "s" * (elements > 1)
        told = f"{taken / ours:.2f} times (steps of 1/{1 / h:.0f} s)"
        lines.append(Line(what, told, f"> {least:g}", taken / ours > least))
    return lines


def _pulled(at: Cruise) -> Cruise:
    """With the stick pulled back: it pitches up and swings."""
    pulled = at._replace(command=at.command.copy())
    pulled.command[: at.model.record.n_surfaces] -= np.radians(2.0)
    return pulled


def _our_step(at: Cruise) -> int:
    """Ticks of the longest step that keeps the place within CLOSE."""
    count = round(SPAN / integrate.STEP)
    finest = Stepper(at, FINEST * count, integrate.STEP / FINEST)().copy()
    for ticks in (4, 2):
        if np.linalg.norm((Stepper(at, count, most_ticks=ticks)() - finest)[:3]) < CLOSE:
            return ticks
    return 1


def _our_batch(at: Cruise, cores: int, ticks: int):
    pool = ThreadPoolExecutor(cores)
    count = round(SPAN / integrate.STEP)
    steppers = [Stepper(at, count, most_ticks=ticks) for _ in range(BATCH)]
    return lambda: list(pool.map(lambda stepper: stepper(), steppers))


def _thrown(mujoco, elements: int, h: float):
    """The engine's slab and its data: 10 m/s along the chord."""
    model = mujoco.MjModel.from_xml_string(_box(elements, h))
    data = mujoco.MjData(model)
    data.qvel[0] = 10.0
    return model, data


def _their_step(mujoco, elements: int) -> float:
    """The engine's longest step [s] that keeps the place within CLOSE, of halves of 1/60 s."""

    def place(h: float) -> np.ndarray:
        model, data = _thrown(mujoco, elements, h)
        for _ in range(round(SPAN / h)):
            mujoco.mj_step(model, data)
        return data.qpos[:3].copy()

    finest = integrate.STEP / FINEST
    wanted = place(finest)
    steps = [1.0 / 60.0 / 2**k for k in range(6)]
    return next((h for h in steps if np.linalg.norm(place(h) - wanted) < CLOSE), finest)


def _their_batch(mujoco, engine, elements: int, cores: int, h: float):
    model, first = _thrown(mujoco, elements, h)
    data = [mujoco.MjData(model) for _ in range(cores)]
    kind = mujoco.mjtState.mjSTATE_FULLPHYSICS
    start = np.zeros(mujoco.mj_stateSize(model, kind))
    mujoco.mj_getState(model, first, start, kind)
    starts = np.tile(start, (BATCH, 1))
    return lambda: engine.rollout([model] * BATCH, data, starts, nstep=round(SPAN / h))


def adaptive(at: Cruise) -> list[Line]:
    """A 6 s flight by our steps and by scipy's RK45, both against much finer steps."""
    from scipy.integrate import solve_ivp

    body, space = at.model.body, scratch()
    report, gust, rates = np.zeros(REPORT_SIZE), np.zeros(GUST_SIZE), np.zeros(SIZE)
    pulled = _pulled(at)

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
