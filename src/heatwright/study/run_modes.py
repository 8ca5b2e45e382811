"""The mode of the atlas at every sample of a run, and whether what flowed is what the mode says.

The march knows no modes: it solves flow from the actuators. Here the recorded actuators are read back as states, the
atlas names the mode, and every coolant and air branch is held against it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.networks import actuator_names
from heatwright.modes.flow import SIZING
from heatwright.modes.lookup import ModeIndex, Seen, resting
from heatwright.modes.nets import BLEND, ON_OFF
from heatwright.modes.read_nets import nets_of
from heatwright.outcome import slug
from heatwright.plant.model import Part, Plant
from heatwright.run import Label, Run

SERIES = "atlas_mode"
LABEL = Label("mode of the atlas, as numbered in the summary", "", "modes")
MOVING = "a valve, pump or blower is on its way"
THERE = 0.02
"""Share of a position below which a valve has left it, and above the rest of which it has reached it."""
SLOW = 0.99
"""Share of its least speed below which a pump or blower is only starting or stopping."""
LITTLE = 0.1
"""Share of the greatest flow of a net below which a branch counts as still: leaks of shut valves are less."""
STILL_KG_PER_S = 1e-4


def with_modes(plant: Plant, run: Run) -> Run:
    """The run with its modes: series `atlas_mode`, `modes` of the summary by time, and mismatches in its health."""
    index = ModeIndex(plant)
    codes, seen, moving = _seen(plant, index, run)
    settled, firsts = np.unique(codes[~moving], return_index=True)
    ordered = (seen[code].mode for code in settled[np.argsort(firsts)])
    modes = list({mode.id: mode for mode in ordered if mode is not None}.values())
    numbers = {mode.id: number for number, mode in enumerate(modes)}
    number_of = np.array([numbers.get(one.mode.id, -1) if one.mode else -1 for one in seen])
    track = np.where(moving, -1, number_of[codes]).astype(np.int32)
    lasts_s = np.append(np.diff(run.t_s), 0.0)
    rows = [
        {"id": mode.id, "title": mode.title, "family": mode.family, "time_s": float(lasts_s[track == number].sum())}
        for number, mode in enumerate(modes)
    ]
    health = {
        "without_mode_s": _without_s(codes, seen, moving, lasts_s),
        **_mismatches(plant, run, codes, seen, moving),
    }
    return replace(
        run,
        series={**run.series, SERIES: track},
        labels={**run.labels, SERIES: LABEL},
        summary={**run.summary, "modes": rows},
        health={**run.health, **health},
    )


def _without_s(
    codes: NDArray[np.intp], seen: list[Seen], moving: NDArray[np.bool_], lasts_s: NDArray[np.float64]
) -> dict[str, float]:
    """How long the run was in no mode, by reason."""
    found = {MOVING: float(lasts_s[moving].sum())}
    for number, one in enumerate(seen):
        if one.mode is None:
            here_s = float(lasts_s[(codes == number) & ~moving].sum())
            found[one.reason] = found.get(one.reason, 0.0) + here_s
    return {reason: time_s for reason, time_s in found.items() if time_s > 0.0}


def _seen(plant: Plant, index: ModeIndex, run: Run) -> tuple[NDArray[np.intp], list[Seen], NDArray[np.bool_]]:
    """For each sample the number of its setting; what each setting is; and where some valve is on its way."""
    states = [_states(plant, name, known, run.series) for name, known in index.states.items()]
    table = np.stack(states, axis=1)
    moving: NDArray[np.bool_] = np.any(table < 0, axis=1)
    settings, codes = np.unique(table, axis=0, return_inverse=True)
    names = list(index.states.items())
    seen = [
        index.look({name: known[max(code, 0)] for (name, known), code in zip(names, row, strict=True)})
        for row in settings.tolist()
    ]
    return codes.reshape(-1), seen, moving


def _states(plant: Plant, name: str, known: tuple[str, ...], series: Mapping[str, NDArray]) -> NDArray[np.int32]:
    """The state of one actuator at every sample, as a place in `known`; -1 where it is on its way.

    A valve is on its way between two positions that no blend joins, a pump or blower below its least speed.
    """
    rows = len(next(iter(series.values())))
    part = plant.parts[name.partition(".")[0]]
    if known == ON_OFF:
        value = series.get(f"x_{slug(name)}")
        if value is None:
            return np.zeros(rows, np.int32)
        starting = (np.asarray(value) > 0.0) & (np.asarray(value) < SLOW * part.values.get("least", 0.0))
        return np.where(starting, -1, np.asarray(value) > 0.0).astype(np.int32)
    columns = {state: series.get(f"x_{slug(actuator)}") for state, actuator in actuator_names(part).items()}
    if any(column is None for column in columns.values()):
        return np.full(rows, known.index(resting(known)), np.int32)
    shares = np.stack([np.asarray(column, float) for column in columns.values()], axis=1)
    return _positions(part, known, tuple(columns), shares)


def _positions(part: Part, known: tuple[str, ...], order: tuple[str, ...], shares: NDArray) -> NDArray[np.int32]:
    """Where a valve rests, from the share of each position; a blend only if the plant declares it."""
    held = shares > THERE
    found = np.full(len(shares), -1, np.int32)
    for column, state in enumerate(order):
        alone = held[:, column] & (held.sum(axis=1) == 1)
        found[alone] = known.index(state)
    if part.kind in ("expansion", "shutoff"):  # half open is open: it passes and, if it throttles, throttles
        for column, state in enumerate(order):
            if state != "shut":
                found[held[:, column]] = known.index(state)
    for one, other in part.values.get("blend", ()):
        both = held[:, order.index(one)] & held[:, order.index(other)] & (held.sum(axis=1) == 2)
        found[both] = known.index(f"{one}{BLEND}{other}")
    return found


def _mismatches(
    plant: Plant, run: Run, codes: NDArray[np.intp], seen: list[Seen], moving: NDArray[np.bool_]
) -> dict[str, Any]:
    """Samples at which a branch does not flow as its mode says, of those whose setting has lasted a step."""
    lasted = ~moving & np.append(False, codes[1:] == codes[:-1])
    sure = np.array([one.mode is not None and SIZING not in one.flags for one in seen])
    checked = lasted & sure[codes]
    wrong = np.zeros(len(codes), bool)
    branches: dict[str, int] = {}
    for net in nets_of(plant):
        names = [f"{net.fluid}/{edge.branch}" for edge in sorted(net.edges)]
        flows = [run.series.get(f"mdot_{slug(name)}_kg_per_s") for name in names]
        if any(flow is None for flow in flows):
            continue
        rate = np.stack([np.asarray(flow, float) for flow in flows], axis=1)
        says = np.array([[one.flows.get(name, 0) for name in names] for one in seen])[codes]
        most = np.abs(rate).max(axis=1, keepdims=True)
        amiss = np.where(says == 0, np.abs(rate) > np.maximum(LITTLE * most, STILL_KG_PER_S), rate * says <= 0.0)
        amiss &= checked[:, None]
        wrong |= amiss.any(axis=1)
        branches |= {name: int(count) for name, count in zip(names, amiss.sum(axis=0), strict=True) if count}
    found: dict[str, Any] = {"mode_checked_samples": int(checked.sum()), "mode_mismatch_samples": int(wrong.sum())}
    if wrong.any():
        found["mode_mismatch_first_s"] = float(run.t_s[wrong.argmax()])
        found["mode_mismatch_branches"] = branches
    return found
