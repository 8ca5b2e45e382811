"""Defrost and demist runs: a standing car in a cold chamber, its screen iced outside or fogged inside.

One pane has one temperature in a run, so what is left of ice or film is spread over the vision areas by
`physics.screen_ice.cleared_share`: engineering judgement.  The jet keeps a stated share of the vent's heat along the
screen (`jet_kept`, a value from memory).  An estimate, no release for the road.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from textwrap import fill
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.errors import InputError, Problem
from heatwright.outcome import first_time_s, slug
from heatwright.physics.screen_ice import AREA_A, AREA_A_PASSENGER, AREA_B, cleared_share
from heatwright.run import Run, plain
from heatwright.study.table import WIDTH

Floats = NDArray[np.float64]
EU = "Regulation (EU) 672/2010, annex II"
US = "FMVSS 103 with SAE J902; shares from memory"
STEAM_S = 300.0
MISSING = "–"
RULES = {"defrost": ("clear_screen", "demist"), "demist": ("demist",)}


@dataclass(frozen=True)
class Limit:
    """A part of the screen, the share of it that must be clear, and when; the least and most heat over it."""

    key: str
    words: str
    share: float
    within_s: float
    heat: tuple[float, float]
    source: str


DEFROST = (
    Limit("area_a", "vision area A", 0.80, 1200.0, AREA_A, EU),
    Limit("area_a_passenger", "mirror image of A", 0.80, 1500.0, AREA_A_PASSENGER, EU),
    Limit("area_b", "vision area B", 0.95, 2400.0, AREA_B, EU),
    Limit("area_c_us", "area C", 0.80, 1200.0, AREA_A, US),
    Limit("area_d_us", "area D", 0.80, 1500.0, AREA_A_PASSENGER, US),
    Limit("area_a_us", "area A", 0.95, 2400.0, AREA_B, US),
)
DEMIST = (
    Limit("area_a", "vision area A", 0.90, 600.0, AREA_A, EU),
    Limit("area_b", "vision area B", 0.80, 600.0, AREA_B, EU),
)


@dataclass(frozen=True)
class Asked:
    """What a glass run is asked: "defrost" or "demist", chamber [K], ice [kg/m2], people, the rule held in force."""

    kind: str
    t_chamber_k: float
    ice_kg_per_m2: float = 0.44
    people: int = 1
    rule: str = ""


@dataclass(frozen=True)
class Found:
    """A glass run with what came of every limit: (limit, time reached [s] or None, share at the limit, passed)."""

    asked: Asked
    rule: str
    run: Run
    shares: Mapping[str, Floats]
    rows: tuple[tuple[Limit, float | None, float, bool], ...]
    since_s: float
    start_kg: float

    @property
    def passed(self) -> bool:
        """Whether every limit is met."""
        return all(row[3] for row in self.rows)

    def as_json(self) -> dict[str, Any]:
        """The answer as plain JSON values."""
        areas = [
            {"area": one.key, "limit_share": one.share, "limit_s": one.within_s, "reached_s": reached,
             "share_at_limit": share, "passed": met, "source": one.source}
            for one, reached, share, met in self.rows
        ]  # fmt: skip
        run, asked = self.run, self.asked
        return plain({
            "plant": run.plant_name, "test": asked.kind, "t_chamber_k": asked.t_chamber_k, "people": asked.people,
            "rule": self.rule, "start_kg": self.start_kg, "passed": self.passed, "areas": areas,
            "energy_kwh": run.energy_kwh, "energy_used_kwh": run.summary["energy_used_kwh"], "ledger": run.ledger,
            "health": run.health,
        })  # fmt: skip


def trip_text(asked: Asked) -> str:
    """Return the trip file of a glass run."""
    t_c = asked.t_chamber_k - 273.15
    iced = asked.kind == "defrost"
    stand = 'kind = "park"\nconditioned = true\nplugged = false\n'
    steam = f'[[segment]]\nkind = "park"\nname = "damp"\nduration = "{STEAM_S:g} s"\noccupants = {asked.people}\n'
    lasts = max(one.within_s for one in (DEFROST if iced else DEMIST))
    ice = f'ice_on_screen = "{asked.ice_kg_per_m2:g} kg/m2"\n' if iced else ""
    return (
        f'format = "heatwright trip 1"\nname = "{asked.kind} at {t_c:.0f} degC"\nset_point = "25 degC"\n'
        f'[start]\ncharge = "80 %"\ntemperature = "{t_c:g} degC"\n{ice}'
        f'[weather]\ntemperature = "{t_c:g} degC"\nhumidity = "80 %"\n{"" if iced else steam}'
        f'[[segment]]\n{stand}name = "{asked.kind}"\nduration = "{lasts:g} s"\noccupants = {asked.people}\n'
    )


def glass_run(plant: Any, asked: Asked, progress: Any = None) -> Found:
    """March a plant through a defrost or demist run and judge its screen.

    The control rule named in `asked` is held in force from the start; left out, the first of `RULES` that the plant
    has; if it has none, its control is left alone.  Raises InputError for a rule or a screen that is not there.
    """
    from heatwright.compiler.build import compile_program
    from heatwright.simulate import simulate
    from heatwright.trip.load import build_case, parse_trip

    case = build_case(parse_trip(trip_text(asked), Path(f"{asked.kind}.trip.toml")))
    held, rule = held_rule(plant, asked)
    program = compile_program(held, case)
    if not program.index.ice_m2:
        raise InputError([Problem(plant.source, "no pane is named screen", "[glass.screen]")], plant.name)
    run = simulate(program, case, progress=progress)
    return judged(run, asked, rule, program)


def held_rule(plant: Any, asked: Asked) -> tuple[Any, str]:
    """Return the plant with one control rule in force whenever the cabin is wanted, and the rule's name."""
    rules = plant.control.rules if plant.control else ()
    known = [rule.name for rule in rules]
    if asked.rule and asked.rule not in known:
        expected = f"one of {', '.join(known)}" if known else "no rule: the plant has no control"
        raise InputError([Problem(plant.source, f"there is no rule {asked.rule!r}", expected)], plant.name)
    name = asked.rule or next((one for one in RULES[asked.kind] if one in known), "")
    if not name:
        return plant, ""
    first = replace(rules[known.index(name)], needs=(("wanted", True),))
    others = tuple(rule for rule in rules if rule.name != name)
    return replace(plant, control=replace(plant.control, rules=(first, *others))), name


