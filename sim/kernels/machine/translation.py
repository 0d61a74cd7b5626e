"""Kernels translated to machine code: with all that they call, by LLVM, for this processor."""

from __future__ import annotations

import ast
import functools
from pathlib import Path

import numpy as np

from firstthrow.sim.kernels.machine.kept import Code, target
from firstthrow.sim.kernels.machine.statements import Statements, Wider, laid, returned
from firstthrow.sim.kernels.machine.values import (
    WORDS,
    Group,
    Number,
    Still,
    Value,
    given,
    handed,
    mapped,
    number,
    operands,
    sort,
)

_PURPOSE = 'nounwind alignstack(64) "stackrealign" "no-stack-arg-probe"'


@functools.cache
def _parsed(file: str) -> dict[tuple[str, int], ast.FunctionDef]:
    """Functions of a file by name and the line that they begin on."""
    found = {}
    for node in ast.walk(ast.parse(Path(file).read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            first = node.decorator_list[0] if node.decorator_list else node
            found[node.name, first.lineno] = node
    return found


def _source(function) -> ast.FunctionDef:
    code = function.__code__
    return _parsed(code.co_filename)[code.co_name, code.co_firstlineno]


class Unit:
    """What is translated together: one kernel, and what is copied into it."""

    def __init__(self) -> None:
        self._functions: dict[tuple, tuple[str, Value]] = {}  # names, and what they return
        self._texts: list[str] = []
        self._declared: dict[str, None] = {}
        self._tables: dict[int, tuple[str, np.ndarray]] = {}

    def translates(self, what: object) -> bool:
        return hasattr(what, "py_func") or hasattr(what, "symbol")

    def declare(self, text: str) -> None:
        self._declared[f"declare {text} nounwind memory(none)"] = None

    def table(self, what: np.ndarray) -> str:
        """Where numbers of the source stand."""
        if id(what) not in self._tables:
            name = f"@table{len(self._tables)}"
            numbers = ", ".join(f"double {number(float(one)).text}" for one in what.flat)
            text = f"{name} = private constant [{what.size} x double] [{numbers}]"
            self._texts.append(text)
            self._tables[id(what)] = name, what
        return self._tables[id(what)][0]

    def call(self, writer: Statements, what, arguments: list[Value]) -> Value:
        """One kernel calls another."""
        if hasattr(what, "symbol"):
            return self._call_apart(writer, what, arguments)
        name, result = self.function(what, arguments)
        words = [f"{word} {text}" for one in arguments for word, text in operands(one)]
        if isinstance(result, Group):
            back = writer.set_aside(laid(result))
            writer.lines.append(f"call void {name}({', '.join([f'ptr {back}', *words])})")
            return writer.taken(result, back)
        call = f"call {returned(result)} {name}({', '.join(words)})"
        if isinstance(result, Number):
            return Number(result.kind, writer.put(call))
        writer.lines.append(call)
        return result

    def _call_apart(self, writer: Statements, what, arguments: list[Value]) -> Value:
        what.bring()
        wanted = [given(one, lambda _: "")[0] for one in what.examples()]
        pairs = zip(arguments, wanted, strict=True)
        parts = [part for pair in pairs for part in handed(*pair, writer.as_kind)]
        words = ", ".join(["ptr"] + [word for word, _ in parts])
        self._declared[f'declare void @"{what.symbol}"({words}) nounwind'] = None
        texts = ", ".join(["ptr null"] + [f"{word} {text}" for word, text in parts])
        writer.lines.append(f'call void @"{what.symbol}"({texts})')
        return Still(None)

    def function(self, kernel, arguments: list[Value]) -> tuple[str, Value]:
        """The function's name for such arguments, written if it is not yet; what it returns."""
        key = (kernel.py_func, *[sort(one) for one in arguments])
        if key not in self._functions:
            self._functions[key] = self._written(kernel, arguments)
        return self._functions[key]

    def _written(self, kernel, arguments: list[Value]) -> tuple[str, Value]:
        parameters: list[str] = []

        def parameter(word: str, _: str) -> str:
            parameters.append(f"{word} %p{len(parameters)}")
            return f"%p{len(parameters) - 1}"

        own = [mapped(one, parameter) for one in arguments]
        wide: set = set()
        while True:
            writer = Statements(self, kernel.py_func, kernel.free, wide)
            try:
                writer.whole(_source(kernel.py_func), own)
                break
            except Wider as found:
                wide.add(found.args[0])
        name = f'@"{kernel.name}.{len(self._functions)}.{len(self._texts)}"'
        if isinstance(writer.result, Group):
            parameters.insert(0, "ptr %back")
        copied = "alwaysinline" if kernel.copied else "noinline"
        head = f"define internal {returned(writer.result)} {name}({', '.join(parameters)})"
        body = "\n".join(["begin:", *writer.memory, *writer.lines])
        self._texts.append(f"{head} {copied} {_PURPOSE} {{\n{body}\n}}")
        return name, writer.result

    def entry(self, kernel, symbol: str, arguments: tuple) -> str:
        """The function that is called from outside (see `calls`); what it returns, in letters."""
        count = iter(range(10**6))
        values, words = [], ["ptr %out"]
        for one in arguments:
            value, parts = given(one, lambda _: f"%a{next(count)}")
            values.append(value)
            words += [f"{word} {text}" for word, text in parts]
        writer = Statements(self, kernel.py_func, False, set())
        answer = self.call(writer, kernel, values)
        numbers = [answer] if isinstance(answer, Number) else []
        numbers = list(answer.items) if isinstance(answer, Group) else numbers
        kinds = ", ".join("i8" if one.kind == "?" else WORDS[one.kind] for one in numbers)
        for n, one in enumerate(numbers):
            place = writer.put(f"getelementptr {{ {kinds} }}, ptr %out, i32 0, i32 {n}")
            writer.store(np.dtype({"d": "f8", "q": "i8", "?": "?"}[one.kind]), place, one)
        body = "\n".join(["begin:", *writer.memory, *writer.lines, "ret void"])
        self._texts.append(f'define void @"{symbol}"({", ".join(words)}) {_PURPOSE} {{\n{body}\n}}')
        letters = "".join(one.kind for one in numbers)
        return f"({letters}" if isinstance(answer, Group) else letters

    def text(self) -> str:
        return "\n".join([*self._declared, *self._texts, "!0 = !{}"])


@functools.cache
def _processor():
    """What is translated for."""
    import llvmlite.binding as llvm

    x86 = llvm.get_process_triple().startswith(("x86", "i686", "i386", "amd64"))
    return target().create_target_machine(
        cpu=llvm.get_host_cpu_name(),
        features=llvm.get_host_cpu_features().flatten(),
        opt=3,
        reloc="static" if x86 else "default",
        codemodel="jitdefault",
        jit=True,
    )


def translated(kernel, arguments: tuple) -> Code:
    """Machine code of a kernel for such arguments."""
    import llvmlite.binding as llvm

    unit, symbol = Unit(), kernel.name
    returns = unit.entry(kernel, symbol, arguments)

    processor = _processor()
    module = llvm.parse_assembly(unit.text())
    module.triple = llvm.get_process_triple()
    module.data_layout = str(processor.target_data)
    module.verify()
    options = llvm.create_pipeline_tuning_options(speed_level=3)
    options.loop_vectorization = True
    options.slp_vectorization = False
    builder = llvm.create_pass_builder(processor, options)
    builder.getModulePassManager().run(module, builder)
    asked = [one.name for one in module.functions if one.is_declaration]
    needs = tuple(sorted(name for name in asked if not name.startswith("llvm.")))
    return Code(symbol, returns, needs, processor.emit_object(module))
