"""How far from the limit: counted operations of one step over its time, against the peak.

Operations are counted by flying one step with the compiler off on numbers that count every
+ - * / and every root, sine and the like as one. The peak is that of a large matrix product
of the machine's own BLAS on one core.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
from types import SimpleNamespace

import numpy as np

from benchmarks.ready import Line

NAMES = ("sqrt", "sin", "cos", "tan", "atan2", "asin", "exp", "log")

PRODUCT = """
import time, numpy as np
a = np.random.rand(1024, 1024); b = a.copy(); a @ b
taken = []
for _ in range(9):
    start = time.perf_counter(); a @ b; taken.append(time.perf_counter() - start)
print(2 * 1024**3 / min(taken))
"""


def _python(code: str, **more: str) -> float:
    told = subprocess.run(
        [sys.executable, "-c", code],
        env=os.environ | more,
        capture_output=True,
        text=True,
        check=True,
    )
    return float(told.stdout)


def share(step: float) -> list[Line]:
    """step: seconds of one step."""
    single = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    top = _python(PRODUCT, **single)
    counted = _python(
        "from benchmarks.peak import counted; print(counted())", NUMBA_DISABLE_JIT="1"
    )
    got = counted / step
    return [
        Line("operations in one step", f"{counted:.0f}", "", None),
        Line(
            "share of one core's peak",
            f"{100 * got / top:.1f} % ({got / 1e9:.2f} of {top / 1e9:.0f} Gflop/s)",
            "",
            None,
        ),
    ]


class Counted(float):
    """A number that counts what is done with it."""

    done = 0


def _counting(name: str):
    plain = getattr(float, name)

    def operation(self, other):
        Counted.done += 1
        return Counted(plain(self, float(other)))

    return operation


for _name in ("add", "sub", "mul", "truediv", "radd", "rsub", "rmul", "rtruediv"):
    setattr(Counted, f"__{_name}__", _counting(f"__{_name}__"))
Counted.__neg__ = lambda self: Counted(-float(self))
Counted.__abs__ = lambda self: Counted(abs(float(self)))


def _function(name: str):
    plain = getattr(math, name)

    def called(*values):
        Counted.done += 1
        return Counted(plain(*map(float, values)))

    return called


def _numbers(value):
    """Floats, and arrays of them, that count; everything else as it is."""
    array = np.asarray(value)
    if array.dtype.kind != "f":
        return value
    if array.ndim == 0:
        return Counted(float(array))
    counting = np.empty(array.shape, dtype=object)
    for at, x in np.ndenumerate(array):
        counting[at] = Counted(x)
    return counting


def _fields(record) -> SimpleNamespace:
    """A record with numbers that count."""
    return SimpleNamespace(**{name: _numbers(record[name]) for name in record.dtype.names})


def counted() -> int:
    """Operations of one Runge-Kutta step in attached flight; with the compiler off only."""
    from benchmarks.ready import cruise
    from firstthrow.sim.kernels import integrate
    from firstthrow.sim.kernels.layout import (
        GUST_SIZE,
        LATE,
        MAX_STRIPS,
        REPORT_SIZE,
        SIZE,
        SUPPLY_VOLTAGE,
    )
    from firstthrow.sim.kernels.moving import scratch
    from firstthrow.sim.kernels.parameters import Body

    at = cruise()
    record = at.model.record
    for name, module in list(sys.modules.items()):
        if name.startswith("firstthrow.sim."):
            for function in NAMES:
                if getattr(module, function, None) is getattr(math, function):
                    setattr(module, function, _function(function))
    body = Body([_fields(record)], *map(_numbers, at.model.body[1:]))
    report = np.zeros(REPORT_SIZE)
    report[SUPPLY_VOLTAGE] = record.supply_voltage
    state, command, gust = map(_numbers, (at.state, at.command, np.zeros(GUST_SIZE)))
    report, own = _numbers(report), [_fields(scratch()[0])]
    late, before = _numbers(np.zeros((LATE, MAX_STRIPS))), _numbers(np.zeros((3, SIZE + 1)))
    for _ in range(2):  # the second finds the reports of the first
        Counted.done = 0
        integrate.step(
            body, state, late, before, command, gust, 1, Counted(integrate.STEP), report, own
        )
    return Counted.done
