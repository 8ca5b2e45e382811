"""Refrigerant property tables: built once with CoolProp, cached, collapsed for a run.

All tables are aligned with saturation, so no cell straddles the two-phase border: saturation columns over
temperature, superheated vapour over (saturation temperature, superheat) and over (saturation temperature,
entropy above saturation), liquid over (saturation temperature, subcooling).  The cache keeps the values at
the knots; the C2 spline coefficients are worked out on loading.  Enthalpy and entropy are shifted to the IIR
reference (200 kJ/kg and 1 kJ/(kg K) for saturated liquid at 0 degC); CoolProp's own state is left alone.
"""

from __future__ import annotations

import os
import tempfile
import zipfile
from dataclasses import dataclass, field, fields
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heatwright.cache import cache_home
from heatwright.compiler.carbon_dioxide import high_side
from heatwright.physics import refrigerant as layout
from heatwright.physics.zones import CONDENSING_GAS

Floats = NDArray[np.float64]

FORMAT = 5
N_CELL = 140
N_LOW_CELL_R744 = 98  # of those, what reaches up to the critical point; the high side goes on
T_LEAST_LIQUID_K = 219.0  # R744 freezes below
T_FLOOR_K = 223.15
BELOW_CRITICAL_TABLE_K = 4.0
BELOW_CRITICAL_USE_K = 8.0
# knots gather at saturation, where the curves bend most: even steps of the square root
SUPERHEAT_K = 60.0 * np.linspace(0.0, 1.0, 61) ** 2
SUBCOOLING_K = 40.0 * np.linspace(0.0, 1.0, 41) ** 2
ENTROPY_MAX_J_PER_KG_K = {"R1234yf": 320.0, "R134a": 320.0, "R290": 640.0, "R744": 720.0}
N_ENTROPY = 40
FLUIDS = tuple(ENTROPY_MAX_J_PER_KG_K)
FILM_RATIO = {"R744": 0.82}  # gas against condensing (value from memory): a gas cooler is declared as a whole
_NONE = np.zeros(0)


@dataclass(frozen=True, eq=False)
class RefrigerantTables:
    """Knot values of one refrigerant, SI, IIR reference; first axis = saturation temperature.

    R744 has a high side of its own over the gas cooler's outlet temperature (compiler/carbon_dioxide.py), `h_discharge`
    with it; for the others those columns are empty.
    """

    fluid: str
    source: str
    t_critical_k: float
    p_critical_pa: float
    t_saturation_k: Floats
    ln_p_saturation: Floats
    h_liquid_j_per_kg: Floats
    h_vapour_j_per_kg: Floats
    s_liquid_j_per_kg_k: Floats
    s_vapour_j_per_kg_k: Floats
    ln_rho_liquid: Floats
    ln_rho_vapour: Floats
    superheat_k: Floats
    h_suction_j_per_kg: Floats
    ln_rho_suction: Floats
    s_suction_j_per_kg_k: Floats
    subcooling_k: Floats
    h_subcooled_j_per_kg: Floats
    s_subcooled_j_per_kg_k: Floats
    entropy_above_j_per_kg_k: Floats
    h_discharge_j_per_kg: Floats
    t_outlet_k: Floats = field(default_factory=_NONE.copy)
    ln_p_high: Floats = field(default_factory=_NONE.copy)
    h_floor_j_per_kg: Floats = field(default_factory=_NONE.copy)
    s_floor_j_per_kg_k: Floats = field(default_factory=_NONE.copy)
    h_outlet_j_per_kg: Floats = field(default_factory=_NONE.copy)
    s_outlet_j_per_kg_k: Floats = field(default_factory=_NONE.copy)
    t_glide_k: Floats = field(default_factory=_NONE.copy)
    t_isotherm_k: Floats = field(default_factory=_NONE.copy)
    p_isobar_pa: Floats = field(default_factory=_NONE.copy)
    h_isotherm_j_per_kg: Floats = field(default_factory=_NONE.copy)

    @property
    def transcritical(self) -> bool:
        """Whether the high side goes by the gas cooler's outlet."""
        return self.t_outlet_k.size > 0


def refrigerant_tables(fluid: str) -> RefrigerantTables:
    """Return the tables of a refrigerant, from the cache when it holds them, else built and stored."""
    if fluid not in ENTROPY_MAX_J_PER_KG_K:
        raise ValueError(f"no tables for refrigerant {fluid!r}; known: {', '.join(FLUIDS)}")
    file = cache_file(fluid)
    try:
        return _remembered(file, file.stat().st_mtime_ns)
    except (OSError, ValueError, KeyError, zipfile.BadZipFile):
        tables = build_tables(fluid)
        _write(file, tables)
        return tables


