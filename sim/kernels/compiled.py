"""How kernels are compiled, and which compiled code is kept for them.

A kernel's cached machine code depends on every kernel it calls, but numba's cache watches
only the file of the outermost one. The cache folder is therefore named by a hash of all of
`sim.kernels`, so that an edit of any kernel starts a new one and old ones are swept away.
"""

from __future__ import annotations

import functools
import hashlib
import inspect
import os
from pathlib import Path

import llvmlite.binding
import numba
from numba.core import cgutils
from numba.extending import intrinsic

from firstthrow.sim.kernels.kept import NEEDED, KeptCode, folder_for

_FLAGS = {"reassoc", "contract", "nsz", "arcp"}  # NaN and infinity keep their meaning


def _sources_hash() -> str:
    digest = hashlib.sha256()
    digest.update(f"{numba.__version__} {os.cpu_count()}".encode())
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


CACHE = folder_for(_sources_hash())
if CACHE:
    numba.config.CACHE_DIR = str(CACHE)


def cache_is_cold() -> bool:
    """True when the next first flight has to compile its kernels."""
    return CACHE is None or not any(CACHE.rglob("*.nbc"))


def _compile(function, fastmath=_FLAGS, **how):
    compiled = numba.njit(
        fastmath=fastmath,
        error_model="numpy",
        nogil=True,
        boundscheck=False,
        no_cfunc_wrapper=True,
        **how,
    )(function)
    if CACHE and compiled is not function:
        compiled._cache = KeptCode(function)
    return compiled


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


def apart(types):
    """The same for what is large and called from many: compiled once, and by itself.

    numba copies all that a kernel calls into its module, and has it optimised and translated
    again there, which is most of what compiling costs. What stands apart is known to its callers
    by a symbol alone; handing its arguments over takes them 0.2 us. types: gives the types of its
    arguments. The decorated function becomes a pair: one to call from outside, or to have copied
    into a kernel all the same, and one for kernels to call by its address.
    """

    def compiled_by_itself(function):
        own = kernel(function)
        if numba.config.DISABLE_JIT:
            return own, own
        symbol = f"firstthrow_apart_{function.__name__}"

        @functools.cache
        def there():
            """Its signature, once it is in memory under its symbol."""
            wanted = types()
            own.compile(wanted)
            found = own.overloads[wanted]
            address = found.library.get_pointer_to_function(found.fndesc.llvm_func_name)
            llvmlite.binding.add_symbol(symbol, address)
            return found.signature

        def call(context, builder, signature, arguments):
            result, wanted = signature.return_type, signature.args
            kind = context.call_conv.get_function_type(result, wanted)
            target = cgutils.get_or_insert_function(builder.module, kind, symbol)
            _, value = context.call_conv.call_function(builder, target, result, wanted, arguments)
            return value

        def typed(context, *arguments):
            return there(), call

        names = inspect.signature(function).parameters.values()
        context = inspect.Parameter("context", inspect.Parameter.POSITIONAL_OR_KEYWORD)
        typed.__signature__ = inspect.Signature([context, *names])
        NEEDED[symbol.encode()] = there
        return own, intrinsic(typed)

    return compiled_by_itself
