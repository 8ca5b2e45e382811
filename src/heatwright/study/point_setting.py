"""Which refrigerant setting a point is worked out in, and where every actuator stands meanwhile."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.lower.air import AIR_COILS
from heatwright.compiler.lower.roles import ValveState, valve_states
from heatwright.compiler.networks import actuator_names
from heatwright.compiler.program import Program
from heatwright.errors import InputError, Problem
from heatwright.plant.model import Plant
from heatwright.plant.signals import actuators_of
from heatwright.units import format_quantity

if TYPE_CHECKING:
    from heatwright.study.point import Asked

TITLE = "operating point"
HEATING_BELOW_K = 288.15  # without a setting named, colder air outside asks for heat
SPEED_SHARE = 0.5
RANGE_K = (213.15, 353.15)
WIND_MOST_M_PER_S = 200.0 / 3.6
SHARES = {"blower": 0.6, "pump": 1.0, "fan": 1.0}
MOST_NAMED = 12
NOTHING_TO_SET = "only"


def setting_name(state: ValveState) -> str:
    """Return a setting's name: the positions of the refrigerant valves, `only` where there is nothing to set."""
    return "+".join(name.partition(":")[2] for name in state.actuators) or NOTHING_TO_SET


def legal_settings(plant: Plant) -> tuple[ValveState, ...]:
    """Return the valve settings in which the compressor may run; InputError if there is none."""
    found = tuple(state for state in valve_states(plant) if state.legal) if plant.of_kind("compressor") else ()
    if not found:
        problem = Problem(plant.name, "no refrigerant circuit that can run", "a compressor, and a way through a valve")
        raise InputError([problem], TITLE)
    return found


def choose(plant: Plant, name: str, t_ambient_k: float) -> ValveState:
    """Return the setting of a name (`heat`, or `reverser:heat`), or without a name the one that suits the weather.

    Below 15 degC outside that is the first that lifts heat to the cabin's air or a coolant (hot gas alone where none
    does), else the first that cools the cabin's air.
    """
    states = legal_settings(plant)
    if name:
        for state in states:
            if name.lower() in (setting_name(state).lower(), "+".join(state.actuators).lower()):
                return state
        listed = ", ".join(setting_name(state) for state in states[:MOST_NAMED])
        more = f" and {len(states) - MOST_NAMED} more" if len(states) > MOST_NAMED else ""
        raise InputError(
            [Problem("--setting", f"no setting {name!r} in {plant.name}", f"one of {listed}{more}")], TITLE
        )
    coils = {part.name for part in plant.of_kind(*AIR_COILS)}
    warm = coils | {part.name for part in plant.of_kind("liquid_condenser")}
    if t_ambient_k < HEATING_BELOW_K:
        heating = [state for state in states if state.hot & warm]
        if heating:
            return next((state for state in heating if state.cold), heating[0])
    return next((state for state in states if state.cold & coils), states[0])


def held_setting(plant: Plant, program: Program, asked: Asked) -> tuple[ValveState, NDArray[np.float64]]:
    """Return the setting asked for and where every actuator is held; InputError lists every mistake in `asked`."""
    legal_settings(plant)
    problems = _problems(plant, program, asked)
    try:
        state = choose(plant, asked.setting, asked.t_ambient_k)
    except InputError as failure:
        problems += failure.problems
    if problems:
        raise InputError(problems, TITLE)
    return state, _values(plant, program, state, asked)


def others_hz(plant: Plant, program: Program, values: NDArray[np.float64]) -> dict[str, float]:
    """Return the speed asked of every compressor but the first [1/s], of the values of `held_setting`."""
    held = dict(zip(program.index.actuators, values, strict=True))
    return {part.name: float(held[part.name]) for part in plant.of_kind("compressor")[1:]}


def _values(plant: Plant, program: Program, state: ValveState, asked: Asked) -> NDArray[np.float64]:
    """Return where every actuator is held, in the program's order.

    Blower 60 %, pumps and fan 100 %, heaters off; doors and coolant valves in their first position, but a door
    that mixes outside and cabin air as asked; then whatever is held by name: of a door or valve of which a position
    is held, every position not named is shut.
    """
    acts = program.index.actuators
    values = dict(zip(acts, (float(v) for v in program.act0), strict=True))
    for kind, share in SHARES.items():
        values |= {part.name: share for part in plant.of_kind(kind) if part.name in values}
    for actuator in {name for one in legal_settings(plant) for name in one.actuators}:
        values[actuator] = 1.0 if actuator in state.actuators else 0.0
    values |= mixed(plant, asked.fresh)
    most = float(plant.of_kind("compressor")[0].values["speed"])
    values[acts[0]] = SPEED_SHARE * most if asked.speed_hz is None else asked.speed_hz
    moved = {name.partition(":")[0] for name in asked.held if ":" in name}
    values |= {name: 0.0 for name in values if name.partition(":")[0] in moved}
    values |= asked.held
    return np.array([values[name] for name in acts])


