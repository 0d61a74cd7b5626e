"""What kernels say in Python, translated: the same answers as Python's own."""

from __future__ import annotations

from math import atan2, cos, exp, inf, isfinite, nan, sin, sqrt

import numpy as np
import pytest

from firstthrow.sim.kernels import compiled
from firstthrow.sim.kernels.compiled import called, exact, kernel
from firstthrow.sim.kernels.machine import translation
from firstthrow.sim.kernels.machine.expressions import Unknown
from firstthrow.sim.kernels.parameters import record_type

TABLE = (0.5, 1.5, 2.5)
ROWS = np.array([[1.0, 2.0], [3.0, 4.0]])
# Numbers that are true or false lie between others, as tight as can be.
MIXED = record_type(
    [("yes", "?"), ("first", "f8"), ("no", "?"), ("count", "i8"), ("many", "f8", (2, 3))]
)


def same(made, *arguments):
    """What it answers, compiled, if Python gives the same and leaves the same behind."""
    own = [one.copy() if isinstance(one, np.ndarray) else one for one in arguments]
    found, wanted = made(*arguments), made.py_func(*own)
    assert found == wanted, (found, wanted)
    for one, other in zip(arguments, own, strict=True):
        assert np.array_equal(one, other, equal_nan=np.asarray(one).dtype.kind == "f")
    return found


@kernel
def quotients(row, a, b):
    return a // b, a % b, a / b, a // 4, a % 4, a & -4


def test_whole_quotients_are_rounded_down():
    row = np.zeros(1)
    for a in (-9, -8, -1, 0, 1, 7, 8):
        for b in (-4, -3, 3, 4):
            same(quotients, row, a, b)


@kernel
def ways(row, least):
    total, n = 0.0, 0
    for value in row:
        n += 1
        if value < 0.0:
            continue
        if value > 100.0:
            break
        total += value
    while total > least and n > 0:
        total -= 1.5
        n -= 1
    for value in (row[0], 7, 0.25):
        if value > 5.0:
            continue
        if value == 0.25 and n == 2:
            break
        total += value
    else_one = 1 if n else 0
    for k in range(3, -1, -2):
        total += k
    return total, n, else_one, k


def test_loops_are_left_and_gone_on_with():
    for row in ([], [1.0, -2.0, 3.0, 200.0, 5.0], [1e9], [-1.0] * 5):
        same(ways, np.array([0.0, *row]), 1.0)


@kernel
def guarded(row, which):
    inside = 0 <= which < row.shape[0] and row[which] > 0.0
    outside = which < 0 or which >= row.shape[0] or not row[which] > 0.0
    found = row[which] if inside else -1.0
    part = (row[0], row[1], 0.25)[max(0, min(which, 2))]
    return inside, outside, found, which in (1, 2), row[-1], part


def test_what_is_decided_already_is_not_asked():
    """Else it would read beyond the array."""
    row = np.array([1.0, -1.0, nan, 4.0])
    for which in (-(2**40), -1, 0, 1, 2, 3, 4, 2**40):
        same(guarded, row, which)


@kernel
def pair(a, b):
    if a > b:
        return a, 1
    x, y = (b, -a) if b > 0.0 else (0.5, 2.0)
    return x + y, 0


@called
def apart(row, k):
    if k < 0:
        return -1
    return row[k]


@kernel
def calls(row):
    begun = 0
    for k in range(row.shape[0]):
        begun += pair(row[k], 0.25)[0]
        found, which = pair(0.25, row[k])
        row[k] = found + which
    return begun, apart(row, -1), apart(row, 1)


def test_kernels_call_one_another():
    """Several numbers come back, of two kinds by two ways; what was whole is so no longer."""
    assert same(calls, np.array([0.5, -2.0, 3.0]))[1] == -1.0


@kernel
def told(row, n):
    x, y = row[0], row[1]
    found = min(x, y, 0.5), max(float(n), 2.0, row[1]), float(n), abs(n), int(x), isfinite(y)
    return found[0], found[1], found[2], found[3], found[4], found[5], TABLE[n % 3] + ROWS[n % 2, 1]


def test_numbers_are_those_of_python():
    for x, y in ((1.25, -2.5), (-7.75, 3.0), (0.0, -0.0), (2.0, inf), (-3.0, -inf)):
        for n in (-3, 0, 5):
            same(told, np.array([x, y]), n)


@kernel
def powers(row):
    x = row[0]
    return x**2, x**5, abs(x) ** 1.25, 2.0**0.5


def test_powers():
    """Whole ones are products, which Python's own are to the last bits only."""
    for x in (-2.3, 0.7, 0.0):
        row = np.array([x])
        assert powers(row) == pytest.approx(powers.py_func(row), rel=1e-15)


@exact
def sums(row, found):
    total, product = 0.0, 1.0
    for value in row:
        total += value * product
        product = value * product + 0.1
    found[0], found[1] = total, product
    found[2] = sin(total) * sin(total) + cos(total) * cos(total) + (total + product) - total
    found[3] = row[0] * row[0] * row[0] + sqrt(row[1]) + exp(row[2]) + atan2(row[3], row[4])


def test_exact_sums_are_bit_for_bit_those_of_python():
    rng = np.random.default_rng(1)
    for _ in range(200):
        same(sums, rng.uniform(0.0, 2.0, 37), np.zeros(4))


@kernel
def puts(rows, array, part):
    one = rows[1]
    one.yes, one.no = not one.yes, one.count > 2
    one.count += 2
    one.first *= 2.0
    one.many[:] = 0.25
    one.many[1, 2] -= one.first
    array[0:part] = one.count
    inner = array[part:]
    inner[0] = inner.shape[0]
    table = one.many[1]
    return table[2] + one.many.shape[1], len(array), one.no


def test_records_and_parts_of_arrays():
    rows = np.zeros(2, MIXED)
    rows["first"], rows["count"], rows["yes"] = 1.5, 1, True
    for part in (1, 3):
        rows = rows.copy()
        same(puts, rows, np.arange(5.0), part)
        same(puts, rows, np.arange(10.0)[::-2], part)


def listed(row):
    return sum([row[0], row[1]])


def late(row):
    return row[0] + unheard_of  # noqa: F821


def crossed(row):
    return row[0] if row[0] > 0.0 else row


def kept(row):
    a = [1.0]
    return a


def changed(rows):
    rows[0].size = 2.0


def test_records_that_kernels_do_not_change_are_not_changed():
    rows = np.zeros(1, record_type([("size", "f8")], fixed=True))
    with pytest.raises(Unknown, match="changed: is of a record that kernels do not change"):
        translation.translated(compiled.Kernel(changed), (rows,))


@pytest.mark.parametrize("function", [listed, late, crossed, kept])
def test_what_kernels_may_not_say_is_refused_where_it_stands(function):
    line = function.__code__.co_firstlineno + 1
    with pytest.raises(Unknown, match=rf"test_translation.py:{line}: {function.__name__}: "):
        translation.translated(compiled.Kernel(function), (np.zeros(2),))


def test_what_stands_apart_is_told_its_kinds_of_arguments():
    made = compiled.apart(lambda: (np.zeros(2),))
    name, by_place = made(first_of)

    def strided(rows):
        by_place(rows[:, 0])

    assert name(np.array([3.0, 1.0])) == 3.0
    with pytest.raises(TypeError, match="expected"):
        translation.translated(compiled.Kernel(strided), (np.zeros((2, 2)),))


def first_of(row):
    return row[0]
