"""Capacities against a free car: what is balanced on the bench stays where it is in a march of hours."""

import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.plant.source import shipped_folder
from heatwright.study.capacity.bench import Bench, Situation
from heatwright.study.capacity.candidates import Candidate, around, candidates, part_load
from heatwright.study.capacity.cells import Cell
from heatwright.study.capacity.sweep import Capacities, capacities
from heatwright.study.capacity.tasks import COOL_CABIN, COOL_PACK, PACK, TASKS, WARM_CABIN, ZONE
from heatwright.study.capacity.trial import Trial
from heatwright.study.needs.sheet import load_sheet
from heatwright.study.settled import SettledCar
from tests.balance.marches import FILES

ZERO_K = 273.15
BOTH = str(FILES / "two_circuits.plant.toml")
FRESH = {"inlet:fresh": 0.5, "inlet:recirculate": 0.5}


@lru_cache(maxsize=4)
def car(name: str) -> tuple[Plant, Atlas]:
    plant = load_plant(name)
    return plant, build_atlas(plant)


@lru_cache(maxsize=4)
def swept(name: str, coldest_c: float, hottest_c: float, step_k: float) -> Capacities:
    loads = {**load_sheet().loads, "coldest": coldest_c + ZERO_K, "hottest": hottest_c + ZERO_K, "step": step_k}
    return capacities(*car(name), loads)


def warming(name: str) -> tuple[Candidate, ...]:
    plant, atlas = car(name)
    return candidates(plant, atlas, (WARM_CABIN,), ZONE, 0.8, FRESH, False, True)


def cooling(name: str) -> tuple[Candidate, ...]:
    plant, atlas = car(name)
    return candidates(plant, atlas, (COOL_CABIN,), ZONE, 0.8, FRESH, False, False)


def cell(name: str, task: str, t_c: float) -> Cell:
    found = swept(name, -30.0, 40.0, 70.0 / 2)
    return next(one for one in found.of(task) if abs(one.t_ambient_k - ZERO_K - t_c) < 1e-6)


def test_a_free_car_settles_where_the_bench_finds_its_balance() -> None:
    """The cabin of a rolling car, hours after all is held, lies where held cabin air gains nothing."""
    acts = next(one.acts for one in warming("plain") if "heater" in one.acts)
    free = SettledCar(car("plain")[0], 'temperature = "-15 degC"\nhumidity = "60 %"', 2, acts).hold()
    t_cabin, t_pack = (float(free.series[key][-1]) for key in ("t_zone_air_k", "t_pack_coldest_k"))
    assert 280.0 < t_cabin < 300.0
    bench = Bench(car("plain")[0], Situation(258.15, t_cabin, t_pack, 50 / 3.6, people=2))
    found = bench.settle(acts)
    assert found.steady
    assert abs(found.cabin_w) < 60.0
    warmer = Bench(car("plain")[0], Situation(258.15, t_cabin + 5.0, t_pack, 50 / 3.6, people=2)).settle(acts)
    assert warmer.cabin_w < -400.0


def test_power_counts_the_standby_of_every_compressor_that_runs() -> None:
    """As a run bills it; a compressor that stands has none."""

    def powers(idle: str) -> list[float]:
        plant = load_plant("reversing", {"compressor.compressor.idle": idle})
        mode = candidates(plant, car("reversing")[1], (COOL_CABIN,), ZONE, 0.8, FRESH, False, False)[0]
        bench = Bench(plant, Situation(311.15, 298.15, 298.15, people=2))
        return [bench.settle(acts).p_electric_w for acts in (mode.idle, mode.acts)]

    (still, runs), (still_more, runs_more) = powers("10 W"), powers("110 W")
    assert still_more == still
    assert runs_more - runs == pytest.approx(100.0, abs=0.01)


def test_a_free_car_in_the_sun_settles_where_the_bench_finds_its_balance() -> None:
    """The same of cooling: water, sun and circuit as they come."""
    plant, atlas = car("reversing")
    air = {"inlet:fresh": 0.2, "inlet:recirculate": 0.8}
    mode = candidates(plant, atlas, (COOL_CABIN,), ZONE, 0.8, air, False, False)[0]
    sun = '[sun]\ndirect = "850 W/m2"\nelevation = "90 deg"'
    free = SettledCar(plant, f'temperature = "38 degC"\nhumidity = "40 %"\n{sun}', 2, mode.acts).hold()
    t_cabin, t_pack = (float(free.series[key][-1]) for key in ("t_zone_air_k", "t_pack_coldest_k"))
    found = Bench(plant, Situation(311.15, t_cabin, t_pack, 50 / 3.6, 0.0, 850.0, 2, 0.4)).settle(mode.acts)
    assert found.circuits["compressor"][0]
    assert found.p_electric_w > 2000.0
    assert abs(found.cabin_w) < 60.0


