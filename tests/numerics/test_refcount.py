"""The march counts no references: nothing is allocated, so nothing has to be counted inside the step.

Code that comes from the disk cache cannot be inspected as text any more, so the stored code itself is searched: machine
code and LLVM bitcode of the march with every part linked in, both with the names of what they call.
"""

from __future__ import annotations

import re
from pathlib import Path

from numba import config

from tests.balance.marches import run_of

COUNTING = re.compile(rb"NRT_(?:incref|decref|[Aa]llocate\w*|MemInfo_\w+)")


def counted(function: str) -> set[bytes]:
    """Names of reference counting and allocation in the stored code of a function, e.g. `march.compiled_march`."""
    run_of("plain", "winter_day")  # stores what is not stored yet
    files = list(Path(str(vars(config)["CACHE_DIR"])).rglob(f"{function}-*.nbc"))
    assert files, function
    return {found for file in files for found in COUNTING.findall(file.read_bytes())}


def test_the_march_counts_no_references() -> None:
    assert counted("march.compiled_march") == set()


def test_the_search_sees_counting() -> None:
    """The driver rows are filled by code that may allocate."""
    assert b"NRT_decref" in counted("drivers.traction_rows")
