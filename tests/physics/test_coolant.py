"""Glycol and water against published tables, and against the library it was fitted to.

Source of the GL rows unless another is named: CoolProp 8.0, INCOMP::MEG at 2 bar.  Tolerances are the spread
between published fits: density 0.3 %, heat capacity 1 %, conductivity 2 %, viscosity 8 %.
"""

from __future__ import annotations

import numpy as np
import pytest

from heatwright.physics import coolant

O = np.uint64(0)  # noqa: E741
EACH = ("density", "heat_capacity", "conductivity", "viscosity", "prandtl")
SPREAD = {"density": 3e-3, "heat_capacity": 1e-2, "conductivity": 2e-2, "viscosity": 8e-2, "prandtl": 8e-2}
ROWS = {  # degC: kg/m3, J/kgK, W/mK, Pa s, Prandtl number; 50 % glycol by mass
    "GL-02": (-20.0, 1082.20, 3087.0, 0.3647, 22.18e-3, 187.7),
    "GL-03": (0.0, 1074.62, 3202.9, 0.3768, 7.930e-3, 67.40),
    "GL-04": (20.0, 1064.93, 3312.0, 0.3891, 3.693e-3, 31.43),
    "GL-05": (60.0, 1040.49, 3503.1, 0.4138, 1.375e-3, 11.64),
    "GL-06": (90.0, 1019.04, 3615.8, 0.4315, 0.820e-3, 6.87),
}


@pytest.fixture(scope="module")
def half() -> np.ndarray:
    return coolant.coolant_fit(0.5)


@pytest.mark.parametrize("column", range(5), ids=EACH)
@pytest.mark.parametrize("row", [pytest.param(values, id=row) for row, values in ROWS.items()])
def test_half_glycol_by_mass(half: np.ndarray, row: tuple[float, ...], column: int) -> None:
    found = getattr(coolant, EACH[column])(row[0] + 273.15, half, O)
    assert found == pytest.approx(row[1 + column], rel=SPREAD[EACH[column]])


@pytest.mark.parametrize(
    ("name", "t_c", "expected", "rel"),
    [
        pytest.param("density", 20.0, 1068.3, 3e-3, id="GL-08-density"),
        pytest.param("heat_capacity", 20.0, 3255.0, 1e-2, id="GL-08-heat-capacity"),
        pytest.param("conductivity", 20.0, 0.380, 2e-2, id="GL-08-conductivity"),
        pytest.param("viscosity", 20.0, 3.98e-3, 8e-2, id="GL-08-viscosity"),
        pytest.param("viscosity", -20.0, 24.8e-3, 8e-2, id="GL-08-viscosity-cold"),
        pytest.param("heat_capacity", 60.0, 3457.0, 1e-2, id="GL-08-heat-capacity-warm"),
        # ASHRAE Handbook - Fundamentals, table of ethylene glycol, 67.05 and 64.80 lb/ft3 at 70 and 180 degF
        # (an inhibited coolant; the library itself stands 0.97 % below the second)
        pytest.param("density", (70.0 - 32.0) / 1.8, 1074.0, 8e-3, id="GL-09-70F"),
        pytest.param("density", (180.0 - 32.0) / 1.8, 1038.0, 1.1e-2, id="GL-09-180F"),
    ],
)
def test_half_glycol_by_volume(name: str, t_c: float, expected: float, rel: float) -> None:
    """Half by volume is 52.7 % by mass at 20 degC."""
    found = getattr(coolant, name)(t_c + 273.15, coolant.coolant_fit(0.527), O)
    assert found == pytest.approx(expected, rel=rel)


@pytest.mark.parametrize(
    ("glycol", "t_c"),
    [
        pytest.param(0.30, -14.6, id="GL-11-30"),
        pytest.param(0.40, -23.8, id="GL-11-40"),
        pytest.param(0.50, -36.0, id="GL-11-50"),
        pytest.param(0.60, -51.2, id="GL-11-60"),
    ],
)
def test_freezing_point(glycol: float, t_c: float) -> None:
    assert coolant.freezing_point_k(glycol) - 273.15 == pytest.approx(t_c, abs=0.1)


