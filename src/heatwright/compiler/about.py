"""What a program knows of its plant beside the arrays: figures that results and prices need, and where it came from."""

from __future__ import annotations

from functools import cache
from importlib.metadata import version
from typing import Any


def facts_of(plant: Any) -> dict[str, float]:
    """Return what results and prices need to know of the plant: energy and heat of the pack, heat of the linings."""
    v = plant.of_kind("pack")[0].values
    zones = [zone.values for zone in plant.of_kind("zone")]
    direct = sum(zone["trim_to_air"].value for zone in zones)
    by_skin = sum(1.0 / (1.0 / max(zone["skin_to_trim"], 1e-9) + 1.0 / zone["skin_to_air"]) for zone in zones)
    low, high = v["usable"]
    return {
        "pack_usable_j": v["energy"] * (high - low),
        "pack_heat_j_per_k": v["heat_capacity"],
        "pack_to_outside_w_per_k": v["to_outside"],
        "pack_j": v["energy"],
        "lining_j_per_k": sum(zone["trim"] for zone in zones),
        "lining_to_air_w_per_k": direct + by_skin,
    }


def provenance_of(plant: Any, case: Any) -> dict[str, object]:
    """Return names, sources and hashes of a plant and a trip, and the versions of what works on them."""
    return {
        "plant": plant.name,
        "plant_source": plant.source,
        "plant_digest": plant.digest,
        "controlled": plant.control is not None,
        "refrigerants": {one.name: plant.fluid_of(one.name)["refrigerant"] for one in plant.of_kind("compressor")},
        "bodies": {one.name: one.kind for one in plant.of_kind("zone", "pack", "drive_unit", "electronics")},
        "trip": case.name,
        "trip_source": case.source,
        "trip_digest": case.digest,
        "versions": dict(_versions()),
    }


@cache
def _versions() -> tuple[tuple[str, str], ...]:
    return tuple((name, version(name)) for name in ("heatwright", "numpy", "numba", "CoolProp"))
