"""Who drives: the decision table, its rules on solved knobs, dispatch, or a strategy of one's own, read from a text."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from difflib import get_close_matches
from functools import partial
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.dispatch.march import run_dispatch
from heatwright.dispatch.own import Own, load_own
from heatwright.dispatch.rules import Rules
from heatwright.errors import InputError, Problem, RunError
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.model import Plant
from heatwright.run import Run
from heatwright.sensors import Sensors
from heatwright.simulate import simulate

TABLE, RULES, DISPATCH = "table", "rules", "dispatch"
STRATEGIES = (TABLE, RULES, DISPATCH)
BOTH = "both"
TAKEN = frozenset({*STRATEGIES, BOTH, "seed", "trip"})
"""Names that a strategy of one's own is not shown under: those of the others, and of keys beside them in JSON."""
ABLE = f"one or more of: {', '.join(STRATEGIES)}, FILE.py[:NAME]"

Strategy = str | Own
March = Callable[[Sensors | None, Plant, Any], Run]


def read_strategies(text: str, option: str = "--strategies", verb: str = "days") -> tuple[Strategy, ...]:
    """Return the strategies of a text such as `table,mine.py:Mine`, each once; a FILE.py is run.

    InputError if one is not known, or a file holds no strategy.
    """
    problems: list[Problem] = []
    found: list[Strategy] = []
    for name in dict.fromkeys(piece.strip() for piece in text.split(",") if piece.strip()):
        if name in STRATEGIES:
            found.append(name)
        elif ".py" in name:
            try:
                found.append(load_own(name))
            except InputError as failure:
                problems += failure.problems
        else:
            near = get_close_matches(name, STRATEGIES, 1)
            problems.append(
                Problem(option, f"there is no strategy {name!r}", ABLE, f"write {near[0]!r}" if near else "")
            )
    if not found and not problems:
        problems.append(Problem(option, "no strategy is named", ABLE))
    if problems:
        raise InputError(problems, verb)
    return tuple(found)


def labels_of(strategies: Sequence[Strategy]) -> dict[str, Strategy]:
    """Return the strategies by the names that rows and JSON have: an own one by its name, or with its file if taken."""
    out: dict[str, Strategy] = {}
    for one in strategies:
        label = one if isinstance(one, str) else one.name
        if isinstance(one, Own) and (label in TAKEN or label in out):
            label = f"{one.file}:{one.name}"
        out[label] = one
    return out


def told_of(label: str, strategy: Strategy) -> dict[str, str]:
    """Return what JSON tells of a strategy: its name, and file and hash of one's own."""
    return {"strategy": label} | ({} if isinstance(strategy, str) else strategy.told)


def marches_of(plant: Plant, strategies: Sequence[Strategy]) -> dict[str, March]:
    """Return how each strategy marches a plant over a case, read through sensors, by its label.

    InputError where a table or rules are asked for and the plant has no decision table.
    """
    known: dict[str, March] = {}
    for label, one in labels_of(strategies).items():
        if one in (TABLE, RULES) and plant.control is None:
            hint = f"write a [control] into the plant, or take {DISPATCH}"
            raise InputError([Problem(plant.source, "the plant has no decision table", "[control]", hint)], str(one))
        if one == TABLE:
            known[label] = _by_table
        else:
            own = Rules() if one == RULES else one if isinstance(one, Own) else None
            known[label] = partial(_by_dispatch, None if one == RULES else build_atlas(plant), own)
    return known


def of_day(march: March, label: str, day: str, sensors: Sensors | None) -> Callable[[Plant, Any], Run]:
    """Return a march whose failure names the day and who drove."""

    def march_of_day(plant: Plant, case: Any) -> Run:
        try:
            return march(sensors, plant, case)
        except RunError as failure:
            raise RunError(f"{day}, {plant.name} under {label}: {failure}", failure.t_s) from failure

    return march_of_day


def _by_table(sensors: Sensors | None, plant: Plant, case: Any) -> Run:
    return simulate(compile_program(plant, case, sensors=sensors), case)


def _by_dispatch(
    atlas: Atlas | None, strategy: Own | Rules | None, sensors: Sensors | None, plant: Plant, case: Any
) -> Run:
    program = compile_program(plant, case, sensors=sensors, all_signals=isinstance(strategy, Own))
    return run_dispatch(plant, program, case, atlas, strategy=strategy).run
