"""The one decorator behind every compiled function, and where its cache lives.

numba keys its on-disk cache by the file of the outermost function only: an edit in a callee of another
file goes unnoticed.  The cache folder is therefore named by a hash of every source file under
`physics/` and `kernel/`, the numba version and the processor, so that any edit starts a fresh cache.
"""

from __future__ import annotations

import hashlib
import platform
from pathlib import Path
from typing import Any

import numba
from numba import config

from heatwright.cache import cache_home

_PACKAGE = Path(__file__).resolve().parent.parent


def source_hash(package: Path = _PACKAGE) -> str:
    """Return 16 hex digits over all compiled sources, the numba version and the processor."""
    digest = hashlib.blake2b(digest_size=8)
    for room in ("physics", "kernel"):
        for file in sorted((package / room).glob("*.py")):
            digest.update(file.name.encode())
            digest.update(file.read_bytes())
    digest.update(f"{numba.__version__} {platform.machine()} {platform.processor()}".encode())
    return digest.hexdigest()


vars(config)["CACHE_DIR"] = str(cache_home() / "code" / source_hash())


_NJIT: Any = numba.njit  # the option that turns reference counting off is not in the published signature


def kernel_jit(function: Any) -> Any:
    """Compile without reference counting: the function must not allocate (scratch is passed in).

    Called from Python it lets go of the interpreter's lock, so that marches run beside each other in threads.
    """
    return _NJIT(cache=True, _nrt=False, nogil=True, error_model="numpy", no_cfunc_wrapper=True)(function)


def inner_jit(function: Any) -> Any:
    """As `kernel_jit` for a function only ever called by compiled ones: its callers' cache holds its code."""
    return _NJIT(_nrt=False, error_model="numpy", no_cfunc_wrapper=True)(function)


def kernel_part(function: Any) -> Any:
    """Merge a function into its one compiled caller, which saves start time; by itself only where Python calls it."""
    return _NJIT(cache=True, _nrt=False, nogil=True, error_model="numpy", inline="always")(function)


def array_jit(function: Any) -> Any:
    """Compile a driver that may allocate; called once a run, never inside the step."""
    return numba.njit(cache=True, error_model="numpy")(function)