def cache_file(fluid: str) -> Path:
    """Return where the tables of a fluid are kept: one file a fluid, CoolProp version and table format."""
    return cache_home() / "tables" / f"{fluid}-coolprop-{version('CoolProp')}-format-{FORMAT}.npz"


def build_tables(fluid: str) -> RefrigerantTables:
    """Return freshly built tables (imports CoolProp, some 3 s; the build itself stays well under 3 s)."""
    import CoolProp.CoolProp as coolprop

    state = coolprop.AbstractState("HEOS", fluid)
    state.update(coolprop.QT_INPUTS, 0.0, 273.15)
    reference = state.hmass() - 200e3, state.smass() - 1000.0
    t_critical_k, p_critical_pa = state.T_critical(), state.p_critical()
    t_k = np.linspace(
        T_FLOOR_K, t_critical_k - BELOW_CRITICAL_TABLE_K, (N_LOW_CELL_R744 if fluid == "R744" else N_CELL) + 1
    )
    entropy = np.linspace(0.0, ENTROPY_MAX_J_PER_KG_K[fluid], N_ENTROPY + 1)
    liquid = np.array([_saturated(coolprop, state, 0.0, t, reference) for t in t_k])
    vapour = np.array([_saturated(coolprop, state, 1.0, t, reference) for t in t_k])
    p_pa = np.exp(vapour[:, 0])
    hot = _isobars(coolprop, state, p_pa, vapour, t_k[:, None] + SUPERHEAT_K, reference)
    below_k = t_k[:, None] - SUBCOOLING_K
    if fluid == "R744":
        below_k = np.maximum(below_k, T_LEAST_LIQUID_K)
    cold = _isobars(coolprop, state, p_pa, liquid, below_k, reference)
    if fluid == "R744":
        step = t_k[1] - t_k[0]
        high = high_side(coolprop, state, reference, T_FLOOR_K + step * np.arange(N_CELL + 1), entropy)
    else:
        high = {"h_discharge_j_per_kg": _discharge(coolprop, state, p_pa, vapour, entropy, reference)}
    return RefrigerantTables(
        fluid=fluid,
        source=f"CoolProp {version('CoolProp')}, format {FORMAT}",
        t_critical_k=t_critical_k,
        p_critical_pa=p_critical_pa,
        t_saturation_k=t_k,
        ln_p_saturation=vapour[:, 0].copy(),
        h_liquid_j_per_kg=liquid[:, 1].copy(),
        h_vapour_j_per_kg=vapour[:, 1].copy(),
        s_liquid_j_per_kg_k=liquid[:, 2].copy(),
        s_vapour_j_per_kg_k=vapour[:, 2].copy(),
        ln_rho_liquid=liquid[:, 3].copy(),
        ln_rho_vapour=vapour[:, 3].copy(),
        superheat_k=SUPERHEAT_K.copy(),
        h_suction_j_per_kg=hot[0],
        s_suction_j_per_kg_k=hot[1],
        ln_rho_suction=hot[2],
        subcooling_k=SUBCOOLING_K.copy(),
        h_subcooled_j_per_kg=cold[0],
        s_subcooled_j_per_kg_k=cold[1],
        entropy_above_j_per_kg_k=entropy,
        **high,
    )


def _discharge(
    coolprop: Any, state: Any, p_pa: Floats, vapour: Floats, entropy: Floats, reference: tuple[float, float]
) -> Floats:
    """Return h at the saturation pressures and entropies above saturated vapour."""
    discharge = np.empty((p_pa.size, entropy.size))
    discharge[:, 0] = vapour[:, 1]
    for i in range(p_pa.size):
        for j in range(1, entropy.size):
            s = vapour[i, 2] + reference[1] + entropy[j]
            state.update(coolprop.PSmass_INPUTS, p_pa[i], s)
            discharge[i, j] = state.hmass() - reference[0]
    return discharge


