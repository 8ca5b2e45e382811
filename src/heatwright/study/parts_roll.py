"""What a plant is made of: parts, mass, cost, valves, loops, joints, metres of hose, litres and grams."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from heatwright.compiler.build import refrigerant_charge_kg
from heatwright.compiler.lower.context import hose_area
from heatwright.compiler.lower.coolant import hose_length
from heatwright.plant.circuits import connected
from heatwright.plant.model import Branch, Part, Plant
from heatwright.plant.parts import kinds
from heatwright.plant.signals import actuators_of
from heatwright.run import given_name

TIGHT = ("coolant", "refrigerant")
"""Fluids that leak: an air joint that leaks a little is nobody's complaint."""
BAND = (0.5, 2.0)
"""A cost is an order of magnitude: from about half to about double of the sum."""
VALVES = ("valve", "shutoff", "expansion")


@dataclass(frozen=True)
class Roll:
    """The roll-up of one plant. Zones are spaces, not parts; they are not counted.

    `mass_kg` and `cost_usd` add up the parts alone, no hoses and no fluids; `bodies_` those of pack, drive unit and
    electronics, which are the same whatever moves their heat, the other two all the rest. `loops` (pieces of plumbing
    that share nothing) and `joints` are by fluid. `refrigerant_kg` is None where it cannot be worked out.
    """

    plant: str
    source: str
    kinds: Mapping[str, int]
    mass_kg: float
    cost_usd: float
    bodies_mass_kg: float
    bodies_cost_usd: float
    valves: int
    doors: int
    check_valves: int
    actuators: int
    loops: Mapping[str, int]
    joints: Mapping[str, int]
    hose_m: float
    coolant_l: float
    refrigerant_kg: float | None
    charge_given: bool

    @property
    def parts(self) -> int:
        """How many parts there are."""
        return sum(self.kinds.values())

    @property
    def cost_band_usd(self) -> tuple[float, float]:
        """Between what the cost may lie."""
        return self.cost_usd * BAND[0], self.cost_usd * BAND[1]

    @property
    def leak_points(self) -> int:
        """Every joint of a coolant or refrigerant line is one."""
        return sum(self.joints.values())

    def as_json(self) -> dict[str, Any]:
        """Return the roll-up as plain JSON values."""
        return {
            "plant": given_name(self.source, self.plant),
            "plant_title": self.plant,
            "parts": self.parts,
            "kinds": dict(self.kinds),
            "mass_kg": self.mass_kg,
            "cost_usd": self.cost_usd,
            "bodies_mass_kg": self.bodies_mass_kg,
            "bodies_cost_usd": self.bodies_cost_usd,
            "cost_band_usd": list(self.cost_band_usd),
            "valves": self.valves,
            "doors": self.doors,
            "check_valves": self.check_valves,
            "actuators": self.actuators,
            "loops": dict(self.loops),
            "joints": dict(self.joints),
            "leak_points": self.leak_points,
            "hose_m": self.hose_m,
            "coolant_l": self.coolant_l,
            "refrigerant_kg": self.refrigerant_kg,
            "charge_given": self.charge_given,
        }


def roll_up(plant: Plant) -> Roll:
    """Count what a plant is made of.

    Raises InputError where the refrigerant that the file leaves out cannot be worked out because the plant lacks
    what the march needs.
    """
    found = [part for part in plant.parts.values() if part.kind != "zone"]
    bodies = [part for part in found if kinds()[part.kind].role == "body"]
    rest = [part for part in found if part not in bodies]
    count = Counter(part.kind for part in found)
    hose_m = sum(hose_length(plant, branch) for branch in _branches(plant, "coolant"))
    return Roll(
        plant=plant.name,
        source=plant.source,
        kinds={kind: count[kind] for kind in kinds() if count[kind]},
        mass_kg=_sum(rest, "mass"),
        cost_usd=_sum(rest, "cost"),
        bodies_mass_kg=_sum(bodies, "mass"),
        bodies_cost_usd=_sum(bodies, "cost"),
        valves=sum(count[kind] for kind in VALVES),
        doors=count["door"],
        check_valves=sum(branch.check for fluid in TIGHT for branch in _branches(plant, fluid)),
        actuators=sum(_can_be_told(plant, name) for name in actuators_of(plant.parts)),
        loops={fluid: len(connected(_branches(plant, fluid))) for fluid in TIGHT},
        joints={fluid: _joints(_branches(plant, fluid)) for fluid in TIGHT},
        hose_m=hose_m,
        coolant_l=1e3 * (_held_m3(plant) + hose_m * hose_area(plant.hoses["diameter"])),
        refrigerant_kg=_refrigerant_kg(plant),
        charge_given=None not in _charges_kg(plant),
    )


def cost_words(usd: float) -> str:
    """Return a cost as the two numbers it may lie between, with the two digits that an order of magnitude has.

    >>> cost_words(839.0)
    '420 to 1,700'
    """
    return " to ".join(f"{float(f'{usd * factor:.2g}'):,.0f}" for factor in BAND)


def _sum(parts: Iterable[Part], key: str) -> float:
    return float(sum(part.values.get(key) or 0.0 for part in parts))


def _branches(plant: Plant, fluid: str) -> tuple[Branch, ...]:
    return plant.nets[fluid].branches


def _can_be_told(plant: Plant, actuator: str) -> bool:
    """A valve of one state alone is no actuator."""
    values = plant.parts[actuator.partition(".")[0]].values
    return len(values.get("positions") or values.get("states") or ("off", "on")) > 1


def _joints(branches: tuple[Branch, ...]) -> int:
    """Two joints for every part that a line passes through and every check valve, one where a line ends.

    A ring that is closed by its first part has no joint more than those of its parts.
    """
    passed = sum(2 * (len(branch.parts) + branch.check) for branch in branches)
    ends = [end for branch in branches for end in (branch.start, branch.end)]
    return passed + sum(not (end.kind == "tee" and end.name.endswith(".ring")) for end in ends)


def _held_m3(plant: Plant) -> float:
    """Coolant inside parts and tanks."""
    lines = _branches(plant, "coolant")
    places = {place for branch in lines for place in branch.parts}
    places |= {end.name for branch in lines for end in (branch.start, branch.end) if end.kind == "tank"}
    return sum(plant.part_at(place).values.get("volume") or 0.0 for place in places)


def _charges_kg(plant: Plant) -> list[float | None]:
    """The charge that the file gives each circuit; None where it gives none."""
    return [plant.fluid_of(one.name)["charge_kg"] for one in plant.of_kind("compressor")]


def _refrigerant_kg(plant: Plant) -> float | None:
    """The charges of the file, or what the march works out."""
    charges = _charges_kg(plant)
    given = [charge for charge in charges if charge is not None]
    if len(given) < len(charges):
        return refrigerant_charge_kg(plant)
    return float(sum(given)) if charges else None
