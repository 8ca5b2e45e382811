"""Water and carbon dioxide in the cabin's air over a step: a network of humidities, and what coils and panes hold.

Every air node of cabin and air box has its humidity ratio, carried by the streams of the heat network, upwind and
implicit.  A holder (coil wall or pane) takes or gives k (w_i - w_sat), counted out of its own air node, with k and
the saturated humidity at its temperature frozen over the step:

    coil    k = g / 1006, its conductance to air: the limit of `wet_coil.wet_surface` for a wall of one temperature;
            what it kept from wetter times dries off in proportion to what is left
    pane    k = g_conv / (1006 Le^(2/3)), as in `fog.settling_kg_per_m2s`

A holder that would give more than it holds gives exactly that: the step is solved again with it as a source.  Its
latent heat, 2501 kJ/kg at all temperatures, goes to wall or pane as a heat of the same step.
"""

from __future__ import annotations

import numpy as np

from heatwright.kernel import plan
from heatwright.kernel.heat import eliminate
from heatwright.kernel.names import (
    A_LATENT,
    D_MOIST,
    D_P,
    D_PEOPLE,
    D_W,
    N_WATER,
    V_CLOTHES,
    V_DRAIN,
    V_IN,
    V_OUT,
    V_PEOPLE,
    V_THROUGH,
    X_W,
    Z_WATER,
)
from heatwright.kernel.plan import Floats, Ints
from heatwright.physics.cabin import CO2_M3_PER_S, MOISTURE_KG_PER_S
from heatwright.physics.jit import kernel_jit, kernel_part
from heatwright.physics.moist_air import CP_AIR_J_PER_KG_K, H_VAPOUR_J_PER_KG, dew_point_k, saturation_humidity_ratio

I_MS, I_MB, I_MZ, I_MH, I_COIL, I_ELIM = (plan.I[k] for k in ("ms", "mb", "mz", "mh", "mo_coil", "mo_elim"))
F_KG, F_SHARE, F_HOLD = (plan.F[k] for k in ("mo_kg", "mz_share", "mh_par"))
W_WET, W_A, W_B, W_HOLD, W_DEW, W_MDOT, W_G, W_TAU, W_Y, W_ACC, W_Z, W_EXT = (
    plan.W[k] for k in ("wet", "wa", "wb", "hold", "dew", "mdot", "g", "tau", "y", "acc", "z", "ext")
)
CO2_OUTSIDE_PPM = 420.0
CO2_PPM_KG_PER_S = 1.2e6 * CO2_M3_PER_S  # of a person: volume flow times the density that air flows are counted with
SHUT = -1.0
ONE, TWO, THREE, FOUR, FIVE, SEVEN = (np.uint64(k) for k in (1, 2, 3, 4, 5, 7))


@kernel_jit
def begin_moisture(pi: Ints, w: Floats) -> None:
    """Give all cabin air the humidity of the start and the carbon dioxide of outside air; coils and panes are dry."""
    wet = plan.work_view(pi, w, W_WET)
    n = np.uint64(plan.work_view(pi, w, W_B).shape[0])
    start = plan.work_view(pi, w, W_EXT)[X_W]
    for k in range(np.uint64(wet.shape[0])):
        wet[k] = start if k < n else (CO2_OUTSIDE_PPM if k < n + n else 0.0)


@kernel_jit
def dew_points(pi: Ints, w: Floats, p_pa: float) -> float:
    """Fill the dew point of every zone [K]; return that of the first."""
    wet = plan.work_view(pi, w, W_WET)
    dew = plan.work_view(pi, w, W_DEW)
    zones = plan.int_view(pi, I_MZ)
    for k in range(np.uint64(dew.shape[0])):
        dew[k] = dew_point_k(wet[zones[TWO * k]], p_pa)
    return dew[0]


