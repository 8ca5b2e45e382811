"""Effectiveness and NTU against tables and worked examples.

Sources: Kays and London, "Compact Heat Exchangers"; Incropera et al., "Fundamentals of Heat and Mass
Transfer", table 11.3 and examples 11.1, 11.3, 11.5, 11.6; Mason 1955 (values by ht 1.2); closed forms.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from heatwright.physics import exchange as hx
from heatwright.physics.hydraulics import nusselt_dittus_boelter, reynolds

NTU = (0.5, 1.0, 2.0, 3.0, 5.0)
ALL = (
    hx.COUNTER,
    hx.PARALLEL,
    hx.CROSS_UNMIXED,
    hx.CROSS_MIXED_A,
    hx.CROSS_MIXED_B,
    hx.PHASE_CHANGE,
    hx.CROSS_APPROXIMATE,
)
RATIOS = (0.0, 0.25, 0.5, 0.75, 1.0)


def ntu_of(kind: int, goal: float, cr: float) -> float:
    """Return the NTU of an effectiveness, by halving."""
    low, high = 0.0, 50.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if hx.effectiveness(kind, middle, cr) < goal:
            low = middle
        else:
            high = middle
    return low


@pytest.mark.parametrize(
    ("kind", "points", "expected"),
    [
        pytest.param(
            hx.COUNTER,
            [(1.0, cr) for cr in RATIOS],
            (0.632121, 0.598286, 0.564733, 0.531857, 0.5),
            id="HX-01",
        ),
        pytest.param(
            hx.COUNTER,
            [(3.0, cr) for cr in RATIOS],
            (0.950213, 0.918811, 0.874425, 0.817118, 0.75),
            id="HX-02",
        ),
        pytest.param(
            hx.PARALLEL,
            [(1.0, cr) for cr in RATIOS],
            (0.632121, 0.570796, 0.517913, 0.472129, 0.432332),
            id="HX-03",
        ),
        pytest.param(
            hx.PARALLEL,
            [(5.0, cr) for cr in RATIOS[1:]],
            (0.798456, 0.666298, 0.571338, 0.499977),
            id="HX-04",
        ),
        pytest.param(
            hx.CROSS_UNMIXED,
            [(n, 0.25) for n in NTU],
            (0.375094, 0.588011, 0.797422, 0.888457, 0.959074),
            id="HX-05",
        ),
        pytest.param(
            hx.CROSS_UNMIXED,
            [(n, 0.5) for n in NTU],
            (0.357827, 0.547490, 0.732409, 0.819708, 0.901668),
            id="HX-06",
        ),
        pytest.param(
            hx.CROSS_UNMIXED,
            [(n, 0.75) for n in NTU],
            (0.341595, 0.510309, 0.671080, 0.749406, 0.829251),
            id="HX-07",
        ),
        pytest.param(
            hx.CROSS_UNMIXED,
            [(n, 1.0) for n in NTU],
            (0.326330, 0.476222, 0.614247, 0.681291, 0.750904),
            id="HX-08",
        ),
        pytest.param(
            hx.CROSS_APPROXIMATE,
            [(n, 1.0) for n in NTU],
            (0.315449, 0.468536, 0.615407, 0.684209, 0.748981),
            id="HX-09",
        ),
        pytest.param(
            hx.CROSS_MIXED_A,
            [(n, 0.5) for n in NTU],
            (0.357506, 0.544764, 0.717546, 0.788544, 0.840519),
            id="HX-10",
        ),
        pytest.param(
            hx.CROSS_MIXED_B,
            [(n, 0.5) for n in NTU],
            (0.357183, 0.541969, 0.702013, 0.756362, 0.782845),
            id="HX-11",
        ),
    ],
)
def test_effectiveness_table(kind: int, points: list[tuple[float, float]], expected: tuple[float, ...]) -> None:
    assert [hx.effectiveness(kind, n, cr) for n, cr in points] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("kind", [pytest.param(kind, id=f"HX-12-kind-{kind}") for kind in ALL])
def test_one_endless_stream(kind: int) -> None:
    """Closed form 1 - exp(-NTU) for every arrangement."""
    for n, expected in zip(NTU, (0.393469, 0.632121, 0.864665, 0.950213, 0.993262), strict=True):
        assert hx.effectiveness(kind, n, 0.0) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("kind", [pytest.param(kind, id=f"HX-13-kind-{kind}") for kind in ALL])
def test_small_ratio_is_continuous(kind: int) -> None:
    assert hx.effectiveness(kind, 2.0, 1e-6) == pytest.approx(0.8646644, abs=1e-5)
    for cr in (1e-15, 1e-12, 9.9e-10, 1.01e-9, 1e-8):
        assert hx.effectiveness(kind, 2.0, cr) == pytest.approx(1.0 - math.exp(-2.0), abs=2e-8)


@pytest.mark.parametrize(
    ("gap", "excess"),
    [
        pytest.param(1e-3, 2.8e-4, id="HX-14-1e-3"),
        pytest.param(1e-6, 2.8e-7, id="HX-14-1e-6"),
        pytest.param(1e-9, 0.0, id="HX-14-1e-9"),
        pytest.param(1e-12, 0.0, id="HX-14-1e-12"),
    ],
)
def test_counterflow_near_equal_rates(gap: float, excess: float) -> None:
    found = hx.effectiveness(hx.COUNTER, 3.0, 1.0 - gap) - 0.75
    assert found == pytest.approx(excess, abs=max(0.01 * excess, 1e-9))


@pytest.mark.parametrize("cr", [pytest.param(cr, id=f"HX-15-{cr:g}") for cr in np.linspace(0.0, 1.0, 21)])
def test_order_of_arrangements(cr: float) -> None:
    last = dict.fromkeys(ALL, 0.0)
    for n in (0.1, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0):
        e = {kind: hx.effectiveness(kind, n, cr) for kind in ALL}
        slack = 1e-12
        assert e[hx.PARALLEL] <= e[hx.CROSS_MIXED_B] + slack
        assert e[hx.CROSS_MIXED_B] <= e[hx.CROSS_MIXED_A] + slack
        assert e[hx.CROSS_MIXED_A] <= e[hx.CROSS_UNMIXED] + slack
        assert e[hx.CROSS_UNMIXED] <= e[hx.COUNTER] + slack
        assert e[hx.COUNTER] <= 1.0 - math.exp(-n) + slack
        for kind in ALL:
            assert e[kind] >= last[kind]
            assert hx.effectiveness(kind, n, min(cr + 0.05, 1.0)) <= e[kind] + slack
        last = e


@pytest.mark.parametrize(("ntu", "cr"), [pytest.param(2.0, 0.5, id="HX-16")])
def test_two_counterflow_units_in_series(ntu: float, cr: float) -> None:
    half = hx.effectiveness(hx.COUNTER, 0.5 * ntu, cr)
    pair = ((1.0 - half * cr) / (1.0 - half)) ** 2
    assert (pair - 1.0) / (pair - cr) == pytest.approx(hx.effectiveness(hx.COUNTER, ntu, cr), rel=1e-12)
    assert hx.effectiveness(hx.COUNTER, ntu, cr) == pytest.approx(0.774600, abs=1e-6)


@pytest.mark.parametrize("u_w_per_m2k", [pytest.param(38.1, id="HX-17")])
def test_oil_cooler(u_w_per_m2k: float) -> None:
    """Incropera, example 11.1: oil 0.1 kg/s 100 to 60 degC, water 0.2 kg/s from 30 degC, tube 25 mm."""
    c_oil, c_water = 0.1 * 2131.0, 0.2 * 4178.0
    q = c_oil * 40.0
    goal = 40.0 / 70.0
    cr = c_oil / c_water
    ntu = ntu_of(hx.COUNTER, goal, cr)
    assert q == pytest.approx(8524.0, rel=1e-6)
    assert 30.0 + q / c_water == pytest.approx(40.2, abs=0.05)
    assert cr == pytest.approx(0.2550, rel=1e-3)
    assert ntu == pytest.approx(0.92593, rel=1e-3)
    assert ntu * c_oil / (u_w_per_m2k * math.pi * 0.025) == pytest.approx(65.8, rel=1.5e-2)
    assert hx.exchange_conductance(hx.COUNTER, ntu * c_oil, c_oil, c_water) * 70.0 == pytest.approx(q, rel=1e-9)


@pytest.mark.parametrize(
    ("kind", "ntu", "rel"),
    [
        pytest.param(hx.CROSS_UNMIXED, 2.0808, 1e-3, id="HX-18-exact"),
        pytest.param(hx.CROSS_APPROXIMATE, 2.0239, 1e-3, id="HX-18-approximate"),
        pytest.param(hx.CROSS_UNMIXED, 2.1, 2e-2, id="HX-18-book"),
    ],
)
def test_crossflow_sizing(kind: int, ntu: float, rel: float) -> None:
    """Incropera, example 11.3: gas 300 to 100 degC, water 1 kg/s 35 to 125 degC."""
    c_hot = 4197.0 * 90.0 / 200.0
    assert c_hot == pytest.approx(1888.65, rel=1e-6)
    assert ntu_of(kind, 200.0 / 265.0, c_hot / 4197.0) == pytest.approx(ntu, rel=rel)


@pytest.mark.parametrize("q_w", [pytest.param(2.0e9, id="HX-20")])
def test_condenser(q_w: float) -> None:
    """Incropera, example 11.5: 30 000 tubes, two passes, 1 kg/s each, 25 mm, water (300 K) from 20 degC."""
    re = reynolds(1.0, 0.025, math.pi / 4 * 0.025**2, 855e-6)
    h_in = nusselt_dittus_boelter(re, 5.83, 0.4) * 0.613 / 0.025
    u = 1.0 / (1.0 / h_in + 1.0 / 11000.0)
    c = 30000 * 4179.0
    ntu = ntu_of(hx.PHASE_CHANGE, q_w / (c * 30.0), 0.0)
    assert re == pytest.approx(59570.0, rel=1e-3)
    assert h_in == pytest.approx(7540.0, rel=1e-2)
    assert u == pytest.approx(4470.0, rel=1e-2)
    assert 20.0 + q_w / c == pytest.approx(36.0, abs=0.1)
    assert ntu == pytest.approx(0.7588, rel=1e-2)
    assert ntu * c / (u * 30000 * 2 * math.pi * 0.025) == pytest.approx(4.51, rel=1e-2)


@pytest.mark.parametrize(
    ("ntu", "rel"),
    [pytest.param(0.6986, 1e-3, id="HX-21-exact"), pytest.param(0.65, 8e-2, id="HX-21-chart")],
)
def test_compact_exchanger(ntu: float, rel: float) -> None:
    """Incropera, example 11.6: gas 1.25 kg/s from 825 K, water 1 kg/s 290 to 370 K; chart read by eye."""
    c_gas, c_water = 1.25 * 1075.0, 4184.0
    goal = c_water * 80.0 / (c_gas * 535.0)
    assert goal == pytest.approx(0.4656, abs=2e-4)
    assert ntu_of(hx.CROSS_UNMIXED, goal, c_gas / c_water) == pytest.approx(ntu, rel=rel)


@pytest.mark.parametrize("q_w", [pytest.param(2000.0, id="HX-23")])
def test_plate_and_radiator_loop(q_w: float) -> None:
    """Closed form: R = 1/(e1 C) + 1/(e2 Cmin) - 1/C between plate and outside air."""
    c, c_air = 0.15 * 3400.0, 0.8 * 1006.0
    plate = hx.wall_to_stream(400.0, c)
    radiator = hx.exchange_conductance(hx.CROSS_UNMIXED, 600.0, c, c_air)
    assert plate / c == pytest.approx(0.543567, abs=1e-6)
    assert radiator / c == pytest.approx(0.569793, abs=1e-6)
    assert 1.0 / plate + 1.0 / radiator - 1.0 / c == pytest.approx(5.08769e-3, rel=1e-4)
    t_out = 30.0 + q_w / radiator
    t_in = t_out - q_w / c
    assert (t_in, t_out, t_in + q_w / plate) == pytest.approx((32.961, 36.882, 40.175), abs=1e-3)


def integral_effectiveness(ntu: float, cr: float) -> float:
    """Return the exact crossflow effectiveness from the local solution of two unmixed streams.

    Closed form: at its outlet, y across the other stream, stream a has kept the share
    exp(-N - y) I0(2 sqrt(N y)) + integral from 0 to y of exp(-N - s) I0(2 sqrt(N s)) ds.
    """
    from scipy.integrate import quad
    from scipy.special import ive

    def front(s: float) -> float:
        return math.exp(-((math.sqrt(ntu) - math.sqrt(s)) ** 2)) * ive(0, 2.0 * math.sqrt(ntu * s))

    def kept(y: float) -> float:
        return front(y) + quad(front, 0.0, y, epsabs=1e-13, epsrel=1e-12)[0]

    width = cr * ntu
    return 1.0 - quad(kept, 0.0, width, epsabs=1e-12, epsrel=1e-11)[0] / width


@pytest.mark.parametrize("ntu", [0.1, 1.0, 4.0, 10.0, 40.0])
@pytest.mark.parametrize("cr", [0.05, 0.5, 1.0])
def test_series_against_the_integral(ntu: float, cr: float) -> None:
    assert hx.effectiveness(hx.CROSS_UNMIXED, ntu, cr) == pytest.approx(integral_effectiveness(ntu, cr), abs=1e-8)


@pytest.mark.parametrize("kind", ALL)
def test_limits(kind: int) -> None:
    assert hx.effectiveness(kind, 0.0, 0.5) == 0.0
    assert hx.effectiveness(kind, -1.0, 0.5) == 0.0
    for cr in (1e-9, 0.3, 1.0):
        assert hx.effectiveness(kind, 1e-7, cr) == pytest.approx(1e-7, rel=1e-2)
        assert 0.0 < hx.effectiveness(kind, 1e4, cr) <= 1.0
    assert hx.effectiveness(kind, 2.0, 1.3) == hx.effectiveness(kind, 2.0, 1.0)


@pytest.mark.parametrize("kind", ALL)
def test_no_jump_where_the_rates_swap(kind: int) -> None:
    below, above = (hx.exchange_conductance(kind, 900.0, 500.0 + d, 500.0) for d in (-1e-6, 1e-6))
    assert above == pytest.approx(below, rel=1e-8)


def test_mixed_stream_keeps_its_side() -> None:
    a_small = hx.exchange_conductance(hx.CROSS_MIXED_A, 1000.0, 500.0, 1000.0)
    b_large = hx.exchange_conductance(hx.CROSS_MIXED_B, 1000.0, 1000.0, 500.0)
    assert a_small == b_large == pytest.approx(500.0 * 0.717546, rel=1e-5)
    b_small = hx.exchange_conductance(hx.CROSS_MIXED_B, 1000.0, 500.0, 1000.0)
    assert b_small == pytest.approx(500.0 * 0.702013, rel=1e-5)


@pytest.mark.parametrize("kind", ALL)
def test_conductance_is_safe(kind: int) -> None:
    for ua, a, b in ((500.0, 0.0, 300.0), (500.0, 300.0, 0.0), (0.0, 300.0, 200.0), (-1.0, 300.0, 200.0)):
        assert hx.exchange_conductance(kind, ua, a, b) == 0.0
    tiny = hx.exchange_conductance(kind, 500.0, 1e-6, 300.0)
    assert tiny == pytest.approx(1e-6, rel=1e-6)
    assert hx.exchange_conductance(kind, 500.0, -300.0, 200.0) == hx.exchange_conductance(kind, 500.0, 300.0, 200.0)


@pytest.mark.parametrize("function", [hx.wall_to_stream])
def test_wall_conductance_limits(function: Callable[[float, float], float]) -> None:
    assert function(400.0, 0.0) == 0.0
    assert function(0.0, 500.0) == 0.0
    assert function(400.0, 1e9) == pytest.approx(400.0, rel=1e-6)
    assert function(1e9, -500.0) == pytest.approx(500.0)
