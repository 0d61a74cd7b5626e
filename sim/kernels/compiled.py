"""How kernels are compiled, and how Python calls them.

A kernel's machine code depends on every kernel it calls, but numba's cache watches only the file
of the outermost one. The cache folder is therefore named by a hash of all of `sim.kernels`, so
that an edit of any kernel starts a new one and old ones are swept away. What Python calls is kept
as bare machine code (see `kept`), called by its address: numba, whose import alone takes longer
than most answers, is loaded only where something is to be compiled.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import inspect
import os
import threading
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from firstthrow.sim.kernels.machine.calls import NUMBERS, call_of, kind
from firstthrow.sim.kernels.machine.kept import APART, folder_for, keep, kept, loaded, provide
from firstthrow.sim.kernels.machine.written import shipped, translated

_FLAGS = {"reassoc", "contract", "nsz", "arcp"}  # NaN and infinity keep their meaning
PLAIN = bool(int(os.environ.get("NUMBA_DISABLE_JIT") or 0))  # no compiler: kernels are Python


def _sources_hash() -> str:
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _version() -> str:
    digest = hashlib.sha256(f"{SOURCES} {os.cpu_count()}".encode() + shipped())
    numba = find_spec("numba")
    if numba and numba.origin:  # its version, without its import
        with contextlib.suppress(FileNotFoundError):  # packed by others: it goes with the sources
            digest.update(Path(numba.origin).with_name("_version.py").read_bytes())
    return digest.hexdigest()[:16]


SOURCES = _sources_hash()
CACHE = folder_for(_version())


@functools.cache
def _numba():
    """numba, brought in to compile."""
    import numba

    if CACHE:
        numba.config.CACHE_DIR = str(CACHE)
    return numba


_ALONE = threading.RLock()  # one thread at a time loads or compiles


class Kernel:
    """A kernel as Python sees it: called with arrays, records and numbers, by its address.

    One machine code for each set of argument kinds, of which there should be one. An array that
    is read only counts as any other: no kernel writes to what is not its own. Kernels know one
    another by numba's dispatchers, which are made when something is compiled.
    """

    def __init__(self, function, how) -> None:
        functools.update_wrapper(self, function)
        self.py_func = function
        self._how = how
        self._codes: dict[tuple, Callable] = {}
        # What there is machine code for, by kinds of arguments: where it is, what it returns.
        self.signatures: dict[tuple, tuple[int, str]] = {}
        self.name = f"{function.__module__.rpartition('.')[2]}.{function.__name__}"

    @functools.cached_property
    def dispatcher(self):
        """numba's, for the compiler."""
        from firstthrow.sim.kernels.machine.by_numba import KeptKernel

        made = _numba().njit(
            error_model="numpy",
            nogil=True,
            boundscheck=False,
            no_cfunc_wrapper=True,
            no_cpython_wrapper=True,
            _nrt=False,  # arrays are the caller's: none is made, no reference counted
            **self._how,
        )(self.py_func)
        if CACHE:
            made._cache = KeptKernel(self.py_func)
        return made

    @property
    def _numba_type_(self):
        return self.dispatcher._numba_type_

    @property
    def targetoptions(self):
        return self.dispatcher.targetoptions

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
        """The same from the cache, from what was written when the program was, or compiled."""
        name = named(self.name, kinds)
        code = kept(CACHE, name)
        found = loaded(code) if code else None
        if code and found is not None:
            return found, code.returns
        code = translated(SOURCES, name)
        found = loaded(code) if code else None
        if code and found is not None:
            keep(CACHE, name, code)
            return found, code.returns
        from firstthrow.sim.kernels.machine.by_numba import code_of

        made = self.compiled(arguments)
        code = code_of(made)
        keep(CACHE, name, code)
        return made.library.get_pointer_to_function(code.symbol), code.returns

    def compiled(self, arguments: tuple):
        """What numba makes of it for such arguments."""
        from firstthrow.sim.kernels.machine.by_numba import typed

        wanted = tuple(typed(one) for one in arguments)
        self.dispatcher.compile(wanted)
        return self.dispatcher.overloads[wanted]


def named(kernel: str, kinds: tuple) -> str:
    """Under which name it is kept for such arguments."""
    return f"{kernel}-{hashlib.sha256(repr(kinds).encode()).hexdigest()[:16]}"


def _wide(number):
    """An integer as any other: those of few bits would go round at their end."""
    return int(number) if isinstance(number, np.integer) else number


def _compile(function, fastmath=_FLAGS, **how):
    return function if PLAIN else Kernel(function, {"fastmath": fastmath, **how})


def kernel(function):
    """Compile `function` with the project's flags, and into all that call it; plain Python under
    NUMBA_DISABLE_JIT=1."""
    return _compile(function, forceinline=True)


def exact(function):
    """The same for what must give the same bits wherever it is compiled into, as hands do live and
    in the batch: no sum is taken in another order, no product fused with it. So must all be that
    it calls."""
    return _compile(function, fastmath=False, forceinline=True)


def called(function):
    """The same for what is large and called from several places: not copied into them."""
    return _compile(function)


def woven(function):
    """The same for what is small and calls what is large: its source goes into its callers, so
    that the large is not gone through once more on its account."""
    return _compile(function, inline="always")


def plainly(one):
    """A kernel as Python runs it: slowly, and before anything is compiled. Kernels that it calls
    must take numbers alone, else they are compiled after all."""
    return getattr(one, "py_func", one)


class _Apart:
    """What stands apart, as the kernels that call it know it: by a symbol."""

    def __init__(self, own: Kernel, examples) -> None:
        self._own, self._examples = own, examples
        self._symbol = f"{APART}{own.__module__}.{own.__name__}"
        self.bring = functools.cache(self._bring)
        provide(self._symbol, self.bring)

    def _bring(self) -> None:
        """Its machine code into memory, under its symbol."""
        from llvmlite.binding import add_symbol

        arguments = self._examples()
        kinds = tuple(kind(one) for one in arguments)
        add_symbol(self._symbol, self._own.address(kinds, arguments)[0])

    @functools.cached_property
    def _intrinsic(self):
        from numba.core import cgutils
        from numba.extending import intrinsic

        def call(context, builder, signature, arguments):
            result, wanted = signature.return_type, signature.args
            kind = context.call_conv.get_function_type(result, wanted)
            target = cgutils.get_or_insert_function(builder.module, kind, self._symbol)
            _, value = context.call_conv.call_function(builder, target, result, wanted, arguments)
            return value

        def typed(context, *arguments):
            self.bring()
            return self._own.compiled(self._examples()).signature, call

        names = inspect.signature(self._own.py_func).parameters.values()
        context = inspect.Parameter("context", inspect.Parameter.POSITIONAL_OR_KEYWORD)
        typed.__signature__ = inspect.Signature([context, *names])
        return intrinsic(typed)

    @property
    def _numba_type_(self):
        from numba.core.registry import cpu_target

        known, own = cpu_target.typing_context, self._intrinsic
        known.refresh()
        return known.resolve_value_type(own)


def apart(examples):
    """The same for what is large and called from many: compiled once, and by itself.

    numba copies all that a kernel calls into its module, and has it optimised and translated
    again there, which is most of what compiling costs. What stands apart is known to its callers
    by a symbol alone; handing its arguments over takes them 0.2 us. examples: gives arguments such
    as it takes. The decorated function becomes a pair: one to call from outside, or to have copied
    into a kernel all the same, and one for kernels to call by its address.
    """

    def compiled_by_itself(function):
        own = kernel(function)
        return (own, own) if PLAIN else (own, _Apart(own, examples))

    return compiled_by_itself
