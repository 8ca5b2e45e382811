"""The high side of carbon dioxide (R744): one temperature, that of the gas cooler's outlet, says its whole isobar.

Near and above its critical point R744 has no saturation that could tell the high pressure. So pressure is a law of the
outlet's temperature: that which gives the best coefficient of performance, found here with the forms of the compressor
at one evaporating temperature; for cold outlets the saturation pressure of an outlet subcooled by a few kelvin; never
above a cap. The three run into each other smoothly. Entropies of discharge gas count from a floor: that of saturated
vapour while there is any, a constant above. No saturation is asked for above the critical point.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.physics.compressor import isentropic_efficiency

Floats = NDArray[np.float64]

SUBCOOLED_K = 2.0
T_EVAP_K, SUPERHEAT_K = 263.15, 3.0
CAP_PA = 122e5
FLOOR_J_PER_KG_K = 1620.0
SPEED_HZ = 4000.0 / 60.0
FIRST_K, LAST_K = 301.15, 323.15  # where the best pressure is searched for; a cubic carries it on
SEARCH_PA = (70e5, 150e5)
WIDTH_PA, CAP_WIDTH_PA, WIDTH_J_PER_KG_K = 0.8e5, 4e5, 8.0
PARTS = (0.08, 0.2, 0.4, 0.6, 0.8)  # of the enthalpy from the outlet to the floor: inner nodes of the isobar
ISOTHERMS_K = np.arange(-40.0, 161.0, 20.0) + 273.15
ISOBARS_PA = np.exp(np.linspace(math.log(8e5), math.log(160e5), 121))


def high_side(
    coolprop: Any, state: Any, reference: tuple[float, float], t_k: Floats, entropy: Floats
) -> dict[str, Any]:
    """Return the columns of the high side over the outlet's temperature `t_k` (SI, IIR reference)."""
    p_pa = high_pressure(coolprop, state, t_k)
    floor = _floor(coolprop, state, reference, t_k)
    out = np.empty((t_k.size, 2))
    discharge = np.empty((t_k.size, entropy.size))
    glide = np.empty((t_k.size, len(PARTS) + 1))
    for i in range(t_k.size):
        state.update(coolprop.PT_INPUTS, p_pa[i], t_k[i])
        out[i] = state.hmass() - reference[0], state.smass() - reference[1]
        for j in range(entropy.size):
            state.update(coolprop.PSmass_INPUTS, p_pa[i], floor[i] + entropy[j] + reference[1])
            discharge[i, j] = state.hmass() - reference[0]
            if j == 0:
                glide[i, -1] = state.T()
        for k, part in enumerate(PARTS):
            h = out[i, 0] + part * (discharge[i, 0] - out[i, 0])
            state.update(coolprop.HmassP_INPUTS, h + reference[0], p_pa[i])
            glide[i, k] = state.T()
    return {
        "t_outlet_k": t_k,
        "ln_p_high": np.log(p_pa),
        "h_floor_j_per_kg": discharge[:, 0].copy(),
        "s_floor_j_per_kg_k": floor,
        "h_outlet_j_per_kg": out[:, 0].copy(),
        "s_outlet_j_per_kg_k": out[:, 1].copy(),
        "t_glide_k": glide,
        "h_discharge_j_per_kg": discharge,
        "t_isotherm_k": ISOTHERMS_K.copy(),
        "p_isobar_pa": ISOBARS_PA.copy(),
        "h_isotherm_j_per_kg": _isotherms(coolprop, state, reference),
    }


def best_pressure(
    coolprop: Any, state: Any, t_outlet_k: float, t_evap_k: float = T_EVAP_K, superheat_k: float = SUPERHEAT_K,
    eta: float = 0.0,
) -> float:  # fmt: skip
    """Return the pressure of the best coefficient of performance [Pa] by golden section.

    eta : isentropic efficiency; 0: that of the compressor's forms, at the pressure ratio.
    """
    state.update(coolprop.QT_INPUTS, 1.0, t_evap_k)
    p_low = state.p()
    low, high = SEARCH_PA
    step = 0.5 * (math.sqrt(5.0) - 1.0)
    points = [high - step * (high - low), low + step * (high - low)]
    values = [performance(coolprop, state, p, p_low, t_outlet_k, t_evap_k, superheat_k, eta) for p in points]
    while high - low > 500.0:
        if values[0] > values[1]:
            high, points[1], values[1] = points[1], points[0], values[0]
            k = 0
        else:
            low, points[0], values[0] = points[0], points[1], values[1]
            k = 1
        points[k] = (high - step * (high - low), low + step * (high - low))[k]
        values[k] = performance(coolprop, state, points[k], p_low, t_outlet_k, t_evap_k, superheat_k, eta)
    return 0.5 * (low + high)


