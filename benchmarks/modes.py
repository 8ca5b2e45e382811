"""What an atlas costs against the size of the plant: shipped plants, a router with two zones, and a chain of loops.

The chain is the worst case: one net that no valve setting ever leaves in pieces for good. Between each pair of
neighbouring loops stands a valve with four ports that keeps them apart, crosses them, or joins all four.
"""

from __future__ import annotations

from pathlib import Path

from benchmarks.bare import bare_car
from benchmarks.readings import Reading, best_of, timed
from heatwright.modes.atlas import build_atlas
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant

ROOT = Path(__file__).resolve().parents[1]
TWO_ZONES = ROOT / "tests" / "unit" / "plant" / "files" / "e2_router_two_zones.plant.toml"
SHIPPED_S = 0.5
LOAD_S, FEWEST_LOADS = 0.030, 7
CHAIN = (5, 6, 7, 8)
CHAIN_S = {8: 10.0}
QUICK = 5000
"""Atlases of fewer joint states than this are timed several times."""

POSITIONS = 'apart = "a_in-a_out, b_in-b_out", crossed = "a_in-b_out, b_in-a_out", joined = "a_in-a_out-b_in-b_out"'


def atlas_times(repeats: int) -> list[Reading]:
    """Return seconds to read a plant, and for an atlas of each plant, combinations and distinct modes beside it."""
    plants = [(f"shipped, {one.name}", load_plant(one.name), SHIPPED_S) for one in list_shipped()]
    plants.append(("router with two zones", load_plant(TWO_ZONES), SHIPPED_S))
    plants += [(f"chain, {valves} valves", chain(valves), CHAIN_S.get(valves)) for valves in CHAIN]
    loads = max(repeats, FEWEST_LOADS)
    best_s, median_s = best_of(loads, lambda: timed(lambda: load_plant(TWO_ZONES)))
    read = Reading("reading the file of the router with two zones", best_s, "s", LOAD_S, repeats=loads, median=median_s)
    return [read, *(_reading(name, plant, target, repeats) for name, plant, target in plants)]


def chain(valves: int) -> Plant:
    """Return the plant of a chain of pumped loops with so many valves between them."""
    return bare_car(f"Chain of {valves + 1} loops", _chain_text(valves))


def _chain_text(valves: int) -> str:
    """Loop 0 holds the drive unit, every other loop electronics of its own; each has a pump."""
    parts, lines = [], []
    for i in range(valves + 1):
        parts.append(f"[pump.pump_{i}]")
        body = f"box_{i}" if i else "drive"
        parts += [f"[electronics.{body}]"] if i else []
        left = f"valve_{i - 1}.b" if i else "@first"
        right = f"valve_{i}.a" if i < valves else "@last"
        away, home = (left, left) if not i else (f"{left}_out", f"{left}_in")
        far, near = (right, right) if i == valves else (f"{right}_in", f"{right}_out")
        lines += [f'away_{i} = "{away} > pump_{i} > {body} > {far}"', f'home_{i} = "{near} > {home}"']
    parts += [f"[valve.valve_{i}]\npositions = {{ {POSITIONS} }}" for i in range(valves)]
    return "\n".join(["[lines.coolant]", *lines, *parts, ""])


def _reading(name: str, plant: Plant, target: float | None, repeats: int) -> Reading:
    atlas = build_atlas(plant)
    few = repeats if atlas.joined < QUICK else 1
    best_s, median_s = best_of(few, lambda: timed(lambda: build_atlas(plant)))
    note = f"{atlas.combinations:,} combinations, {atlas.distinct:,} modes"
    return Reading(f"atlas, {name}", best_s, "s", target, repeats=few, median=median_s, note=note)
