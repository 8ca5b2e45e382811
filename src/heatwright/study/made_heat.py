"""Heat made from electricity without a heater: what a plant can make of it as its own loop warms up.

The car has stood in the cold; compressor and blower run with every actuator held, and whatever loop the valves and
doors close takes up their heat. Each setting of the refrigerant valves gives one curve: electricity and heat over the
loop's temperature, which is the mean of what leaves the exchangers on their air or coolant side, and of plates. The
march is the one of every run: limits bind as they would, and the ledger says where each joule went.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.build import compile_program
from heatwright.compiler.lower.roles import ValveState
from heatwright.kernel.status import LIMIT_SENTENCES
from heatwright.plant.model import Plant
from heatwright.run import Run, plain
from heatwright.simulate import simulate, slug
from heatwright.study.point import Asked
from heatwright.study.point_setting import held_setting, legal_settings, others_hz, setting_name
from heatwright.study.settled import short_case

Floats = NDArray[np.float64]
ZERO_K = 273.15
LONGEST_MIN = 90
BIN_K = 2.0
J_PER_KWH = 3.6e6


@dataclass(frozen=True)
class Curve:
    """One setting: means over bins of the loop's temperature, and the balance of the whole run.

    `t_loop_k` : middle of each bin. `electricity_w` : compressor, its standby, blowers. `heat_w` : what of it reaches
    the loop (refrigerant's net heat to the walls, and the blowers'). `limit` : what held the compressor longest.
    `reached_s` : time to `t_to_k`, None where it was not reached. Energies in J: electricity = heat_to_loop + beside.
    """

    setting: str
    t_loop_k: tuple[float, ...]
    electricity_w: tuple[float, ...]
    heat_w: tuple[float, ...]
    limit: tuple[str | None, ...]
    reached_s: float | None
    electricity_j: float
    heat_to_loop_j: float
    beside_j: float
    share: float
    ledger_residual_relative: float
    health: Mapping[str, Any]


@dataclass(frozen=True)
class MadeHeat:
    """Every setting's curve for one plant, from one cold start.

    Of a plant with several circuits the first `compressor` is asked for `speed_hz` and its valves make the settings;
    `others_hz` are the speeds asked of the others: the means over the loop's temperature leave them out, the balance
    counts them.
    """

    plant: str
    t_from_k: float
    t_to_k: float
    speed_hz: float
    curves: tuple[Curve, ...]
    provenance: Mapping[str, Any]
    compressor: str
    others_hz: Mapping[str, float]

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        found: dict[str, Any] = plain(asdict(self))
        return found


def made_heat(
    plant: Plant,
    asked: Asked,
    settings: Sequence[str] = (),
    t_to_k: float = ZERO_K + 30.0,
    progress: Callable[[float, float], object] | None = None,
) -> MadeHeat:
    """Return the heat that a plant makes of electricity, from `asked.t_ambient_k` up to `t_to_k`.

    asked : start temperature (`t_ambient_k`, cabin and pack alike), speed and held actuators as for a point. settings :
    names of valve settings; left out, every legal one. Raises InputError as `operating_point` does.
    """
    names = tuple(settings) or _distinct(plant)
    most = float(plant.of_kind("compressor")[0].values["speed"])
    asked = replace(asked, speed_hz=most if asked.speed_hz is None else asked.speed_hz)
    t_c = asked.t_ambient_k - ZERO_K
    case = short_case(
        f'temperature = "{t_c:g} degC"\nhumidity = "{100.0 * asked.humidity:g} %"',
        f'[[segment]]\nkind = "precondition"\nduration = "{LONGEST_MIN} min"\nstation = "11 kW"',
        f'[start]\ntemperature = "{t_c:g} degC"\ncharge = "90 %"',
    )
    program = compile_program(plant, case)
    curves = []
    for k, name in enumerate(names):
        state, values = held_setting(plant, program, replace(asked, setting=name))
        run = simulate(program, case, replay=np.tile(values, (case.n, 1)))
        curves.append(_curve(plant, run, state, t_to_k))
        if progress is not None:
            progress(k + 1, len(names))
        provenance = run.provenance
    return MadeHeat(
        plant.name, asked.t_ambient_k, t_to_k, float(asked.speed_hz or 0.0), tuple(curves), provenance,
        plant.of_kind("compressor")[0].name, others_hz(plant, program, values),
    )  # fmt: skip


def _distinct(plant: Plant) -> tuple[str, ...]:
    """Return the names of the legal settings, one for each pair of hot and cold sets."""
    first: dict[tuple[frozenset[str], frozenset[str]], str] = {}
    for state in legal_settings(plant):
        first.setdefault((state.hot, state.cold), setting_name(state))
    return tuple(first.values())


def loop_temperature(plant: Plant, run: Run, state: ValveState) -> Floats:
    """Return the mean temperature of what leaves the active exchangers on their air or coolant side [K].

    A plate on a body has neither: it counts with its metal. Coils in the wind count only where there is nothing else.
    """
    active = sorted(state.hot | state.cold)
    walls = [f"{name}.wall" for name in active]
    plates = [f"{name}.wall" for name in active if plant.parts[name].kind == "refrigerant_plate"]
    passed = [node for name in active for node in (f"{name}.air", f"{name}.coolant")]
    nodes = [node for node in (*passed, *plates) if f"t_{slug(node)}_k" in run.series] or walls
    return np.mean([run.series[f"t_{slug(node)}_k"].astype(float) for node in nodes], axis=0)


def _curve(plant: Plant, run: Run, state: ValveState, t_to_k: float) -> Curve:
    loop = loop_temperature(plant, run, state)
    there = np.flatnonzero(loop >= t_to_k)
    last = int(there[0]) if there.size else loop.size - 1
    blowers = [n for part in plant.of_kind("blower") for n in (part.name, f"{part.name}_loss") if n in run.energy_kwh]
    s = {name: run.series[name][1 : last + 1].astype(float) for name in ("p_compressor_w", "q_hot_w", "q_cold_w")}
    blown = np.sum([run.series[f"p_{name}_w"][1 : last + 1].astype(float) for name in blowers], axis=0)
    standby = float(plant.of_kind("compressor")[0].values["idle"]) * (run.series["compressor_on"][1 : last + 1] > 0)
    electricity = s["p_compressor_w"] + standby + blown
    heat = s["q_hot_w"] - s["q_cold_w"] + blown
    codes = run.series["limit"][1 : last + 1].astype(int)
    bins = np.floor((loop[1 : last + 1] - ZERO_K) / BIN_K).astype(int)
    marks = [int(b) for b in np.unique(bins)]
    limit = tuple(_longest(codes[bins == b]) for b in marks)
    terms = run.ledger["terms_j"] | run.ledger["conversions_j"]
    beside = terms.get("compressor_shell", 0.0) - terms.get("compressor_standby", 0.0)
    used = J_PER_KWH * (run.energy_kwh["compressor"] + sum(run.energy_kwh[name] for name in blowers))
    return Curve(
        setting_name(state),
        tuple(ZERO_K + BIN_K * (b + 0.5) for b in marks),
        tuple(float(np.mean(electricity[bins == b])) for b in marks),
        tuple(float(np.mean(heat[bins == b])) for b in marks),
        limit,
        float(run.t_s[last]) if there.size else None,
        used,
        used - beside,
        beside,
        1.0 - beside / used if used > 0.0 else 0.0,
        float(run.ledger["residual_relative"]),
        run.health,
    )  # fmt: skip


def _longest(codes: NDArray[np.int_]) -> str | None:
    """Return the sentence of the limit that held for most of some steps, None where none did."""
    code = int(np.bincount(codes).argmax())
    return LIMIT_SENTENCES[code] if code else None
