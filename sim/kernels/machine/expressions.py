"""Expressions of a kernel, in LLVM's language: what Python would work out, to the same number."""

from __future__ import annotations

import ast
import builtins
import math
from types import ModuleType

import numpy as np

from firstthrow.sim.kernels.machine.values import (
    WORDS,
    Array,
    Group,
    Number,
    Record,
    Still,
    Value,
    contiguous,
    known,
    number,
)
from firstthrow.sim.kernels.machine.writing import ARITHMETIC, COMPARING, Writer

# Of `math`, by what LLVM calls it; what it has no word for is the C library's.
_LLVMS = {math.sqrt: "sqrt", math.exp: "exp", math.log: "log", math.sin: "sin", math.cos: "cos"}
_LIBRARYS = (math.asin, math.acos, math.atan, math.tan, math.atan2)
_MOST_TIMES = 8  # a whole power up to which a number is multiplied by itself


class Unknown(Exception):
    """What kernels may not say, and where."""


class Expressions(Writer):
    """The expressions of one function. `unit`: what is translated together."""

    def __init__(self, unit, function, free: bool) -> None:
        super().__init__(free)
        self.unit, self.function = unit, function
        self.around = function.__globals__
        self.here: dict[str, Value] = {}  # names that stand for one value
        self.slots: dict[str, tuple[str, str]] = {}  # others: kind, and place in memory

    def refuse(self, node: ast.AST, why: str) -> Unknown:
        code = self.function.__code__
        line = getattr(node, "lineno", 0)
        return Unknown(f"{code.co_filename}:{line}: {code.co_name}: {why}")

    def value(self, node: ast.expr) -> Value:
        how = getattr(self, f"_{type(node).__name__}", None)
        if how is None:
            raise self.refuse(node, f"kernels know no {type(node).__name__}")
        return how(node)

    def number(self, node: ast.expr) -> Number:
        found = self.value(node)
        if not isinstance(found, Number):
            raise self.refuse(node, "is no number")
        return found

    def _Constant(self, node: ast.Constant) -> Value:
        return Still(None) if node.value is None else known(node.value)

    def _Name(self, node: ast.Name) -> Value:
        if node.id in self.here:
            return self.here[node.id]
        if node.id in self.slots:
            kind, place = self.slots[node.id]
            return Number(kind, self.put(f"load {WORDS[kind]}, ptr {place}"))
        if node.id in self.function.__code__.co_freevars:
            at = self.function.__code__.co_freevars.index(node.id)
            return known(self.function.__closure__[at].cell_contents)
        if node.id in self.around:
            return known(self.around[node.id])
        if hasattr(builtins, node.id):
            return Still(getattr(builtins, node.id))
        raise self.refuse(node, f"{node.id} has no value yet")

    def _Attribute(self, node: ast.Attribute) -> Value:
        owner = self.value(node.value)
        if isinstance(owner, Record) and node.attr in owner.item.fields:
            found = self.field(owner, node.attr)
            return found if isinstance(found, Array) else self.read(*found)
        if isinstance(owner, Group) and node.attr in getattr(owner.maker, "_fields", ()):
            return owner.items[owner.maker._fields.index(node.attr)]
        if isinstance(owner, Array) and node.attr == "shape":
            return Group(owner.shape, tuple)
        if isinstance(owner, Still) and isinstance(owner.what, ModuleType):
            return known(getattr(owner.what, node.attr))
        raise self.refuse(node, f"nothing of the name {node.attr}")

    def _Tuple(self, node: ast.Tuple) -> Value:
        return Group(tuple(self.value(one) for one in node.elts), tuple)

    def _BinOp(self, node: ast.BinOp) -> Value:
        how = type(node.op).__name__
        one, other = self.number(node.left), self.number(node.right)
        if how == "Pow":
            return self._power(one, other)
        if how not in ARITHMETIC:
            raise self.refuse(node, f"kernels know no {how}")
        return self.worked_out(how, one, other)

    def _power(self, one: Number, other: Number) -> Number:
        if one.known is not None and other.known is not None:
            return number(one.known**other.known)
        times = other.known
        if other.kind == "q" and times is not None and 0 < times <= _MOST_TIMES:
            found, square = None, one
            while times:
                if times & 1:
                    found = square if found is None else self.worked_out("Mult", found, square)
                times >>= 1
                square = self.worked_out("Mult", square, square) if times else square
            return found
        return self._called_double("llvm.pow.f64", [one, other])

    def _UnaryOp(self, node: ast.UnaryOp) -> Value:
        one = self.number(node.operand)
        if isinstance(node.op, ast.USub):
            return self.negative(one)
        if isinstance(node.op, ast.Not):
            return self.opposite(one)
        raise self.refuse(node, f"kernels know no {type(node.op).__name__}")

    def _Compare(self, node: ast.Compare) -> Value:
        found, left = number(True), self.value(node.left)
        for operator, right in zip(node.ops, node.comparators, strict=True):
            how, other = type(operator).__name__, self.value(right)
            if how == "In" and isinstance(other, Group):
                one = number(False)
                for item in other.items:
                    one = self._either(one, self.compared("Eq", left, item))
            elif how in COMPARING and isinstance(left, Number) and isinstance(other, Number):
                one = self.compared(how, left, other)
            else:
                raise self.refuse(node, f"kernels know no {how} of these")
            found, left = self.both(found, one), other
        return found

    def _either(self, one: Number, other: Number) -> Number:
        return self.opposite(self.both(self.opposite(one), self.opposite(other)))

    def test(self, node: ast.expr, yes: str, no: str) -> None:
        """Go to one block or another; what decides it already leaves the rest unasked."""
        if isinstance(node, ast.BoolOp):
            for one in node.values[:-1]:
                more = self.label()
                ways = (more, no) if isinstance(node.op, ast.And) else (yes, more)
                self.test(one, *ways)
                self.begin(more)
            self.test(node.values[-1], yes, no)
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            self.test(node.operand, no, yes)
        else:
            self.fork(self.true(self.number(node)), yes, no)

    def _BoolOp(self, node: ast.BoolOp) -> Value:
        rest, done, ways = "", self.label(), []
        decided = number(isinstance(node.op, ast.Or))
        for one in node.values:
            found = self.number(one)
            if found.kind != "?":
                raise self.refuse(one, "is neither true nor false")
            if one is node.values[-1]:
                ways.append((found.text, self.block))
                self.go(done)
                break
            rest = self.label()
            ways.append((decided.text, self.block))
            self.fork(found, *((done, rest) if decided.known else (rest, done)))
            self.begin(rest)
        self.begin(done)
        return self.join("?", ways)

    def _IfExp(self, node: ast.IfExp) -> Value:
        yes, no, done = self.label(), self.label(), self.label()
        self.test(node.test, yes, no)
        found, ends = [], []
        for label, arm in ((yes, node.body), (no, node.orelse)):
            self.begin(label)
            found.append(self.value(arm))
            ends.append(self.block)
            self.go(done)
        self.begin(done)
        return self._joined(node, *found, ends)

    def _joined(self, node: ast.IfExp, one: Value, other: Value, ends: list[str]) -> Value:
        if isinstance(one, Group) and isinstance(other, Group):
            pairs = zip(one.items, other.items, strict=True)
            return Group(tuple(self._joined(node, a, b, ends) for a, b in pairs), one.maker)
        if not isinstance(one, Number) or not isinstance(other, Number):
            raise self.refuse(node, "is one of two that are no numbers")
        if one.kind != other.kind:
            kind = "d" if "d" in (one.kind, other.kind) else "q"
            if any(side.kind != kind and side.known is None for side in (one, other)):
                raise self.refuse(node, "is a number of one of two kinds: say which")
            one, other = self.as_kind(one, kind), self.as_kind(other, kind)
        return self.join(one.kind, [(one.text, ends[0]), (other.text, ends[1])])

    def _Subscript(self, node: ast.Subscript) -> Value:
        found = self.place(node)
        return found if isinstance(found, (Array, Group, Number)) else self.read(*found)

    def place(self, node: ast.Subscript) -> Value | tuple[np.dtype, str, bool]:
        """Kind and place of an item and whether it is fixed, or those of an array that are asked
        for."""
        owner = self.value(node.value)
        if isinstance(owner, Still):
            owner = self._table(node, owner.what)
        asked = node.slice.elts if isinstance(node.slice, ast.Tuple) else [node.slice]
        if isinstance(owner, Group):
            which = self.number(asked[0])
            if which.known is None:
                return self._one_of(node, owner.items, which)
            return owner.items[which.known]
        if not isinstance(owner, Array):
            raise self.refuse(node, "has no items")
        place, shape, strides = owner.place, [], []
        for at, (length, stride) in enumerate(zip(owner.shape, owner.strides, strict=True)):
            one = asked[at] if at < len(asked) else ast.Slice()
            if isinstance(one, ast.Slice):
                first = self.number(one.lower) if one.lower else number(0)
                last = self.number(one.upper) if one.upper else length
                place = self.further(place, first, stride)
                shape.append(self.worked_out("Sub", last, first))
                strides.append(stride)
            else:
                which = self.number(one)
                if which.known is not None and which.known < 0:
                    which = self.worked_out("Add", length, which)
                place = self.further(place, which, stride)
        if shape:
            return Array(owner.item, place, tuple(shape), tuple(strides), owner.fixed)
        return owner.item, place, owner.fixed

    def _one_of(self, node: ast.AST, items: tuple, which: Number) -> Number:
        """A number of a tuple, which of them is told only in flight."""
        if not all(isinstance(one, Number) and one.kind == items[0].kind for one in items):
            raise self.refuse(node, "which of a tuple is not known beforehand")
        found = items[-1]
        for n, one in enumerate(items[:-1]):
            found = self.chosen(self.compared("Eq", which, number(n)), one, found)
        return found

    def _table(self, node: ast.AST, what: object) -> Value:
        """Numbers that stand in the source."""
        if isinstance(what, tuple) and all(isinstance(one, float) for one in what):
            what = np.array(what)
        if isinstance(what, np.ndarray) and what.dtype == np.float64:
            return contiguous(what.dtype, self.unit.table(what), what.shape)
        raise self.refuse(node, "has no items that a kernel can read")

    def _Call(self, node: ast.Call) -> Value:
        called = self.value(node.func)
        if not isinstance(called, Still) or node.keywords:
            raise self.refuse(node, "is nothing that a kernel calls")
        what, arguments = called.what, [self.value(one) for one in node.args]
        if self.unit.translates(what):
            return self.unit.call(self, what, arguments)
        if hasattr(what, "_fields"):
            return Group(tuple(arguments), what)
        if what is len:
            return self._length(arguments[0])
        if what is np.zeros and isinstance(arguments[0], Number) and arguments[0].known:
            return self._zeros(arguments[0].known)
        if not arguments or not all(isinstance(one, Number) for one in arguments):
            raise self.refuse(node, "is nothing that a kernel calls with these")
        found = self._of_numbers(what, arguments)
        if found is None:
            raise self.refuse(node, f"kernels know no {getattr(what, '__name__', what)}")
        return found

    def _length(self, of: Value) -> Number:
        if isinstance(of, Array):
            return of.shape[0]
        return number(len(of.items if isinstance(of, Group) else of.what))

    def _zeros(self, size: int) -> Array:
        place = self.set_aside(f"[{size} x double]")
        self.lines.append(f"store [{size} x double] zeroinitializer, ptr {place}")
        return contiguous(np.dtype(np.float64), place, (size,))

    def _of_numbers(self, what: object, arguments: list[Number]) -> Number | None:
        first = arguments[0]
        if what in (max, min):
            for other in arguments[1:]:
                first, other = self.alike(first, other)
                sooner = self.compared("Gt" if what is max else "Lt", other, first)
                first = self.chosen(sooner, other, first)
            return first
        if what is abs:
            if first.kind == "d":
                return self._called_double("llvm.fabs.f64", [first])
            return self.chosen(self.compared("Lt", first, number(0)), self.negative(first), first)
        if what in (float, int, bool):
            return self.as_kind(first, {float: "d", int: "q", bool: "?"}[what])
        if what is math.isfinite:
            size = self.put(f"call double @llvm.fabs.f64(double {first.text})")
            self.unit.declare("double @llvm.fabs.f64(double)")
            return self.compared("Lt", Number("d", size), number(math.inf))
        if what in (math.radians, math.degrees):
            factor = math.pi / 180.0 if what is math.radians else 180.0 / math.pi
            return self.worked_out("Mult", first, number(factor))
        if what in _LLVMS:
            return self._called_double(f"llvm.{_LLVMS[what]}.f64", arguments)
        if what in _LIBRARYS:
            return self._called_double(what.__name__, arguments)
        return None

    def _called_double(self, name: str, arguments: list[Number]) -> Number:
        texts = [f"double {self.as_kind(one, 'd').text}" for one in arguments]
        self.unit.declare(f"double @{name}({', '.join(['double'] * len(texts))})")
        return Number("d", self.put(f"call {self.free}double @{name}({', '.join(texts)})"))