@pytest.mark.parametrize("glycol", [0.30, 0.37, 0.45, 0.527, 0.60])
def test_fit_keeps_the_errors_it_states(glycol: float) -> None:
    """CoolProp 8.0, INCOMP::MEG, also at mixtures the fit did not see."""
    from CoolProp.CoolProp import PropsSI

    c = coolant.coolant_fit(glycol)
    coldest = max(coolant.freezing_point_k(glycol) + 0.5, 238.15)
    for t_k in np.linspace(coldest, 373.0, 40):
        for name, key, rel in (
            ("density", "D", 8e-4),
            ("heat_capacity", "C", 8e-4),
            ("conductivity", "L", 1.1e-3),
            ("viscosity", "V", 8e-4),
        ):
            expected = PropsSI(key, "T", t_k, "P", 2e5, f"INCOMP::MEG[{glycol}]")
            assert getattr(coolant, name)(t_k, c, O) == pytest.approx(expected, rel=rel)


def test_enthalpy_is_the_integral_of_heat_capacity(half: np.ndarray) -> None:
    assert coolant.enthalpy(273.15, half, O) == 0.0
    for t_k in np.linspace(235.0, 385.0, 31):
        slope = (coolant.enthalpy(t_k + 1e-2, half, O) - coolant.enthalpy(t_k - 1e-2, half, O)) / 2e-2
        assert slope == pytest.approx(coolant.heat_capacity(t_k, half, O), rel=1e-8)


@pytest.mark.parametrize(("off_k", "error_k"), [(0.0, 1e-10), (5.0, 1e-6), (-5.0, 1e-6), (60.0, 2e-2), (-60.0, 2e-2)])
def test_temperature_comes_back_from_enthalpy(half: np.ndarray, off_k: float, error_k: float) -> None:
    for t_k in np.linspace(240.0, 380.0, 15):
        h = coolant.enthalpy(t_k, half, O)
        assert coolant.temperature_from_enthalpy(h, t_k + off_k, half, O) == pytest.approx(t_k, abs=error_k)


@pytest.mark.parametrize("glycol", [0.30, 0.45, 0.60])
def test_carried_on_properties_stay_sane(glycol: float) -> None:
    """Below the freezing point and up to 120 degC all keep their sign and their direction."""
    c = coolant.coolant_fit(glycol)
    t_k = np.linspace(228.15, 393.15, 100)
    values = {name: np.array([getattr(coolant, name)(t, c, O) for t in t_k]) for name in EACH}
    assert all((v > 0.0).all() for v in values.values())
    assert (np.diff(values["density"][10:]) < 0.0).all()
    assert (np.diff(values["viscosity"]) < 0.0).all()
    assert (np.diff(values["heat_capacity"]) > 0.0).all()
    assert coolant.viscosity(200.0, c, O) == pytest.approx(coolant.viscosity(228.15, c, O), rel=1e-12)


def test_offset_reads_a_second_mixture() -> None:
    both = np.concatenate([coolant.coolant_fit(0.3), coolant.coolant_fit(0.6)])
    second = np.uint64(coolant.SIZE)
    assert coolant.viscosity(293.15, both, second) == coolant.viscosity(293.15, coolant.coolant_fit(0.6), O)
    assert both[14] == 0.3
    assert both[coolant.SIZE + 15] == pytest.approx(coolant.freezing_point_k(0.6))


@pytest.mark.parametrize("glycol", [0.0, 0.29, 0.61, float("nan")])
def test_other_mixtures_are_refused(glycol: float) -> None:
    with pytest.raises(ValueError, match="glycol mass fraction"):
        coolant.coolant_fit(glycol)
