"""The circuit's named places in par, u, out and work, and the default compressor."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# par: what the compressor is (made by circuit_parameters)
PAR_DISPLACEMENT_M3 = 0
PAR_VOLUMETRIC = 1  # 5: base, clearance, leak_hz, throttling_hz, floor
PAR_ISENTROPIC = 6  # 8: best, ratio_best, fall_above, fall_below, fall_speed, speed_best_hz, speed_span_hz, floor
PAR_DRIVE = 14  # 3: best, droop, scale_w
PAR_GAS_SHARE = 17
PAR_P_SUCTION_MIN_PA = 18
PAR_P_DISCHARGE_MAX_PA = 19
PAR_T_DISCHARGE_MAX_K = 20
PAR_RATIO_MAX = 21
PAR_POWER_MAX_W = 22  # electric
PAR_P_LIFT_MIN_PA = 23
PAR_SPEED_MIN_HZ = 24
PAR_P_BYPASS_PA = 25  # suction pressure of the hot-gas cycle; 0 = none
PAR_MAP = 26  # place in par of a measured map (physics/compressor_map.py); 0 = our forms
PAR_ZONES = 27  # 1: exchangers have zones (kernel/zones.py); 0: conductances as given
PAR_AIM_K = 28  # superheat the valves aim at; 0 where an accumulator takes wet vapour
PAR_IHX = 29  # effectiveness of an internal heat exchanger; 0 = none
PAR_CHARGE = 30  # place in par of the charge block (kernel/charge.py); 0 = no mass balance
PAR_H3_SHIFT = 31  # J/kg, what the charge adds to the liquid's enthalpy at the set subcooling
PAR_WET = 32  # 1: suction gas is saturated while liquid boils off
PAR_P_START_PA = 33  # least suction pressure while starting
PAR_START_S = 34  # how long that holds
PAR_LEAST_ON_S = 35
PAR_LEAST_OFF_S = 36
PAR_LIQUID_KG = 37  # liquid in the accumulator after a long stand
PAR_LIQUID_S = 38  # time in which it gathers
PAR_SIZE = 39

# u: kept from step to step
U_T_EVAP = 0  # K
U_T_COND = 1  # K; 0 = never solved
U_SPEED = 2  # 1/s, speed found where the asked one was cut; 0 = it was not
U_KIND = 3  # which pair of equations held: FREE .. BYPASS_PINNED
U_EXTRA = 4  # W, loss the compressor's motor is asked to make on purpose; set by the caller
U_SIZE = 5

# out
OUT_MDOT = 0  # kg/s
OUT_P_LOW = 1  # Pa
OUT_P_HIGH = 2
OUT_H1 = 3  # J/kg, suction
OUT_H2 = 4  # discharge, the gas's share of the drive's loss included
OUT_H3 = 5  # liquid
OUT_T_DISCHARGE = 6  # K, at h2
OUT_P_SHAFT = 7  # W
OUT_P_ELECTRIC = 8
OUT_P_GAS = 9  # m (h2 - h1): shaft and the gas's share of the drive's loss
OUT_P_SHELL = 10  # electric - gas: the loss that leaves through the shell
OUT_P_DIFFERENCE = 11  # sum(hot) - sum(cold) as in q
OUT_RESIDUAL = 12  # difference - gas
OUT_T_EVAP = 13  # K
OUT_T_COND = 14
OUT_SPEED = 15  # 1/s, used
OUT_LIMIT = 16  # LIMIT_ code
OUT_EVALUATIONS = 17  # of the balances, in this call
OUT_OPENING = 18  # share of the cold conductances used: 1, or less where the evaporators are starved
OUT_SUPERHEAT = 19  # K, at the end of the evaporators
OUT_SUBCOOLING = 20  # K, at the end of the condensers
OUT_SUPERHEAT_ROOM = 21  # K, warmest active cold wall - te - superheat
OUT_ATTEMPTS = 22  # Newton runs, in this call
OUT_HOT_OPENING = 23  # share of the hot conductances used: 1, or less where the condensers are slowed
OUT_KIND = 24  # which pair of equations held: FREE .. BYPASS_PINNED
OUT_SUCTION_SUPERHEAT = 25  # K, at the compressor
OUT_WET_MARGIN = 26  # K, superheat less the least stable one
OUT_LEVEL = 27  # of the vessels, 0 to 1; nan: no mass balance
OUT_CHARGE_ERROR_KG = 28  # charge less what circuit and vessels hold
OUT_CHARGE_SHORT = 29  # 1: the vessels are empty, -1: full, 0: between
OUT_SIZE = 30

# kinds; odd ones slow the hot side
FREE, LIFTED, TIED, PINNED, BYPASS, BYPASS_PINNED = range(6)

SPEED_OFF_HZ = 5.0

# work: the point (POINT_SIZE numbers), then ten rows of n_port: wall, ua_hot, ua_cold, hot, cold, two of slopes,
# shift of the condensing temperature, place in the row of condensers and share of the resistance (both from the
# caller, used with zones only); then an isobar: enthalpies, temperatures; then two
# rows, from the caller and used for R744 only: temperatures of the air or coolant before and behind each exchanger
AT_M, AT_ME, AT_MC, AT_H1, AT_H1E, AT_H3, AT_H3C, AT_P, AT_PE, AT_PC, AT_GAS, AT_GASP, AT_ELECTRIC = range(13)
AT_LOW, AT_LOWE, AT_HIGH, AT_HIGHC, AT_QH, AT_DH, AT_QC, AT_DC = range(13, 21)
AT_DRAWN, AT_DRAWNE, AT_DRAWNC, AT_J00, AT_J01, AT_J10, AT_J11, AT_TE, AT_TC, AT_COUNT = range(21, 31)
# from the caller, frozen over a solve (kernel/zones.py): weights of the suction gas at half and at no superheat, share
# of the subcooling that is missing, superheats and subcooling, difference of the evaporators, the motor's extra loss
AT_HALF, AT_NONE, AT_LESS, AT_SUPERHEAT, AT_SUCTION, AT_SUBCOOLING, AT_D, AT_EXTRA = range(31, 39)
POINT_SIZE = 40
LINE = 12  # most nodes of an isobar


def work_size(n_port: int) -> int:
    """Return how many floats of scratch a circuit of n_port exchangers needs."""
    return POINT_SIZE + 12 * n_port + 2 * LINE


def circuit_parameters(
    displacement_m3: float = 34e-6,
    volumetric: tuple[float, ...] = (0.98, 0.015, 0.5, 1000.0, 0.25),
    isentropic: tuple[float, ...] = (0.74, 3.0, 0.12, 0.22, 0.09, 4000.0 / 60.0, 4000.0 / 60.0, 0.35),
    drive: tuple[float, ...] = (0.93, 0.05, 500.0),
    gas_share: float = 0.7,
    p_suction_min_pa: float = 1.1e5,
    p_discharge_max_pa: float = 26e5,
    t_discharge_max_k: float = 393.15,
    ratio_max: float = 12.0,
    power_max_w: float = 4500.0,
    p_lift_min_pa: float = 1.5e5,
    speed_min_hz: float = 800.0 / 60.0,
    p_bypass_pa: float = 0.0,
    zones: bool = False,
    aim_k: float = 5.0,
    internal: float = 0.0,
    measured: Floats | None = None,
    charge: Floats | None = None,
    start: tuple[float, ...] = (0.0,) * 6,
) -> Floats:
    """Return the `par` array of a compressor (defaults: values from memory, 34 cm3), map and charge behind it."""
    measured = np.zeros(0) if measured is None else measured
    charge = np.zeros(0) if charge is None else charge
    at_charge = float(PAR_SIZE + measured.size) if charge.size else 0.0
    return np.array(
        [displacement_m3, *volumetric, *isentropic, *drive, gas_share, p_suction_min_pa, p_discharge_max_pa,
         t_discharge_max_k, ratio_max, power_max_w, p_lift_min_pa, speed_min_hz, p_bypass_pa,
         PAR_SIZE if measured.size else 0.0, float(zones), aim_k, internal, at_charge, 0.0, 0.0, *start,
         *measured, *charge]
    )  # fmt: skip
