"""A Program is data: the same marches give the same bits, alone or in a batch, and a new plant compiles nothing."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numba.core import event

from heatwright.compiler.build import compile_program
from heatwright.kernel import march as kernel
from heatwright.kernel import plan
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import Recorder, simulate, slug
from tests.balance.marches import PLANTS, case_of, program_of, run_of, trip_path

TRIP = "winter_day"


def same(one: Run, other: Run) -> bool:
    """Whether every series and every ledger term of two runs is the same to the last bit.

    Not a number equals itself: so is the discharge temperature of a compressor that has not yet run.
    """
    series = all(np.array_equal(one.series[name], other.series[name], equal_nan=True) for name in one.series)
    return series and one.ledger == other.ledger and one.energy_kwh == other.energy_kwh


@pytest.mark.parametrize("accuracy", ["normal", "high"])
@pytest.mark.parametrize("plant", PLANTS)
def test_two_marches_are_the_same_to_the_bit(plant: str, accuracy: str) -> None:
    again = simulate(program_of(plant, TRIP), case_of(TRIP), accuracy)
    assert same(run_of(plant, TRIP, accuracy), again)


def test_compiling_a_plant_twice_gives_the_same_plan() -> None:
    one = program_of("reversing", TRIP)
    program_of.cache_clear()
    other = program_of("reversing", TRIP)
    assert one is not other
    for name in ("pi", "pf", "rows", "tau0", "ext0", "act0"):
        assert np.array_equal(getattr(one, name), getattr(other, name)), name


@pytest.mark.parametrize(
    ("plant", "changed"), [("plain", {}), ("reversing", {"compressor.compressor.suction_least_start": "1.1 bar"})]
)
def test_the_actuator_record_replayed_gives_the_run_again(plant: str, changed: dict[str, str]) -> None:
    """The record is in single precision, so the replay is close, not equal.

    Energies differ by 2e-8 (*plain*) and 5e-9 (*reversing*), the cabin by 0.7 mK. The compressor's clock stands in a
    replay, so that suction may not fall lower for a while after a start; here it may not in the run either. With the
    allowance *reversing* differs by 1.2e-4 and 0.09 K, all of it from the minute after its first start.
    """
    program = compile_program(load_plant(plant, changed), case_of(TRIP))
    run = simulate(program, case_of(TRIP))
    acts = np.column_stack([run.series[f"x_{slug(name)}"][1:] for name in program.index.actuators]).astype(float)
    again = simulate(program, case_of(TRIP), replay=acts)
    assert sum(again.energy_kwh.values()) == pytest.approx(sum(run.energy_kwh.values()), rel=1e-7)
    assert np.max(np.abs(again.series["t_cabin_air_k"] - run.series["t_cabin_air_k"])) < 2e-3
    assert abs(again.ledger["residual_relative"]) < 1e-12


@pytest.mark.parametrize("high", [False, True], ids=["normal", "high"])
def test_a_batch_marches_like_one(high: bool) -> None:
    """Three cases of one plan, one of them with another rolling heat: each equals its own single march."""
    program = program_of("reversing", TRIP)
    recorder = Recorder(program)
    cols = np.array(recorder.cols, np.uint32)
    rows = program.rows[:4000]
    pfs = np.tile(program.pf, (3, 1))
    at = int(program.pi[plan.F_BASE + plan.F["body"]])
    pfs[1, at] *= 1.5
    ws = np.array([program.start() for _ in range(3)])
    ws[2, program.place("tau") : program.place("tau") + program.tau0.size] += 3.0
    singles, alone = ws.copy(), np.zeros((3, rows.shape[0], cols.size), np.float32)
    together = np.zeros_like(alone)
    kernel.march_many(program.pi, pfs, ws, rows[None], program.dt_s, high, cols, together)
    for k in range(3):
        kernel.prepare(program.pi, pfs[k], singles[k], rows[0])
        none = np.zeros((1, 1))
        kernel.march(program.pi, pfs[k], singles[k], rows, program.dt_s, high, False, none, cols, alone[k])
    assert np.array_equal(together, alone, equal_nan=True)
    assert np.array_equal(ws, singles, equal_nan=True)
    assert not np.array_equal(together[0], together[1])
    assert not np.array_equal(together[0], together[2])


def test_another_plant_and_trip_compile_nothing() -> None:
    """From file to run, a second plant calls no compiler once a first one has marched."""
    run_of("plain", TRIP)
    signatures = [str(one) for one in kernel.compiled_march.signatures]
    program_of.cache_clear()
    with event.install_recorder("numba:compile") as recorder:
        simulate(program_of("reversing", "hot_day"), case_of("hot_day"), "high")
    assert recorder.buffer == []
    assert [str(one) for one in kernel.compiled_march.signatures] == signatures
    assert len(signatures) == 1


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="peak memory is read from /proc")
def test_a_day_needs_little_memory() -> None:
    """Peak of a process that imports, compiles the plant and marches 24 h, everything kept: under 400 MB."""
    run_of("reversing", TRIP)  # fills the caches: a cold compile is not what is measured
    code = f"""
from heatwright.plant.load import load_plant
from heatwright.trip.load import load_trip, build_case
from heatwright.compiler.build import compile_program
from heatwright.simulate import simulate
case = build_case(load_trip({trip_path("day24")!r}))
run = simulate(compile_program(load_plant("reversing"), case), case)
assert run.steps == 86400
print(next(line for line in open("/proc/self/status") if line.startswith("VmHWM")))
"""
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    name, kilobytes, unit = answer.stdout.split()
    assert (name, unit) == ("VmHWM:", "kB")
    assert int(kilobytes) < 400 * 1024
