"""Does having fewer parts pay? The roll-ups of several plants beside what a trip cost each of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heatwright.study.compare import Comparison, Pair
from heatwright.study.parts_roll import Roll, cost_words
from heatwright.study.table import number

ENERGY = "energy_kwh_per_100km"
SAME_KWH = 0.25
"""Energies nearer than this, in kWh/100 km, are called the same: about one per cent, with no draws behind them."""


@dataclass(frozen=True)
class Against:
    """One plant against the first (the one with the fewest parts): what it has more, and what it uses less.

    `saved_kwh_per_100km` is positive where it uses less; `fair` whether that is at like service, which `service`
    tells in words.
    """

    plants: tuple[str, str]
    more_parts: int
    more_cost_usd: float
    saved_kwh_per_100km: float | None
    fair: bool
    service: str

    @property
    def usd_per_kwh_per_100km(self) -> float | None:
        """What a kWh/100 km less costs in parts, where the plant costs more and uses less at like service."""
        saved = self.saved_kwh_per_100km or 0.0
        return self.more_cost_usd / saved if self.fair and saved > SAME_KWH and self.more_cost_usd > 0 else None


def set_against(rolls: Sequence[Roll], comparison: Comparison) -> list[Against]:
    """Every plant but the first against the first."""
    first = rolls[0]
    idle = [run.plant_name for run in comparison.runs if not run.provenance.get("controlled", True)]
    return [
        Against(
            (first.plant, roll.plant),
            roll.parts - first.parts,
            roll.cost_usd - first.cost_usd,
            *_saved(pair, [name for name in idle if name in pair.plants]),
        )
        for roll, pair in zip(rolls[1:], comparison.pairs, strict=True)
    ]


def _saved(pair: Pair, idle: Sequence[str]) -> tuple[float | None, bool, str]:
    """Energy saved against the first plant, at equal service where there is one, and how the services compare.

    A plant of `idle`, without control, serves nobody: what it uses is set beside nothing.
    """
    found, fair = pair.differences, True
    if idle:
        fair, service = False, f"but {idle[0]} has no control table: nothing in it was switched on"
    elif pair.service.alike:
        service = "like for like"
    elif pair.equal is not None and pair.equal.reached:
        found, service = pair.equal.differences, f"at equal service ({pair.equal.changed} with its {pair.equal.how})"
    else:
        fair = False
        miss = " against ".join(number(value, 0) for value in reversed(pair.service.miss_k_min))
        side = "too cold" if pair.service.figure == "short_k_min" else "too warm"
        service = f"but not like for like: {miss} K min {side}"
    change = next(one.difference for one in found if one.quantity == ENERGY)
    return (None if change is None else -change), fair, service


def sentences(against: Sequence[Against], trip: str) -> list[str]:
    """The answer in words: one sentence for each plant, and one for all of them."""
    return [*(_sentence(one, trip) for one in against), *_verdict(against)]


def _sentence(one: Against, trip: str) -> str:
    first, other = one.plants
    parts = f"{one.more_parts} more part{'s' * (one.more_parts != 1)}" if one.more_parts else "as many parts"
    saved = one.saved_kwh_per_100km
    if saved is None:
        used = "covers no distance to reckon energy on"
    elif abs(saved) <= SAME_KWH:
        used = f"uses the same energy on {trip}"
    else:
        used = f"uses {number(abs(saved), 2)} kWh/100 km {'less' if saved > 0 else 'more'} on {trip}"
    price = ""
    if one.usd_per_kwh_per_100km is not None:
        price = f": about {cost_words(one.usd_per_kwh_per_100km)} USD of parts for each kWh/100 km"
    return (
        f"{other} has {parts} than {first}, costs {_cost(one.more_cost_usd)} and {used}, {one.service}{price}.".replace(
            "as many parts than", "as many parts as"
        )
    )


def _cost(more_usd: float) -> str:
    return f"about {cost_words(abs(more_usd))} USD {'more' if more_usd > 0 else 'less'}" if more_usd else "the same"


def _verdict(against: Sequence[Against]) -> list[str]:
    judged = [one for one in against if one.fair and one.saved_kwh_per_100km is not None]
    if not judged:
        return ["Whether fewer parts pay cannot be told here: no two of these plants give like service."]
    first = judged[0].plants[0]
    better = [one.plants[1] for one in judged if (one.saved_kwh_per_100km or 0.0) > SAME_KWH]
    less, rest = f"use{'s' * (len(better) == 1)} less than {first}", len(judged) - len(better)
    if better and not rest:
        return [f"Fewer parts cost energy here: {_listed(better)} {less}."]
    if better:
        other = "the other uses" if rest == 1 else f"the other {rest} use"
        return [f"More parts save energy in {_listed(better)} only, which {less}; {other} as much or more."]
    others = "none of the others that give like service uses less" if rest > 1 else "the other uses no less"
    return [f"Fewer parts pay here: {first} has the fewest, and {others}."]


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
