"""What one point comes to: the terms of its score in watts, as a line of the why-record."""

from __future__ import annotations

import math

import numpy as np

from heatwright.kernel import dispatch_names as dn
from heatwright.kernel import plan
from heatwright.kernel.desk import AIR_ALONE, GROUP_CABIN, GROUP_DRIVE, GROUP_PACK, SUPPLIES, ZERO_K, Desk
from heatwright.kernel.frost import freezing_kg_per_s
from heatwright.kernel.names import D_DRIVING, D_LV, D_P, D_SETPOINT, Z_NUSED, Z_ON, Z_PC
from heatwright.kernel.plan import Floats, Ints
from heatwright.kernel.power import AWAKE_W, P_AWAKE
from heatwright.physics.jit import kernel_jit
from heatwright.physics.moist_air import saturation_humidity_ratio

I_ZGLASS, I_MZ, I_COIL, I_MH, I_CIRC, I_DVKIND = (plan.I[k] for k in "zn_glass mz mo_coil mh circ dv_kind".split())
F_DR, F_CX = plan.F["dr_par"], plan.F["cx_par"]
W_TAU, W_CAP, W_WET, W_Z, W_PDEV = (plan.W[k] for k in "tau cap wet z pdev".split())
CONDENSING_W = 5.0
ROOT_2 = math.sqrt(2.0)


@kernel_jit
def judge_power(pi: Ints, pf: Floats, w: Floats, row: Floats, bought_w: float, out: Floats) -> None:
    """Fill electricity: devices, compressors, what is `bought` as heat, and a car kept awake."""
    power = plan.work_view(pi, w, W_PDEV)
    kind = plan.int_view(pi, I_DVKIND)
    electric = bought_w
    for i in range(kind.shape[0]):
        if kind[i] != 0:
            electric += power[i]
    circ = plan.int_view(pi, I_CIRC)
    speed = 0.0
    for i in range(circ.shape[0]):
        own = pi[np.int64(circ[i]) :]
        z = plan.work_view(own, w, W_Z)
        if z[Z_ON] > 0.0:
            electric += z[Z_PC] + plan.float_view(own, pf, F_CX)[0]
            speed = max(speed, z[Z_NUSED])
    aside = row[D_LV]
    if row[D_DRIVING] <= 0.0 and electric > AWAKE_W:
        aside = max(aside, plan.float_view(pi, pf, F_DR)[P_AWAKE])
    out[dn.R_ELECTRIC] = electric + aside
    out[dn.R_SPEED] = speed


@kernel_jit
def judge_cabin(pi: Ints, w: Floats, now: Floats, row: Floats, d: Desk, c: int, out: Floats) -> None:
    """Fill what the cabin lacks [W of heat in its air, taken as with air alone], and damp at the glass.

    Heat put into coolant on its way to the cabin counts for a part of it. Where heat of the drive unit can get into the
    cabin, so does what the drive unit takes up beyond what it does with air alone, while the cabin is short.
    """
    k = d.settings
    need = d.need
    end = d.end
    tau = plan.work_view(pi, now, W_TAU)
    cap = plan.work_view(pi, w, W_CAP)
    airs = d.airs
    many = d.columns.many
    cabin = 0.0
    short = 0.0
    coming = 0.0
    feeds = d.drive_feeds[0] != 0 and need[dn.N_HEAT] > 0.5
    if c == AIR_ALONE:
        for i in range(airs.shape[0]):
            d.per[i] = d.base[airs[i] * many + d.columns.airs + i]
    drive = 0.0
    for i in range(end.shape[0]):
        if d.supply[c, i] == SUPPLIES:
            coming += cap[i] * (end[i] - tau[i])
        elif d.group[i] == GROUP_DRIVE:
            drive += cap[i] * (end[i] - tau[i])
    if c == AIR_ALONE:
        d.kept[dn.H_DRIVE_ALONE] = drive
    if feeds:
        coming += max(drive - d.kept[dn.H_DRIVE_ALONE], 0.0)
    coming *= k[dn.K_COMING] / (k[dn.K_H] * max(airs.shape[0], 1))
    for i in range(airs.shape[0]):
        per = d.per[i]
        gap = (need[dn.N_TREF + i] - end[airs[i]] - ZERO_K) / per
        band = k[dn.K_BAND] / per
        short += gap
        if need[dn.N_HEAT] > 0.5:
            left = max(gap - max(coming, 0.0), 0.0) if gap > 0.0 else gap
            cabin += k[dn.K_SHORT] * max(left - band, 0.0) + k[dn.K_COVER] * abs(left)
            cabin += k[dn.K_COLD] * max(left - k[dn.K_COLD_K] / per, 0.0)
        elif need[dn.N_COOL] > 0.5:
            left = min(gap - min(coming, 0.0), 0.0) if gap < 0.0 else gap
            cabin += k[dn.K_WARM] * max(-left - band, 0.0) + k[dn.K_COVER] * abs(left)
        else:
            cabin += k[dn.K_COVER_IDLE] * k[dn.K_COVER] * abs(gap)
        off = end[airs[i]] + ZERO_K - row[D_SETPOINT]  # what would wake a need that is not live lacks as it will then
        if need[dn.N_HEAT] < 0.5:
            cabin += k[dn.K_SHORT] * max(k[dn.K_HEAT_ON] - off, 0.0) / per
            if need[dn.N_COOL] < 0.5:
                cabin += k[dn.K_WARM] * max(off - k[dn.K_COOL_ON], 0.0) / per
    out[dn.R_SHORT] = short
    out[dn.R_CABIN] = cabin * need[dn.N_WANTED] * (k[dn.K_FROST_PATIENCE] if need[dn.N_FROST] > 0.5 else 1.0)
    glass = plan.int_view(pi, I_ZGLASS)
    humid = 0.0
    if glass.shape[0] > 0:
        w_air = plan.work_view(pi, w, W_WET)[plan.int_view(pi, I_MZ)[0]]
        for i in range(glass.shape[0]):
            humid = max(humid, w_air / saturation_humidity_ratio(end[glass[i]] + ZERO_K, row[D_P]))
    humid += k[dn.K_DAMP_SHARE] * d.kept[dn.H_DAMP_BIAS]
    fogs = 0.5 + 0.5 * math.erf((humid - k[dn.K_FOG_FROM]) / (ROOT_2 * k[dn.K_FOG_DOUBT]))  # how likely
    damp = k[dn.K_DRY] * min(max(humid - k[dn.K_DAMP_AIM], 0.0), 1.0) + k[dn.K_FOG] * fogs
    out[dn.R_RH] = humid
    out[dn.R_DRY] = damp * need[dn.N_WANTED]


