"""A refrigerant plate on a pack: a lump between two resistances, and what it does to a pack in a run.

Source: closed form. TR-05: a still plate and its body even out. With refrigerant at a constant temperature and a body
that stands still, a plate settles at the mean of both weighted by the conductances, within C / (ua + to_body); the
heat is that of the resistances in series.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from heat_rig import extrapolated, march

from heatwright.compiler.build import compile_program
from heatwright.compiler.builder import Builder
from heatwright.compiler.lower.context import Context
from heatwright.compiler.lower.refrigerant import lower_body_plate, lower_refrigerant
from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.study.settled import short_case

UA, TO_BODY, METAL = 1600.0, 1200.0, 8e3


def test_lowered_links_share_the_body_alike() -> None:
    """The plate's declared conductance reaches all cell groups together, whatever their number."""
    for nodes in (1, 2, 5):
        plant = load_plant("plate_in_pack", {"pack.pack.nodes": f"{nodes} nodes"})
        ctx = Context(plant)
        ctx.inlet["air", "cabin_coil"] = "nowhere"
        ctx.flow_of["air", "cabin_coil"] = "air/box"
        (circuit,) = lower_refrigerant(ctx, {"outdoor_coil": 1.0, "outdoor_coil:cold": 1.0})
        at = circuit.ports.index("pack_plate")
        assert circuit.ua[at] == (UA, UA)
        assert circuit.shares[at] == pytest.approx((1.0 / UA) / (1.0 / UA + 1.0 / TO_BODY))
        values = dict(ctx.builder.g_const)
        links = [t for t in ctx.builder.transfers if "pack_plate.wall" in t[:2]]
        assert len(links) == nodes
        assert sum(values[g] for *_, g in links) == pytest.approx(TO_BODY)


@pytest.mark.parametrize("t_refrigerant_c", [-5.0, 50.0])
def test_a_plate_settles_between_refrigerant_and_body(t_refrigerant_c: float) -> None:
    """Its temperature after one time constant, and the heat it passes on at rest, both exact."""

    def after(dt_s: float) -> float:
        b = Builder()
        b.node("plate", METAL)
        b.node("cells", 1e12)
        b.link("plate", "cells", b.constant(TO_BODY))
        b.to_boundary("plate", "tau_ambient", b.constant(UA), "refrigerant")
        out = march(b, 20.0, dt_s, round(METAL / (UA + TO_BODY) / dt_s), lambda t: {"tau_ambient": t_refrigerant_c})
        return float(out.nodes["plate"][-1])

    rest = (UA * t_refrigerant_c + TO_BODY * 20.0) / (UA + TO_BODY)
    step = METAL / (UA + TO_BODY) / 64
    exact = rest + (20.0 - rest) * math.exp(-1.0)
    assert extrapolated(after(step), after(step / 2)) == pytest.approx(exact, abs=2e-3)
    series = 1.0 / (1.0 / UA + 1.0 / TO_BODY)
    assert TO_BODY * (rest - 20.0) == pytest.approx(series * (t_refrigerant_c - 20.0))


@pytest.mark.parametrize("share", [pytest.param(0.75, id="TR-05")])
def test_a_still_plate_and_its_body_even_out(share: float) -> None:
    """3e5 J/K of cells at 40 degC on 1e5 J/K of plate at 0 degC, 100 W/K between: 30 degC in the end, 750 s."""
    sizes = {"heat_capacity": "100 kJ/K", "to_body": "100 W/K"}
    plant = load_plant("plate_in_pack", {f"refrigerant_plate.pack_plate.{key}": text for key, text in sizes.items()})
    wall, cells = "pack_plate.wall", ("pack.cells_1", "pack.cells_2")

    def after_750_s(dt_s: float) -> float:
        ctx = Context(plant)
        lower_body_plate(ctx, plant.parts["pack_plate"])
        for name in cells:
            ctx.builder.node(name, 1.5e5)
        out = march(ctx.builder, {wall: 0.0, **dict.fromkeys(cells, 40.0)}, dt_s, round(750 / dt_s))
        return float(out.nodes[wall][-1])

    exact = 40.0 * share * (1.0 - math.exp(-1.0))
    assert extrapolated(after_750_s(2.0), after_750_s(1.0)) == pytest.approx(exact, abs=1e-4)


HOT_CHARGE = """[[segment]]
kind = "fast_charge"
station = "100 kW"
to = "60 %"
longest = "40 min"
occupants = 0
conditioned = false
"""


SMALL = {"fluid.refrigerant": "R744", "compressor.compressor.displacement": "6.8 cc/rev"}


@pytest.mark.parametrize("changes", [{}, SMALL], ids=["R1234yf", "R744"])
def test_the_plate_takes_the_heat_of_a_hot_charge(changes: dict[str, str]) -> None:
    """With the cabin left alone, what leaves the cells for the plate is the circuit's whole cold side."""
    case = short_case(
        'temperature = "35 degC"\nhumidity = "40 %"', HOT_CHARGE, '[start]\ncharge = "20 %"\ntemperature = "42 degC"'
    )
    plant = load_plant("plate_in_pack", changes)
    run = simulate(compile_program(plant, case), case)
    assert abs(run.ledger["residual_relative"]) < 1e-12
    assert run.health["circuit_not_solved_steps"] == 0
    s = run.series
    on = s["p_compressor_w"] > 50.0
    assert np.sum(on) > 300
    passed = TO_BODY * (0.5 * (s["t_pack_cells_1_k"] + s["t_pack_cells_2_k"]) - s["t_pack_plate_wall_k"])
    late = on & (np.arange(on.size) > 200)
    assert np.mean(passed[late]) == pytest.approx(np.mean(s["q_cold_w"][late]), rel=0.05)
    assert np.mean(passed[late]) > 2e3


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"refrigerant_plate.pack_plate.on": "drive"}, "refrigerant_plate 'pack_plate' lies on 'drive'"),
        ({"refrigerant_plate.pack_plate.on": ""}, "does not say what it lies on"),
        ({"lines.refrigerant.pack": "@liquid > pack_exv > @gas"}, "refrigerant side of refrigerant_plate 'pack_plate'"),
    ],
)
def test_what_cannot_be_is_refused(changes: dict[str, str], message: str) -> None:
    with pytest.raises(InputError, match=message):
        load_plant("plate_in_pack", changes)
