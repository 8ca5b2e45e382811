"""The packed plan: one unsigned integer array, one float array, one work array, and named sections of each.

A program is `pi` (uint32: header of offsets, then index sections), `pf` (float64: coefficients and tables)
and `w` (float64: state and scratch).  The header of `pi` holds the offsets of every section of the three
arrays, so that a plant of any size is data and compiles nothing.  `pack` writes the sections, the three `*_view`
intrinsics read them inside compiled code (an intrinsic, because a call without reference counting may not
return an array, and inlined Python would be compiled again at every use), `section` outside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic
from numpy.typing import NDArray

Ints = NDArray[np.uint32]
Floats = NDArray[np.float64]
Records = NDArray[np.float32]

INT_RECORDS = {
    "tr": "rp rq sp sq g p q r s",
    "bt": "q b g acc",
    "st": "a b m ab ba",
    "bs": "n m d b acc",
    "so": "n y acc",
    "sd": "n col acc",
    "gd": "g col",
    "gf": "g m n",
    "ga": "g m",
    "gx": "g m n a",
    "gl": "g m",
    "gp": "g ma na mb nb",
    "fx": "n a g y x",
    "ms": "a b m ab ba",
    "mb": "n m d",
    "mz": "n g",
    "mh": "i o s node g z y",
    "mi": "glass air ga go col sun h y jet gj",
}
FLOAT_RECORDS = {"body": "mass c1 c2 c3 c4", "gdf": "g_c0 g_c1"}
"""Sections of records: the loops of the step read them front to back, one pointer instead of one per column."""

INT_SECTIONS = (
    "dim elim tr bt st bs so sd tb_col gd gf ga gx gl gp "
    "net_j net_b net_e net_np net_node net_fluid br_f br_t br_one el_ptr el_kind el_n el_wptr el_w "
    "dv_kind dv_act dv_n dv_el dv_m pk_n dr_n "
    "rp_wall rp_slot cb_hot cb_cold cb_legal cb_ptr cb_act cb_rank cx_loss cx_act cx_y rp_in rp_out "
    "circ zn_air zn_glass sg_kind sg_idx lt_sig rl_yes rl_no ac_kind ac_sig ac_stop fr_idx rc_node "
    "fx dr_act ch_n ms mb mz mh mi mo_coil mo_elim"
).split()
FLOAT_SECTIONS = (
    "body gc gdf gf_par ga_par gx_par gl_par gp_par el_par fluid so_c sd_c "
    "dv_par pk_par pk_cell dr_par rp_ua rp_share cp_par cp_tab cx_par "
    "lt_c ac_c ac_par ac_slew fr_par fx_par dr_lim mo_kg mz_share mh_par mi_par sg_par"
).split()
WORK_SECTIONS = (
    "u ext frost wet acc tau taun cap cps hof a b g mdot tb y pdev act actx sig z cs misc hfilm "
    "edrive erho emu tlast ttol mlast moved net_w net_p tw uah uac cq cdq cout cwork cguess cpnow save gfilm "
    "wa wb hold dew seen"
).split()

NI, NF, NW = len(INT_SECTIONS), len(FLOAT_SECTIONS), len(WORK_SECTIONS)
I = {name: k for k, name in enumerate(INT_SECTIONS)}  # noqa: E741
F = {name: k for k, name in enumerate(FLOAT_SECTIONS)}
W = {name: k for k, name in enumerate(WORK_SECTIONS)}
COLUMNS = {f"{name}_{c}": (name, k, len(r.split())) for name, r in INT_RECORDS.items() for k, c in enumerate(r.split())}
COLUMNS |= {c: (name, k, len(r.split())) for name, r in FLOAT_RECORDS.items() for k, c in enumerate(r.split())}
"""Column of a record: its section, place and the record's length."""
F_BASE = NI + 1
W_BASE = F_BASE + NF + 1
HEADER = W_BASE + NW + 1
CIRCUIT = {
    0: "rp_wall rp_slot cb_hot cb_cold cb_legal cb_ptr cb_act cb_rank cx_loss cx_act cx_y rp_in rp_out".split(),
    F_BASE: "rp_ua rp_share cp_par cp_tab cx_par".split(),
    W_BASE: "tw uah uac cq cdq cout cwork cguess cpnow".split(),
}
"""Sections that every refrigerant circuit has of its own, by where their offsets start; each group stands together.

A header holds where a section starts, which is where the one before it ends. Nothing that a circuit reads may stand
right behind a group: in the header of a further circuit that section starts where the group's own data end.
"""


def _section(context: Any, builder: Any, pi: Any, array_type: Any, array: Any, k: Any) -> Any:
    """Emit a view of section k, whose ends stand in pi[k] and pi[k + 1]."""
    whole = context.make_array(array_type)(context, builder, array)
    view = context.make_array(array_type)(context, builder)
    cgutils.copy_struct(view, whole)
    intp = context.get_value_type(types.intp)
    first, last = (builder.zext(builder.load(builder.gep(pi.data, [builder.add(k, intp(d))])), intp) for d in (0, 1))
    size = builder.sub(last, first)
    view.data = builder.gep(whole.data, [first])
    view.nitems = size
    view.shape = cgutils.pack_array(builder, [size])
    return view._getvalue()


