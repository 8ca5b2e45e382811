"""What the comfort of a run needs to know of a plant: the surfaces about the people and the heaters at their bodies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heatwright.compiler.drivers import zone_shares
from heatwright.plant.kinds_comfort import WARMERS
from heatwright.plant.model import Plant


@dataclass(frozen=True)
class Warmer:
    """A heater at the body: shares of its power, depth in the clothing, time constant [s]."""

    name: str
    reaches: float
    depth: float
    constant_s: float


@dataclass(frozen=True)
class Surroundings:
    """Surfaces of the first zone as (node, area [m2]), and the heaters that warm its people."""

    surfaces: tuple[tuple[str, float], ...] = ()
    warmers: tuple[Warmer, ...] = ()


def surroundings(plant: Plant) -> Surroundings:
    """Return the first zone's surfaces, each with conductance to air over film as its area, and its warmers."""
    zone = plant.of_kind("zone")[0]
    v, name = zone.values, zone.name
    share = zone_shares(plant)[name]
    film = v["inside_film"]
    areas = {f"{name}.skin": v["skin_to_air"] / film, f"{name}.trim": v["trim_to_air"].value / film}
    areas |= {f"{name}.glass_{pane}": share * _area(glass) for pane, glass in plant.glass.items()}
    heaters = [one for one in plant.of_kind(*WARMERS) if one.values["zone"] in ("", name)]
    return Surroundings(
        tuple(areas.items()),
        tuple(
            Warmer(
                one.name,
                one.values["efficiency"] * one.values["share"] / one.values["people"],
                one.values["depth"],
                one.values["time"],
            )
            for one in heaters
        ),
    )


def _area(glass: Mapping[str, float]) -> float:
    return float(glass["area"])
