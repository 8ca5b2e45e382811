"""Each worker of a parallel run compiles into a folder of its own.

Two processes that fill one numba cache at the same time can leave an index that points at the other's
code when a function has several signatures.
"""

import os
from pathlib import Path

if worker := os.environ.get("PYTEST_XDIST_WORKER"):
    base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    os.environ.setdefault("HEATWRIGHT_CACHE", str(base / "heatwright-tests" / worker))
