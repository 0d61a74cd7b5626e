"""A function's instructions as they are written in LLVM's language: sums, comparisons, memory."""

from __future__ import annotations

import operator
from collections.abc import Callable

import numpy as np

from firstthrow.sim.kernels.machine.values import (
    EIGHT,
    WORDS,
    Array,
    Number,
    Record,
    Value,
    contiguous,
    is_fixed,
    kind_of,
    number,
)

ONCE = ", !invariant.load !0"  # what is read need not be read again
FREE = "reassoc nsz arcp contract "  # NaN and infinity keep their meaning
ARITHMETIC: dict[str, Callable] = {
    "Add": operator.add,
    "Sub": operator.sub,
    "Mult": operator.mul,
    "Div": operator.truediv,
    "FloorDiv": operator.floordiv,
    "Mod": operator.mod,
    "BitAnd": operator.and_,
}
_FLOATING = {"Add": "fadd", "Sub": "fsub", "Mult": "fmul", "Div": "fdiv"}
_WHOLE = {"Add": "add nsw", "Sub": "sub nsw", "Mult": "mul nsw", "BitAnd": "and"}
COMPARING: dict[str, Callable] = {
    "Lt": operator.lt,
    "LtE": operator.le,
    "Gt": operator.gt,
    "GtE": operator.ge,
    "Eq": operator.eq,
    "NotEq": operator.ne,
}
_ORDERS = {"Lt": "lt", "LtE": "le", "Gt": "gt", "GtE": "ge", "Eq": "eq", "NotEq": "ne"}


