"""The first run after an installation or a change compiles the march: do it on two cores, and say so.

Compiled parts are kept on disk (physics.jit), so this happens once. Two processes write to the same cache; the
march itself is then linked from the parts in the calling process.
"""

from __future__ import annotations

import gc
import subprocess
import sys
from pathlib import Path
from typing import Any

from numba import boolean, config, float32, float64, types, uint32
from numba.core.caching import NullCache
from numba.core.dispatcher import Dispatcher

from heatwright.compiler import drivers
from heatwright.kernel import charge, control, flows, frost, glass_ice, heat, march, moisture, ports, power
from heatwright.physics.moist_air import saturation_pressure
from heatwright.trip import damp_air

_I, _F = uint32[::1], float64[::1]
_STEP = (_I, _F, _F, _F)
_BARE = (_I, _F, _F)
_TABLE = types.Array(float64, 3, "C")
PARTS: dict[str, tuple[tuple[Any, tuple[Any, ...]], ...]] = {
    "first": (
        (ports.run_circuit, (*_BARE, float64)),
        (power.fill_power, _STEP),
        (heat.solve_heat, (*_STEP, float64)),
        (ports.open_ports, _BARE),
        (drivers.traction_rows, (_F,) * 8 + (float64, _F, _TABLE, _F, float64, types.Array(float64, 2, "C"))),
        (drivers.pane_gains, (_F,) * 7),
        (damp_air.fill_moisture, (_F,) * 5),
        (damp_air.fill_pressure, (_F,) * 2),
    ),
    "second": (
        (flows.update_flows, _STEP),
        (march.derive, (_I, _F, _F)),
        (moisture.step_moisture, (*_STEP, float64)),
        (frost.step_frost, (*_STEP, float64)),
        (glass_ice.step_ice, (*_STEP, float64)),
        (heat.account, (*_STEP, float64)),
        (control.aim, (*_BARE, float64)),
        (control.move_actuators, (*_BARE, float64)),
        (power.book_power, (*_STEP, float64, float64)),
        (heat.restore_temperatures, _BARE),
        (march.begin, _BARE),
        (march.combine, (_I, _F)),
        (march.keep_state, (_I, _F)),
        (march.return_to_state, (_I, _F)),
        (ports.book_refrigerant, (_I, _F)),
        (control.read_signals, (*_STEP, float64)),
        (charge.circuit_mass, (*(float64,) * 9, _F, _F)),
    ),
}
"""Two halves of about equal work, a process each."""

MARCH = (
    _I, _F, _F, types.Array(float64, 2, "C"), float64, boolean, boolean, types.Array(float64, 2, "C"), uint32[::1],
    types.Array(float32, 2, "C"), boolean, boolean,
)  # fmt: skip


def wake() -> None:
    """Load compiled code without letting numba load scipy, which it does wherever scipy is installed (0.3 s).

    Only for a process of our own: scipy stays out of numba's linear algebra there.
    """
    hidden = "scipy" not in sys.modules
    if hidden:
        sys.modules["scipy"] = None  # type: ignore[assignment]
    try:
        saturation_pressure(273.15)
    finally:
        if hidden:
            del sys.modules["scipy"]


def is_cold(function: str = "march.compiled_march") -> bool:
    """Return whether the march (or another function) has still to be compiled for these sources on this machine."""
    return not any(Path(str(vars(config)["CACHE_DIR"])).rglob(f"{function}*.nbi"))


def _embed_callees() -> None:
    """Let every compiled function but those of `PARTS` live in its callers only (in this process).

    Alone it is neither kept on disk nor made callable from Python, which saves a quarter of the work; whoever
    calls it from Python compiles it then, for itself.
    """
    kept = {id(function) for some in PARTS.values() for function, _ in some}
    for name, module in list(sys.modules.items()):
        if not name.startswith("heatwright."):
            continue
        for found in vars(module).values():
            if isinstance(found, Dispatcher) and id(found) not in kept:
                found._cache = NullCache()  # type: ignore[attr-defined]
                found.targetoptions["no_cpython_wrapper"] = True


def compile_part(name: str) -> None:
    """Compile one group of functions into the cache; for a process that does nothing else.

    Python's garbage is left where it is: looking for it costs a compiler 6 % of its time and finds little.
    """
    sys.modules["scipy"] = None  # type: ignore[assignment]  # see wake
    gc.disable()
    _embed_callees()
    for function, signature in PARTS[name]:
        function.compile(signature)


def warm() -> None:
    """Compile the march on two cores, if it is not in the cache (`is_cold`)."""
    if not is_cold():
        return
    command = "from heatwright.compiler.warm import compile_part; compile_part({!r})"
    helpers = [
        subprocess.Popen(
            [sys.executable, "-c", command.format(name)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        for name in PARTS
    ]
    try:
        wake()
        for helper in helpers:
            helper.wait()
    finally:
        for helper in helpers:
            if helper.poll() is None:
                helper.kill()
                helper.wait()
    march.compiled_march.compile(MARCH)