def performance(
    coolprop: Any, state: Any, p_pa: float, p_low_pa: float, t_outlet_k: float, t_evap_k: float, superheat_k: float,
    eta: float = 0.0,
) -> float:  # fmt: skip
    """Return heat taken up over the gas's work, at an efficiency or (0) that of the compressor's forms."""
    if superheat_k > 0.0:
        state.update(coolprop.PT_INPUTS, p_low_pa, t_evap_k + superheat_k)
    else:
        state.update(coolprop.QT_INPUTS, 1.0, t_evap_k)
    h1, s1 = state.hmass(), state.smass()
    state.update(coolprop.PSmass_INPUTS, p_pa, s1)
    work = (state.hmass() - h1) / (eta or float(isentropic_efficiency(p_pa / p_low_pa, SPEED_HZ)[0]))
    state.update(coolprop.PT_INPUTS, p_pa, t_outlet_k)
    return float((h1 - state.hmass()) / work)


def high_pressure(coolprop: Any, state: Any, t_k: Floats) -> Floats:
    """Return the high pressure over the outlet's temperature [Pa]."""
    where = np.linspace(FIRST_K, LAST_K, 12)
    best = [best_pressure(coolprop, state, float(t)) for t in where]
    law = np.polynomial.Polynomial.fit(where, best, 3, domain=[FIRST_K, LAST_K])
    slope = law.deriv()
    t = np.clip(t_k, FIRST_K, LAST_K)
    wanted = law(t) + slope(t) * (t_k - t)
    state.update(coolprop.QT_INPUTS, 0.0, state.T_critical() - 0.5)
    end_k, end_pa = state.T(), state.p()
    per_k = math.log(end_pa / _saturation(coolprop, state, end_k - 1.0)) * end_k * (end_k - 1.0)
    saturated = np.array(
        [
            _saturation(coolprop, state, t + SUBCOOLED_K)
            if t + SUBCOOLED_K < end_k
            else end_pa * math.exp(per_k * (1.0 / end_k - 1.0 / (t + SUBCOOLED_K)))
            for t in t_k
        ]
    )
    return -_greater(-_greater(wanted, saturated, WIDTH_PA), np.full_like(t_k, -CAP_PA), CAP_WIDTH_PA)


def _saturation(coolprop: Any, state: Any, t_k: float) -> float:
    state.update(coolprop.QT_INPUTS, 0.0, t_k)
    return float(state.p())


def _greater(a: Floats, b: Floats, width: float) -> Floats:
    """Return the greater of two, smoothly where they are within some widths of each other."""
    difference = a - b
    return np.asarray(0.5 * (a + b + np.sqrt(difference**2 + width**2)))


def _floor(coolprop: Any, state: Any, reference: tuple[float, float], t_k: Floats) -> Floats:
    """Return the entropy that discharge gas counts from: saturated vapour's, running over into a constant."""
    end_k = state.T_critical() - 2.0
    sides = []
    for t in (end_k - 1.0, end_k):
        state.update(coolprop.QT_INPUTS, 1.0, t)
        sides.append(state.smass() - reference[1])
    vapour = np.empty_like(t_k)
    for i, t in enumerate(t_k + SUBCOOLED_K):
        if t < end_k:
            state.update(coolprop.QT_INPUTS, 1.0, t)
            vapour[i] = state.smass() - reference[1]
        else:
            vapour[i] = sides[1] + (sides[1] - sides[0]) * (t - end_k)
    return _greater(vapour, np.full_like(t_k, FLOOR_J_PER_KG_K), WIDTH_J_PER_KG_K)


def _isotherms(coolprop: Any, state: Any, reference: tuple[float, float]) -> Floats:
    """Return the enthalpies of the isotherms that the drawing shows, over pressure."""
    h = np.empty((ISOTHERMS_K.size, ISOBARS_PA.size))
    for i, t in enumerate(ISOTHERMS_K):
        for j, p in enumerate(ISOBARS_PA):
            state.update(coolprop.PT_INPUTS, p, t)
            h[i, j] = state.hmass() - reference[0]
    return h
