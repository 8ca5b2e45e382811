"""What a march comes to in water: the ledger of the cabin's water, and the series of air, film and ice."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.kernel import names, plan
from heatwright.outcome import slug
from heatwright.physics.screen_ice import AREA_A, cleared_share

Floats = NDArray[np.float64]


def water_ledger(program: Program, w: NDArray[np.float64], wet_start: NDArray[np.float64]) -> dict[str, Any]:
    """Return the water ledger: every signed term and store [kg], whose sum is the residual.

    Positive enters the cabin's air, coils and glass; a store term is minus what it gained. Closed by the same numbers
    as solved.
    """
    index = program.index
    wet = plan.section(program.pi, w, "wet")
    gained = wet - wet_start
    books = dict(zip(names.WATER_TERMS, (float(x) for x in wet[-names.N_WATER :]), strict=True))
    through = books.pop("throughput")
    air = np.array(list(index.air_kg.values()))
    n, coils, holders, ices = air.size, len(index.coils), len(index.holder_m2), len(index.ice_m2)
    held = gained[2 * n : 2 * n + holders]
    terms = books | {
        "stored_in_air": -float(air @ gained[:n]),
        "stored_on_coils": -float(np.sum(held[:coils])),
        "stored_on_glass": -float(np.sum(held[coils:])),
        "stored_in_ice": -float(np.sum(gained[2 * n + holders : 2 * n + holders + ices])),
    }
    residual = float(sum(terms.values()))
    return {
        "residual_kg": residual,
        "residual_relative": residual / through if through else 0.0,
        "throughput_kg": through,
        "terms_kg": terms,
    }


def wet_columns(program: Program) -> list[tuple[str, int, str, str, str]]:
    """Return (name, place, words, unit, body) of every series of water and carbon dioxide, as recorded."""
    index = program.index
    airs, n = list(index.air_kg), len(index.air_kg)
    out = []
    for k, air in enumerate(airs):
        name = slug(air)
        out.append((f"w_{name}_kg_per_kg", program.place("wet", k), f"humidity ratio {air}", "kg/kg", ""))
    for k, air in enumerate(airs):
        zone = air.removesuffix(".air")
        if zone in index.stores:
            out.append((f"co2_{slug(zone)}_ppm", program.place("wet", n + k), f"carbon dioxide {zone}", "ppm", zone))
    for k, (name, area) in enumerate(index.holder_m2.items()):
        word, key = ("film on", f"film_{slug(name)}_kg") if area > 0.0 else ("water on", f"held_{slug(name)}_kg")
        out.append((key, program.place("wet", 2 * n + k), f"{word} {name}", "kg", ""))
    first = 2 * n + len(index.holder_m2)
    for k, name in enumerate(index.ice_m2):
        out.append((f"ice_{slug(name)}_kg", program.place("wet", first + k), f"ice on {name}", "kg", ""))
    return out


def screen_clear_share(program: Program, series: Mapping[str, NDArray]) -> Floats | None:
    """Return the share of vision area A that is free of ice over the run, if there was ice on the first screen."""
    name = next(iter(program.index.ice_m2), None)
    if name is None:
        return None
    ice = np.asarray(series[f"ice_{slug(name)}_kg"], float)
    if ice[0] <= 0.0:
        return None
    return np.array([cleared_share(min(max(1.0 - x / ice[0], 0.0), 1.0), *AREA_A) for x in ice])
