"""What a sheet shows beyond the plumbing: which legs live, how valves rest, and the temperatures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from heatwright.draw.sheet.graph import BODIES, OUTSIDE, REFRIGERANT_TAG, WIND, Graph, Node, Pipe
from heatwright.modes.lookup import ModeIndex
from heatwright.modes.nets import BLEND
from heatwright.outcome import slug
from heatwright.plant.model import Part, Plant

if TYPE_CHECKING:
    from heatwright.modes.model import Mode

DISCHARGE, LIQUID, SUCTION, MIXED = "t_discharge_k", "t_liquid_k", "t_suction_k", "t_evaporating_k"
CONDENSING = "t_condensing_k"
"""Series of a refrigerant circuit by stretch, all but the first worked out from its pressures, see `instant`.

The last is that inside a condenser; inside an evaporator it is that of the wet mixture before it.
"""


@dataclass(frozen=True)
class State:
    """`flows` holds the sign of every line that flows ("coolant/drive"), None where nothing is known.

    `setting` holds the state of every actuator, `temperatures` the run's series at one instant [K], `shares` of every
    line that flows its share of the largest flow of its medium, 0 to 1.
    """

    flows: Mapping[str, int] | None = None
    setting: Mapping[str, str] | None = None
    temperatures: Mapping[str, float] = field(default_factory=dict)
    mode: str = ""
    time: str = ""
    shares: Mapping[str, float] = field(default_factory=dict)


NOTHING_KNOWN = State()


def state_of_mode(plant: Plant, mode: Mode, index: ModeIndex | None = None) -> State:
    """Live and idle legs of a mode, in the arrangement with the fewest running devices."""
    index = index or ModeIndex(plant)
    return State(index.look(mode.setting).flows, mode.setting, {}, f"{mode.id} {mode.title}")


def way_of(pipe: Pipe, state: State) -> int:
    """+1 where a pipe flows as written, -1 against it, 0 where it stands; +1 where nothing is known."""
    if state.flows is None:
        return 1
    if pipe.medium == WIND:
        return 1
    return next((state.flows[line] for line in pipe.lines if state.flows.get(line)), 0)


def open_ports(part: Part, state: State) -> frozenset[str] | None:
    """Ports of a valve that its position joins to another; None where its position is not known."""
    setting = (state.setting or {}).get(part.name)
    if setting is None or "positions" not in part.values:
        return None
    groups = [group for one in setting.split(BLEND) for group in part.values["positions"].get(one, ())]
    return frozenset(port for group in groups if len(group) > 1 for port in group)


def is_live(node: Node, graph: Graph, state: State) -> bool:
    """Whether anything flows through a symbol."""
    return any(way_of(pipe, state) and pipe.medium != WIND for pipe in graph.at(node.id))


def body_series(plant: Plant, node: Node) -> tuple[str, ...]:
    """Series of the temperature that a body shows."""
    name = slug(node.part)
    if node.id == OUTSIDE or node.symbol == "outside":
        return ("t_ambient_k",)
    if node.symbol == "pack":
        middle = (int(plant.parts[node.part].values["nodes"]) + 1) // 2
        return (f"t_{name}_cells_{middle}_k",)
    if node.symbol in BODIES:
        return (f"t_{name}_air_k", f"t_{name}_housing_k", f"t_{name}_body_k")
    return ()


def refrigerant_stretches(plant: Plant, graph: Graph, state: State) -> dict[str, str]:
    """The stretch of every refrigerant pipe: its series, told apart by what lies between it and the compressor.

    Walks with the flow from each compressor: gas up to the first exchanger, then liquid up to the throttle; and
    against the flow: suction gas up to the exchanger, a wet mixture between throttle and exchanger. A pipe
    behind a valve whose position is not known has no stretch.
    """
    found: dict[str, str] = {}
    for part in plant.of_kind("compressor"):
        _walk(plant, graph, state, part.name, 1, (DISCHARGE, LIQUID), found)
        _walk(plant, graph, state, part.name, -1, (SUCTION, MIXED), found)
    return found


def _walk(
    plant: Plant, graph: Graph, state: State, start: str, sense: int, names: tuple[str, str], found: dict[str, str]
) -> None:
    circuit = next((p.loop for p in graph.at(start) if p.medium == "refrigerant"), REFRIGERANT_TAG)
    prefix = "" if circuit == REFRIGERANT_TAG else f"{slug(start)}_"
    queue: list[tuple[Pipe, str, str]] = [(p, start, names[0]) for p in _leaving(graph, state, start, sense, None)]
    seen: set[tuple[str, str]] = set()
    while queue:
        pipe, origin, name = queue.pop(0)
        if (pipe.id, name) in seen:
            continue
        seen.add((pipe.id, name))
        if found.get(pipe.id, "").removeprefix(prefix) != names[1] or name == names[1]:
            found[pipe.id] = prefix + name
        far = pipe.end if pipe.start == origin else pipe.start
        node = graph.nodes[far]
        if node.symbol == "compressor" or (node.symbol == "expansion" and not _stands_open(node, state)):
            continue
        if node.symbol in ("valve", "shutoff") and not _may_pass(plant, node, pipe, state):
            continue
        onward = names[1] if _changes(node) else name
        queue += [
            (p, far, onward) for p in _leaving(graph, state, far, sense, pipe) if _joined(plant, node, pipe, p, state)
        ]


def inside_series(graph: Graph, node: str, stretches: Mapping[str, str]) -> tuple[str, ...]:
    """Series of the refrigerant's temperature inside an exchanger, told by the stretches that meet there."""
    met = [stretches[pipe.id] for pipe in graph.at(node) if pipe.medium == "refrigerant" and pipe.id in stretches]
    for one in met:
        for ends, inside in ((MIXED, MIXED), (DISCHARGE, CONDENSING), (LIQUID, CONDENSING)):
            if one.endswith(ends):
                return (one.removesuffix(ends) + inside,)
    return tuple(dict.fromkeys(met))


