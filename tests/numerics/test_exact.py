"""The whole march against exact solutions: order of accuracy, ledger, stored energy, flow reversal."""

from __future__ import annotations

import math

import numpy as np
import pytest

from heatwright.compiler.bare import bare_program
from heatwright.compiler.builder import Builder
from heatwright.physics import coolant
from tests.numerics.marching import march_bare


def one_mass(n: int, dt: float, source: np.ndarray | float = 500.0, ambient: np.ndarray | float = 20.0):  # type: ignore[no-untyped-def]
    """A mass of 1e5 J/K, 50 W/K to ambient, a heat source."""
    b = Builder()
    b.node("mass", 1e5)
    b.to_boundary("mass", "tau_ambient", b.constant(50.0), "to_ambient")
    column = b.column("source_w")
    b.driver_source("mass", column, 1.0, "source")
    return bare_program(b, n, dt, {"mass": 40.0}, {"tau_ambient": ambient, "source_w": source})


@pytest.mark.parametrize(
    ("t_s", "expected"),
    [(600, 37.408182), (2000, 33.678794), (3600, 31.652989)],
    ids=["TR-01-600", "TR-01-2000", "TR-01-3600"],
)
def test_one_mass_follows_its_exponential(t_s: int, expected: float) -> None:
    """TR-01, closed form: T = T_ss + (T_0 - T_ss) exp(-t/tau), tau 2000 s."""
    temperatures, _ = march_bare(one_mass(t_s // 4, 4.0), high=True)
    assert temperatures[-1, 0] == pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize("high", [False, True], ids=["TR-02-normal", "TR-02-high"])
def test_ledger_of_one_mass(high: bool) -> None:
    """TR-02, integral of the closed form: 1.8 MJ in, 2.6347011 MJ to ambient, -0.8347011 MJ stored."""
    _, books = march_bare(one_mass(3600, 1.0), high)
    terms = books["terms_j"]
    assert terms["source"] == pytest.approx(1.8e6, rel=1e-12)
    assert terms["to_ambient"] == pytest.approx(-2.6347011e6, rel=3e-4 if not high else 1e-6)
    assert terms["stored_in_mass"] == pytest.approx(0.8347011e6, rel=1e-3 if not high else 2e-6)
    assert abs(books["residual_relative"]) < 1e-12


def error_at_one(n: int, high: bool) -> float:
    """Error of y' = -y at t = 1 in n steps."""
    b = Builder()
    b.node("y", 1.0)
    b.to_boundary("y", "tau_ambient", b.constant(1.0), "out")
    temperatures, _ = march_bare(bare_program(b, n, 1.0 / n, {"y": 1.0}, {"tau_ambient": 0.0}), high)
    return float(temperatures[-1, 0] - math.exp(-1.0))


@pytest.mark.parametrize(
    ("n", "expected"),
    [(10, 1.7664e-2), (20, 9.010e-3), (40, 4.551e-3)],
    ids=["TR-03-10", "TR-03-20", "TR-03-40"],
)
def test_first_order_error_is_that_of_backward_euler(n: int, expected: float) -> None:
    """TR-03, closed form: backward Euler's error at t = 1."""
    assert error_at_one(n, False) == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("high", "least"), [(False, 0.95), (True, 1.9)], ids=["TR-03-order-normal", "TR-03-order-high"]
)
def test_observed_order(high: bool, least: float) -> None:
    """TR-03: the slope of the error against the step is 1, and 2 for the extrapolated step on this problem."""
    errors = [abs(error_at_one(n, high)) for n in (20, 40, 80)]
    order = math.log2(errors[1] / errors[2])
    assert least < order < least + 0.2


def test_coolant_stores_the_integral_of_its_heat_capacity() -> None:
    """Stored energy is the state: a stirred coolant volume fed at 60 degC gains m (h(60) - h(-20)), h the property."""
    b = Builder()
    b.node("tank", 5.0, "coolant")
    b.node("heater", 1.0)
    column = b.column("source_w")
    b.driver_source("heater", column, 1.0, "source")
    b.link("heater", "tank", b.constant(5000.0))
    program = bare_program(b, 4000, 1.0, {"tank": -20.0, "heater": -20.0}, {"source_w": 300.0})
    temperatures, books = march_bare(program)
    end = temperatures[-1, program.index.node_place["tank"]] + 273.15
    fit, zero = coolant.coolant_fit(0.5), np.uint64(0)
    gained = 5.0 * (coolant.enthalpy(end, fit, zero) - coolant.enthalpy(253.15, fit, zero))
    assert gained == pytest.approx(4000 * 300.0, rel=1e-4)
    assert abs(books["residual_relative"]) < 1e-12


def test_reversed_stream_carries_heat_the_other_way() -> None:
    """A negative flow takes its enthalpy from the other node, and still closes."""
    b = Builder()
    for name in ("a", "b"):
        b.node(name, 2.0, "coolant")
    b.stream("a", "b", "flow")
    b.stream("b", "a", "flow")
    program = bare_program(b, 600, 1.0, {"a": 60.0, "b": 0.0}, {}, {"flow": -0.1})
    temperatures, books = march_bare(program)
    assert temperatures[-1, 0] == pytest.approx(temperatures[-1, 1], abs=0.05)
    assert abs(books["residual_j"]) < 1e-6
