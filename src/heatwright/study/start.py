"""A cold start: a plant soaked at one temperature, its circuit started with every actuator held.

The circuit's own clocks run (start allowance, least times on and off, liquid that gathered in the accumulator), the
plant's strategy does not: blower, fan and pumps stand where `point` holds them, heaters are off, and the compressor is
asked for one speed from the first second. The cabin starts as cold as everything else and warms freely.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright import outcome
from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.errors import InputError, Problem
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.kernel.start import compressor_clock
from heatwright.kernel.status import LIMIT_NONE, LIMIT_SENTENCES
from heatwright.plant.model import Plant
from heatwright.run import plain
from heatwright.study.point import NONE, Asked, steady_case
from heatwright.study.point_setting import held_setting, others_hz, setting_name

Floats = NDArray[np.float64]
TITLE = "cold start"
STEP_S = 1.0
LONGEST_S = 7200.0
STAYS_S = 130.0  # runs without a break that long: longer than allowance and least times
SERIES = {
    "p_suction_pa": names.Z_PL,
    "p_discharge_pa": names.Z_PH,
    "p_compressor_w": names.Z_PC,
    "q_hot_w": names.Z_QHOT,
    "q_cold_w": names.Z_QCOLD,
    "speed_hz": names.Z_NUSED,
    "limit": names.Z_LIMIT,
    "store_level": names.Z_LEVEL,
    "liquid_in_accumulator_kg": names.Z_LIQUID,
}
COUNTED = ("circuit_failed", "flow_failed", "steps_redone", "charge_short", "charge_over", "compressor_map_left")


@dataclass(frozen=True, eq=False)
class ColdStart:
    """A start as it went: series with a value a step, how long each limit held, ledger and counters.

    Of a plant with several circuits it is that of the first `compressor`; `others_hz` are speeds asked of the others.
    """

    plant: str
    setting: str
    t_soak_k: float
    t_s: Floats
    series: Mapping[str, Floats]
    limits_s: Mapping[str, float]
    starts: int
    runs_s: float
    stays: bool
    stopped_by: str | None
    last_limit: str | None
    ledger: Mapping[str, Any]
    health: Mapping[str, int]
    compressor: str
    others_hz: Mapping[str, float]

    @property
    def verdict(self) -> str:
        """Whether it starts, in one sentence."""
        share = f"{self.runs_s:.0f} of {self.t_s[-1]:.0f} s"
        if self.stays:
            bound = f"; at the end: {self.last_limit}" if self.last_limit else "; no limit at the end"
            return f"starts: runs for {share}{bound}"
        why = self.stopped_by or self.last_limit or "the compressor was never asked to run"
        return f"does not stay running: {share}, started {self.starts} times; stopped by: {why}"

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        found: dict[str, Any] = plain({**vars(self), "verdict": self.verdict})
        return found


def cold_start(
    plant: Plant,
    t_soak_k: float,
    setting: str = "",
    speed_hz: float | None = None,
    duration_s: float = 600.0,
    held: Mapping[str, float] | None = None,
) -> ColdStart:
    """Return how a plant's circuit starts after a soak; without a speed the compressor is asked for its most.

    setting, held : as `study.point.Asked`. A start that fails is no error. Raises InputError as `operating_point`.
    """
    if not STEP_S <= duration_s <= LONGEST_S:
        raise InputError([Problem("--duration", f"{duration_s:g} s", f"{STEP_S:g} to {LONGEST_S:g} s")], TITLE)
    most = plant.of_kind("compressor")
    speed = float(most[0].values["speed"]) if most and speed_hz is None else speed_hz
    asked = Asked(t_soak_k, t_soak_k, t_soak_k, setting, speed, held=held or {})
    program = compile_program(plant, steady_case(asked))
    state, values = held_setting(plant, program, asked)
    w = program.start()
    plan.section(program.pi, w, "act")[:] = [0.0, *values[1:]]
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    u_start = plan.section(program.pi, w, "u").copy()
    ramp = float(most[0].values["ramp"])
    series = _march(program, w, values, ramp, round(duration_s / STEP_S))
    codes, counts = np.unique(series["limit"].astype(int), return_counts=True)
    limits = {LIMIT_SENTENCES[int(c)]: float(k) * STEP_S for c, k in zip(codes, counts, strict=True) if c != LIMIT_NONE}
    counters = dict(zip(names.COUNTERS, plan.section(program.pi, w, "misc"), strict=True))
    runs = series["speed_hz"] > 0.0
    stays = bool(runs[-min(runs.size, round(STAYS_S / STEP_S)) :].all())
    ends = np.flatnonzero(runs[:-1] & ~runs[1:])
    stop = int(series["limit"][ends[-1] + 1]) if ends.size else LIMIT_NONE
    last = int(series["limit"][-1])
    return ColdStart(
        plant.name, setting_name(state), t_soak_k, np.arange(1.0, runs.size + 1.0) * STEP_S, series, limits,
        int(counters["compressor_starts"]) or int(runs.any()), float(STEP_S * runs.sum()), stays,
        _said(stop), _said(last), outcome.ledger(program, w, u_start), {key: int(counters[key]) for key in COUNTED},
        most[0].name, others_hz(plant, program, values),
    )  # fmt: skip


def _said(limit: int) -> str | None:
    return None if limit == LIMIT_NONE else LIMIT_SENTENCES[limit]


def _march(program: Program, w: Floats, values: Floats, ramp_hz_per_s: float, steps: int) -> dict[str, Floats]:
    """March with the actuators held and the compressor's speed rising to what is asked; return the series."""
    pi, pf = program.pi, program.pf
    act, target, z = (plan.section(pi, w, name) for name in ("act", "actx", "z"))
    out = plan.section(pi, w, "cout")
    found = {name: np.empty(steps) for name in SERIES}
    for k in range(steps):
        target[0] = values[0]
        act[0] = min(act[0] + ramp_hz_per_s * STEP_S, values[0])
        compressor_clock(pi, pf, w, STEP_S)
        kernel.march(pi, pf, w, program.rows[:1], STEP_S, False, True, act[None, :].copy(), *NONE)
        for name, place in SERIES.items():
            found[name][k] = z[place]
        hot = plan.section(pi, w, "cq")
        found["q_hot_w"][k], found["q_cold_w"][k] = hot[hot > 0.0].sum(), -hot[hot < 0.0].sum()
        found["speed_hz"][k] = out[cn.OUT_SPEED] if z[names.Z_ON] > 0.0 else 0.0
    return found


