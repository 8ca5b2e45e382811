"""Two refrigerant circuits in one car: each is what it would be alone, together they keep the books."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.build import compile_program
from heatwright.errors import InputError
from heatwright.kernel import names, plan
from heatwright.outcome import slug
from heatwright.plant.declare import BOOKED
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.meter import meter
from heatwright.study.settled import short_case
from tests.balance.marches import FILES

BOTH = str(FILES / "two_circuits.plant.toml")


@cache
def hot_case() -> Any:
    return short_case(
        'temperature = "33 degC"\nhumidity = "40 %"',
        '[[segment]]\nkind = "drive"\nspeed = "70 km/h"\nduration = "20 min"\noccupants = 1',
        'set_point = "23 degC"\n[start]\ntemperature = "38 degC"\ncharge = "80 %"',
    )


@cache
def run_of(accuracy: str) -> tuple[Any, Any]:
    program = compile_program(load_plant(BOTH), hot_case())
    return program, simulate(program, hot_case(), accuracy)


@pytest.mark.parametrize("accuracy", ["normal", "high"])
def test_both_run_and_the_books_close(accuracy: str) -> None:
    program, run = run_of(accuracy)
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert run.health["circuit_not_solved_steps"] == 0
    s = run.series
    both = (s["p_compressor_w"] > 0.0) & (s["pack_compressor_p_compressor_w"] > 0.0)
    assert np.sum(both) > 600
    read = meter(program, run)
    assert read["worst_relative"] < 2e-3
    assert read["worst_use_relative"] < 5e-3
    used = float(np.mean(s["p_compressor_w"] + s["pack_compressor_p_compressor_w"])) * 1200.0 / 3.6e6
    assert run.energy_kwh["compressor"] == pytest.approx(used, rel=0.05)
    assert s["t_pack_hottest_k"][-1] < s["t_pack_hottest_k"][0] - 1.0


def test_no_device_may_bear_the_name_of_what_a_run_books_itself() -> None:
    """What every run calls `p_NAME_w`, or a use of energy, would be overwritten by a device of that name."""
    program, run = run_of("normal")
    booked = {key[2:-2] for key in names.DERIVED if key.startswith("p_") and key.endswith("_w")}
    booked |= set(run.energy_kwh) - set(program.index.devices)
    assert booked <= set(BOOKED)
    assert {"traction", "compressor", "pack_resistance"} <= booked


def test_propane_starts_from_a_source_far_warmer_than_its_sink() -> None:
    """A pack at 45 degC in air of 15 degC: at its first turns the valve must close as far as the table goes."""
    case = short_case(
        'temperature = "15 degC"\nhumidity = "40 %"',
        '[[segment]]\nkind = "drive"\nspeed = "70 km/h"\nduration = "5 min"\noccupants = 1',
        'set_point = "18 degC"\n[start]\ntemperature = "45 degC"\ncharge = "80 %"',
    )
    plant = load_plant(BOTH)
    small = replace(
        plant.parts["pack_compressor"], values={**plant.parts["pack_compressor"].values, "displacement": 5e-6}
    )
    run = simulate(compile_program(replace(plant, parts={**plant.parts, "pack_compressor": small}), case), case)
    asked = run.series["x_pack_compressor"] > 20.0
    assert np.sum(asked) > 60
    assert np.all(run.series["pack_compressor_compressor_on"][asked] > 0.0)
    assert run.health["circuit_not_solved_steps"] == 0


def test_each_circuit_has_its_refrigerant() -> None:
    program, run = run_of("normal")
    tables = [plan.section(one, program.pf, "cp_tab") for one in plan.circuits(program.pi)]
    assert tables[0].size == tables[1].size
    assert not np.array_equal(tables[0], tables[1])
    on = run.series["pack_compressor_compressor_on"] > 0.0
    wall = run.series["t_pack_plate_wall_k"][on]
    assert np.all(run.series["pack_compressor_p_suction_pa"][on] > 1e5)
    assert np.all(wall < run.series["t_pack_hottest_k"][on])


def test_the_order_of_the_circuits_does_not_matter() -> None:
    """The same car with the pack's compressor declared first: every temperature and power the same."""
    first, run = run_of("normal")
    plant = load_plant(BOTH)
    turned = replace(plant, parts={"pack_compressor": plant.parts["pack_compressor"], **plant.parts})
    program = compile_program(turned, hot_case())
    assert program.index.circuits == ("pack_compressor", "compressor")
    acts = np.stack([run.series[f"x_{slug(name)}"][1:] for name in program.index.actuators], axis=1).astype(float)
    other = simulate(program, hot_case(), replay=acts).series
    order = [program.index.actuators.index(name) for name in first.index.actuators]
    again = simulate(first, hot_case(), replay=np.ascontiguousarray(acts[:, order]))
    for name, values in again.series.items():
        if name.startswith(("t_", "mdot_coolant", "mdot_air")) and name != "t_discharge_k":
            np.testing.assert_allclose(values, other[name], atol=2e-3, err_msg=name)
    own = again.series
    np.testing.assert_allclose(own["p_compressor_w"], other["compressor_p_compressor_w"], atol=0.5)
    np.testing.assert_allclose(own["pack_compressor_p_compressor_w"], other["p_compressor_w"], atol=0.5)


PACK = "lines.refrigerant.pack"
RING = "pack_compressor > pack_coil > pack_receiver > pack_exv > pack_plate > pack_compressor"
TANGLED = {
    PACK: RING.replace("pack_receiver", "@join > pack_receiver"),
    "lines.refrigerant.ring": "@join > compressor > condenser > receiver > cabin_txv > evaporator > @join",
}
MIDDLE = {"expansion.late_exv.states": ["throttle"], PACK: RING.replace("pack_plate", "pack_plate > late_exv")}


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        pytest.param(TANGLED, "are compressors of one circuit", id="two compressors"),
        pytest.param(
            {"fluid.pack_comp.refrigerant": "R290"}, r"\[fluid.pack_comp\] is the fluid of no circuit", id="name"
        ),
        pytest.param({"fluid.compressor.charge": "500 g"}, r"\[fluid.compressor\] does not name its refr", id="fluid"),
        pytest.param(
            {PACK: "pack_compressor.middle" + RING[15:]}, "a middle pressure, as for vapour inj", id="injection"
        ),
        pytest.param(MIDDLE, "'pack_plate' lies between two throttles, at a middle pressure", id="middle"),
    ],
)
def test_what_cannot_be_is_refused(changes: dict[str, Any], message: str) -> None:
    with pytest.raises(InputError, match=message):
        load_plant(BOTH, changes)
