"""The first run after an installation or a change compiles the march: do it on two cores, and say so.

Compiled parts are kept on disk (physics.jit), so this happens once. Both processes write to the same cache;
the march itself is then linked from the parts in the calling process.
"""

from __future__ import annotations

import gc
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from numba import boolean, config, float32, float64, types, uint32

from heatwright.compiler import drivers
from heatwright.kernel import control, flows, heat, march, power
from heatwright.physics.moist_air import saturation_pressure

_I, _F = uint32[::1], float64[::1]
_STEP = (_I, _F, _F, _F)
_BARE = (_I, _F, _F)
_TABLE = types.Array(float64, 3, "C")
PARTS: dict[str, tuple[tuple[Any, tuple[Any, ...]], ...]] = {
    "helper": (
        (power.run_circuit, (*_BARE, boolean)),
        (power.fill_power, _STEP),
        (heat.solve_heat, (*_STEP, float64)),
        (power.open_ports, _BARE),
        (drivers.traction_rows, (_F,) * 6 + (float64, _F, _TABLE, _F, float64, types.Array(float64, 2, "C"))),
        (drivers.pane_gains, (_F,) * 7),
    ),
    "caller": (
        (flows.update_flows, _STEP),
        (march.derive, (_I, _F, _F)),
        (power.step_moisture, (*_STEP, float64)),
        (heat.account, (*_STEP, float64)),
        (control.control, (*_BARE, float64)),
        (power.book_power, (*_STEP, float64, float64)),
        (heat.restore_temperatures, _BARE),
        (march.begin, _BARE),
        (march.combine, (_I, _F)),
        (march.keep_state, (_I, _F)),
        (march.return_to_state, (_I, _F)),
        (power.book_refrigerant, (_I, _F)),
        (control.read_signals, (_I, _F, _F)),
    ),
}
"""Two halves of about equal work: for a second process, and for the one that asks."""

MARCH = (
    _I, _F, _F, types.Array(float64, 2, "C"), float64, boolean, boolean, types.Array(float64, 2, "C"), uint32[::1],
    types.Array(float32, 2, "C"), boolean,
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


def is_cold() -> bool:
    """Return whether the march has still to be compiled for these sources on this machine."""
    return not any(Path(str(vars(config)["CACHE_DIR"])).rglob("march.compiled_march*.nbi"))


@contextmanager
def _uncollected() -> Iterator[None]:
    """Leave Python's garbage where it is: looking for it costs a compiler 6 % of its time and finds little."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def compile_part(name: str) -> None:
    """Compile one group of functions into the cache."""
    with _uncollected():
        for function, signature in PARTS[name]:
            function.compile(signature)


def warm() -> None:
    """Compile the march on two cores, if it is not in the cache (`is_cold`)."""
    if not is_cold():
        return
    command = [
        sys.executable,
        "-c",
        "from heatwright.compiler.warm import compile_part; compile_part('helper')",
    ]
    helper = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        compile_part("caller")
        helper.wait()
    finally:
        if helper.poll() is None:
            helper.kill()
            helper.wait()
    with _uncollected():
        march.compiled_march.compile(MARCH)
