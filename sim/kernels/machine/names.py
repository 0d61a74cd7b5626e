"""Which names of a kernel stand for one value wherever they are read, and need no memory."""

from __future__ import annotations

import ast
from itertools import permutations

Path = tuple[int, ...]  # the blocks that something stands in, from the outermost


class _Places(ast.NodeVisitor):
    """In which blocks names are given a value, and read."""

    def __init__(self) -> None:
        self.path: Path = ()
        self.given: dict[str, list[Path]] = {}
        self.read: dict[str, set[Path]] = {}
        self._blocks = 0

    def block(self, statements: list[ast.stmt], target: ast.expr | None = None) -> None:
        self._blocks += 1
        outer, self.path = self.path, (*self.path, self._blocks)
        if target is not None:
            self.visit(target)
        for statement in statements:
            self.visit(statement)
        self.path = outer

    def visit_Name(self, node: ast.Name) -> None:
        if isinstance(node.ctx, ast.Store):
            self.given.setdefault(node.id, []).append(self.path)
        else:
            self.read.setdefault(node.id, set()).add(self.path)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        self.generic_visit(node)
        if isinstance(node.target, ast.Name):
            self.read.setdefault(node.target.id, set()).add(self.path)

    def visit_If(self, node: ast.If) -> None:
        self.visit(node.test)
        self.block(node.body)
        self.block(node.orelse)

    def visit_While(self, node: ast.While) -> None:
        self.visit(node.test)
        self.block(node.body)

    def visit_For(self, node: ast.For) -> None:
        self.visit(node.iter)
        self.block(node.body, node.target)


def steady(kernel: ast.FunctionDef) -> set[str]:
    """Names each of whose readings can only mean what was last given it in one place."""
    places = _Places()
    for parameter in kernel.args.args:
        places.given[parameter.arg] = [()]
    for statement in kernel.body:
        places.visit(statement)

    def within(inner: Path, outer: Path) -> bool:
        return inner[: len(outer)] == outer

    def one_value(name: str) -> bool:
        given = places.given[name]
        apart = not any(within(one, other) for one, other in permutations(given, 2))
        return apart and all(
            any(within(path, one) for one in given) for path in places.read.get(name, ())
        )

    return {name for name in places.given if one_value(name)}
