"""Zones of the exchangers as a slow state of the circuit: superheat, subcooling, what each condenser of the row sees.

Valves and the refrigerant's spread over the exchangers take some ten seconds to settle. So these are states that follow
their steady values with one time constant, and coefficients of each solve: `set_zones` puts them into the circuit's
work array before it, `move_zones` moves them after it, towards the values that the solved point would have at rest.
They lie in the extra state behind the fixed places (kernel/names.py), ZONE_STATES and one for each exchanger.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heatwright.kernel import circuit_names as cn
from heatwright.kernel.names import N_EXTRA
from heatwright.physics.jit import inner_jit
from heatwright.physics.refrigerant import (
    TAB_CP_GAS,
    TAB_FILM,
    TAB_GLIDE,
    TAB_LATENT,
    TAB_SUBCOOLING,
    TAB_SUPERHEAT,
    high_isobar,
)
from heatwright.physics.zones import (
    CONDENSING_ALONE,
    LEAST_K,
    RATED_K,
    SUBCOOLING_SHARE,
    SUPERHEAT_SHARE,
    evaporator_factor,
    isobar_port,
    single_phase,
)

Floats = NDArray[np.float64]

# states behind the fixed ones: superheat at the evaporators' end and at the compressor, subcooling, source less te
Z_SUPER, Z_SUCTION, Z_SUB, Z_D, ZONE_STATES = range(5)
SETTLE_S = 10.0
"""Time constant of valves and of the refrigerant's spread (common practice)."""


@inner_jit
def rest_zones(n_port: int, par: Floats, tab: Floats, ext: Floats) -> None:
    """Put the states where the next start finds them: valves aim as set, condensers see the condensing temperature."""
    at = np.uint64(N_EXTRA)
    ext[at + np.uint64(Z_SUPER)] = par[cn.PAR_AIM_K]
    ext[at + np.uint64(Z_SUCTION)] = par[cn.PAR_AIM_K]
    ext[at + np.uint64(Z_SUB)] = tab[TAB_SUBCOOLING]
    ext[at + np.uint64(Z_D)] = RATED_K
    for k in range(np.uint64(n_port)):
        ext[at + np.uint64(ZONE_STATES) + k] = 0.0


@inner_jit
def set_zones(n_port: int, tab: Floats, ext: Floats, ua_cold: Floats, work: Floats) -> None:
    """Put the states into the circuit's work array as coefficients, and scale the cold conductances for them."""
    n = np.uint64(n_port)
    at = np.uint64(N_EXTRA)
    shift = np.uint64(cn.POINT_SIZE) + np.uint64(7) * n
    share = shift + n + n
    superheat = ext[at + np.uint64(Z_SUPER)]
    d = ext[at + np.uint64(Z_D)]
    for k in range(n):
        work[shift + k] = ext[at + np.uint64(ZONE_STATES) + k]
        if ua_cold[k] > 0.0:
            ua_cold[k] *= evaporator_factor(d, superheat, tab[TAB_LATENT], tab[TAB_CP_GAS], work[share + k])
    work[cn.AT_SUPERHEAT] = superheat
    work[cn.AT_SUCTION] = ext[at + np.uint64(Z_SUCTION)]
    work[cn.AT_SUBCOOLING] = ext[at + np.uint64(Z_SUB)]
    work[cn.AT_D] = d
    work[cn.AT_LESS] = 0.0
    if tab[TAB_SUBCOOLING] > 0.0:
        work[cn.AT_LESS] = 1.0 - work[cn.AT_SUBCOOLING] / tab[TAB_SUBCOOLING]
    y = work[cn.AT_SUCTION] / tab[TAB_SUPERHEAT]
    work[cn.AT_HALF] = 4.0 * y * (1.0 - y)
    work[cn.AT_NONE] = (2.0 * y - 1.0) * (y - 1.0)


