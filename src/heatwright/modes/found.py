"""What the enumeration knows of one state before it is read: how often it comes up and how to get there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heatwright.modes.model import Setting, State


@dataclass(frozen=True)
class Found:
    """How a state comes about.

    `combinations` counts the actuator combinations that give it and `arrangements` the distinct plumbings among
    them. `setting` is the one with the fewest running devices, `running` those devices, `free` the valves and
    doors whose state does not matter in it. `flags` are what the flow itself tells: "NAME idles backwards",
    "direction depends on sizing".
    """

    combinations: int
    setting: Setting
    free: tuple[str, ...]
    running: frozenset[str]
    arrangements: int
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class States:
    """Every state of a plant, and what is illegal by reason; all counts add up to `combinations`.

    `joined` is how many joint states of the nets were looked at; `trim` names the doors that only choose an
    outlet, with their positions: they multiply the count and make no mode.
    """

    combinations: int
    found: Mapping[State, Found]
    illegal: Mapping[str, int]
    joined: int
    trim: Mapping[str, tuple[str, ...]]

    @property
    def legal(self) -> int:
        """How many combinations are legal."""
        return sum(one.combinations for one in self.found.values())
