"""What a plant file becomes: frozen records, SI inside, names as the analyst wrote them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from heatwright.dispatch_table import Given

Fluid = Literal["coolant", "refrigerant", "air"]
FLUIDS: tuple[Fluid, ...] = ("coolant", "refrigerant", "air")

EndKind = Literal["port", "tee", "tank", "zone", "outside"]
ActKind = Literal["fixed", "ramp", "hold"]
Weights = tuple[tuple[str, float], ...]
"""How far a valve or door rests at each named position; the weights add up to one."""


@dataclass(frozen=True)
class Rated:
    """A conductance or a pressure drop together with the conditions it was measured at.

    `at` holds `flow_m3_per_s` (coolant), `mdot_kg_per_s` (air), `speed_m_per_s` (air), `temperature_k`
    (coolant): those the file names, and the kind's own reference for the rest. `named` lists the former.
    """

    value: float
    at: Mapping[str, float] = field(default_factory=dict)
    named: tuple[str, ...] = ()


@dataclass(frozen=True)
class Part:
    """One declared part.

    `values` has every declared key of its kind, in SI; an optional key left out without a default is None.
    Valves and doors carry `positions` (position -> groups of joined ports), `blend` (pairs of positions)
    and `ports`; shut-offs and expansion valves carry `states`. `given` names the keys the file wrote.
    """

    name: str
    kind: str
    values: Mapping[str, Any]
    given: frozenset[str]
    where: str


@dataclass(frozen=True)
class End:
    """Where a branch starts or stops; `port` is the valve's port or the zone's outlet."""

    kind: EndKind
    name: str
    port: str = ""


@dataclass(frozen=True)
class Branch:
    """A run of parts between two ends, in the direction written; `check` forbids the other direction.

    A part with sides stands in `parts` as `name.side`; `Plant.part_at` finds it.

    `line` is the name of the line in the file; a line with junctions inside gives `line/1`, `line/2`, ...
    """

    name: str
    start: End
    parts: tuple[str, ...]
    end: End
    check: bool
    line: str = ""


@dataclass(frozen=True)
class Net:
    """All the branches of one fluid."""

    branches: tuple[Branch, ...] = ()


@dataclass(frozen=True)
class Linear:
    """A weighted sum of signals plus a constant, in SI; as a condition it means `sum > 0`."""

    terms: tuple[tuple[float, str], ...]
    const: float = 0.0


@dataclass(frozen=True)
class Latch:
    """Turns true when `yes` holds, false when `no` holds, and keeps its state between them."""

    name: str
    yes: Linear
    no: Linear


@dataclass(frozen=True)
class Rule:
    """A row of the decision table: holds when every latch or flag in `needs` has the value beside it."""

    name: str
    needs: tuple[tuple[str, bool], ...] = ()


@dataclass(frozen=True)
class Act:
    """What one actuator does under one rule.

    fixed: `value`. ramp: (1 - x) `from_` + x `to` with x = clip((linear - low) / (high - low), 0, 1).
    hold: the same mixture with x = clip(linear / band + integral of linear / (band settle_s), 0, 1);
    `linear` is then the error, positive when the actuator must do more. Values are a number in SI
    (rev/s for a compressor, 0..1 for pumps, fans and blowers, W for heaters) or weights of positions.
    """

    kind: ActKind
    value: float | Weights | None = None
    from_: float | Weights | None = None
    to: float | Weights | None = None
    linear: Linear | None = None
    low: float = 0.0
    high: float = 0.0
    band: float = 0.0
    settle_s: float = 0.0
    min_on_s: float = 0.0
    min_off_s: float = 0.0


@dataclass(frozen=True)
class Control:
    """The decision table: latches, rules read from the top, and what each rule asks of each actuator.

    `acts[rule]` already holds what stands under `always`, except where the rule has an entry of its own.
    An actuator without an entry is off, shut or in its first position.
    """

    dwell_s: float
    latches: tuple[Latch, ...]
    rules: tuple[Rule, ...]
    acts: Mapping[str, Mapping[str, Act]]


@dataclass(frozen=True)
class Assumed:
    """A default that was used because the file says nothing: owner, key, text and where it comes from.

    An owner is a part's name or a table: "pack", "body", "glass.screen".
    """

    owner: str
    key: str
    text: str
    source: str


@dataclass(frozen=True)
class Stated:
    """A value that the file gives: owner, key, text as written, grade of evidence ("" = none), file and line."""

    owner: str
    key: str
    text: str
    grade: str
    where: str


@dataclass(frozen=True)
class Plant:
    """A whole car as declared. See the guide for the file it is read from; `pins` are cells of its sheet."""

    name: str
    about: str
    source: str
    digest: str
    fluid: Mapping[str, Any]
    parts: Mapping[str, Part]
    nets: Mapping[str, Net]
    body: Mapping[str, Any]
    glass: Mapping[str, Mapping[str, Any]]
    hoses: Mapping[str, Any]
    front: Mapping[str, Any]
    front_stack: tuple[str, ...]
    control: Control | None
    mirror: tuple[tuple[str, str], ...] = ()
    never: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()
    assumed: tuple[Assumed, ...] = ()
    stated: tuple[Stated, ...] = ()
    files: tuple[str, ...] = ()
    dispatch: Mapping[str, Given] = field(default_factory=dict)
    pins: Mapping[str, tuple[int, int]] = field(default_factory=dict)

    def part_at(self, place: str) -> Part:
        """The part that stands at a place of a line: `core` itself, or the part of a side such as `plate.a`."""
        return self.parts[place.partition(".")[0]]

    def fluid_of(self, compressor: str) -> Mapping[str, Any]:
        """Refrigerant, charge and inside volumes of the circuit of a compressor."""
        own: Mapping[str, Mapping[str, Any]] = self.fluid["circuits"]
        return own.get(compressor, self.fluid)

    def of_kind(self, *kinds: str) -> tuple[Part, ...]:
        """Parts of the given kinds, in the order of the file."""
        return tuple(part for part in self.parts.values() if part.kind in kinds)