@kernel_part
def _ready_holders(pi: Ints, pf: Floats, w: Floats, p_pa: float, dt: float) -> None:
    """Fill conductance [kg/s] and saturated humidity of every coil and pane; SHUT where there is nothing to move."""
    hold = plan.work_view(pi, w, W_HOLD)
    par = plan.float_view(pi, pf, F_HOLD)
    record = plan.int_view(pi, I_MH)
    coil = plan.int_view(pi, I_COIL)
    dew = plan.work_view(pi, w, W_DEW)
    wet = plan.work_view(pi, w, W_WET)
    tau = plan.work_view(pi, w, W_TAU)
    g = plan.work_view(pi, w, W_G)
    mdot = plan.work_view(pi, w, W_MDOT)
    coils = np.uint64(coil.shape[0])
    held = TWO * np.uint64(plan.work_view(pi, w, W_B).shape[0])
    for h in range(np.uint64(hold.shape[0]) // THREE):
        o = SEVEN * h
        q = THREE * h
        hold[q] = SHUT
        t_k = tau[record[o + THREE]] + 273.15
        if h < coils:
            if mdot[coil[h]] <= 0.0:
                hold[q] = 0.0
                continue
        elif wet[held + h] <= 0.0 and t_k > dew[record[o + FIVE]]:
            continue
        level = saturation_humidity_ratio(t_k, p_pa)
        over = wet[record[o]] - level
        if wet[held + h] <= 0.0 and over <= 0.0:
            continue
        k = max(par[q] * g[record[o + FOUR]] - par[q + ONE], 0.0)
        if over < 0.0 and h < coils:
            k *= wet[held + h] / (par[q + TWO] - dt * k * over)
        hold[q] = k
        hold[q + ONE] = level


@kernel_part
def _carry(pi: Ints, pf: Floats, w: Floats, first: int, outside: float, source: float, rdt: float) -> None:
    """Assemble what streams, leaks and people do to a content of the air that begins at `first` in `wet`."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    wet = plan.work_view(pi, w, W_WET)
    kg = plan.float_view(pi, pf, F_KG)
    mdot = plan.work_view(pi, w, W_MDOT)
    g = plan.work_view(pi, w, W_G)
    n = np.uint64(kg.shape[0])
    for s in range(n, np.uint64(a.shape[0])):
        a[s] = 0.0
    for i in range(n):
        a[i] = kg[i] * rdt
        b[i] = a[i] * wet[np.uint64(first) + i]
    ms = plan.int_view(pi, I_MS)
    for e in range(np.uint64(0), np.uint64(ms.shape[0]), FIVE):
        m = mdot[ms[e + TWO]]
        if m >= 0.0:
            a[ms[e]] += m
            a[ms[e + FOUR]] -= m
        else:
            a[ms[e + ONE]] -= m
            a[ms[e + THREE]] += m
    mb = plan.int_view(pi, I_MB)
    for e in range(np.uint64(0), np.uint64(mb.shape[0]), THREE):
        m = mdot[mb[e + ONE]]
        if mb[e + TWO] == 0:
            m = -m
        if m >= 0.0:
            b[mb[e]] += m * outside
        else:
            a[mb[e]] -= m
    mz = plan.int_view(pi, I_MZ)
    share = plan.float_view(pi, pf, F_SHARE)
    for z in range(np.uint64(share.shape[0])):
        i = mz[TWO * z]
        m = g[mz[TWO * z + ONE]] / CP_AIR_J_PER_KG_K
        a[i] += m
        b[i] += m * outside + share[z] * source


@kernel_part
def _add_holders(pi: Ints, w: Floats, rdt: float) -> None:
    """Add the holders to the system of humidities: conductances, or the last of what one of them held."""
    a = plan.work_view(pi, w, W_A)
    b = plan.work_view(pi, w, W_B)
    wet = plan.work_view(pi, w, W_WET)
    hold = plan.work_view(pi, w, W_HOLD)
    record = plan.int_view(pi, I_MH)
    held = TWO * np.uint64(b.shape[0])
    for h in range(np.uint64(hold.shape[0]) // THREE):
        o = SEVEN * h
        k = hold[THREE * h]
        if k == SHUT:
            b[record[o + ONE]] += wet[held + h] * rdt
        else:
            a[record[o + TWO]] += k
            b[record[o + ONE]] += k * hold[THREE * h + ONE]


@kernel_part
def _moved(pi: Ints, w: Floats, dt: float) -> bool:
    """Fill the water every holder takes [kg/s]; shut those that would give more than they hold, and say so."""
    b = plan.work_view(pi, w, W_B)
    wet = plan.work_view(pi, w, W_WET)
    hold = plan.work_view(pi, w, W_HOLD)
    record = plan.int_view(pi, I_MH)
    held = TWO * np.uint64(b.shape[0])
    whole = True
    for h in range(np.uint64(hold.shape[0]) // THREE):
        q = THREE * h
        if hold[q] == SHUT:
            hold[q + TWO] = -wet[held + h] / dt
            continue
        flux = hold[q] * (b[record[SEVEN * h]] - hold[q + ONE])
        hold[q + TWO] = flux
        if flux * dt < -wet[held + h]:
            hold[q] = SHUT
            whole = False
    return whole


@kernel_part
def _keep(pi: Ints, pf: Floats, w: Floats, dt: float) -> float:
    """Move what the holders hold, drain what is too much, fill latent heats; return the magnitude moved [kg/s]."""
    b = plan.work_view(pi, w, W_B)
    wet = plan.work_view(pi, w, W_WET)
    hold = plan.work_view(pi, w, W_HOLD)
    par = plan.float_view(pi, pf, F_HOLD)
    record = plan.int_view(pi, I_MH)
    y = plan.work_view(pi, w, W_Y)
    coils = np.uint64(plan.int_view(pi, I_COIL).shape[0])
    held = TWO * np.uint64(b.shape[0])
    books = np.uint64(wet.shape[0]) - np.uint64(N_WATER)
    through = 0.0
    latent = 0.0
    coil = 0.0
    for h in range(np.uint64(hold.shape[0]) // THREE):
        q = THREE * h
        flux = hold[q + TWO]
        kept = 0.0 if hold[q] == SHUT else wet[held + h] + flux * dt
        if h < coils:
            coil += flux
            if kept > par[q + TWO]:
                wet[books + np.uint64(V_DRAIN)] -= kept - par[q + TWO]
                kept = par[q + TWO]
        wet[held + h] = kept
        y[record[SEVEN * h + np.uint64(6)]] = flux * H_VAPOUR_J_PER_KG
        latent += flux * H_VAPOUR_J_PER_KG
        through += abs(flux)
    plan.work_view(pi, w, W_ACC)[A_LATENT] += latent * dt
    plan.work_view(pi, w, W_Z)[Z_WATER] = coil
    return through


@kernel_part
def _book(pi: Ints, pf: Floats, w: Floats, row: Floats, through: float, dt: float) -> None:
    """Book the water that people, leaks and streams bring and take, with the numbers just solved."""
    b = plan.work_view(pi, w, W_B)
    wet = plan.work_view(pi, w, W_WET)
    mdot = plan.work_view(pi, w, W_MDOT)
    g = plan.work_view(pi, w, W_G)
    books = np.uint64(wet.shape[0]) - np.uint64(N_WATER)
    came = 0.0
    left = 0.0
    mb = plan.int_view(pi, I_MB)
    for e in range(np.uint64(0), np.uint64(mb.shape[0]), THREE):
        m = mdot[mb[e + ONE]]
        if mb[e + TWO] == 0:
            m = -m
        if m >= 0.0:
            came += m * row[D_W]
        else:
            left += m * b[mb[e]]
    mz = plan.int_view(pi, I_MZ)
    share = plan.float_view(pi, pf, F_SHARE)
    shares = 0.0
    for z in range(np.uint64(share.shape[0])):
        m = g[mz[TWO * z + ONE]] / CP_AIR_J_PER_KG_K
        came += m * row[D_W]
        left -= m * b[mz[TWO * z]]
        shares += share[z]
    people = MOISTURE_KG_PER_S * row[D_PEOPLE]
    wet[books + np.uint64(V_PEOPLE)] += shares * people * dt
    wet[books + np.uint64(V_CLOTHES)] += shares * (row[D_MOIST] - people) * dt
    wet[books + np.uint64(V_IN)] += came * dt
    wet[books + np.uint64(V_OUT)] += left * dt
    wet[books + np.uint64(V_THROUGH)] += (shares * row[D_MOIST] + came - left + through) * dt


@kernel_jit
def step_moisture(pi: Ints, pf: Floats, w: Floats, row: Floats, dt: float) -> None:
    """Move humidity and carbon dioxide over a step; fill the latent heat of every coil and pane."""
    b = plan.work_view(pi, w, W_B)
    n = np.uint64(b.shape[0])
    if n == 0:
        return
    a = plan.work_view(pi, w, W_A)
    wet = plan.work_view(pi, w, W_WET)
    elim = plan.int_view(pi, I_ELIM)
    rdt = 1.0 / dt
    _ready_holders(pi, pf, w, row[D_P], dt)
    first = np.uint64(0)
    outside = row[D_W]
    source = row[D_MOIST]
    while True:  # humidity, again if a holder ran dry; then carbon dioxide
        _carry(pi, pf, w, first, outside, source, rdt)
        if first == 0:
            _add_holders(pi, w, rdt)
        eliminate(elim, a, b)
        if first == 0 and not _moved(pi, w, dt):
            continue
        if first == 0:
            _book(pi, pf, w, row, _keep(pi, pf, w, dt), dt)
        for i in range(n):
            wet[first + i] = b[i]
        if first > 0:
            break
        first = n
        outside = CO2_OUTSIDE_PPM
        source = CO2_PPM_KG_PER_S * row[D_PEOPLE]
    plan.work_view(pi, w, W_EXT)[X_W] = wet[plan.int_view(pi, I_MZ)[0]]
