"""How kernels are compiled, and how Python calls them.

Kernels are functions in a small part of Python, which `machine.translation` puts into the language
of LLVM; that makes machine code of it for this processor. The code is kept (see `machine.kept`) in
a folder that is named by a hash of all of `sim.kernels`, since it depends on every kernel that is
called from it: an edit of any starts a new folder, and old ones are swept away. Python calls it by
its address. What translates is loaded only where something is to be compiled.
"""

from __future__ import annotations

import functools
import hashlib
import os
import threading
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from firstthrow.sim.kernels.machine.calls import NUMBERS, call_of, kind
from firstthrow.sim.kernels.machine.kept import APART, folder_for, keep, kept, loaded, provide

PLAIN = bool(int(os.environ.get("NUMBA_DISABLE_JIT") or 0))  # no compiler: kernels are Python


def _sources_hash() -> str:
    digest = hashlib.sha256(str(os.cpu_count()).encode())
    llvm = find_spec("llvmlite")
    if llvm and llvm.origin:  # its version, without its import
        digest.update(Path(llvm.origin).with_name("_version.py").read_bytes())
    for path in sorted(Path(__file__).parent.rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


CACHE = folder_for(_sources_hash())
_ALONE = threading.RLock()  # one thread at a time loads or compiles


class Kernel:
    """A kernel as Python sees it: called with arrays, records and numbers, by its address.

    One machine code for each set of argument kinds, of which there should be one. An array that
    is read only counts as any other: no kernel writes to what is not its own.
    """

    def __init__(self, function, free: bool = True, copied: bool = True) -> None:
        functools.update_wrapper(self, function)
        self.py_func = function
        self.free = free  # whether sums may be taken in another order
        self.copied = copied  # into all that call it
        self._codes: dict[tuple, Callable] = {}
        # What there is machine code for, by kinds of arguments: where it is, what it returns.
        self.signatures: dict[tuple, tuple[int, str]] = {}
        self.name = f"{function.__module__.rpartition('.')[2]}.{function.__name__}"

    def __call__(self, *arguments):
        kinds = tuple([kind(one) for one in arguments])
        code = self._codes.get(kinds)
        if code is None:
            with _ALONE:
                code = self._codes.get(kinds)
                if code is None:
                    code = self._codes[kinds] = self._callable(kinds, arguments)
        return code(arguments)

    def _callable(self, kinds: tuple, arguments: tuple) -> Callable:
        """What runs it on such arguments: numbers alone are sooner worked out than handed over."""
        if all(one in NUMBERS for one in kinds):
            return lambda given: self.py_func(*[_wide(one) for one in given])
        return call_of(*self.address(kinds, arguments), arguments)

    def address(self, kinds: tuple, arguments: tuple) -> tuple[int, str]:
        """Of its machine code in memory, and what it returns."""
        with _ALONE:
            if kinds not in self.signatures:
                self.signatures[kinds] = self._brought(kinds, arguments)
            return self.signatures[kinds]

    def _brought(self, kinds: tuple, arguments: tuple) -> tuple[int, str]:
        """The same from the cache, or compiled."""
        name = f"{self.name}-{hashlib.sha256(repr(kinds).encode()).hexdigest()[:16]}"
        code = kept(CACHE, name)
        found = loaded(code) if code is not None else None
        if found is None:
            from firstthrow.sim.kernels.machine.translation import translated

            code = translated(self, arguments)
            keep(CACHE, name, code)
            found = loaded(code)
        return found, code.returns


def _wide(number):
    """An integer as any other: those of few bits would go round at their end."""
    return int(number) if isinstance(number, np.integer) else number


def _compile(function, **how):
    return function if PLAIN else Kernel(function, **how)


def kernel(function):
    """Compile `function`, into all that call it; plain Python under NUMBA_DISABLE_JIT=1."""
    return _compile(function)


def exact(function):
    """The same for what must give the same bits wherever it is compiled into, as hands do live and
    in the batch: no sum is taken in another order, no product fused with it. So must all be that
    it calls."""
    return _compile(function, free=False)


def called(function):
    """The same for what is large and called from several places: not copied into them."""
    return _compile(function, copied=False)


class _Apart:
    """What stands apart, as the kernels that call it know it: by a symbol."""

    def __init__(self, own: Kernel, examples) -> None:
        self._own, self.examples = own, examples
        self.symbol = f"{APART}{own.__module__}.{own.__name__}"
        self.bring = functools.cache(self._bring)
        provide(self.symbol, self.bring)

    def _bring(self) -> None:
        """Its machine code into memory, under its symbol."""
        from llvmlite.binding import add_symbol

        arguments = self.examples()
        kinds = tuple(kind(one) for one in arguments)
        add_symbol(self.symbol, self._own.address(kinds, arguments)[0])


def apart(examples):
    """The same for what is large and called from many: compiled once, and by itself.

    What a kernel calls is copied into its machine code, and optimised and translated again there.
    What stands apart is known to its callers by a symbol alone; handing its arguments over takes
    them 0.2 us. examples: gives arguments such as it takes. The decorated function becomes a pair:
    one to call from outside, or to have copied into a kernel all the same, and one for kernels to
    call by its address.
    """

    def compiled_by_itself(function):
        own = kernel(function)
        return (own, own) if PLAIN else (own, _Apart(own, examples))

    return compiled_by_itself
