"""Statements of a kernel, in LLVM's language; and the whole of one function."""

from __future__ import annotations

import ast

from firstthrow.sim.kernels.machine.expressions import Expressions
from firstthrow.sim.kernels.machine.names import steady
from firstthrow.sim.kernels.machine.values import (
    WORDS,
    Array,
    Group,
    Number,
    Record,
    Still,
    Value,
    mapped,
    number,
    operands,
)


class Wider(Exception):
    """A name, or a number that is returned, turns out to be no whole one: it is all begun anew."""


class Statements(Expressions):
    """`wide`: names, and numbers returned by their place, that are not whole ones."""

    def __init__(self, unit, function, free: bool, wide: set) -> None:
        super().__init__(unit, function, free)
        self.wide = wide
        self.result: Value | None = None  # an example of what is returned
        self.steady: set[str] = set()
        self._loops: list[tuple[str, str]] = []  # where to go on, and where to leave

    def whole(self, node: ast.FunctionDef, arguments: list[Value]) -> None:
        """All of a kernel, with such arguments."""
        self.steady = steady(node)
        for parameter, argument in zip(node.args.args, arguments, strict=True):
            self.give(parameter.arg, argument)
        self.statements(node.body)
        if not self.ended:
            self._give_back(node, Still(None))

    def statements(self, nodes: list[ast.stmt]) -> None:
        for node in nodes:
            if self.ended:
                return
            how = getattr(self, f"_{type(node).__name__}", None)
            if how is None:
                raise self.refuse(node, f"kernels know no {type(node).__name__}")
            how(node)

    def give(self, name: str, value: Value) -> None:
        """A name a value."""
        if name in self.steady or not isinstance(value, Number):
            if name in self.wide and isinstance(value, Number):
                value = self.as_kind(value, "d")
            self.here[name] = value
            return
        kind = "d" if name in self.wide else value.kind
        kind, place = self.slots.setdefault(name, (kind, "")) if name in self.slots else (kind, "")
        if not place:
            place = self.set_aside(WORDS[kind])
            self.slots[name] = kind, place
        if kind == "q" and value.kind == "d":
            raise Wider(name)
        one = self.as_kind(value, kind)
        self.lines.append(f"store {WORDS[kind]} {one.text}, ptr {place}")

    def assign(self, target: ast.expr, value: Value) -> None:
        if isinstance(target, ast.Name):
            self.give(target.id, value)
        elif isinstance(target, ast.Tuple):
            if not isinstance(value, Group) or len(value.items) != len(target.elts):
                raise self.refuse(target, "is given another number of values")
            for one, item in zip(target.elts, value.items, strict=True):
                self.assign(one, item)
        else:
            self._put_into(target, self._destination(target), value)

    def _destination(self, target: ast.expr):
        """Kind and place of a number in memory, or an array."""
        found = None
        if isinstance(target, ast.Subscript):
            found = self.place(target)
        elif isinstance(target, ast.Attribute):
            owner = self.value(target.value)
            found = self.field(owner, target.attr) if isinstance(owner, Record) else None
        if found is None or isinstance(found, (Group, Number)):
            raise self.refuse(target, "is nothing that can be given a value")
        if found.fixed if isinstance(found, Array) else found[2]:
            raise self.refuse(target, "is of a record that kernels do not change")
        return found if isinstance(found, Array) else found[:2]

    def _put_into(self, target: ast.expr, where, value: Value) -> None:
        if not isinstance(value, Number):
            raise self.refuse(target, "is given what is no number")
        if isinstance(where, Array):
            self._fill(where, value)
        else:
            self.store(*where, value)

    def _fill(self, array: Array, value: Number) -> None:
        """Every item with one number."""

        def each(place: str, left: int) -> None:
            if left == len(array.shape):
                self.store(array.item, place, value)
                return

            def further(at: Number) -> None:
                each(self.further(place, at, array.strides[left]), left + 1)

            self._count_up(number(0), array.shape[left], number(1), further)

        each(array.place, 0)

    def _Assign(self, node: ast.Assign) -> None:
        value = self.value(node.value)
        for target in node.targets:
            self.assign(target, value)

    def _AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.assign(node.target, self.value(node.value))

    def _AugAssign(self, node: ast.AugAssign) -> None:
        target, how = node.target, type(node.op).__name__
        if isinstance(target, ast.Name):
            before = self.number(ast.copy_location(ast.Name(target.id, ast.Load()), target))
            self.give(target.id, self.worked_out(how, before, self.number(node.value)))
            return
        where = self._destination(target)
        if isinstance(where, Array):
            raise self.refuse(node, "an array changes item by item")
        before, more = self.read(*where), self.number(node.value)
        self.store(*where, self.worked_out(how, before, more))

    def _Expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):
            self.value(node.value)

    def _Pass(self, node: ast.Pass) -> None:
        pass

    def _If(self, node: ast.If) -> None:
        yes, no, done = self.label(), self.label(), self.label()
        self.test(node.test, yes, no if node.orelse else done)
        self.begin(yes)
        self.statements(node.body)
        open_end = not self.ended or not node.orelse
        self.go(done)
        if node.orelse:
            self.begin(no)
            self.statements(node.orelse)
            open_end = open_end or not self.ended
            self.go(done)
        if open_end:
            self.begin(done)

    def _While(self, node: ast.While) -> None:
        again, body, done = self.label(), self.label(), self.label()
        self.go(again)
        self.begin(again)
        self.test(node.test, body, done)
        self._inside(again, done, body, lambda: self.statements(node.body))
        self.begin(done)

    def _inside(self, again: str, done: str, body: str, what) -> None:
        self.begin(body)
        self._loops.append((again, done))
        what()
        self._loops.pop()
        self.go(again)

    def _Break(self, node: ast.Break) -> None:
        self.go(self._loops[-1][1])

    def _Continue(self, node: ast.Continue) -> None:
        self.go(self._loops[-1][0])

    def _For(self, node: ast.For) -> None:
        over = node.iter
        called = isinstance(over, ast.Call) and self.value(over.func) == Still(range)
        if called and 1 <= len(over.args) <= 3:
            bounds = [self.as_kind(self.number(one), "q") for one in over.args]
            first, last = (number(0), bounds[0]) if len(bounds) == 1 else bounds[:2]
            step = bounds[2] if len(bounds) == 3 else number(1)
            if not step.known:
                raise self.refuse(node, "steps are not known beforehand")

            def each(at: Number) -> None:
                self.assign(node.target, at)
                self.statements(node.body)

            self._count_up(first, last, step, each)
            return
        array = self.value(over)
        if isinstance(array, Group):
            self._each(node, array)
            return
        if not isinstance(array, Array):
            raise self.refuse(node, "goes over what has no items")

        def item(at: Number) -> None:
            place = self.further(array.place, at, array.strides[0])
            if len(array.shape) == 1:
                self.assign(node.target, self.read(array.item, place, array.fixed))
            else:
                part = array._replace(place=place, shape=array.shape[1:], strides=array.strides[1:])
                self.assign(node.target, part)
            self.statements(node.body)

        self._count_up(number(0), array.shape[0], number(1), item)

    def _each(self, node: ast.For, group: Group) -> None:
        """Item by item of a tuple: the statements over and over again."""
        done = self.label()
        for one in group.items:
            following = self.label()
            self.assign(node.target, one)
            self._loops.append((following, done))
            self.statements(node.body)
            self._loops.pop()
            self.go(following)
            self.begin(following)
        self.go(done)
        self.begin(done)

    def _count_up(self, first: Number, last: Number, step: Number, each) -> None:
        """`each` number from the first to before the last."""
        again, body, following, done = (self.label() for _ in range(4))
        before, at, then = self.block, self.name(), self.name()
        self.go(again)
        self.begin(again)
        ways = f"[ {first.text}, %{before} ], [ {then}, %{following} ]"
        self.lines.append(f"{at} = phi i64 {ways}")
        on = self.compared("Lt" if step.known > 0 else "Gt", Number("q", at), last)
        self.fork(on, body, done)
        self._inside(following, done, body, lambda: each(Number("q", at)))
        self.begin(following)
        self.lines.append(f"{then} = add nsw i64 {at}, {step.text}")
        self.go(again)
        self.begin(done)

    def _Return(self, node: ast.Return) -> None:
        self._give_back(node, Still(None) if node.value is None else self.value(node.value))

    def _give_back(self, node: ast.AST, value: Value) -> None:
        numbers = _numbers(value)
        if numbers is None:
            raise self.refuse(node, "gives back what are no numbers")
        if self.result is None:
            kinds = ["d" if n in self.wide else one.kind for n, one in enumerate(numbers)]
        else:
            kinds = [one.kind for one in _numbers(self.result)]
            if len(kinds) != len(numbers):
                raise self.refuse(node, "gives back another number of values")
        for n, (one, kind) in enumerate(zip(numbers, kinds, strict=True)):
            if one.kind == "d" and kind != "d":
                raise Wider(n)
        numbers = [self.as_kind(one, kind) for one, kind in zip(numbers, kinds, strict=True)]
        if self.result is None:
            self.result = Group(tuple(numbers), tuple) if isinstance(value, Group) else value
            if isinstance(value, Number):
                self.result = numbers[0]
        text = "void"
        if isinstance(value, Number):
            text = f"{WORDS[kinds[0]]} {numbers[0].text}"
        for n, one in enumerate(numbers if text == "void" else ()):
            place = self.part(self.result, "%back", n)
            self.lines.append(f"store {WORDS[one.kind]} {one.text}, ptr {place}")
        self.lines.append(f"ret {text}")
        self.ended = True

    def part(self, result: Value, place: str, which: int) -> str:
        """Where one of several numbers that are returned is put."""
        words = laid(result)
        return self.put(f"getelementptr inbounds {words}, ptr {place}, i32 0, i32 {which}")

    def taken(self, result: Value, place: str) -> Value:
        """Several numbers that a call has put there."""
        which = iter(range(len(_numbers(result))))

        def read(word: str, _: str) -> str:
            return self.put(f"load {word}, ptr {self.part(result, place, next(which))}")

        return mapped(result, read)


def _numbers(value: Value) -> list[Number] | None:
    """Those of what is returned; None where it is anything else."""
    if isinstance(value, Number):
        return [value]
    if isinstance(value, Group) and all(isinstance(one, Number) for one in value.items):
        return list(value.items)
    return [] if value == Still(None) else None


def returned(result: Value) -> str:
    """What LLVM calls what a function returns; several numbers are put into memory."""
    return WORDS[result.kind] if isinstance(result, Number) else "void"


def laid(result: Value) -> str:
    """What LLVM calls several numbers in memory."""
    return "{ " + ", ".join(word for word, _ in operands(result)) + " }"
