"""The pressure-enthalpy diagram: words apart, loop where the states are, dome and isotherms from the tables."""

from __future__ import annotations

import numpy as np
import pytest
from svg_reader import faults, texts, tree

from heatwright.compiler.tables import refrigerant_tables
from heatwright.draw.ph import dome_cap, isotherm, pressure_enthalpy
from heatwright.draw.svg import standalone
from heatwright.plant.load import load_plant
from heatwright.study.point import Asked, Point, operating_point

SPACE = "{http://www.w3.org/2000/svg}"


def point(plant: str, ambient_c: float, cabin_c: float, **more: object) -> Point:
    wish = Asked(ambient_c + 273.15, cabin_c + 273.15, **more)  # type: ignore[arg-type]
    return operating_point(load_plant(plant), wish)


@pytest.mark.parametrize(
    ("plant", "ambient_c", "cabin_c", "more"),
    [
        ("reversing", -10.0, 20.0, {}),
        ("reversing", 0.0, 20.0, {"speed_hz": 100.0}),
        ("plain", 35.0, 25.0, {}),
        ("plain", 43.0, 45.0, {"speed_hz": 8000.0 / 60.0, "held": {"fan": 0.15}}),
        ("plain", -10.0, 20.0, {}),
    ],
)
def test_loop_and_words(plant: str, ambient_c: float, cabin_c: float, more: dict[str, object]) -> None:
    found = point(plant, ambient_c, cabin_c, **more)
    svg = pressure_enthalpy(found)
    assert not faults(svg)
    said = texts(svg)
    assert {"1", "2", "3", "4", "bar"} <= set(said)
    assert any("kJ/kg" in one for one in said)
    dots = [(float(c.attrib["cx"]), float(c.attrib["cy"])) for c in tree(svg).iter(f"{SPACE}circle")]
    (x1, y1), (x2, y2), (x3, y3), (x4, y4) = dots
    assert y1 == y4 > y2 == y3
    assert x3 == x4 < x1 < x2
    span = (found.states[1].h_j_per_kg - found.states[2].h_j_per_kg) / (
        found.states[0].h_j_per_kg - found.states[3].h_j_per_kg
    )
    assert (x2 - x3) / (x1 - x4) == pytest.approx(span, rel=2e-3)


def test_without_a_loop_the_dome_and_the_reason_stay() -> None:
    svg = pressure_enthalpy(point("reversing", -30.0, 20.0))
    assert not faults(svg)
    assert not list(tree(svg).iter(f"{SPACE}circle"))
    assert any("suction pressure" in one for one in texts(svg))


def test_nothing_is_fetched() -> None:
    svg = standalone(pressure_enthalpy(point("reversing", -10.0, 20.0)))
    assert svg.count("http") == 1  # the name of the SVG space
    assert "<style>" in svg


@pytest.mark.parametrize("t_c", [-20.0, 20.0, 60.0])
def test_isotherm_against_the_equation_of_state(t_c: float) -> None:
    import CoolProp.CoolProp as coolprop

    state = coolprop.AbstractState("HEOS", "R1234yf")
    state.update(coolprop.QT_INPUTS, 0.0, 273.15)
    h_0 = state.hmass() - 200e3
    h, p = isotherm(refrigerant_tables("R1234yf"), t_c + 273.15)
    assert np.all(np.diff(h[np.argmax(np.abs(np.diff(h))) :]) > 0.0)
    for h_one, p_one in zip(h[::7], p[::7], strict=True):
        state.update(coolprop.HmassP_INPUTS, h_one + h_0, p_one)
        assert state.T() == pytest.approx(t_c + 273.15, abs=0.05)


def test_the_cap_closes_the_dome() -> None:
    tables = refrigerant_tables("R1234yf")
    h, p = dome_cap(tables)
    assert p.max() == pytest.approx(tables.p_critical_pa)
    assert tables.h_liquid_j_per_kg[-1] < h[0] < h[-1] < tables.h_vapour_j_per_kg[-1]
    assert np.all(np.diff(h) > 0.0)
