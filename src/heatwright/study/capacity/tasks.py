"""The needs that have amounts: which modes serve them, in which situation, against which load."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from heatwright.physics.moist_air import saturation_humidity_ratio
from heatwright.physics.road import SEA_LEVEL_PA
from heatwright.study.capacity.bench import Bench, Settled, Situation

Loads = Mapping[str, float]
CELSIUS = 273.15


@dataclass(frozen=True)
class Task:
    """One need with an amount.

    `serves` : for each side, the needs of the atlas of which a mode must serve one. `begins` : kinds of part that it is
    about. `situation` : what is held at an
    air outside. `fresh` : the key of the sheet for the share of outside air, empty where no air is blown. `sides` :
    (cabin, pack, water or drive, +1 to put in or -1 to take out). `extra` : what arises or is wanted beside it [W].
    """

    key: str
    words: str
    serves: tuple[frozenset[str], ...]
    begins: frozenset[str]
    situation: Callable[[float, Loads], Situation]
    sides: tuple[tuple[str, float], ...]
    fresh: str = ""

    @property
    def heating(self) -> bool:
        """Whether heat is to be put in."""
        return self.sides[0][1] > 0.0


def gained(found: Settled, side: str) -> tuple[float, ...]:
    """Return what one side gains: heat of the air of every zone, or of the cells [W], or water of the air [kg/s]."""
    return {"cabin": found.zones_w, "pack": (found.pack_w,), "water": (found.water_kg_per_s,)}[side]


def loads_of(side: str, sign: float, idle: Settled, bench: Bench, loads: Loads) -> tuple[float, ...]:
    """Return what is wanted of every part of one side, above zero where anything is: what it loses idle, and more.

    More is the rise that cells are asked for, or the heat that arises in them while they are cooled.
    """
    extra = 0.0
    if side == "pack":
        extra = bench.cell_capacity * loads["pack_rise"] if sign > 0.0 else loads["pack_heat"]
    return tuple(extra - sign * one for one in gained(idle, side))


def _humidity(t_k: float, s: Loads) -> float:
    """Return the relative humidity outside: that of the sheet, or less where its dew point would be too high."""
    most, here = (float(saturation_humidity_ratio(t, SEA_LEVEL_PA)) for t in (s["dew_most"], t_k))
    return min(s["humidity"], most / here)


def _warm_cabin(t_k: float, s: Loads) -> Situation:
    return Situation(t_k, s["cabin"], t_k, s["speed"], people=int(s["people"]), humidity=_humidity(t_k, s))


def _dry_cabin(t_k: float, s: Loads) -> Situation:
    return Situation(t_k, s["cabin"], t_k, s["speed"], people=int(s["people"]), humidity=s["damp"], damp=True)


def _cool_cabin(t_k: float, s: Loads) -> Situation:
    return Situation(
        t_k, s["cabin"], t_k, s["speed"], 0.0, s["sun"], int(s["people"]), _humidity(t_k, s),
    )  # fmt: skip


def _warm_pack(t_k: float, s: Loads) -> Situation:
    return Situation(t_k, t_k, s["pack_cold"], s["speed"], humidity=_humidity(t_k, s))


def _cool_pack(t_k: float, s: Loads) -> Situation:
    return Situation(t_k, t_k, s["pack_hot"], humidity=_humidity(t_k, s))


def _warm_both(t_k: float, s: Loads) -> Situation:
    return Situation(t_k, s["cabin"], s["pack_cold"], s["speed"], people=int(s["people"]), humidity=_humidity(t_k, s))


def _cool_both(t_k: float, s: Loads) -> Situation:
    return Situation(t_k, s["cabin"], s["pack_hot"], 0.0, 0.0, s["sun"], int(s["people"]), _humidity(t_k, s))


def _cool_drive(t_k: float, s: Loads) -> Situation:
    return Situation(t_k, t_k, t_k, s["drive_speed"], s["drive_grade"], humidity=_humidity(t_k, s))


WARM_CABIN = frozenset({"cabin warmed"})
COOL_CABIN = frozenset({"cabin cooled"})
WARM_PACK = frozenset({"pack warmed"})
COOL_PACK = frozenset({"pack cooled below air", "pack cooled by air"})
COOL_DRIVE = frozenset({"drive unit cooled"})
ZONE, PACK, DRIVE = frozenset({"zone"}), frozenset({"pack"}), frozenset({"drive_unit"})
DRY = frozenset({"cabin dried and rewarmed", "cabin dried"})
TASKS = (
    Task("warm_cabin", "cabin warmed", (WARM_CABIN,), ZONE, _warm_cabin, (("cabin", 1.0),), "fresh_warm"),
    Task("cool_cabin", "cabin cooled", (COOL_CABIN,), ZONE, _cool_cabin, (("cabin", -1.0),), "fresh_cool"),
    Task("dry_cabin", "cabin dried and kept warm", (DRY,), ZONE, _dry_cabin, (("water", -1.0), ("cabin", 1.0)),
         "fresh_warm"),
    Task("warm_pack", "pack warmed, driving", (WARM_PACK,), PACK, _warm_pack, (("pack", 1.0),)),
    Task("cool_pack", "pack cooled, charging", (COOL_PACK,), PACK, _cool_pack, (("pack", -1.0),)),
    Task("warm_both", "cabin and pack warmed at once", (WARM_CABIN, WARM_PACK), ZONE | PACK, _warm_both,
         (("cabin", 1.0), ("pack", 1.0)), "fresh_warm"),
    Task("cool_both", "cabin and pack cooled at once", (COOL_CABIN, COOL_PACK), ZONE | PACK, _cool_both,
         (("cabin", -1.0), ("pack", -1.0)), "fresh_cool"),
    Task("cool_drive", "drive unit cooled, climbing", (COOL_DRIVE,), DRIVE, _cool_drive,
         (("drive", -1.0),)),
)  # fmt: skip