def _problems(plant: Plant, program: Program, asked: Asked) -> list[Problem]:
    """Return every mistake in what was asked."""
    found = []
    first = plant.of_kind("compressor")[0].name
    if asked.speed_hz is not None and (span := _missed_span(plant, first, asked.speed_hz)):
        found.append(Problem("--speed", f"{60.0 * asked.speed_hz:.0f} rpm", span))
    found += _held_problems(plant, program, asked)
    if not 0.0 <= asked.wind_m_per_s <= WIND_MOST_M_PER_S:
        span = f"0 to {format_quantity(WIND_MOST_M_PER_S, 'km/h')}"
        found.append(Problem("--wind", format_quantity(asked.wind_m_per_s, "km/h"), span))
    for option, t_k in (("--ambient", asked.t_ambient_k), ("--cabin", asked.t_cabin_k), ("--pack", asked.pack_k)):
        if not RANGE_K[0] <= t_k <= RANGE_K[1]:
            low, high = (format_quantity(t, "degC") for t in RANGE_K)
            found.append(Problem(option, format_quantity(t_k, "degC"), f"{low} to {high}"))
    for option, share in (("--fresh", asked.fresh), ("--humidity", asked.humidity)):
        if not 0.0 <= share <= 1.0:
            found.append(Problem(option, f"{100.0 * share:g} %", "0 % to 100 %"))
    return found


def _held_problems(plant: Plant, program: Program, asked: Asked) -> list[Problem]:
    """Return what is wrong in `asked.held`: heat takes watts, a further compressor a speed, others a share."""
    found = []
    acts, forms = program.index.actuators, actuators_of(plant.parts)
    for name, value in asked.held.items():
        form = forms.get(name, "%")
        if name not in acts[1:]:
            found.append(Problem("--hold", f"no actuator {name!r}", f"one of {', '.join(acts[1:])}"))
        elif form == "W" and (value < 0.0 or 0.0 < value <= 1.0):
            found.append(Problem("--hold", f"{name} = {value:g} W", "a power in watts, such as 2 kW"))
        elif form == "rpm" and value != 0.0 and (span := _missed_span(plant, name, value)):
            found.append(Problem("--hold", f"{name} = {60.0 * value:.0f} rpm", f"{span}, or 0 rpm"))
        elif form not in ("W", "rpm") and not 0.0 <= value <= 1.0:
            found.append(Problem("--hold", f"{name} = {100.0 * value:g} %", "0 % to 100 %"))
    return found


def _missed_span(plant: Plant, compressor: str, speed_hz: float) -> str:
    """Return what a compressor can do, where a speed lies outside it; else ""."""
    least_hz, most_hz = (float(plant.parts[compressor].values[key]) for key in ("least_speed", "speed"))
    if least_hz * (1.0 - 1e-9) <= speed_hz <= most_hz * (1.0 + 1e-9):
        return ""
    return f"{60.0 * least_hz:.0f} to {60.0 * most_hz:.0f} rpm, what the compressor can do"


def mixed(plant: Plant, fresh: float) -> dict[str, float]:
    """Return the positions of doors that let in air from outside or from a zone."""
    outside, inside = _fed_by(plant, "outside"), _fed_by(plant, "zone")
    values: dict[str, float] = {}
    for door in plant.of_kind("door"):
        names = actuator_names(door)
        ports = {pos: {p for group in groups for p in group} for pos, groups in door.values["positions"].items()}
        new = [pos for pos, own in ports.items() if any((door.name, p) in outside for p in own)]
        old = [pos for pos, own in ports.items() if any((door.name, p) in inside for p in own)]
        if len(new) == len(old) == 1 and new != old:
            values |= dict.fromkeys(names.values(), 0.0)
            values |= {names[new[0]]: fresh, names[old[0]]: 1.0 - fresh}
    return values


def _fed_by(plant: Plant, kind: str) -> set[tuple[str, str]]:
    """Return the ports (part, port) that air from places of a kind reaches through tees alone."""
    lines = plant.nets["air"].branches
    tees: set[str] = set()
    while True:
        fed = [ln for ln in lines if ln.start.kind == kind or (ln.start.kind == "tee" and ln.start.name in tees)]
        more = {ln.end.name for ln in fed if ln.end.kind == "tee"}
        if more == tees:
            return {(ln.end.name, ln.end.port) for ln in fed if ln.end.kind == "port"}
        tees = more