class Writer:
    """Instructions of one function, in order; `free`: sums may be taken in another order."""

    def __init__(self, free: bool) -> None:
        self.free = FREE if free else ""
        self.memory: list[str] = []  # that is set aside as it begins
        self.lines: list[str] = []
        self.block = "begin"  # that is written now
        self.ended = False  # whether it has gone elsewhere
        self._count = 0

    def name(self) -> str:
        self._count += 1
        return f"%v{self._count}"

    def label(self) -> str:
        self._count += 1
        return f"b{self._count}"

    def put(self, text: str) -> str:
        """An instruction that gives something, under a name of its own."""
        name = self.name()
        self.lines.append(f"{name} = {text}")
        return name

    def set_aside(self, word: str) -> str:
        name = self.name()
        self.memory.append(f"{name} = alloca {word}")
        return name

    def begin(self, label: str) -> None:
        self.lines.append(f"{label}:")
        self.block, self.ended = label, False

    def go(self, label: str) -> None:
        if not self.ended:
            self.lines.append(f"br label %{label}")
            self.ended = True

    def fork(self, test: Number, yes: str, no: str) -> None:
        if not self.ended:
            self.lines.append(f"br i1 {test.text}, label %{yes}, label %{no}")
            self.ended = True

    def join(self, kind: str, ways: list[tuple[str, str]]) -> Number:
        """What came by one of several blocks: texts and labels."""
        come = ", ".join(f"[ {text}, %{label} ]" for text, label in ways)
        return Number(kind, self.put(f"phi {WORDS[kind]} {come}"))

    def as_kind(self, one: Number, kind: str) -> Number:
        if one.kind == kind:
            return one
        if one.known is not None:
            return number({"d": float, "q": int, "?": bool}[kind](one.known))
        word = WORDS[one.kind]
        if kind == "?":
            return self.true(one)
        if kind == "d":
            how = "uitofp" if one.kind == "?" else "sitofp"
            return Number("d", self.put(f"{how} {word} {one.text} to double"))
        how = "zext" if one.kind == "?" else "fptosi"
        return Number("q", self.put(f"{how} {word} {one.text} to i64"))

    def true(self, one: Number) -> Number:
        """Whether Python takes it for true."""
        return one if one.kind == "?" else self.compared("NotEq", one, number(0))

    def alike(self, one: Number, other: Number) -> tuple[Number, Number]:
        """Both of the wider kind."""
        kind = "d" if "d" in (one.kind, other.kind) else "q"
        return self.as_kind(one, kind), self.as_kind(other, kind)

    def worked_out(self, how: str, one: Number, other: Number) -> Number:
        """By an operator of ARITHMETIC."""
        if one.known is not None and other.known is not None and (other.known or how != "Div"):
            return number(ARITHMETIC[how](one.known, other.known))
        one, other = self.alike(one, other)
        if how == "Div":
            one, other = self.as_kind(one, "d"), self.as_kind(other, "d")
        if one.kind == "d":
            text = f"{_FLOATING[how]} {self.free}double {one.text}, {other.text}"
        elif how in _WHOLE:
            text = f"{_WHOLE[how]} i64 {one.text}, {other.text}"
        else:
            return self._rounded_down(how, one, other)
        return Number(one.kind, self.put(text))

    def _rounded_down(self, how: str, one: Number, other: Number) -> Number:
        """Whole quotients and what is left, as Python has them: by numbers known to be above 0."""
        if other.known is None or other.known <= 0:
            sign = f"xor i64 {one.text}, {other.text}"
        else:
            sign = ""
        left = self.put(f"srem i64 {one.text}, {other.text}")
        if sign:
            below = self.compared("Lt", Number("q", self.put(sign)), number(0))
            some = self.compared("NotEq", Number("q", left), number(0))
            under = self.put(f"and i1 {below.text}, {some.text}")
        else:
            under = self.compared("Lt", Number("q", left), number(0)).text
        if how == "Mod":
            more = self.put(f"select i1 {under}, i64 {other.text}, i64 0")
            return Number("q", self.put(f"add i64 {left}, {more}"))
        whole = self.put(f"sdiv i64 {one.text}, {other.text}")
        less = self.put(f"sext i1 {under} to i64")
        return Number("q", self.put(f"add i64 {whole}, {less}"))

    def negative(self, one: Number) -> Number:
        if one.known is not None:
            return number(-one.known)
        if one.kind == "d":
            return Number("d", self.put(f"fneg {self.free}double {one.text}"))
        return self.worked_out("Sub", number(0), one)

    def compared(self, how: str, one: Number, other: Number) -> Number:
        if one.known is not None and other.known is not None:
            return number(bool(COMPARING[how](one.known, other.known)))
        one, other = self.alike(one, other)
        order = _ORDERS[how]
        if one.kind == "d":
            order = f"{'u' if how == 'NotEq' else 'o'}{order}"
            return Number("?", self.put(f"fcmp {order} double {one.text}, {other.text}"))
        order = order if how in ("Eq", "NotEq") else f"s{order}"
        return Number("?", self.put(f"icmp {order} i64 {one.text}, {other.text}"))

    def both(self, one: Number, other: Number) -> Number:
        if one.known is not None:
            return other if one.known else one
        return Number("?", self.put(f"and i1 {one.text}, {other.text}"))

    def opposite(self, one: Number) -> Number:
        if one.known is not None:
            return number(not one.known)
        return Number("?", self.put(f"xor i1 {self.true(one).text}, true"))

    def chosen(self, test: Number, one: Number, other: Number) -> Number:
        """One of two of a kind."""
        if test.known is not None:
            return one if test.known else other
        word = WORDS[one.kind]
        text = f"select i1 {test.text}, {word} {one.text}, {word} {other.text}"
        return Number(one.kind, self.put(text))

    def further(self, place: str, way: Number, stride: Number) -> str:
        """The place so many strides on."""
        if way.known is not None and stride.known is not None:
            bytes_on = way.known * stride.known
            if not bytes_on:
                return place
            return self.put(f"getelementptr inbounds i8, ptr {place}, i64 {bytes_on}")
        if stride.known == EIGHT:
            return self.put(f"getelementptr inbounds double, ptr {place}, i64 {way.text}")
        on = self.worked_out("Mult", way, stride)
        return self.put(f"getelementptr inbounds i8, ptr {place}, i64 {on.text}")

    def read(self, item: np.dtype, place: str, fixed: bool = False) -> Value:
        """What stands there: a number, or the record itself."""
        if item.names:
            return Record(item, place)
        kind, once = kind_of(item), ONCE if fixed else ""
        if kind == "?":
            byte = self.put(f"load i8, ptr {place}, align 1{once}")
            return Number(kind, self.put(f"icmp ne i8 {byte}, 0"))
        return Number(kind, self.put(f"load {WORDS[kind]}, ptr {place}, align 1{once}"))

    def store(self, item: np.dtype, place: str, one: Number) -> None:
        kind = kind_of(item)
        text = self.as_kind(one, kind).text
        if kind == "?":
            byte = self.put(f"zext i1 {text} to i8")
            self.lines.append(f"store i8 {byte}, ptr {place}, align 1")
        else:
            self.lines.append(f"store {WORDS[kind]} {text}, ptr {place}, align 1")

    def field(self, record: Record, name: str) -> tuple[np.dtype, str, bool] | Array:
        """Kind and place of a number of a record and whether it is fixed, or an array of them."""
        kind, offset = record.item.fields[name][:2]
        place = self.further(record.place, number(offset), number(1))
        if kind.subdtype:
            item, shape = kind.subdtype
            return contiguous(item, place, shape, is_fixed(record.item))
        return kind, place, is_fixed(record.item)
