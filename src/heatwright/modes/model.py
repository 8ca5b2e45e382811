"""What an atlas is made of: states with the inert knocked out, modes, and the atlas of a plant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

ELECTRICITY = "electricity"
OUTSIDE = "outside"
AIR_BOX = "air box"

Setting = Mapping[str, str]
"""Actuator -> state: a position, a blend "one ~ two", "shut", "throttle", "open", "off" or "on"."""


class Move(NamedTuple):
    """Heat that goes from one place to another; places are bodies, zones, `outside`, `electricity`, `air box`.

    The air box is a place where air goes round in it and reaches no zone: it gets warm until it is let out.
    """

    start: str
    end: str
    way: str


class Stream(NamedTuple):
    """A running refrigerant circuit: active exchangers before and after the throttle; whether hot gas goes round."""

    hot: frozenset[str]
    cold: frozenset[str]
    gas: bool


class Aired(NamedTuple):
    """An active part in moving air: the zones it feeds, and the active parts upstream of it.

    Air that feeds no zone goes round (the part is then upstream of itself) or out of the car.
    """

    part: str
    zones: frozenset[str]
    after: frozenset[str]


@dataclass(frozen=True)
class State:
    """A joint state of all nets with the inert knocked out; equal states are one mode.

    `circuits` are the coolant circuits that flow, each the set of its links (bodies, active exchangers, heaters
    that are on, and `NAME.loss` for a deliberate loss that is on); `streams` the running refrigerant circuits;
    `air` the active parts in moving air; `feed` says for each blown zone "fresh" or "recirculated"; `pads` are on.
    """

    circuits: frozenset[frozenset[str]] = frozenset()
    streams: frozenset[Stream] = frozenset()
    air: frozenset[Aired] = frozenset()
    feed: frozenset[tuple[str, str]] = frozenset()
    pads: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Mode:
    """A class of legal combinations that do the same.

    `setting` is the arrangement with the fewest running devices; `free` names actuators whose state does not
    matter in it; `running` the devices that run; `arrangements` counts the distinct plumbings that give this
    mode. `family` is the id of its family. `dominated_by` is the id of a mode with equal moves and fewer devices.
    """

    id: str
    title: str
    family: str
    state: State
    combinations: int
    setting: Setting
    free: tuple[str, ...]
    running: frozenset[str]
    arrangements: int
    moves: frozenset[Move]
    needs: frozenset[str]
    flags: tuple[str, ...]
    dominated_by: str | None = None

    @property
    def useful(self) -> bool:
        """Whether it is neither dominated nor pure waste."""
        return self.dominated_by is None and not any(flag.startswith("pure waste") for flag in self.flags)


@dataclass(frozen=True)
class Family:
    """Modes with the same real heat moves: fresh or recirculated air, stirring and left or right set aside."""

    id: str
    title: str
    modes: tuple[str, ...]


@dataclass(frozen=True)
class Atlas:
    """Every mode of one plant. `combinations == legal + sum(illegal.values())` always holds.

    `whole` is False where the joint states went over the budget: then `families` are listed and modes are built
    on demand.
    """

    plant: str
    combinations: int
    legal: int
    illegal: Mapping[str, int]
    modes: tuple[Mode, ...]
    families: tuple[Family, ...]
    folded: int
    joined: int
    trim: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    whole: bool = True

    @property
    def distinct(self) -> int:
        """How many modes there are."""
        return len(self.modes)

    @property
    def useful(self) -> tuple[Mode, ...]:
        """The modes that are neither dominated nor pure waste."""
        return tuple(mode for mode in self.modes if mode.useful)