def start_as_text(found: ColdStart) -> str:
    """Return a start for a terminal: the verdict, one line every tenth of the time, limits, ledger."""
    from heatwright.study.point_table import circuit_shown
    from heatwright.study.table import Row, aligned, number

    rows: list[Row] = [["time s", "suction bar", "discharge bar", "speed rpm", "power W", "heat W", "liquid g"]]
    s = found.series
    for k in np.unique(np.linspace(0, found.t_s.size - 1, 11).astype(int)):
        rows.append(
            [number(float(found.t_s[k]), 0), number(s["p_suction_pa"][k] / 1e5, 2),
             number(s["p_discharge_pa"][k] / 1e5, 2), number(60.0 * s["speed_hz"][k], 0),
             number(s["p_compressor_w"][k], 0), number(s["q_hot_w"][k], 0),
             number(1e3 * s["liquid_in_accumulator_kg"][k], 0)]
        )  # fmt: skip
    head = f"{found.plant}, setting {found.setting}, soaked at {found.t_soak_k - 273.15:.1f} °C"
    whose = [circuit_shown(found.compressor, found.others_hz)] if found.others_hz else []
    limits = [f"  {seconds:.0f} s: {words}" for words, seconds in found.limits_s.items()] or ["  none"]
    counted = ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in found.health.items())
    return "\n\n".join(
        [
            "\n".join([head, *whose, found.verdict]),
            "\n".join(aligned(rows)),
            "\n".join(["limits met", *limits]),
            f"ledger: residual {found.ledger['residual_relative']:.1e} of what flowed; steps: {counted}",
        ]
    )