def test_a_heater_gives_its_power_less_what_its_loop_loses() -> None:
    found = cell("plain", "warm_cabin", -30.0)
    power_w = 5500.0 * 0.97
    assert 0.8 * power_w < found.amounts[0].capacity < power_w
    assert found.bound == "heater at its 5.5 kW"
    assert not found.met


def test_cells_are_warmed_by_what_flows_into_them() -> None:
    """Load: rise times heat capacity and what the cells lose; the sheet asks for 15 K/h from 10 degC."""
    plant = car("plain")[0]
    pack = plant.of_kind("pack")[0].values
    found = cell("plain", "warm_pack", -30.0)
    lost_w = (pack["to_outside"] + 50.0 * pack["to_outside_moving"] * 3.6 / 3.6) * 40.0
    rise_w = 15.0 / 3600.0 * pack["heat_capacity"]
    assert rise_w < found.amounts[0].load < rise_w + lost_w + 5.0 * 45.0
    assert found.share == 0.0
    assert "nothing conditions the pack" in found.bound


def test_a_pack_without_a_mode_has_no_capacity_and_one_with_a_plate_has() -> None:
    assert cell("plain", "cool_pack", 40.0).amounts[0].capacity == 0.0
    plated = cell("plate_in_pack", "cool_pack", 40.0)
    assert plated.met
    assert plated.mode in {mode.id for mode in car("plate_in_pack")[1].modes}


def test_two_sides_share_one_circuit_by_turning_a_valve_down() -> None:
    """Both expansion valves wide open leave the cabin next to nothing; shared, both get about the same part."""
    both = cell("plate_in_pack", "cool_both", 40.0)
    parts = [one.capacity / one.load for one in both.amounts]
    assert min(parts) == pytest.approx(both.share)
    assert min(parts) > 0.4
    alone = cell("plate_in_pack", "cool_cabin", 40.0).amounts[0].capacity
    assert both.amounts[0].capacity < alone


def test_capacity_of_cooling_falls_and_its_load_rises_with_the_heat() -> None:
    found = [one for one in swept("reversing", 20.0, 45.0, 12.5).of("cool_cabin") if one.share is not None]
    loads, can = ([getattr(one.amounts[0], key) for one in found] for key in ("load", "capacity"))
    assert np.all(np.diff(loads) > 0.0)
    assert np.all(np.diff(can) < 0.0)
    assert found[0].met
    assert not found[-1].met


def test_nothing_is_asked_where_nothing_is_to_do() -> None:
    assert cell("plain", "cool_cabin", -30.0).share is None
    assert cell("plain", "warm_cabin", 40.0).share is None
    assert cell("plain", "dry_cabin", -30.0).share is None


def test_modes_alike_around_a_need_are_tried_once() -> None:
    _, atlas = car("three_loops")
    serving = [mode for mode in atlas.modes if mode.useful and mode.needs & WARM_CABIN]
    tried = candidates(*car("three_loops"), (WARM_CABIN,), ZONE, 0.8, FRESH, False, True)
    assert 1 < len(tried) < len(serving)
    keys = [around(mode, frozenset({"cabin"})) for mode in serving]
    assert {one.id for one in tried} <= {mode.id for mode in serving}
    assert len(tried) <= len(set(keys))


def test_every_need_has_a_cell_at_every_air_outside() -> None:
    found = swept("plain", -30.0, 40.0, 35.0)
    assert len(found.cells) == len(TASKS) * 3
    assert all(one.p_electric_w > 0.0 for one in found.cells if one.mode)


def test_the_least_power_serves_the_load_and_is_no_wonder() -> None:
    """At 5 degC the circuit alone does it: less than the full devices take, more than Carnot's bound would."""
    found = cell("reversing", "warm_cabin", 5.0)
    assert found.p_least_w is not None
    load_w, lift = found.amounts[0].load, (295.15 - 278.15) / 295.15
    assert load_w * lift < found.p_least_w < 0.3 * found.p_electric_w
    assert found.p_least_w < load_w
    mode = next(one for one in warming("reversing") if one.id == found.least_mode)
    assert "air_heater" not in mode.acts
    half = part_load(mode, 0.5).acts["compressor"]
    assert mode.least_hz["compressor"] < half < mode.acts["compressor"]
    assert part_load(mode, 0.0).acts["compressor"] == 0.0


def test_what_serves_two_sides_only_when_shared_is_turned_down_as_well() -> None:
    """`plate_in_pack` cools cabin and cells at 5 degC only with a valve turned down; the least is no more than all."""
    both = cell("plate_in_pack", "cool_both", 5.0)
    assert both.met
    assert both.p_least_w is not None
    assert both.p_least_w < 0.8 * both.p_electric_w


