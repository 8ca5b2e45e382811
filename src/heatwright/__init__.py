"""Heatwright: how an electric car moves heat, plant by plant."""

from __future__ import annotations

import sys
from types import ModuleType
from typing import Any

__version__ = "0.1.0"

_HOMES = {
    "load_plant": "heatwright.plant.load",
    "load_trip": "heatwright.trip.load",
    "build_case": "heatwright.trip.load",
    "compile_program": "heatwright.compiler.build",
    "simulate": "heatwright.simulate",
    "run_study": "heatwright.study",
    "render": "heatwright.report",
    "save_run": "heatwright.report",
    "load_run": "heatwright.run",
    "Run": "heatwright.run",
}

__all__ = ["__version__", *_HOMES]


def __getattr__(name: str) -> Any:
    """Fetch a public name from its module when it is first asked for, so that importing stays light."""
    if name not in _HOMES:
        raise AttributeError(f"module 'heatwright' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOMES})


class _Package(ModuleType):
    """Keeps `heatwright.simulate` the function, also after the module of that name has been loaded."""

    def __setattr__(self, name: str, value: object) -> None:
        if not (name in _HOMES and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