@inner_jit
def move_zones(
    n_port: int, par: Floats, tab: Floats, q: Floats, out: Floats, ext: Floats, work: Floats, dt: float
) -> None:
    """Move the states towards those of the point just solved."""
    at = np.uint64(N_EXTRA)
    part = dt / (SETTLE_S + dt)
    superheat = _evaporators(n_port, par, out, work)
    sink = _hot_row(n_port, tab, q, out, ext, work, part)
    tc = out[cn.OUT_T_COND]
    subcooling = min(tab[TAB_SUBCOOLING], SUBCOOLING_SHARE * max(tc - sink, 0.0))
    suction = superheat
    if par[cn.PAR_IHX] > 0.0:
        warm = tc - subcooling - out[cn.OUT_T_EVAP] - superheat
        suction = min(superheat + par[cn.PAR_IHX] * max(warm, 0.0), tab[TAB_SUPERHEAT])
    ext[at + np.uint64(Z_SUPER)] += part * (superheat - ext[at + np.uint64(Z_SUPER)])
    ext[at + np.uint64(Z_SUCTION)] += part * (suction - ext[at + np.uint64(Z_SUCTION)])
    ext[at + np.uint64(Z_SUB)] += part * (subcooling - ext[at + np.uint64(Z_SUB)])
    ext[at + np.uint64(Z_D)] += part * (work[cn.AT_D] - ext[at + np.uint64(Z_D)])


@inner_jit
def _evaporators(n_port: int, par: Floats, out: Floats, work: Floats) -> float:
    """Return the superheat the valves would aim at [K]; leave source less evaporating temperature in work."""
    n = np.uint64(n_port)
    row = np.uint64(cn.POINT_SIZE)
    cold = row + n + n
    share = row + np.uint64(9) * n
    whole = 0.0
    d = 0.0
    for k in range(n):
        if work[cold + k] > 0.0:
            whole += work[cold + k] * work[share + k]
            d += work[cold + k] * max(work[row + k] - out[cn.OUT_T_EVAP], 0.0)
    work[cn.AT_D] = max(d / whole, 0.1) if whole > 0.0 else RATED_K
    return min(par[cn.PAR_AIM_K], SUPERHEAT_SHARE * work[cn.AT_D])


@inner_jit
def _hot_row(n_port: int, tab: Floats, q: Floats, out: Floats, ext: Floats, work: Floats, part: float) -> float:
    """March the refrigerant through the condensers in their order and move what each sees; return the last sink [K]."""
    n = np.uint64(n_port)
    row = np.uint64(cn.POINT_SIZE)
    hot = row + n
    rank = row + np.uint64(8) * n
    share = rank + n
    line = share + n
    stream = line + np.uint64(2 * cn.LINE)
    shift = np.uint64(N_EXTRA + ZONE_STATES)
    tc = out[cn.OUT_T_COND]
    pieces = high_isobar(tc, out[cn.OUT_H2], out[cn.OUT_T_DISCHARGE], tab, work, line)
    h = out[cn.OUT_H2]
    last = -1.0
    for k in range(n):
        if work[hot + k] > 0.0:
            last = max(last, work[rank + k])
    sink = tc
    place = 0.0
    while place <= last:
        ua = 0.0
        for k in range(n):
            if work[rank + k] == place:
                ua += work[hot + k]
        leaving = 0.0
        for k in range(n):
            if work[rank + k] == place and work[hot + k] > 0.0:
                m = out[cn.OUT_MDOT] * work[hot + k] / ua
                s = work[share + k]
                sink = work[row + k] - max(q[k], 0.0) * (1.0 / s - 1.0) / work[hot + k]
                through = CONDENSING_ALONE * s * work[hot + k]
                rise = 0.0
                to = 0.0
                if tab[TAB_GLIDE] > 0.0:  # counterflow: what takes the heat enters where the refrigerant leaves
                    sink = work[stream + k]
                    heat = max(q[k] / m, 1.0)
                    rise = max(work[stream + n + k] - sink, 0.0) / heat
                    to = h - heat
                single = single_phase(tab[TAB_FILM], s)
                end = isobar_port(h, m, through, sink, work, line, pieces, single, rise, to)
                y = max(m * (h - end) / work[hot + k], LEAST_K)
                seen = work[row + k] + y - 0.0625 / y - tc
                ext[shift + k] += part * (seen - ext[shift + k])
                leaving += end * work[hot + k] / ua
        if ua > 0.0:
            h = leaving
        place += 1.0
    return sink
