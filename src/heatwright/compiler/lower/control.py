"""The decision table as arrays: signals, latches, rules, one law per rule and actuator."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from heatwright.compiler.lower.air import feeding_nodes
from heatwright.compiler.lower.context import Context
from heatwright.compiler.lower.sensors import observed, reading_of
from heatwright.compiler.networks import actuator_names
from heatwright.kernel import names
from heatwright.kernel.frost import CLOSED, ICE, PLACES
from heatwright.plant.model import Act, Control, Linear, Rule
from heatwright.sensors import Sensors

NODE, DRIVER, DERIVED, DRIVER_TAU, FROST = range(5)

DRIVER_SIGNALS = {
    "setpoint": "t_setpoint_k",
    "wanted": "wanted",
    "occupied": "occupied",
    "plugged": "plugged",
    "driving": "driving",
    "speed": "speed",
    "sun": "sun_w_per_m2",
    "occupants": "occupants",
    "charging": "charging",
    "prepare": "prepare",
}
DERIVED_SIGNALS = {
    "vent_target": "t_vent_target_k",
    "glass.margin": "fog_margin_k",
    "circuit.high": "p_discharge_pa",
    "circuit.low": "p_suction_pa",
}
PART_SIGNALS = {
    ("pack", "hottest"): "t_pack_hottest_k",
    ("pack", "coldest"): "t_pack_coldest_k",
    ("pack", "charge"): "soc",
    ("pack", "charge_best"): "t_charge_best_k",
    ("pack", "charge_hot"): "t_charge_hot_k",
    ("zone", "rh"): "rh_cabin",
    ("compressor", "on"): "compressor_on",
    ("compressor", "high"): "p_discharge_pa",
    ("compressor", "low"): "p_suction_pa",
}
FROST_SIGNALS = {"frost": int(ICE), "blocked": int(CLOSED)}
IDLE = Control(0.0, (), (Rule("rest"),), {"rest": {}})


@dataclass
class ControlSections:
    """Everything of the decision table that goes into the plan."""

    ints: dict[str, list[int]] = field(default_factory=dict)
    floats: dict[str, list[float]] = field(default_factory=dict)
    rules: tuple[str, ...] = ()
    latches: int = 0
    dwell_s: float = 0.0
    signals: tuple[str, ...] = ()


class Signals:
    """Places of the signals in use."""

    def __init__(self, ctx: Context, place: dict[str, int]) -> None:
        self.ctx, self.place = ctx, place
        self.kind: list[int] = []
        self.index: list[int] = []
        self.known: dict[str, int] = {}

    def at(self, name: str) -> int:
        """Return the place of a signal, adding it if new."""
        if name not in self.known:
            kind, index = self._find(name)
            self.known[name] = len(self.kind)
            self.kind.append(kind)
            self.index.append(index)
        return self.known[name]

    def _find(self, name: str) -> tuple[int, int]:
        columns = self.ctx.builder.columns
        if name in DRIVER_SIGNALS:
            return DRIVER, columns.index(DRIVER_SIGNALS[name])
        if name == "outside.air":
            return DRIVER_TAU, columns.index("tau_ambient")
        if name in DERIVED_SIGNALS:
            return DERIVED, names.DERIVED.index(DERIVED_SIGNALS[name])
        part_name, _, what = name.partition(".")
        part = self.ctx.plant.parts[part_name]
        if (part.kind, what) in PART_SIGNALS:
            circuits = [one.name for one in self.ctx.plant.of_kind("compressor")]
            block = circuits.index(part_name) if part_name in circuits else 0
            return DERIVED, block * names.N_DERIVED + names.DERIVED.index(PART_SIGNALS[part.kind, what])
        if what in FROST_SIGNALS:
            front = [f.name for f in self.ctx.front]
            return FROST, PLACES * front.index(part_name) + FROST_SIGNALS[what]
        if part.kind == "zone" and what == "vent":
            return NODE, self.place[feeding_nodes(self.ctx, part_name)[0]]
        for node in (f"{part_name}.{what}", f"{part_name}.wind", f"{part_name}.coolant", f"{name}.coolant"):
            if node in self.place:
                return NODE, self.place[node]
        raise KeyError(f"no node behind signal {name!r}")

    def linear(self, linear: Linear | None) -> tuple[list[int], list[float]]:
        """Return four signal places, and four weights with the constant."""
        terms = linear.terms if linear else ()
        if len(terms) > 4:
            raise KeyError("more than four signals in one expression")
        index = [self.at(signal) for _, signal in terms]
        weight = [c for c, _ in terms]
        pad = 4 - len(terms)
        return [*index, *[0] * pad], [*weight, *[0.0] * pad, linear.const if linear else 0.0]


def lower_control(
    ctx: Context, place: dict[str, int], sensors: Sensors | None = None, all_signals: bool = False
) -> ControlSections:
    """Return the sections of the plant's decision table, read through any sensors; without one all rests.

    all_signals : besides those of the table, read every signal that a car has.
    """
    control = ctx.plant.control or IDLE
    signals = Signals(ctx, place)
    signals.at("outside.air")
    out = ControlSections(rules=tuple(r.name for r in control.rules), dwell_s=control.dwell_s)
    latch_at = _latches(control, signals, out)
    out.ints["rl_yes"] = [sum(1 << latch_at[n] for n, want in r.needs if want) for r in control.rules]
    out.ints["rl_no"] = [sum(1 << latch_at[n] for n, want in r.needs if not want) for r in control.rules]
    kinds: list[int] = []
    sig: list[int] = []
    coef: list[float] = []
    par: list[float] = []
    for rule in control.rules:
        laws = _laws(ctx, control.acts.get(rule.name, {}))
        for actuator in ctx.builder.actuators:
            kind, linear, numbers = laws.get(actuator, (0, None, _fixed(ctx.first.get(actuator, 0.0))))
            index, weights = signals.linear(linear)
            kinds.append(kind)
            sig += index
            coef += weights
            par += numbers
    if sensors is not None or all_signals:
        for name in observed(ctx, place):
            signals.at(name)
    if all_signals:
        for name in DRIVER_SIGNALS:
            signals.at(name)
    if sensors is not None:
        out.floats["sg_par"] = [x for name in signals.known for x in reading_of(ctx, sensors, name)]
    out.signals = tuple(signals.known)
    out.ints |= {"ac_kind": kinds, "ac_sig": sig, "sg_kind": signals.kind, "sg_idx": signals.index}
    out.ints["ac_stop"] = _stops(ctx)
    out.floats |= {"ac_c": coef, "ac_par": par}
    out.floats["ac_slew"] = [min(ctx.slews.get(a, 1e9), 1e9) for a in ctx.builder.actuators]
    return out


def _stops(ctx: Context) -> list[int]:
    """Return for every actuator the place + 1 of the compressor that must stand while it moves; 0 for none."""
    acts = ctx.builder.actuators
    return [acts.index(ctx.guarded[name]) + 1 if name in ctx.guarded else 0 for name in acts]


def _latches(control: Control, signals: Signals, out: ControlSections) -> dict[str, int]:
    """Fill the latch sections; flags asked for by rules become latches of their own."""
    at = {latch.name: k for k, latch in enumerate(control.latches)}
    pairs = [(latch.yes, latch.no) for latch in control.latches]
    for rule in control.rules:
        for name, _ in rule.needs:
            if name not in at:
                at[name] = len(pairs)
                pairs.append((Linear(((1.0, name),), -0.5), Linear(((-1.0, name),), 0.5)))
    if len(pairs) > 32:
        raise KeyError("more than 32 latches and flags in one decision table")
    index: list[int] = []
    coef: list[float] = []
    for pair in pairs:
        for linear in pair:
            i, c = signals.linear(linear)
            index += i
            coef += c
    out.ints["lt_sig"] = index
    out.floats["lt_c"] = coef
    out.latches = len(pairs)
    return at


def _fixed(value: float) -> list[float]:
    return [value, 0.0, value, value, 0.0, 0.0, 0.0, 0.0]


def _laws(ctx: Context, acts: Any) -> dict[str, tuple[int, Linear | None, list[float]]]:
    """Return the law of every actuator named under a rule."""
    laws: dict[str, tuple[int, Linear | None, list[float]]] = {}
    for name, act in acts.items():
        part = ctx.plant.parts.get(name)
        if part is not None and part.kind in ("valve", "door", "expansion", "shutoff"):
            for state, actuator in actuator_names(part).items():
                if actuator in ctx.builder.actuators:
                    ends = (_weight(act.from_, state), _weight(act.to, state), _weight(act.value, state))
                    laws[actuator] = _law(act, *ends)
        else:
            if name in ctx.builder.actuators:
                laws[name] = _law(act, _number(act.from_), _number(act.to), _number(act.value))
    return laws


def _weight(value: Any, state: str) -> float:
    return float(dict(value).get(state, 0.0)) if value is not None else 0.0


def _number(value: Any) -> float:
    return float(value) if value is not None else 0.0


def _law(act: Act, low: float, high: float, value: float) -> tuple[int, Linear | None, list[float]]:
    """Return kind, error and the eight numbers of a law (kernel.control)."""
    if act.kind == "fixed":
        return 0, None, _fixed(value)
    ends = (min(low, high), max(low, high))
    if act.kind == "ramp":
        gain = (high - low) / (act.high - act.low)
        return 1, act.linear, [low - gain * act.low, gain, *ends, 0.0, 0.0, 0.0, 0.0]
    settle = 1.0 / act.settle_s if act.settle_s and not math.isinf(act.settle_s) else 0.0
    return 2, act.linear, [low, (high - low) / act.band, *ends, settle, act.min_on_s, act.min_off_s, 0.0]