@kernel_jit
def judge_stores(pi: Ints, w: Floats, now: Floats, d: Desk, out: Floats) -> None:
    """Fill the heat that pack, drive unit and cabin take up, what of it was needed, and what it is worth."""
    k = d.settings
    need = d.need
    end = d.end
    tau = plan.work_view(pi, now, W_TAU)
    cap = plan.work_view(pi, w, W_CAP)
    pack = 0.0
    drive = 0.0
    inside = 0.0
    for i in range(end.shape[0]):
        e = cap[i] * (end[i] - tau[i]) / k[dn.K_H]
        if d.group[i] == GROUP_PACK:
            pack += e
        elif d.group[i] == GROUP_DRIVE:
            drive += e
        elif d.group[i] == GROUP_CABIN:
            inside += e
    unmet = 0.0
    if need[dn.N_PACK_IN] > 0.0:
        unmet = max(need[dn.N_PACK_IN] - pack, 0.0)
    elif need[dn.N_PACK_OUT] > 0.0:
        unmet = max(need[dn.N_PACK_OUT] + pack, 0.0)
    out[dn.R_DPACK] = pack
    out[dn.R_DDRIVE] = drive
    out[dn.R_DCABIN] = inside
    out[dn.R_UNMET] = unmet
    out[dn.R_PACK] = k[dn.K_PACK] * unmet
    out[dn.R_DRIVE] = k[dn.K_DRIVE] * max(drive + k[dn.K_DRIVE_W], 0.0) * need[dn.N_DRIVE]
    out[dn.R_STORED] = -need[dn.N_LP] * pack - need[dn.N_LD] * drive - need[dn.N_LC] * inside


@kernel_jit
def judge_limits(pi: Ints, pf: Floats, w: Floats, row: Floats, d: Desk, out: Floats) -> None:
    """Fill frost that is left, and what lies past soft limits.

    Those are a hot drive unit, a freezing coil, water that comes back as fog, and frost that gathers in the wind.
    """
    k = d.settings
    need = d.need
    melt = 0.0
    if need[dn.N_FROST] > 0.5:
        for i in range(d.frost_column.shape[0]):
            melt = max(melt, d.s[d.frost_column[i]])
        melt = max(k[dn.K_FROST_W] - melt, 0.0)
    out[dn.R_FROST] = k[dn.K_FROST] * melt
    soft = 0.0
    for i in range(d.hot_node.shape[0]):
        soft += k[dn.K_DHOT_W] * max(d.end[d.hot_node[i]] + ZERO_K - d.hot_k[i] + k[dn.K_DHOT], 0.0)
    coils = plan.int_view(pi, I_COIL).shape[0]
    held = plan.int_view(pi, I_MH)
    for h in range(coils):
        latent = d.s[d.columns.holders + h]
        if latent > CONDENSING_W:
            soft += k[dn.K_FLASH] * need[dn.N_HEAT] * d.flash[h] * latent
            freezing = min(latent / k[dn.K_ICE_FULL], 1.0) * k[dn.K_ICE_W]
            soft += freezing * max(k[dn.K_ICE] - ZERO_K - d.end[held[7 * h + 3]], 0.0)
    if k[dn.K_FROST_PRICE] > 0.0:
        soft += k[dn.K_FROST_PRICE] * freezing_kg_per_s(pi, pf, w, row, d.end)
    out[dn.R_SOFT] = soft


@kernel_jit
def judge(
    pi: Ints, pf: Floats, w: Floats, now: Floats, row: Floats, d: Desk, c: int, heaters_w: float, loss_w: float,
    out: Floats,
) -> float:  # fmt: skip
    """Fill one line of the why-record for the temperatures in `d.end`; return its score [W]."""
    judge_power(pi, pf, w, row, heaters_w + loss_w, out)
    judge_cabin(pi, w, now, row, d, c, out)
    judge_stores(pi, w, now, d, out)
    judge_limits(pi, pf, w, row, d, out)
    out[dn.R_START] = 0.0
    out[dn.R_LOSS] = loss_w
    out[dn.R_TAIR] = d.end[d.airs[0]] + ZERO_K if d.airs.shape[0] > 0 else 0.0
    out[dn.R_REASON] = 0.0
    out[dn.R_DUTY] = 1.0
    score = 0.0
    for i in range(dn.R_ELECTRIC, dn.R_START + 1):
        score += out[i]
    out[dn.R_SCORE] = score
    return score