def _int_view(typingctx: Any, pi: Any, k: Any) -> Any:
    """Return section k of the integer plan as a view: int_view(pi, k)."""

    def codegen(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        header = context.make_array(signature.args[0])(context, builder, args[0])
        return _section(context, builder, header, signature.args[0], args[0], args[1])

    return pi(pi, types.intp), codegen


def _view_of(base: int) -> Any:
    def view(typingctx: Any, pi: Any, array: Any, k: Any) -> Any:
        def codegen(context: Any, builder: Any, signature: Any, args: Any) -> Any:
            header = context.make_array(signature.args[0])(context, builder, args[0])
            place = builder.add(args[2], context.get_value_type(types.intp)(base))
            return _section(context, builder, header, signature.args[1], args[1], place)

        return array(pi, array, types.intp), codegen

    return view


int_view: Any = intrinsic(_int_view)
float_view: Any = intrinsic(_view_of(F_BASE))
work_view: Any = intrinsic(_view_of(W_BASE))


@dataclass(frozen=True)
class Further:
    """A refrigerant circuit beyond the first: sections of its own, and its place inside two sections of the whole.

    `ints`, `floats` and `work` name the sections of `CIRCUIT` only; `inside` gives (offset, size) within `ext` and `z`.
    """

    ints: dict[str, Any]
    floats: dict[str, Any]
    work: dict[str, int]
    inside: dict[str, tuple[int, int]]


def pack(
    ints: dict[str, NDArray[np.uint32]],
    floats: dict[str, NDArray[np.float64]],
    work: dict[str, int],
    further: Sequence[Further] = (),
) -> tuple[NDArray[np.uint32], NDArray[np.float64], int]:
    """Return (pi, pf, work size) from named sections and columns of records; one not given is empty.

    Each further circuit gets a header of its own behind the first: the offsets of the whole, but its own for the
    sections of a circuit. `pi[circ[c]:]` is then a plan in which those of circuit c stand in their usual places.
    """
    unknown = (set(ints) | set(floats)) - set(I) - set(F) - set(COLUMNS) | (set(work) - set(W))
    if unknown:
        raise KeyError(f"unknown plan sections: {sorted(unknown)}")
    ints, floats = _interleave(ints, INT_RECORDS, "{0}_{1}"), _interleave(floats, FLOAT_RECORDS, "{1}")
    body_i = [np.asarray(ints.get(name, ()), np.uint32).ravel() for name in INT_SECTIONS]
    body_f = [np.asarray(floats.get(name, ()), np.float64).ravel() for name in FLOAT_SECTIONS]
    lengths = ([p.size for p in body_i], [p.size for p in body_f], [int(work.get(n, 0)) for n in WORK_SECTIONS])
    first = HEADER * (1 + len(further))
    header: list[int] = []
    ends = []
    for sizes, at in zip(lengths, (first, 0, 0), strict=True):
        header += (edges := [at + sum(sizes[:k]) for k in range(len(sizes) + 1)])
        ends.append(edges[-1])
    headers = [np.array(header, np.uint32)]
    for number, one in enumerate(further, 1):
        headers.append(_header_of(header, one, number, ends, body_i, body_f))
    pi, pf = np.concatenate([*headers, *body_i]), np.concatenate(body_f)
    validate(pi, pf)
    return pi, pf, ends[2]


def _header_of(
    main: list[int], one: Further, number: int, ends: list[int], body_i: list[Any], body_f: list[Any]
) -> NDArray[np.uint32]:
    """Return the header of a further circuit; its data go behind those of the whole, whose ends move on."""
    header = np.array(main)
    for kind, (base, names) in enumerate(CIRCUIT.items()):
        for name in names:
            data = (
                np.asarray((one.ints, one.floats)[kind].get(name, ()), (np.uint32, np.float64)[kind])
                if kind < 2
                else None
            )
            k = base + (I, F, W)[kind][name]
            size = int(one.work[name]) if data is None else data.size
            header[k], header[k + 1] = ends[kind], ends[kind] + size
            ends[kind] += size
            if data is not None:
                (body_i, body_f)[kind].append(data.ravel())
    for name, (offset, size) in one.inside.items():
        k = W_BASE + W[name]
        header[k], header[k + 1] = main[k] + offset, main[k] + offset + size
    header[:F_BASE] -= HEADER * number
    return header.astype(np.uint32)


def circuits(pi: Ints) -> list[Ints]:
    """Return one plan for each refrigerant circuit, in which its sections stand in their usual places."""
    return [pi[int(at) :] for at in section(pi, pi, "circ")]


def _interleave(given: dict[str, Any], records: dict[str, str], label: str) -> dict[str, Any]:
    """Return the sections with the columns of every record merged into one."""
    out = dict(given)
    for name, columns in records.items():
        found = [np.asarray(out.pop(label.format(name, c), ())) for c in columns.split()]
        if any(column.size for column in found):
            out[name] = np.stack(found, axis=1)
    return out


POINTS_INTO = {
    "tau": "tr_p tr_q tr_r tr_s bt_q bs_n so_n sd_n st_a st_b gf_n gx_n gp_na gp_nb net_node el_n dv_n pk_n dr_n "
    "rp_wall zn_air zn_glass fx_n fx_a ch_n mh_node mi_glass mi_air mi_jet rp_in rp_out",
    "a": "tr_rp tr_rq tr_sp tr_sq st_ab st_ba rp_slot",
    "wa": "ms_ab ms_ba mh_s",
    "wb": "ms_a ms_b mb_n mz_n mh_i mh_o",
    "dew": "mh_z",
    "g": "tr_g bt_g gd_g gf_g ga_g gx_g gl_g gp_g fx_g mz_g mh_g mi_ga mi_go mi_gj",
    "mdot": "st_m bs_m gf_m ga_m gx_m gx_a gl_m gp_ma gp_mb dv_m ms_m mb_m mo_coil",
    "tb": "bt_b bs_b",
    "acc": "bt_acc bs_acc so_acc sd_acc",
    "y": "so_y fx_y fx_x mh_y mi_h mi_y cx_y",
    "act": "dv_act el_w cb_act cx_loss cx_act dr_act",
    "sig": "ac_sig lt_sig",
    "edrive": "dv_el",
}
"""Which index sections point into which section of the work array."""


def validate(pi: Ints, pf: Floats) -> None:
    """Raise IndexError if an index of the plan points outside its section, ValueError for a number that is none.

    Compiled code does not look: its indices are unsigned and unchecked.
    """
    everything = {name for names in POINTS_INTO.values() for name in names.split()}
    _validate_indices(pi, everything)
    for further in circuits(pi)[1:]:
        _validate_indices(further, everything & set(CIRCUIT[0]))
    dim = section(pi, pi, "dim")
    _validate_elimination(pi, "elim", int(dim[0]), int(dim[2]))
    sizes = [int(pi[W_BASE + W[k] + 1]) - int(pi[W_BASE + W[k]]) for k in ("wb", "wa")]
    _validate_elimination(pi, "mo_elim", *sizes)
    if not np.all(np.isfinite(pf)):
        bad = [n for n in FLOAT_SECTIONS if not np.all(np.isfinite(section(pi, pf, n)))]
        raise ValueError(f"plan sections {bad} hold values that are not finite numbers")


def _validate_indices(pi: Ints, looked_at: set[str]) -> None:
    """Raise IndexError if one of these sections points outside the one it points into."""
    for target, names in POINTS_INTO.items():
        k = W_BASE + W[target]
        size = int(pi[k + 1]) - int(pi[k])
        for name in looked_at & set(names.split()):
            indices = section(pi, pi, name)
            if indices.size and int(indices.max()) >= size:
                raise IndexError(f"plan section {name} points to {int(indices.max())} of {size} in {target}")


def _validate_elimination(pi: Ints, name: str, n: int, slots: int) -> None:
    """Raise IndexError if the programme of the elimination (see compiler/elimination.py) does not hold together."""
    elim = section(pi, pi, name)
    if not elim.size:
        return
    at = 0
    for half in ("down", "up"):
        for _ in range(n):
            if at + 2 > elim.size:
                raise IndexError(f"plan section {name} ends on its way {half}")
            c = int(elim[at + 1])
            stride = 1 + c if half == "down" else 1  # a node's pair, and on the way down c pairs of slots behind it
            body = elim[at + 2 : at + 2 + 2 * c * stride].reshape(-1, 2)
            most = np.where(np.arange(c * stride) % stride == 0, n, slots)
            if body.shape[0] != c * stride:
                raise IndexError(f"plan section {name} ends on its way {half}")
            if elim[at] >= n or np.any(body[:, 0] >= slots) or np.any(body[:, 1] >= most):
                raise IndexError(f"plan section {name} points outside the matrix on its way {half}")
            at += 2 + body.size
    if at != elim.size:
        raise IndexError(f"plan section {name} goes on after its way up")


def section(pi: NDArray[np.uint32], array: NDArray, name: str) -> NDArray:
    """Return a named section of pi, pf or w, or a column of a record, outside compiled code (Python side only)."""
    if name in COLUMNS and name not in W:
        name, first, length = COLUMNS[name]
        return section(pi, array, name)[first::length]
    if array is pi:
        k = I[name]
    elif name in F and name not in W:
        k = F_BASE + F[name]
    else:
        k = W_BASE + W[name]
    return array[int(pi[k]) : int(pi[k + 1])]