def test_nothing_serves_a_load_beyond_every_mode() -> None:
    assert cell("plain", "warm_cabin", -30.0).p_least_w is None


def test_a_mode_that_warms_one_zone_does_not_serve_a_cabin_of_two() -> None:
    loads = {**load_sheet().loads, "coldest": 278.15, "hottest": 278.15}
    found = capacities(*car("joined"), loads).of("warm_cabin")[0]
    both = next(mode for mode in car("joined")[1].modes if mode.id == found.least_mode)
    assert {"heater_left", "heater_right"} <= both.running
    one = next(one for one in warming("joined") if one.at_most == ("heater_left at its 2.75 kW",))
    task = next(task for task in TASKS if task.key == "warm_cabin")
    tried = Trial(task, 278.15, Bench(car("joined")[0], task.situation(278.15, loads)), loads).of(one)
    assert tried.amounts[0].capacity > 2000.0
    assert tried.share is not None
    assert tried.share < 0.3


@pytest.mark.parametrize("task", ["cool_cabin", "dry_cabin"])
def test_a_compressor_may_have_any_name(task: str, tmp_path: Path) -> None:
    """`plain` with its compressor called otherwise: the very same numbers, the new name in the words."""
    text = (shipped_folder() / "plain.plant.toml").read_text()
    file = tmp_path / "renamed.plant.toml"
    file.write_text(re.sub(r"\bcompressor\b", "scroll", text).replace("[scroll.scroll]", "[compressor.scroll]"))
    plant = load_plant(str(file))
    assert [one.name for one in plant.of_kind("compressor")] == ["scroll"]
    loads = {**load_sheet().loads, "coldest": 18.0 + ZERO_K, "hottest": 36.0 + ZERO_K, "step": 18.0}
    renamed = capacities(plant, build_atlas(plant), loads).of(task)
    usual = swept("plain", 18.0, 36.0, 18.0).of(task)
    assert any(one.share for one in usual)
    told = [replace(one, bound=one.bound.replace("scroll", "compressor")) for one in renamed]
    plainly = {"mode": "", "title": "", "least_mode": "", "least_title": ""}
    assert [replace(one, **plainly) for one in told] == [replace(one, **plainly) for one in usual]


def pack_cooling() -> Candidate:
    plant, atlas = car(BOTH)
    return candidates(plant, atlas, (COOL_PACK,), PACK, 0.8, {}, True, False)[0]


def test_both_compressors_of_a_plant_draw_and_are_turned_down() -> None:
    """Each alone and both at once in still, hot air: what both draw is the sum, but for the air they share in front."""
    bench = Bench(car(BOTH)[0], Situation(308.15, 308.15, 308.15))
    cold = next(one for one in cooling(BOTH) if "compressor" in one.compressors).acts
    acts = {**cold, "pack_compressor": 60.0, "compressor": 60.0, "pack_exv:shut": 0.0, "pack_exv:throttle": 1.0}
    still, first, second, both = (
        bench.settle({**acts, **less}) for less in (
            {"compressor": 0.0, "pack_compressor": 0.0}, {"pack_compressor": 0.0}, {"compressor": 0.0}, {}
        )
    )  # fmt: skip
    assert {name: runs for name, (runs, _) in second.circuits.items()} == {"compressor": False, "pack_compressor": True}
    assert all(runs for runs, _ in both.circuits.values())
    alone = [one.p_electric_w - still.p_electric_w for one in (first, second)]
    assert min(alone) > 200.0
    assert both.p_electric_w - still.p_electric_w == pytest.approx(sum(alone), rel=0.15)
    mode = pack_cooling()
    assert set(mode.compressors) == {"pack_compressor"}
    assert mode.least_hz["pack_compressor"] < part_load(mode, 0.5).acts["pack_compressor"]


def test_the_limit_of_a_second_circuit_is_told_with_its_name() -> None:
    """The pack of `two_circuits` is cooled by its own compressor; what binds there says so."""
    plant = car(BOTH)[0]
    task = next(task for task in TASKS if task.key == "cool_pack")
    loads = load_sheet().loads
    trial = Trial(task, 308.15, Bench(plant, task.situation(308.15, loads)), loads)
    found = trial.of(pack_cooling())
    assert found.amounts[0].capacity > 500.0
    assert found.p_electric_w > 300.0
    assert "pack_compressor" in found.bound
    starved = replace(pack_cooling(), acts={**pack_cooling().acts, "pack_exv:shut": 1.0, "pack_exv:throttle": 0.0})
    assert "pack_compressor cannot run here" in trial.of(starved).bound
