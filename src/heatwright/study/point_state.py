"""The refrigerant's four states and the powers of one solved circuit, read from the kernel's own arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.tables import RefrigerantTables
from heatwright.kernel import circuit_names as cn
from heatwright.physics.refrigerant import gas_temperature

Floats = NDArray[np.float64]
STATE_WORDS = ("suction gas", "discharge gas", "liquid before the valve", "behind the valve")
GAS_COOLER_WORDS = "gas cooler's outlet"


@dataclass(frozen=True)
class CycleState:
    """One numbered state of the loop; `quality` is the share of vapour where liquid and vapour stand together.

    The entropy is nan where nobody worked it out.
    """

    number: int
    words: str
    p_pa: float
    t_k: float
    h_j_per_kg: float
    s_j_per_kg_k: float
    quality: float | None


def cycle_states(out: Floats, tab: Floats, tables: RefrigerantTables) -> tuple[CycleState, ...]:
    """Return states 1 (suction), 2 (discharge), 3 (liquid, gas cooler's outlet) and 4 (behind the valve) of a circuit.

    out : the circuit's `out` (kernel.circuit_names). tab : the run table it was solved with. Pressures,
    temperatures and enthalpies are the kernel's; the entropies of 3 and 4, which it does not need, come from the
    knots of the same refrigerant tables.
    """
    te, tc, superheat = (float(out[k]) for k in (cn.OUT_T_EVAP, cn.OUT_T_COND, cn.OUT_SUCTION_SUPERHEAT))
    low, high, h1, h2, h3 = (
        float(out[k]) for k in (cn.OUT_P_LOW, cn.OUT_P_HIGH, cn.OUT_H1, cn.OUT_H2, cn.OUT_H3)
    )  # fmt: skip
    s1 = float(np.interp(superheat, tables.superheat_k, _column(tables, tables.s_suction_j_per_kg_k, te)))
    t2, s2 = gas_temperature(tc, h2, tab)
    if tables.transcritical:
        subcooling = 0.0
        s3 = float(np.interp(tc, tables.t_outlet_k, tables.s_outlet_j_per_kg_k))
    else:
        falling = _column(tables, tables.h_subcooled_j_per_kg, tc)
        subcooling = float(np.interp(h3, falling[::-1], tables.subcooling_k[::-1]))
        s3 = _at_subcooling(tables, tables.s_subcooled_j_per_kg_k, tc, subcooling)
    t4, s4, quality = _behind_valve(tables, te, h3)
    rows = (
        (low, te + superheat, h1, s1, None),
        (high, float(t2), h2, float(s2), None),
        (high, tc - subcooling, h3, s3, None),
        (low, t4, h3, s4, quality),
    )
    words = (*STATE_WORDS[:2], GAS_COOLER_WORDS, STATE_WORDS[3]) if tables.transcritical else STATE_WORDS
    return tuple(CycleState(k + 1, words[k], *row) for k, row in enumerate(rows))


def named_states(
    low: float, high: float, h1: float, h2: float, h3: float, t2: float, tables: RefrigerantTables
) -> tuple[CycleState, ...]:
    """Return the four states from pressures [Pa], enthalpies [J/kg] and the discharge temperature [K].

    Temperatures of the others come from the knots of the tables; entropies are left out (nan).
    """
    te = float(np.interp(np.log(low), tables.ln_p_saturation, tables.t_saturation_k))
    rising = _column(tables, tables.h_suction_j_per_kg, te)
    t1 = te + float(np.interp(h1, rising, tables.superheat_k))
    if tables.transcritical:
        along = np.array([np.interp(high, tables.p_isobar_pa, row) for row in tables.h_isotherm_j_per_kg])
        t3 = float(np.interp(h3, along, tables.t_isotherm_k))
    else:
        tc = float(np.interp(np.log(high), tables.ln_p_saturation, tables.t_saturation_k))
        falling = _column(tables, tables.h_subcooled_j_per_kg, tc)
        t3 = tc - float(np.interp(h3, falling[::-1], tables.subcooling_k[::-1]))
    t4, _, quality = _behind_valve(tables, te, h3)
    words = (*STATE_WORDS[:2], GAS_COOLER_WORDS, STATE_WORDS[3]) if tables.transcritical else STATE_WORDS
    rows = ((low, t1, h1, None), (high, t2, h2, None), (high, t3, h3, None), (low, t4, h3, quality))
    return tuple(CycleState(k + 1, words[k], p, t, h, float("nan"), share) for k, (p, t, h, share) in enumerate(rows))


def saturated_at(tables: RefrigerantTables, p_pa: float) -> float | None:
    """Return the saturation temperature of a pressure [K]; None above what the tables have of it."""
    ln_p = float(np.log(p_pa))
    return (
        float(np.interp(ln_p, tables.ln_p_saturation, tables.t_saturation_k))
        if ln_p < tables.ln_p_saturation[-1]
        else None
    )


def _column(tables: RefrigerantTables, values: Floats, t_k: float) -> Floats:
    """Return the row of a two-dimensional table at one saturation temperature."""
    return np.array([np.interp(t_k, tables.t_saturation_k, column) for column in values.T])


def _at_subcooling(tables: RefrigerantTables, values: Floats, t_saturation_k: float, below_k: float) -> float:
    return float(np.interp(below_k, tables.subcooling_k, _column(tables, values, t_saturation_k)))


def _behind_valve(tables: RefrigerantTables, te: float, h: float) -> tuple[float, float, float | None]:
    """Return temperature, entropy and quality at the evaporating pressure and an enthalpy."""
    t = tables.t_saturation_k
    h_l, h_v, s_l, s_v = (
        float(np.interp(te, t, column))
        for column in (
            tables.h_liquid_j_per_kg, tables.h_vapour_j_per_kg, tables.s_liquid_j_per_kg_k, tables.s_vapour_j_per_kg_k,
        )
    )  # fmt: skip
    quality = (h - h_l) / (h_v - h_l)
    if quality >= 0.0:
        return te, s_l + quality * (s_v - s_l), quality
    falling = _column(tables, tables.h_subcooled_j_per_kg, te)
    below = float(np.interp(h, falling[::-1], tables.subcooling_k[::-1]))
    return te - below, _at_subcooling(tables, tables.s_subcooled_j_per_kg_k, te, below), None
