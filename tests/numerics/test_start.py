"""Starting: the compressor's clocks, the allowance, liquid that boils off, a source warmer than its sink, soaks."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from heatwright.cli_start import start_verb
from heatwright.errors import InputError
from heatwright.kernel import circuit_names as cn
from heatwright.kernel import march as kernel
from heatwright.kernel import names, plan
from heatwright.kernel.start import FREE_S, HOLD_OFF, HOLD_ON, compressor_clock, move_liquid
from heatwright.kernel.status import LIMIT_SENTENCES, LIMIT_START_ALLOWANCE
from heatwright.plant.load import load_plant
from heatwright.study.point import Asked, operating_point
from heatwright.study.start import cold_start, start_as_text
from tests.balance.marches import program_of, run_of

FILES = Path(__file__).parent / "files"
TWO_CIRCUITS = str(Path(__file__).parents[1] / "balance" / "files" / "two_circuits.plant.toml")
ASKED_HZ = 50.0


class Clock:
    """A compiled plant's work array, and what the strategy asks of its compressor step by step."""

    def __init__(self, plant: str = "reversing", number: int = 0) -> None:
        self.program = program_of(plant, "winter_day")
        self.pi, self.pf, self.w = self.program.pi, self.program.pf, self.program.start()
        kernel.prepare(self.pi, self.pf, self.w, self.program.rows[0])
        self.pi = plan.circuits(self.pi)[number]
        acts = self.program.index.actuators
        self.law_at = len(self.of("cs")) - 3 * (len(acts) - acts.index(self.program.index.circuits[number]))

    def of(self, name: str) -> Any:
        return plan.section(self.pi, self.w, name)

    def law(self) -> Any:
        """What the decision table keeps of the compressor's law: integral, whether asked for, timer."""
        return self.of("cs")[self.law_at : self.law_at + 3]

    def step(self, asked_hz: float, runs: bool, dt: float = 1.0) -> float:
        """Tell the clock what was asked and whether the last step ran; return the speed it lets through."""
        self.of("z")[names.Z_ON] = float(runs)
        self.of("act")[0] = self.of("actx")[0] = asked_hz
        compressor_clock(self.pi, self.pf, self.w, dt)
        return float(self.of("act")[0])


@pytest.mark.parametrize("dt", [1.0, 0.5])
def test_least_time_off(dt: float) -> None:
    """After a stop nothing starts for the plant's 20 s, whatever is asked; then it does."""
    clock = Clock()
    assert clock.step(ASKED_HZ, False, dt) == ASKED_HZ  # it has stood for long
    clock.step(ASKED_HZ, True, dt)
    waited = 0.0
    while clock.step(ASKED_HZ, False, dt) == 0.0:
        assert clock.of("z")[names.Z_HOLD] == HOLD_OFF
        waited += dt
    assert waited == pytest.approx(20.0, abs=dt)


def test_least_time_on() -> None:
    """Told to stop, it keeps its least speed until 60 s have gone by since it started; it may rise unhindered."""
    clock = Clock()
    assert clock.step(6.0, True) == 800.0 / 60.0  # asked for less than its least speed
    clock = Clock()
    clock.of("actx")[0] = ASKED_HZ
    clock.of("z")[names.Z_ON], clock.of("act")[0] = 1.0, 6.0
    compressor_clock(clock.pi, clock.pf, clock.w, 1.0)
    assert clock.of("act")[0] == 6.0  # on its way up
    on = 1
    while clock.step(0.0, True) > 0.0:
        assert clock.of("z")[names.Z_HOLD] == HOLD_ON
        on += 1
    assert on == pytest.approx(60, abs=1)


@pytest.mark.parametrize("plant", ["reversing", TWO_CIRCUITS])
def test_the_timer_of_its_law_follows_the_clock(plant: str) -> None:
    """It counts what was really run or stood: nothing while a compressor told off still runs, no bar to one at rest."""
    for number in range(len(program_of(plant, "winter_day").index.circuits)):
        clock = Clock(plant, number)
        for asked, runs, timer in (
            (True, False, FREE_S), (True, True, 1.0), (True, True, 2.0), (False, True, 0.0), (False, False, 1.0),
            (False, False, 2.0), (True, False, FREE_S),
        ):  # fmt: skip
            before = clock.of("cs").copy()
            clock.law()[1] = float(asked)
            clock.step(ASKED_HZ, runs)
            assert clock.law()[2] == timer
            before[clock.law_at + 1 : clock.law_at + 3] = clock.law()[1:3]
            assert np.array_equal(clock.of("cs"), before)  # the laws of the other actuators are left alone


def test_a_limit_stops_it_within_its_least_time() -> None:
    """Held off by a limit the clock counts as standing: the least time off follows."""
    clock = Clock()
    clock.step(ASKED_HZ, True)
    assert clock.step(ASKED_HZ, False) == 0.0


def test_allowance_lasts_as_long_as_stated() -> None:
    clock = Clock()
    now = clock.of("cpnow")
    clock.step(ASKED_HZ, False)
    seconds = 0
    while now[cn.PAR_P_SUCTION_MIN_PA] == pytest.approx(0.6e5):
        clock.step(ASKED_HZ, True)
        seconds += 1
    assert seconds == 60
    assert now[cn.PAR_P_SUCTION_MIN_PA] == pytest.approx(1.1e5)