def _saturated(
    coolprop: Any, state: Any, quality: float, t_k: float, reference: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Return ln p, h, s, ln rho on one side of saturation."""
    state.update(coolprop.QT_INPUTS, quality, t_k)
    p, h, s, rho = state.p(), state.hmass(), state.smass(), state.rhomass()
    return np.log(p), h - reference[0], s - reference[1], np.log(rho)


def _isobars(
    coolprop: Any, state: Any, p_pa: Floats, border: Floats, t_k: Floats, reference: tuple[float, float]
) -> Floats:
    """Return h, s, ln rho along isobars that leave saturation in the first column."""
    out = np.empty((3, *t_k.shape))
    out[:, :, 0] = border[:, 1:].T
    for i in range(t_k.shape[0]):
        for j in range(1, t_k.shape[1]):
            state.update(coolprop.PT_INPUTS, p_pa[i], t_k[i, j])
            h, s, rho = state.hmass(), state.smass(), state.rhomass()
            out[:, i, j] = h - reference[0], s - reference[1], np.log(rho)
    return out


@lru_cache(maxsize=2 * len(FLUIDS))
def _remembered(file: Path, written_ns: int) -> RefrigerantTables:
    """Return the tables of a file as they stood at a time; a plant compiled again need not read them again."""
    return _read(file)


def _read(file: Path) -> RefrigerantTables:
    with np.load(file, allow_pickle=False) as stored:
        values = {f.name: stored[f.name] for f in fields(RefrigerantTables)}
    scalars: dict[str, Any] = {name: v.item() for name, v in values.items() if v.ndim == 0}
    return RefrigerantTables(**{**values, **scalars})


def _write(file: Path, tables: RefrigerantTables) -> None:
    """Store the tables so that a reader never sees half a file."""
    file.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=file.parent, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as stream:
            values: dict[str, Any] = {f.name: getattr(tables, f.name) for f in fields(tables)}
            np.savez(stream, **values)
        os.replace(name, file)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def spline_cells(y: Floats) -> Floats:
    """Return not-a-knot cubic spline coefficients over evenly spaced knots on the first axis.

    Shape (cells, 4, ...): y = c0 + u (c1 + u (c2 + u c3)), u from 0 to 1 inside a cell.
    """
    last = y.shape[0] - 1
    slope = np.empty_like(y)
    slope[1:-1] = 3.0 * (y[2:] - y[:-2])
    slope[0] = 2.0 * y[1] - y[0] - y[2] + 0.5 * slope[1]
    slope[-1] = y[-3] + y[-1] - 2.0 * y[-2] + 0.5 * slope[-2]
    upper = np.empty(last)  # rows (1, 2), (1, 4, 1) ..., (2, 1) eliminated from the top
    upper[0] = 2.0
    for i in range(1, last):
        pivot = 1.0 / (4.0 - upper[i - 1])
        upper[i] = pivot
        slope[i] = (slope[i] - slope[i - 1]) * pivot
    slope[last] = (slope[last] - 2.0 * slope[last - 1]) / (1.0 - 2.0 * upper[last - 1])
    for i in range(last - 1, -1, -1):
        slope[i] -= upper[i] * slope[i + 1]
    rise = y[1:] - y[:-1]
    k0, k1 = slope[:-1], slope[1:]
    return np.stack([y[:-1], k0, 3.0 * rise - 2.0 * k0 - k1, k0 + k1 - 2.0 * rise], axis=1)


def at_column(grid: Floats, values: Floats, where: float) -> Floats:
    """Return 2-D knot values interpolated (C2) at one place of the second axis, even in its square root."""
    if not grid[0] <= where <= grid[-1]:
        raise ValueError(f"{where:.3f} is outside the table, {grid[0]:.1f} to {grid[-1]:.1f} K")
    position = np.sqrt(where / grid[-1]) * (grid.size - 1)
    cell = min(int(position), grid.size - 2)
    return np.vander([position - cell], 4, increasing=True)[0] @ spline_cells(values.T)[cell]


def run_tables(tables: RefrigerantTables, superheat_k: float, subcooling_k: float) -> Floats:
    """Return the one flat array the kernel reads, for fixed superheat and subcooling (layout: physics).

    Suction and liquid become 1-D in the saturation temperature; the discharge table stays 2-D.
    """
    return _flat(tables, superheat_k, subcooling_k).copy()


@lru_cache(maxsize=16)
def _flat(tables: RefrigerantTables, superheat_k: float, subcooling_k: float) -> Floats:
    t = tables
    suction = [
        t.ln_p_saturation,
        at_column(t.superheat_k, t.h_suction_j_per_kg, superheat_k),
        at_column(t.superheat_k, t.ln_rho_suction, superheat_k),
        at_column(t.superheat_k, t.s_suction_j_per_kg_k, superheat_k),
    ]
    bulk = [t.ln_rho_vapour, t.ln_rho_liquid, t.h_vapour_j_per_kg, t.h_liquid_j_per_kg]
    high = (
        [t.ln_p_high, t.h_floor_j_per_kg, t.s_floor_j_per_kg_k, t.h_outlet_j_per_kg]
        if t.transcritical
        else [
            t.ln_p_saturation,
            t.h_vapour_j_per_kg,
            t.s_vapour_j_per_kg_k,
            at_column(t.subcooling_k, t.h_subcooled_j_per_kg, subcooling_k),
        ]
    )
    cells = t.h_discharge_j_per_kg.shape[0] - 1
    more_block = _block(_less_superheat(t, superheat_k), cells)
    bulk_block = _block(bulk, cells)
    low_block = _block(suction, cells)
    high_block = _block(high, cells)
    glide_block = _block(list(t.t_glide_k.T), cells) if t.transcritical else _NONE
    along_t = spline_cells(t.h_discharge_j_per_kg)  # (cell, power of t, entropy)
    along_s = spline_cells(along_t.transpose(2, 0, 1))  # (entropy cell, power of s, cell, power of t)
    discharge = along_s.transpose(2, 0, 3, 1).ravel()  # (cell, entropy cell, power of t, power of s)
    head = np.zeros(layout.TAB_HEAD)
    step = t.t_saturation_k[1] - t.t_saturation_k[0]
    head[layout.TAB_T0] = t.t_saturation_k[0]
    head[layout.TAB_PER_STEP] = 1.0 / step
    head[layout.TAB_LAST_CELL] = cells - 1
    head[layout.TAB_PER_ENTROPY] = 1.0 / t.entropy_above_j_per_kg_k[1]
    head[layout.TAB_N_ENTROPY] = t.entropy_above_j_per_kg_k.size - 1
    head[layout.TAB_LOW] = layout.TAB_HEAD
    head[layout.TAB_HIGH] = layout.TAB_HEAD + low_block.size
    head[layout.TAB_MORE] = head[layout.TAB_HIGH] + high_block.size
    head[layout.TAB_BULK] = head[layout.TAB_MORE] + more_block.size
    head[layout.TAB_DISCHARGE] = head[layout.TAB_BULK] + bulk_block.size
    head[layout.TAB_T_MIN] = t.t_saturation_k[0]
    head[layout.TAB_T_MAX] = head[layout.TAB_T_LOW_MAX] = t.t_critical_k - BELOW_CRITICAL_USE_K
    head[layout.TAB_P_LOW_MAX_PA] = np.exp(np.interp(head[layout.TAB_T_LOW_MAX], t.t_saturation_k, t.ln_p_saturation))
    head[layout.TAB_FILM] = FILM_RATIO.get(t.fluid, CONDENSING_GAS)
    head[layout.TAB_SUPERHEAT] = superheat_k
    head[layout.TAB_SUBCOOLING] = subcooling_k
    _note_heats(head, t)
    if t.transcritical:
        head[layout.TAB_T_MAX] = t.t_outlet_k[-1]
        head[layout.TAB_SUBCOOLING] = 0.0
        head[layout.TAB_GLIDE] = head[layout.TAB_DISCHARGE] + discharge.size
    return np.concatenate([head, low_block, high_block, more_block, bulk_block, discharge, glide_block])


def _note_heats(head: Floats, t: RefrigerantTables) -> None:
    """Fill in the gas's heat capacity and the heat that evaporating takes, at the usual temperatures."""
    cold = t.t_saturation_k.searchsorted(273.15)
    gas = t.h_suction_j_per_kg[cold, :2]
    head[layout.TAB_CP_GAS] = (gas[1] - gas[0]) / (t.superheat_k[1] - t.superheat_k[0])
    leaving = np.interp(308.15, t.t_saturation_k, t.h_liquid_j_per_kg)
    if t.transcritical:
        leaving = np.interp(303.15, t.t_outlet_k, t.h_outlet_j_per_kg)
    head[layout.TAB_LATENT] = t.h_vapour_j_per_kg[cold] - leaving


def _less_superheat(t: RefrigerantTables, superheat_k: float) -> list[Floats]:
    """Return the columns of suction gas at half the superheat and at none."""
    return [
        column
        for part in (0.5 * superheat_k, 0.0)
        for column in (
            at_column(t.superheat_k, t.h_suction_j_per_kg, part),
            at_column(t.superheat_k, t.ln_rho_suction, part),
            at_column(t.superheat_k, t.s_suction_j_per_kg_k, part),
        )
    ]


def _block(columns: list[Floats], cells: int) -> Floats:
    """Return a block of cubics, a row a cell; where the columns end early the last cell stands for the rest."""
    rows = spline_cells(np.stack(columns, axis=1)).transpose(0, 2, 1)
    rest = np.repeat(rows[-1:], cells - rows.shape[0], axis=0)
    return np.concatenate([rows, rest]).ravel()
