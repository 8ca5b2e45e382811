"""Program and Case in, Run out: marches in pieces, keeps the record, turns counters into sentences."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright import felt, outcome, wet_outcome
from heatwright.books import Book, pieces
from heatwright.compiler.compressor_map import map_range
from heatwright.compiler.program import Program
from heatwright.errors import RunError
from heatwright.kernel import circuit_names, frost, names, plan
from heatwright.kernel import march as kernel
from heatwright.outcome import slug
from heatwright.run import Label, Run

RECORDED = ("tau", "mdot", "act", "pdev", "z", "ext")
ACCURACIES = ("normal", "high")
FROST_SERIES = (
    ("frost", "frost on", frost.ICE),
    ("melt_water", "melt water held by", frost.HELD),
    ("vapour_taken", "vapour settled so far on", frost.TAKEN),
    ("melt_drained", "water drained so far from", frost.DRAINED),
)
STATE_SERIES = (
    ("h_suction_j_per_kg", "enthalpy of suction gas", circuit_names.OUT_H1),
    ("h_discharge_j_per_kg", "enthalpy of discharge gas", circuit_names.OUT_H2),
    ("h_liquid_j_per_kg", "enthalpy before the valve", circuit_names.OUT_H3),
)
Progress = Callable[[float, float], Any]


class Recorder:
    """Which places of the work array are kept, under which names."""

    def __init__(self, program: Program) -> None:
        index = program.index
        self.names: list[str] = []
        self.cols: list[int] = []
        self.labels: dict[str, Label] = {}
        self.kelvin: list[int] = []
        for k, node in enumerate(index.nodes):
            self.kelvin.append(len(self.cols))
            self._add(
                f"t_{slug(node)}_k",
                program.place("tau", k),
                Label(words(node), "K", "temperature", body_of(node)),
            )
        for k, flow in enumerate(index.flows):
            self._add(f"mdot_{slug(flow)}_kg_per_s", program.place("mdot", k), Label(words(flow), "kg/s", "flow"))
        for k, actuator in enumerate(index.actuators):
            unit = "1/s" if actuator in index.circuits else ""
            self._add(
                f"x_{slug(actuator)}",
                program.place("act", k),
                Label(words(actuator), unit, "actuator", actuator.partition(":")[0]),
            )
        for k, device in enumerate(index.devices):
            self._add(f"p_{slug(device)}_w", program.place("pdev", k), Label(words(device), "W", "power", device))
        vent = index.node_place[program.vent_node]
        self.kelvin.append(len(self.cols))
        self._add("t_vent_k", program.place("tau", vent), Label("air into the cabin", "K", "temperature", "cabin"))
        self.kelvin.append(len(self.cols))
        air = index.node_place[f"{program.zone}.air"]
        self._add("t_zone_air_k", program.place("tau", air), Label("cabin air", "K", "temperature", "cabin"))
        for k, name in enumerate(names.DERIVED):
            if name != "one":
                self._add(name, program.place("z", k), DERIVED_LABELS.get(name, Label(words(name), "", "other")))
        for number, compressor in enumerate(index.circuits[1:], 1):
            for name in names.OF_CIRCUIT:
                label = DERIVED_LABELS.get(name, Label(words(name), "", "other"))
                place = program.place("z", number * names.N_DERIVED + names.DERIVED.index(name))
                self._add(of_circuit(compressor, name), place, replace(label, text=f"{label.text}, {compressor}"))
        self._add_states(program)
        for k, name in enumerate(index.front):
            for what, text, at in FROST_SERIES:
                label = Label(f"{text} {words(name)}", "kg", "frost", name)
                self._add(f"m_{what}_{slug(name)}_kg", program.place("frost", frost.PLACES * k + int(at)), label)
        for name, place, text, unit, body in wet_outcome.wet_columns(program):
            self._add(name, place, Label(text, unit, "moisture", body))
        self._add("mode", program.place("cs", 0), Label("rule in force", "", "mode"))

    def _add_states(self, program: Program) -> None:
        """Add the enthalpies of suction gas, discharge gas and liquid of every refrigerant circuit."""
        headers = plan.section(program.pi, program.pi, "circ").tolist()
        for number, (compressor, header) in enumerate(zip(program.index.circuits, headers, strict=True)):
            start = int(program.pi[header + plan.W_BASE + plan.W["cout"]])
            for name, text, at in STATE_SERIES:
                own = of_circuit(compressor, name) if number else name
                label = Label(f"{text}, {compressor}" if number else text, "J/kg", "refrigerant")
                self._add(own, start + at, label)

    def _add(self, name: str, place: int, label: Label) -> None:
        self.names.append(name)
        self.cols.append(place)
        self.labels[name] = label


def words(name: str) -> str:
    """Return a name as a person reads it."""
    return re.sub(r"\s+", " ", re.sub(r"[/:.@_]+", " ", name)).strip()


def body_of(node: str) -> str:
    """Return the part a node belongs to."""
    return node.split(".")[0]


def of_circuit(compressor: str, name: str) -> str:
    """Return the name of a series of a circuit beyond the first."""
    return f"{slug(compressor)}_{name}"


DERIVED_LABELS = {
    "fog_margin_k": Label("glass above dew point", "K", "comfort"),
    "rh_cabin": Label("cabin relative humidity", "1", "comfort"),
    "soc": Label("charge", "1", "pack"),
    "t_pack_hottest_k": Label("hottest cells", "K", "temperature", "pack"),
    "t_pack_coldest_k": Label("coldest cells", "K", "temperature", "pack"),
    "t_vent_target_k": Label("vent target", "K", "temperature"),
    "p_discharge_pa": Label("discharge pressure", "Pa", "refrigerant"),
    "p_suction_pa": Label("suction pressure", "Pa", "refrigerant"),
    "w_cabin": Label("cabin humidity ratio", "kg/kg", "comfort"),
    "p_compressor_w": Label("compressor", "W", "power", "compressor"),
    "p_station_w": Label("station", "W", "power", "station"),
    "p_pack_w": Label("pack terminals", "W", "power", "pack"),
    "p_friction_brake_w": Label("friction brakes", "W", "heat", "drive"),
    "p_traction_w": Label("traction", "W", "power", "drive"),
    "p_low_voltage_w": Label("12 V side", "W", "power"),
    "drive_share": Label("torque the drive unit's temperatures allow", "1", "drive", "drive"),
    "drive_limit": Label("which temperature holds the drive unit back", "", "drive", "drive"),
    "p_drive_heat_w": Label("heat on purpose", "W", "power", "drive"),
    "p_drive_short_w": Label("power the road asks and does not get", "W", "power", "drive"),
    "p_give_limit_w": Label("most the pack may give", "W", "pack", "pack"),
    "p_take_limit_w": Label("most the pack may take for long", "W", "pack", "pack"),
    "t_charge_best_k": Label("best charging from", "K", "pack", "pack"),
    "t_charge_hot_k": Label("best charging up to", "K", "pack", "pack"),
    "pulse_s": Label("braking beyond the charge limit", "s", "pack", "pack"),
    "heat_in_pack_j": Label("heat in the pack", "J", "pack", "pack"),
    "q_pack_w": Label("heat made in the pack", "W", "heat", "pack"),
    "t_discharge_k": Label("discharge gas", "K", "temperature", "compressor"),
    "dew_k": Label("cabin dew point", "K", "comfort"),
    "mdot_refrigerant_kg_per_s": Label("refrigerant flow", "kg/s", "refrigerant"),
    "q_hot_w": Label("heat from the hot side", "W", "refrigerant"),
    "q_cold_w": Label("heat into the cold side", "W", "refrigerant"),
    "superheat_k": Label("superheat at the evaporators' end", "K", "refrigerant"),
    "subcooling_k": Label("subcooling at the condensers' end", "K", "refrigerant"),
    "wet_return_margin_k": Label("superheat less the least stable one", "K", "refrigerant"),
    "compressor_hold": Label("held by its clock: 1 off, 2 on", "1", "refrigerant"),
    "store_level": Label("level of receiver and accumulator", "1", "refrigerant"),
    "charge_short": Label("charge: 1 short, -1 over", "1", "refrigerant"),
    "charge_error_kg": Label("charge not found in the circuit", "kg", "refrigerant"),
    "liquid_in_accumulator_kg": Label("liquid gathered in the accumulator", "kg", "refrigerant"),
    "t_operative_k": Label("operative temperature", "K", "comfort", "cabin"),
    "t_felt_k": Label("operative temperature as felt, heaters at the body in it", "K", "comfort", "cabin"),
    "pmv": Label("predicted mean vote", "1", "comfort"),
    "ppd": Label("predicted share of dissatisfied", "1", "comfort"),
    "compressor_map_left": Label("outside the compressor's map, in its widths", "1", "refrigerant"),
}


def simulate(
    program: Program,
    case: Any,
    accuracy: str = "normal",
    progress: Progress | None = None,
    replay: NDArray[np.float64] | None = None,
) -> Run:
    """March a program over its trip and return the Run.

    accuracy : "normal" (linearly implicit Euler) or "high" (one full and two half steps, second order, with an
    error estimate). progress(done, total) is called between pieces. replay : (steps, actuators) values that
    stand in for the decision table; the clocks of the compressors stand meanwhile, so no least times and no
    allowance after a start. Raises RunError if a temperature is lost.
    """
    if accuracy not in ACCURACIES:
        raise ValueError(f"accuracy {accuracy!r}: expected one of {ACCURACIES}")
    recorder = Recorder(program)
    cols = np.array(recorder.cols, np.uint32)
    n = program.rows.shape[0]
    record = np.zeros((n + 1, cols.size), np.float32)
    w = program.start()
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    book = Book(program, w)
    wet_start = plan.section(program.pi, w, "wet").copy()
    record[0] = w[cols]
    acts = np.zeros((1, 1)) if replay is None else replay
    elapsed = 0.0
    for first, last in pieces(n, (leg.first for leg in case.segments)):
        begun = time.perf_counter()
        kernel.march(
            program.pi, program.pf, w, program.rows[first:last], program.dt_s, accuracy == "high", replay is not None,
            acts[first:last] if replay is not None else acts, cols, record[1 + first : 1 + last],
        )  # fmt: skip
        elapsed += time.perf_counter() - begun
        book.mark(last)
        if not np.all(np.isfinite(record[last, recorder.kelvin])):
            raise RunError(
                "a temperature was lost; the plant is outside what the models can bear", first * program.dt_s
            )
        if progress is not None:
            progress(last, n)
    return gather(program, case, recorder, record, w, book, wet_start, elapsed, accuracy)


def gather(
    program: Program,
    case: Any,
    recorder: Recorder,
    record: NDArray[np.float32],
    w: NDArray[np.float64],
    book: Book,
    wet_start: NDArray[np.float64],
    elapsed: float,
    accuracy: str,
    mode_names: tuple[str, ...] | None = None,
) -> Run:
    """Gather series, ledger, comfort, energies and health into a Run.

    record : (steps + 1, columns of the recorder) temperatures still in degC. book : the ledger's marks.
    wet_start : water of the start. mode_names : what the numbers of the series `mode` stand for; left out, the rules.
    """
    to_kelvin = np.zeros(record.shape[1], np.float32)
    to_kelvin[recorder.kelvin] = 273.15
    record += to_kelvin  # whole rows: picking the columns takes five times as long
    series: dict[str, Any] = {name: record[:, k] for k, name in enumerate(recorder.names)}
    labels = dict(recorder.labels) | {name: DERIVED_LABELS[name] for name in felt.SERIES}
    _add_trip(case, series, labels)
    ledger = outcome.ledger(program, w, book.u_start) | {"water": wet_outcome.water_ledger(program, w, wet_start)}
    clear = wet_outcome.screen_clear_share(program, series)
    if clear is not None:
        series["screen_clear_share"] = clear.astype(np.float32)
        labels["screen_clear_share"] = Label("vision area A free of ice", "1", "moisture", "screen")
    energies = outcome.energies_kwh(program, w)
    comfort = outcome.comfort(series, case)
    more, figures = felt.felt(program.surroundings, series, case)
    series |= more
    comfort |= figures
    series["heat_in_pack_j"] = _heat_in_pack_j(program, series, case.t_heat_reference_k)
    summary = outcome.summary(program, case, series, ledger) | outcome.frost(program, series, ledger)
    summary |= outcome.pack_and_drive(program, case, series, w)
    health = health_of(program, w, ledger, series) | _flags(case, series, summary)
    provenance = dict(program.provenance) | {
        "accuracy": accuracy,
        "elapsed_s": elapsed,
        "made_at": datetime.now(UTC).isoformat(timespec="seconds"),
        "assumed": list(program.assumed),
        "plant_about": program.plant_about,
        "trip_about": case.about,
    }
    return Run(
        program.plant_name, program.trip_name, np.asarray(case.t_s), series, labels, mode_names or program.index.rules,
        case.segments, summary, ledger, health, comfort, energies, provenance, book.closed(),
    )  # fmt: skip


def _add_trip(case: Any, series: dict[str, Any], labels: dict[str, Label]) -> None:
    """Add speed, height, outside air and set-point as series with one row a step edge."""
    series["speed_m_per_s"] = case.edges["speed_m_per_s"]
    labels["speed_m_per_s"] = Label("speed", "m/s", "trip")
    series["altitude_m"] = case.edges["altitude_m"]
    labels["altitude_m"] = Label("height", "m", "trip")
    for name, key, text in (
        ("t_ambient_k", "t_ambient_k", "outside air"),
        ("t_setpoint_k", "t_setpoint_k", "set-point"),
        ("occupied", "occupied", "people aboard"),
        ("wanted", "wanted", "cabin wanted"),
    ):
        values = np.asarray(case.steps[key], float)
        series[name] = np.concatenate((values[:1], values))
        labels[name] = Label(text, "K" if name.startswith("t_") else "", "trip" if "amb" not in name else "temperature")


def health_of(
    program: Program, w: NDArray[np.float64], ledger: Mapping[str, Any], series: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the solver's counters, each with a plain key, and the limits that were met with their times."""
    from heatwright.kernel.status import LIMIT_SENTENCES

    counters = dict(zip(names.COUNTERS, (float(x) for x in plan.section(program.pi, w, "misc")), strict=True))
    met = [series["limit"], *(series[of_circuit(name, "limit")] for name in program.index.circuits[1:])]
    counts = np.bincount(np.concatenate(met).astype(np.int64))
    limits = {LIMIT_SENTENCES[k]: float(counts[k] * program.dt_s) for k in np.flatnonzero(counts).tolist() if k}
    steps = max(counters["compressor_steps"], 1.0)
    health: dict[str, Any] = {
        "sees": "sensors" if program.sensors is not None else "true state",
        "circuit_not_solved_steps": int(counters["circuit_failed"]),
        "circuit_retried_steps": int(counters["circuit_retried"]),
        "circuit_limited_steps": int(counters["circuit_limited"]),
        "wet_return_steps": int(counters["wet_return"]),
        "circuit_evaluations_per_step": counters["newton_iterations"] / steps,
        "flow_solves": int(counters["flow_solves"]),
        "flow_not_solved": int(counters["flow_failed"]),
        "steps_redone": int(counters["steps_redone"]),
        "coolant_outside_its_range_steps": _outside_range(program, series),
        "charge_short_steps": int(counters["charge_short"]),
        "charge_over_steps": int(counters["charge_over"]),
        "compressor_starts": int(counters["compressor_starts"]),
        "pack_power_capped_steps": int(counters["pack_power_capped"]),
        "rule_changes": int(counters["rule_changes"]),
        "refrigerant_residual_j": ledger["refrigerant_residual_j"],
        "limits_s": limits,
    }
    if counters["compressor_map_left"] > 0.0:
        health["compressor_map_left_steps"] = int(counters["compressor_map_left"])
        health["compressor_map_range"] = map_range(plan.section(program.pi, program.pf, "cp_par"))
        health["compressor_map_left_most"] = float(np.max(series["compressor_map_left"]))
    if counters["temperature_error_k"] > 0.0:
        health["step_error_k"] = counters["temperature_error_k"]
        health["step_error_j"] = counters["energy_error_j"]
    return health