def test_liquid_gathers_towards_its_share_of_the_charge() -> None:
    clock = Clock()
    ext = clock.of("ext")
    end = clock.of("cpnow")[cn.PAR_LIQUID_KG]
    assert ext[names.X_LIQUID_KG] == end > 0.1  # the car has stood long
    ext[names.X_LIQUID_KG] = 0.0
    clock.of("z")[names.Z_ON] = 0.0
    for _ in range(7200):
        move_liquid(clock.pi, clock.pf, clock.w, 1.0)
    assert ext[names.X_LIQUID_KG] == pytest.approx(end * (1.0 - np.exp(-1.0)), rel=1e-3)


def test_boiling_off_takes_the_energy_of_the_superheat() -> None:
    """Liquid gone x latent heat = superheat that the valves would have set, over the same time; the ledger closes."""
    run = run_of("reversing", "winter_day")
    liquid = np.asarray(run.series["liquid_in_accumulator_kg"], float)
    flow = np.asarray(run.series["mdot_refrigerant_kg_per_s"], float)
    falling = np.flatnonzero((np.diff(liquid) < 0.0) & (liquid[1:] > 1e-3))
    assert falling.size > 300
    share = -np.diff(liquid)[falling] / flow[1:][falling]
    assert np.all((share > 0.015) & (share < 0.04))  # 5 K of gas at 0.85 to 1 kJ/(kg K) over 160 to 190 kJ/kg
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert run.health["limits_s"][LIMIT_SENTENCES[names_of("boiling off")]] > 300.0


def names_of(words: str) -> int:
    return next(code for code, text in LIMIT_SENTENCES.items() if text.startswith(words))


@pytest.mark.parametrize("rpm", [1500.0, 1800.0])
def test_a_warmer_source_carries_a_kilowatt(rpm: float) -> None:
    """Cabin at 25 degC to a pack at 0 degC, the least pressure difference of 1.5 bar between."""
    plant = load_plant(FILES / "cabin_warms_pack.plant.toml")
    point = operating_point(plant, Asked(273.15, 298.15, 273.15, speed_hz=rpm / 60.0))
    assert point.runs
    assert point.settled
    assert point.q_hot_w >= 1000.0
    assert point.p_condensing_pa - point.p_evaporating_pa == pytest.approx(1.5e5, rel=1e-6)
    assert abs(point.residual_w) < 0.05
    assert point.health == {"circuit_failed": 0, "flow_failed": 0}


def test_a_soak_at_minus_thirty_names_its_limit() -> None:
    """R1234yf boils at 0.99 bar there: only the allowance lets it run, and the suction limit ends it each time."""
    found = cold_start(load_plant("reversing", {"compressor.compressor.least_off": "120 s"}), 243.15)
    assert not found.stays
    assert "suction pressure" in str(found.stopped_by)
    assert "does not stay running" in found.verdict
    assert found.starts == 4
    assert found.runs_s == pytest.approx(240.0, abs=4.0)
    assert found.limits_s[LIMIT_SENTENCES[LIMIT_START_ALLOWANCE]] == pytest.approx(240.0, abs=4.0)
    running = found.series["speed_hz"] > 0.0
    assert found.series["p_suction_pa"][running].min() == pytest.approx(0.6e5, rel=2e-3)
    assert found.series["p_suction_pa"][running].max() < 1.1e5
    assert np.all(np.diff(found.series["liquid_in_accumulator_kg"])[running[1:]] < 0.0)
    assert abs(found.ledger["residual_relative"]) < 1e-12
    assert found.health["circuit_failed"] == 0


def test_a_soak_at_minus_twenty_starts() -> None:
    """The allowance carries it over the first minute; then the suction limit cuts the speed until it is warm."""
    found = cold_start(load_plant("reversing"), 253.15)
    assert found.stays
    assert found.starts == 1
    assert found.series["p_suction_pa"][-1] >= 1.1e5 * (1.0 - 1e-3)
    assert found.series["liquid_in_accumulator_kg"][-1] == 0.0
    assert found.series["q_hot_w"][-1] > found.series["p_compressor_w"][-1] > 1000.0
    assert "starts: runs for 600 of 600 s" in start_as_text(found)


def test_start_verb(tmp_path: Path) -> None:
    file = tmp_path / "start.svg"
    answer = CliRunner().invoke(
        start_verb, ["reversing", "--soak", "-30 degC", "--duration", "90 s", "--svg", str(file)]
    )
    assert answer.exit_code == 0, answer.output
    assert "does not stay running" in answer.stdout
    assert file.read_text().count("<g ") >= 2
    answer = CliRunner().invoke(start_verb, ["reversing", "--soak=-20", "--duration=20", "--json"])
    data = json.loads(answer.stdout)
    assert len(data["series"]["p_suction_pa"]) == len(data["t_s"]) == 20
    answer = CliRunner().invoke(start_verb, [TWO_CIRCUITS, "--soak=-5", "--duration=20"])
    assert "the circuit of compressor; beside it pack_compressor off" in answer.stdout
    for words in (["--soak", "cold"], ["--soak=-20", "--duration", "0 s"], ["--soak=-20", "--speed", "1 rpm"]):
        assert CliRunner().invoke(start_verb, ["reversing", *words]).exit_code == 2


def test_a_plant_without_a_circuit_cannot_start() -> None:
    with pytest.raises(InputError):
        cold_start(load_plant("reversing"), 253.15, setting="melt")
