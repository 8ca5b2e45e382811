"""Which exchanger is hot or cold in each setting of a circuit's valves: it follows from the plumbing."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from heatwright.compiler.lower.air import AIR_COILS
from heatwright.compiler.networks import actuator_names, junction_name
from heatwright.plant.circuits import circuits_of
from heatwright.plant.groups import Groups
from heatwright.plant.model import Branch, Part, Plant

EXCHANGERS = ("outdoor_coil", "chiller", "liquid_condenser", "refrigerant_plate", *AIR_COILS)
MAX_COMBINATIONS = 4096
Net = tuple[Branch, ...]


@dataclass(frozen=True)
class ValveState:
    """One combination of refrigerant valve states: its actuators, and each exchanger's role.

    `order` : the hot exchangers by their place in the row that refrigerant meets; those in parallel share one.
    """

    actuators: tuple[str, ...]
    hot: frozenset[str]
    cold: frozenset[str]
    legal: bool
    order: tuple[tuple[str, int], ...] = ()


def choices(plant: Plant, net: Net) -> list[tuple[Part, tuple[str, ...]]]:
    """Return the valves and in-line valves of a circuit with their states."""
    inside: dict[str, tuple[str, ...]] = {}
    for line in net:
        for end in (line.start, line.end):
            if end.kind == "port":
                inside[end.name] = tuple(plant.parts[end.name].values["positions"])
        for name in line.parts:
            if plant.parts[name].kind in ("expansion", "shutoff"):
                inside[name] = tuple(plant.parts[name].values["states"])
    return [(plant.parts[name], states) for name, states in inside.items()]


def _paths(plant: Plant, net: Net, state: dict[str, str]) -> list[list[str]]:
    """Return every way of the refrigerant from compressor to compressor, as lists of parts."""
    groups: Groups[str] = Groups()
    for name, position in state.items():
        part = plant.parts[name]
        if part.kind == "valve":
            for group in part.values["positions"][position]:
                for port in group[1:]:
                    groups.merge(f"{name}.{port}", f"{name}.{group[0]}")
    edges: list[tuple[str, str, list[str]]] = []
    starts: list[tuple[str, list[str]]] = []
    goal: list[tuple[str, list[str]]] = []
    for line in net:
        if any(state.get(p) == "shut" for p in line.parts):
            continue
        a, b = groups.head(junction_name(line.start)), groups.head(junction_name(line.end))
        parts = list(line.parts)
        mover = next((p for p in parts if plant.parts[p].kind == "compressor"), None)
        if mover:
            k = parts.index(mover)
            starts.append((b, parts[k + 1 :]))
            goal.append((a, parts[:k]))
            continue
        edges.append((a, b, parts))
        if not line.check:
            edges.append((b, a, parts[::-1]))
    if not starts:
        return []
    (first, head), (last, tail) = starts[0], goal[0]
    found: list[list[str]] = []

    def walk(node: str, seen: frozenset[str], parts: list[str]) -> None:
        if node == last:
            found.append([*parts, *tail])
            return
        for a, b, inside in edges:
            if a == node and b not in seen:
                walk(b, seen | {b}, [*parts, *inside])

    walk(first, frozenset({first}), list(head))
    return found


def _is_throttle(plant: Plant, name: str, state: dict[str, str]) -> bool:
    return plant.parts[name].kind == "expansion" and state[name] == "throttle"


def _roles(
    plant: Plant, net: Net, state: dict[str, str]
) -> tuple[frozenset[str], frozenset[str], bool, tuple[tuple[str, int], ...]]:
    """Return the hot set, the cold set, whether the compressor may run in the state, and the order of the hot set.

    Gas that goes round all evaporators beside one that is in use is not modelled, nor is an exchanger between two
    throttles, at a middle pressure: such a state is not legal.
    """
    before: dict[str, set[int]] = {}
    order: dict[str, int] = {}
    bare = False
    legal = True
    paths = _paths(plant, net, state)
    for path in paths:
        throttles = 0
        behind = 0  # exchangers met since the first throttle
        place = 0
        drawing = False
        for name in path:
            if _is_throttle(plant, name, state):
                throttles += 1
                legal &= behind == 0
            if plant.parts[name].kind in EXCHANGERS:
                before.setdefault(name, set()).add(min(throttles, 1))
                drawing |= throttles > 0
                behind += throttles > 0
                if throttles == 0:
                    order[name] = max(order.get(name, 0), place)
                    place += 1
        legal &= throttles > 0
        bare |= not drawing
    hot = frozenset(n for n, seen in before.items() if seen == {0})
    cold = frozenset(n for n, seen in before.items() if seen == {1})
    legal &= len(hot) + len(cold) == len(before) and bool(hot) and bool(paths) and not (bare and cold)
    return hot, cold, legal, tuple(sorted((name, k) for name, k in order.items() if name in hot))


def valve_states(plant: Plant, number: int = 0) -> tuple[ValveState, ...]:
    """Return every combination of a circuit's valve states with the roles that follow from the plumbing."""
    net = circuits_of(plant)[number]
    found = choices(plant, net)
    combos = list(itertools.islice(itertools.product(*(s for _, s in found)), MAX_COMBINATIONS))
    out = []
    for combo in combos:
        state = {part.name: s for (part, _), s in zip(found, combo, strict=True)}
        acts = tuple(actuator_names(part)[s] for (part, states), s in zip(found, combo, strict=True) if len(states) > 1)
        out.append(ValveState(acts, *_roles(plant, net, state)))
    return tuple(out)


def role_changers(plant: Plant, net: Net) -> set[str]:
    """Return the valves that turn an exchanger from hot to cold: they may move only while the compressor stands."""
    found = set()
    inside = choices(plant, net)
    for part, states in inside:
        others = [(p, s) for p, s in inside if p.name != part.name]
        for combo in itertools.islice(itertools.product(*(s for _, s in others)), MAX_COMBINATIONS):
            base = {p.name: s for (p, _), s in zip(others, combo, strict=True)}
            roles = [_roles(plant, net, {**base, part.name: s}) for s in states]
            if any(a[0] & b[1] for a in roles for b in roles):
                found.add(part.name)
                break
    return found