def _heat_in_pack_j(program: Program, series: Mapping[str, Any], t_reference_k: float) -> NDArray[np.float64]:
    """Return the heat in cells and plate above a reference temperature [J], one value a step edge."""
    nodes = program.index.nodes
    cells = plan.section(program.pi, program.pi, "pk_n").tolist()
    stores = {nodes[k].split(".")[0] for k in cells}
    capacity = plan.section(program.pi, program.pf, "mass") * plan.section(program.pi, program.pf, "c1")
    total = np.zeros(len(series["soc"]))
    for k in (k for name in sorted(stores) for k in program.index.stores[name]):
        total += capacity[k] * (series[f"t_{slug(nodes[k])}_k"].astype(float) - t_reference_k)
    return total


def _flags(case: Any, series: Mapping[str, Any], summary: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the trip asked of drive unit and pack and did not get."""
    return {
        "drive_power_short_j": summary["drive_power_short_j"],
        "drive_held_back_s": outcome.held_back(series, case),
        "charges_not_reached": summary.get("charges_not_reached", 0),
    }


COOLANT_RANGE_K = (238.15, 383.15)  # of the property fits (physics.coolant)


def _outside_range(program: Program, series: Mapping[str, Any]) -> int:
    """Return how many steps had coolant outside the range its properties were fitted to."""
    outside = np.zeros(len(series["limit"]), bool)
    for node in program.index.nodes:
        if node.endswith((".coolant", ".hose")):
            t = series[f"t_{slug(node)}_k"]
            outside |= (t < COOLANT_RANGE_K[0]) | (t > COOLANT_RANGE_K[1])
    return int(np.sum(outside))