def judged(run: Run, asked: Asked, rule: str, program: Program) -> Found:
    """Return what a run comes to against the limits."""
    iced = asked.kind == "defrost"
    word = "ice" if iced else "film"
    kg = np.sum([run.series[f"{word}_{slug(name)}_kg"] for name in program.index.ice_m2], axis=0, dtype=float)
    since = 0 if iced else int(np.searchsorted(run.t_s, STEAM_S))
    start = float(kg[since])
    gone = np.clip(1.0 - kg / start, 0.0, 1.0) if start > 0.0 else np.ones(kg.size)
    shares, rows = {}, []
    for one in DEFROST if iced else DEMIST:
        share = np.array([cleared_share(float(x), *one.heat) for x in gone])
        shares[one.key] = share
        reached = first_time_s(run.t_s, share, one.share, since)
        at = min(int(np.searchsorted(run.t_s, run.t_s[since] + one.within_s)), share.size - 1)
        rows.append((one, reached, float(share[at]), reached is not None and reached <= one.within_s))
    return Found(asked, rule, run, shares, tuple(rows), float(run.t_s[since]), start)


SAID = (
    "One pane has one temperature; the areas follow from a stated spread of heat over it (engineering judgement).",
    "How much of the vent's heat the jet keeps along the screen is a value from memory (jet_kept of the zone).",
    "An estimate, not a release for the road.",
)


def glass_as_text(found: Found) -> str:
    """The answer as a table for the terminal."""
    run, asked = found.run, found.asked
    what = "ice on" if asked.kind == "defrost" else "film inside"
    lines = [
        f"{run.plant_name}: {asked.kind} at {asked.t_chamber_k - 273.15:.0f} degC, {1e3 * found.start_kg:.1f} g {what} "
        f"the screen, rule {found.rule or 'of its own control'}",
        "",
        f"{'area':<20}{'limit':>16}{'reached':>11}{'at limit':>10}",
    ]
    source = ""
    for one, reached, share, met in found.rows:
        limit = f"{100 * one.share:.0f} % in {one.within_s / 60:.0f} min"
        when = MISSING if reached is None else f"{reached / 60:.1f} min"
        verdict = "met" if met else "missed"
        if one.source != source:
            source = one.source
            lines.append(source)
        lines.append(f"  {one.words:<18}{limit:>16}{when:>11}{100 * share:>8.0f} %  {verdict}")
    health, water = run.health, run.ledger["water"]
    lines += [
        "",
        f"energy {run.summary['energy_used_kwh']:.2f} kWh; ledgers left over: energy "
        f"{run.ledger['residual_relative']:.1e}, water {water['residual_relative']:.1e} of throughput",
        f"solver: steps with the circuit not solved {health['circuit_not_solved_steps']}, "
        f"flows not solved {health['flow_not_solved']}",
        *(fill(one, WIDTH) for one in SAID),
    ]
    return "\n".join(lines)
