"""A reading: one measured number with its unit and, where there is one, the target it is held against."""

from __future__ import annotations

import gc
import math
import os
import platform
import statistics
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from importlib.metadata import version
from typing import Any

PACKAGES = ("heatwright", "numpy", "numba", "scipy", "CoolProp", "scikit-sundae")


@dataclass(frozen=True)
class Reading:
    """`target` is the most allowed if `sense` is "most", the least if "least"; `repeats` is what it is the best of."""

    name: str
    value: float
    unit: str
    target: float | None = None
    sense: str = "most"
    repeats: int = 1
    median: float | None = None
    note: str = ""

    @property
    def met(self) -> bool | None:
        """Whether the target is met; None without one."""
        if self.target is None:
            return None
        return self.value <= self.target if self.sense == "most" else self.value >= self.target

    def as_json(self) -> dict[str, Any]:
        """Return the reading and its verdict."""
        return asdict(self) | {"met": self.met, "value": self.value if math.isfinite(self.value) else None}

    def line(self) -> str:
        """Return one line of the table."""
        sign = "<=" if self.sense == "most" else ">="
        target = "" if self.target is None else f"{sign} {self.target:g}"
        verdict = {None: "", True: "met", False: "MISSED"}[self.met]
        return f"  {self.name:<58} {self.value:>11.4g} {self.unit:<5} {target:>9} {verdict:<7} {self.note}"


def best_of(repeats: int, once: Callable[[], float]) -> tuple[float, float]:
    """Return least and median of the seconds that `once` reports."""
    times = []
    for _ in range(repeats):
        gc.collect()
        times.append(once())
    return min(times), statistics.median(times)


def timed(once: Callable[[], Any]) -> float:
    """Return the seconds a call takes."""
    begun = time.perf_counter()
    once()
    return time.perf_counter() - begun


def machine() -> dict[str, Any]:
    """Return what the numbers depend on beside the code."""
    cpu = platform.processor()
    try:
        with open("/proc/cpuinfo", encoding="utf-8") as stream:
            cpu = next((x.split(":", 1)[1].strip() for x in stream if x.startswith("model name")), cpu)
    except OSError:
        pass
    return {
        "cpu": cpu,
        "cores": os.cpu_count(),
        "system": platform.platform(),
        "python": platform.python_version(),
        "versions": {name: version(name) for name in PACKAGES},
        "load_average": os.getloadavg(),
        "at": time.strftime("%Y-%m-%dT%H:%M:%S%z"),
    }
