"""What needs numba: what it calls arguments, and what it keeps of each kernel between runs.

That is for kernels that call it to be compiled from; every file ends in its checksum, as do those
of `kept`.
"""

from __future__ import annotations

import contextlib
import io
import os
from pathlib import Path

import numba
import numpy as np
from numba import types
from numba.core.caching import FunctionCache, IndexDataCacheFile
from numba.core.runtime import rtsys

from firstthrow.sim.kernels.machine.kept import Code, bring_for, summed, whole


class KeptKernel(FunctionCache):
    """One kernel, in `numba.config.CACHE_DIR`."""

    def __init__(self, function) -> None:
        super().__init__(function)
        stamp = self._impl.locator.get_source_stamp()
        self._cache_file = _CheckedFiles(self._cache_path, self._impl.filename_base, stamp)

    def _load_overload(self, sig, target_context):
        """As numba's own, and leaves the machine code with what is loaded, to be kept again."""
        data = self._cache_file.load(self._index_key(sig, target_context.codegen()))
        if data is None:
            return None
        rtsys.initialize(target_context)
        found = self._impl.rebuild(target_context, data)
        _, _, (machine, _) = data[0]
        found.library.machine = machine
        return found

    def save_overload(self, signature, compiled) -> None:
        """What cannot be kept, on a full disk say, is flown all the same."""
        with contextlib.suppress(OSError):
            super().save_overload(signature, compiled)


class _CheckedFiles(IndexDataCacheFile):
    """numba's two files of a kernel, each with its checksum at the end."""

    @contextlib.contextmanager
    def _open_for_write(self, path):
        with super()._open_for_write(path) as file:
            content = io.BytesIO()
            yield content
            if hasattr(os, "fchmod"):
                os.fchmod(file.fileno(), 0o600)
            file.write(summed(Path(path), content.getvalue()))

    def _load_index(self):
        return super()._load_index() if whole(Path(self._index_path)) is not None else {}

    def _load_data(self, name):
        content = whole(Path(self._data_path(name)))
        if content is None:
            raise OSError("compiled code is missing or damaged")  # which numba takes for missing
        bring_for(content)
        return super()._load_data(name)


def typed(value):
    """What numba calls an argument; an array that is read only counts as any other, and so does
    an integer of any width."""
    if isinstance(value, np.ndarray):
        layout = "C" if value.flags.c_contiguous else "A"
        return numba.typeof(value).copy(layout=layout, readonly=False)
    if isinstance(value, tuple):
        each = [typed(one) for one in value]
        if type(value) is tuple:
            return types.Tuple(each)
        if len(set(each)) == 1:
            return types.NamedUniTuple(each[0], len(each), type(value))
        return types.NamedTuple(each, type(value))
    if isinstance(value, (int, np.integer)) and not isinstance(value, bool):
        return types.int64
    return numba.typeof(value)


def returned(kind) -> str:
    """What a kernel returns, a letter a number; nothing for none."""
    kind = types.unliteral(kind)
    one = {types.float64: "d", types.int64: "q", types.boolean: "?", types.none: ""}
    if isinstance(kind, types.BaseTuple):
        return "(" + "".join(one[types.unliteral(item)] for item in kind)
    return one[kind]


def code_of(made) -> Code:
    """The machine code of what numba has compiled."""
    library = made.library
    machine = getattr(library, "machine", None) or library._get_compiled_object()
    symbol, returns = made.fndesc.llvm_func_name, returned(made.signature.return_type)
    return Code(symbol, returns, asked_for(library), machine)


def asked_for(library) -> tuple[str, ...]:
    """Symbols that compiled code calls, and does not hold."""
    modules = library._final_module, library._get_module_for_linking()
    named = (one for m in modules for one in (*m.functions, *m.global_variables))
    asked = {one.name for one in named if one.is_declaration}
    return tuple(sorted(name for name in asked if not name.startswith("llvm.")))
