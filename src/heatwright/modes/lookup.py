"""From one setting of every actuator to the mode it is, for samples of a run."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from heatwright.modes.atlas import build_atlas
from heatwright.modes.facets import Settled, settle
from heatwright.modes.fragments import Refused
from heatwright.modes.held import actuator_states
from heatwright.modes.model import Atlas, Mode, State
from heatwright.modes.nets import BLEND, ON_OFF
from heatwright.modes.normal import Nature
from heatwright.modes.read_nets import nets_of
from heatwright.modes.ways import inner_circuits, judged_circuits
from heatwright.plant.model import Plant

TOO_MANY = "legal, but this plant has too many modes to name them"


@dataclass(frozen=True)
class Seen:
    """What one setting is: its mode, or the reason why it is none; `flows` has the sign of every flowing branch.

    `flags` are what the flow of this very setting tells; those of the mode belong to its best setting. Branches are
    named "fluid/line"; where the setting is refused inside a net, that net's branches are missing.
    """

    mode: Mode | None
    reason: str
    flows: Mapping[str, int]
    flags: frozenset[str]


class ModeIndex:
    """The modes of a plant, to be asked by setting; every answer is kept.

    What is refused is refused for the reason that the atlas counts it by.
    """

    def __init__(self, plant: Plant, atlas: Atlas | None = None) -> None:
        self.plant = plant
        self.atlas = atlas or build_atlas(plant)
        self.states = actuator_states(plant)
        self._nature = Nature(plant)
        self._by_state = {mode.state: mode for mode in self.atlas.modes}
        self._seen: dict[tuple[str, ...], Seen] = {}

    def look(self, setting: Mapping[str, str]) -> Seen:
        """The mode of a setting and what flows in it; an actuator that is not named rests.

        Raises KeyError for a state that an actuator does not have; a blend need not be one the plant declares.
        """
        key = tuple(setting.get(name, resting(states)) for name, states in self.states.items())
        seen = self._seen.get(key)
        if seen is None:
            seen = self._seen[key] = self._look(dict(zip(self.states, key, strict=True)))
        return seen

    def _look(self, setting: dict[str, str]) -> Seen:
        for name, state in setting.items():
            if not set(state.split(BLEND)) <= set(self.states[name]):
                raise KeyError(f"'{name}' has no state '{state}'")
        flows: dict[str, int] = {}
        settled: list[Settled] = []
        reasons: list[str] = []
        for net in nets_of(self.plant, setting):
            found = settle(net)
            if isinstance(found, Refused):
                reasons.append(found.reason)
                continue
            inner = judged_circuits(self._nature, inner_circuits(found.circuits, self._nature))
            if isinstance(inner, Refused):
                reasons.append(inner.reason)
            settled.append(found)
            flows |= {f"{net.fluid}/{flow.edge.branch}": flow.sign for flow in found.flows}
        for name, rule in self.plant.never:
            if all(setting.get(part) == state for part, state in rule):
                reasons.append(f"rule: {name}")
        mode, reason = (None, reasons[0]) if reasons else self._judge(settled, setting)
        return Seen(mode, reason, flows, frozenset().union(*(net.flags for net in settled)))

    def _judge(self, settled: list[Settled], setting: Mapping[str, str]) -> tuple[Mode | None, str]:
        state: State | Refused = judged_circuits(self._nature, [one for net in settled for one in net.circuits])
        if isinstance(state, Refused):
            return None, state.reason
        pads = frozenset(part.name for part in self.plant.of_kind("pad") if setting[part.name] == "on")
        mode = self._by_state.get(replace(state, pads=pads))
        return mode, "" if mode else TOO_MANY


def resting(states: tuple[str, ...]) -> str:
    """The state of an actuator that nobody names."""
    return "off" if states == ON_OFF else states[0]


def mode_of(index: ModeIndex, setting: Mapping[str, str]) -> Mode | str:
    """The mode of a setting, or the reason why it is none."""
    seen = index.look(setting)
    return seen.mode or seen.reason
