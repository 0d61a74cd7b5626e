"""Kernels as numba writes them for LLVM: shipped with the program, made machine code without numba.

Most of what it costs to compile a kernel is numba's own work in Python, and that comes to the same
on every machine: what it writes is for none in particular. `.ci/kernels` has it written and puts it
beside this file; here LLVM makes of it what this processor runs. What was written of other sources
than those that are there is not used, and numba compiles as ever.
"""

from __future__ import annotations

import json
import os
import sys
import zipfile
import zlib
from pathlib import Path

from firstthrow.sim.kernels.machine.kept import Code, target

SHIPPED = Path(__file__).with_name("kernels.zip")
# What numba is told of the code it is to make: then numba makes it.
TOLD = {
    f"NUMBA_{what}"
    for what in (
        "BOUNDSCHECK",
        "CPU_FEATURES",
        "CPU_NAME",
        "ENABLE_AVX",
        "LOOP_VECTORIZE",
        "OPT",
        "SLP_VECTORIZE",
    )
}


def shipped() -> bytes:
    """All that is shipped, as it stands in its file; nothing where there is none."""
    try:
        return SHIPPED.read_bytes()
    except OSError:
        return b""


def translated(sources: str, name: str) -> Code | None:
    """Machine code of what numba has written of a kernel from these sources; None where it has not,
    where the LLVM that is there does not read it, or where numba is TOLD something.

    Optimised as numba has it done where it is told nothing, for the processor that LLVM finds.
    """
    found = _written(sources, name)
    if found is None:
        return None
    import llvmlite.binding as llvm

    machine = target().create_target_machine(
        cpu=llvm.get_host_cpu_name(),
        features=llvm.get_host_cpu_features().flatten(),
        opt=3,
        reloc="static" if "x86" in target().name else "default",
        jit=True,
    )
    (symbol, returns, needs), content = found
    try:
        module = llvm.parse_bitcode(content)
        choices = llvm.create_pipeline_tuning_options(speed_level=3)
        choices.loop_vectorization, choices.slp_vectorization = True, False
        passes = llvm.create_pass_builder(machine, choices)
        module.triple, module.data_layout = llvm.get_process_triple(), str(machine.target_data)
        passes.getModulePassManager().run(module, passes)
        return Code(symbol, returns, tuple(needs), machine.emit_object(module))
    except (AttributeError, RuntimeError):  # LLVM of another time
        return None


def _written(sources: str, name: str) -> tuple[list, bytes] | None:
    """That, and before it what `Code` says of it."""
    if os.name != "posix" or sys.maxsize < 1 << 32 or TOLD & os.environ.keys():
        return None
    try:
        with zipfile.ZipFile(SHIPPED) as file:
            if file.comment != sources.encode():
                return None
            return json.loads(file.getinfo(name).comment), file.read(name)
    except (OSError, KeyError, ValueError, zipfile.BadZipFile, zlib.error):
        return None


def store(sources: str, kernels: dict[str, tuple[str, str, list[str], bytes]]) -> None:
    """Ship kernels, by their names, as numba has written them from these sources: symbol, what it
    returns and needs, as `Code` has them, and LLVM's bitcode, which any later LLVM reads."""
    with zipfile.ZipFile(SHIPPED, "w") as file:
        file.comment = sources.encode()
        for name, (*head, content) in sorted(kernels.items()):
            entry = zipfile.ZipInfo(name)
            entry.compress_type, entry.comment = zipfile.ZIP_DEFLATED, json.dumps(head).encode()
            file.writestr(entry, content, compresslevel=9)