def _leaving(graph: Graph, state: State, node: str, sense: int, came: Pipe | None) -> list[Pipe]:
    """Refrigerant pipes that lead on from a node, with the flow (+1) or against it (-1)."""
    found = []
    for pipe in graph.at(node):
        way = way_of(pipe, state) * sense
        leads = (way > 0 and pipe.start == node) or (way < 0 and pipe.end == node)
        if pipe.medium == "refrigerant" and pipe is not came and way and leads:
            found.append(pipe)
    return found


def _changes(node: Node) -> bool:
    """Whether refrigerant condenses or boils in a part."""
    return node.symbol in ("coil", "outdoor_coil", "plate_exchanger", "pack")


def _stands_open(node: Node, state: State) -> bool:
    return (state.setting or {}).get(node.part) == "open"


def _may_pass(plant: Plant, node: Node, pipe: Pipe, state: State) -> bool:
    if node.symbol == "shutoff":
        return True
    return open_ports(plant.parts[node.part], state) is not None


def _joined(plant: Plant, node: Node, came: Pipe, goes: Pipe, state: State) -> bool:
    """Whether two pipes are joined inside a symbol: in a valve only where one position joins their ports."""
    if node.symbol != "valve":
        return True
    part = plant.parts[node.part]
    setting = (state.setting or {}).get(part.name, "")
    first, second = _ports_on(came, node.id), _ports_on(goes, node.id)
    groups = [group for one in setting.split(BLEND) for group in part.values["positions"].get(one, ())]
    return any(first & set(group) and second & set(group) for group in groups)


def _ports_on(pipe: Pipe, node: str) -> set[str]:
    return {*(pipe.start_ports if pipe.start == node else ()), *(pipe.end_ports if pipe.end == node else ())}


def known(series: tuple[str, ...], temperatures: Mapping[str, float]) -> float | None:
    """The first of several series that the instant knows."""
    return next(
        (temperatures[name] for name in series if temperatures.get(name, float("nan")) == temperatures.get(name)), None
    )
