"""The packed plan: one unsigned integer array, one float array, one work array, and named sections of each.

A program is `pi` (uint32: header of offsets, then index sections), `pf` (float64: coefficients and tables)
and `w` (float64: state and scratch).  The header of `pi` holds the offsets of every section of the three
arrays, so that a plant of any size is data and compiles nothing.  `Packer` writes the sections, the three
`*_view` functions read them inside compiled code.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heatwright.physics.jit import view_jit

INT_SECTIONS = (
    "dim order diag lptr lrow lslot uslot ucol dst "
    "tr_p tr_q tr_rp tr_rq tr_sp tr_sq tr_r tr_s tr_g "
    "bt_q bt_r bt_slot bt_b bt_g bt_acc "
    "st_a st_b st_m st_aa st_ba st_ab st_bb "
    "bs_n bs_m bs_d bs_b bs_acc "
    "so_n so_y so_acc sd_n sd_col sd_acc "
    "tb_col gd_g gd_col gf_g gf_m gf_n ga_g ga_m gx_g gx_m gx_n gx_a gl_g gl_m "
    "net_j net_b net_e net_np net_node net_fluid br_f br_t br_one el_ptr el_kind el_n el_wptr el_w "
    "dv_kind dv_act dv_n dv_el dv_m pk_n dr_n "
    "rp_wall rp_slot cb_hot cb_cold cb_legal cb_ptr cb_act "
    "zn_air zn_glass zn_fresh zn_in zn_coil sg_kind sg_idx lt_sig rl_yes rl_no ac_kind ac_sig ac_stop fr_idx rc_node"
).split()
FLOAT_SECTIONS = (
    "mass c1 c2 c3 c4 "
    "gc g_c0 g_c1 gf_par ga_par gx_par gl_par el_par fluid so_c sd_c "
    "dv_par pk_par pk_cell dr_par rp_ua cp_par cp_tab "
    "zn_par lt_c ac_c ac_par ac_slew fr_par"
).split()
WORK_SECTIONS = (
    "u ext acc tau taun cap cps hof a b g mdot tb y pdev act actx sig z cs misc hfilm "
    "edrive erho emu tlast ttol mlast net_w net_p tw uah uac cq cdq cout cwork cguess save"
).split()

NI, NF, NW = len(INT_SECTIONS), len(FLOAT_SECTIONS), len(WORK_SECTIONS)
I = {name: k for k, name in enumerate(INT_SECTIONS)}  # noqa: E741
F = {name: k for k, name in enumerate(FLOAT_SECTIONS)}
W = {name: k for k, name in enumerate(WORK_SECTIONS)}
F_BASE = NI + 1
W_BASE = F_BASE + NF + 1
HEADER = W_BASE + NW + 1


@view_jit
def int_view(pi, k):  # type: ignore[no-untyped-def]
    """Return section k of the integer plan as a view."""
    return pi[np.intp(pi[k]) : np.intp(pi[k + 1])]


@view_jit
def float_view(pi, pf, k):  # type: ignore[no-untyped-def]
    """Return section k of the float plan as a view."""
    return pf[np.intp(pi[F_BASE + k]) : np.intp(pi[F_BASE + k + 1])]


@view_jit
def work_view(pi, w, k):  # type: ignore[no-untyped-def]
    """Return section k of the work array as a view."""
    return w[np.intp(pi[W_BASE + k]) : np.intp(pi[W_BASE + k + 1])]


def pack(
    ints: dict[str, NDArray[np.uint32]], floats: dict[str, NDArray[np.float64]], work: dict[str, int]
) -> tuple[NDArray[np.uint32], NDArray[np.float64], int]:
    """Return (pi, pf, work size) from named sections; a section not given is empty."""
    header: list[int] = []
    at = HEADER
    body_i = [np.asarray(ints.get(name, ()), np.uint32).ravel() for name in INT_SECTIONS]
    for part in body_i:
        header.append(at)
        at += part.size
    header.append(at)
    at = 0
    body_f = [np.asarray(floats.get(name, ()), np.float64).ravel() for name in FLOAT_SECTIONS]
    for part in body_f:
        header.append(at)
        at += part.size
    header.append(at)
    at = 0
    for name in WORK_SECTIONS:
        header.append(at)
        at += int(work.get(name, 0))
    header.append(at)
    unknown = (set(ints) - set(I)) | (set(floats) - set(F)) | (set(work) - set(W))
    if unknown:
        raise KeyError(f"unknown plan sections: {sorted(unknown)}")
    pi = np.concatenate([np.array(header, np.uint32), *body_i])
    return pi, np.concatenate(body_f), at


def section(pi: NDArray[np.uint32], array: NDArray, name: str) -> NDArray:
    """Return a named section of pi, pf or w outside compiled code (Python side only)."""
    if array is pi:
        k = I[name]
    elif name in F and name not in W:
        k = F_BASE + F[name]
    else:
        k = W_BASE + W[name]
    return array[int(pi[k]) : int(pi[k + 1])]
