"""Fixed places in the driver rows, extra state, derived signals, counters and reserved ledger terms."""

from __future__ import annotations

# driver columns (one row a step, means over the step)
DRIVERS = (
    "one tau_ambient w_ambient p_ambient speed driving plugged station_w wanted occupied t_setpoint_k sun_w_per_m2 "
    "occupants low_voltage_w wheel_w loss_copper_w loss_iron_w loss_rotor_w loss_inverter_w gear_viscous_w "
    "gear_churn_w gear_mesh_w ram_m_per_s rho_air moisture_kg_per_s infiltration_kg_per_s tau_sky "
    "converter_inside_w motor_rad_per_s sun_cabin_w"
).split()
(
    D_ONE, D_TAU, D_W, D_P, D_SPEED, D_DRIVING, D_PLUGGED, D_STATION, D_WANTED, D_OCCUPIED, D_SETPOINT, D_SUN,
    D_PEOPLE, D_LV, D_WHEEL, D_CU, D_FE, D_ROT, D_INV, D_GV, D_GC, D_GM, D_RAM, D_RHO, D_MOIST, D_INFIL, D_SKY,
    D_CONV, D_OMEGA, D_SUNCABIN,
) = range(30)  # fmt: skip
# heat on purpose at the most, use of the torque there is, what the road asks beyond it, and what the plug is for
DRIVERS += (
    "extra_copper_w extra_iron_w extra_inverter_w torque_used wheel_short_w charge_to fast prepare charging".split()
)
D_XCU, D_XFE, D_XINV, D_TUSED, D_WSHORT, D_CHARGETO, D_FAST, D_CHARGING = (
    DRIVERS.index(name)
    for name in "extra_copper_w extra_iron_w extra_inverter_w torque_used wheel_short_w charge_to fast charging".split()
)
N_DRIVERS = len(DRIVERS)

# extra state beside the node energies: charge, humidity ratio of the first zone (its start: of all cabin air), ice on
# every screen at the start [kg/m2], heat that frees a kilogram of it: warming and melting [J/kg], the compressor's
# clock (s run, or s stood below 0), liquid gathered in the accumulator, how long braking has put more into the pack
# than it may for long [s]
X_SOC, X_W, X_ICE, X_ICEHEAT, X_CLOCK_S, X_LIQUID_KG, X_PULSE = range(7)
N_EXTRA = 7

# derived signals
DERIVED = (
    "one fog_margin_k rh_cabin soc t_pack_hottest_k t_pack_coldest_k t_vent_target_k p_discharge_pa p_suction_pa "
    "compressor_on w_cabin p_compressor_w speed_used_hz limit p_station_w p_pack_w i_pack_a q_pack_w "
    "p_traction_w p_low_voltage_w regen_share dew_k circuit_residual_w t_discharge_k mdot_refrigerant_kg_per_s "
    "p_friction_brake_w water_kg_per_s q_hot_w q_cold_w superheat_k valve_share compressor_map_left "
    "wet_return_margin_k subcooling_k compressor_hold store_level charge_short charge_error_kg liquid_in_accumulator_kg"
).split()
(
    Z_ONE, Z_FOG, Z_RH, Z_SOC, Z_PMAX, Z_PMIN, Z_VENT, Z_PH, Z_PL, Z_ON, Z_WC, Z_PC, Z_NUSED, Z_LIMIT, Z_STATION,
    Z_PPACK, Z_IPACK, Z_QPACK, Z_TRACTION, Z_LV, Z_REGEN, Z_DEW, Z_RESID, Z_TD, Z_MREF, Z_BRAKE, Z_WATER, Z_QHOT,
    Z_QCOLD, Z_SH, Z_MAY, Z_MAPLEFT, Z_WET, Z_SC, Z_HOLD, Z_LEVEL, Z_SHORT, Z_CERR, Z_LIQUID,
) = range(39)  # fmt: skip
# drive unit: torque allowed and by which limit, heat on purpose, power short; pack: limits and best charging window
DERIVED += (
    "drive_share drive_limit p_drive_heat_w p_drive_short_w p_give_limit_w p_take_limit_w t_charge_best_k "
    "t_charge_hot_k pulse_s"
).split()
Z_DSHARE, Z_DLIMIT, Z_DHEAT, Z_DSHORT, Z_GIVE, Z_TAKE, Z_TBEST, Z_THOT, Z_PULSE = (
    DERIVED.index(name)
    for name in (
        "drive_share drive_limit p_drive_heat_w p_drive_short_w p_give_limit_w p_take_limit_w t_charge_best_k "
        "t_charge_hot_k pulse_s"
    ).split()
)
N_DERIVED = len(DERIVED)
# those that every refrigerant circuit has; the signals of a further circuit lie in a block of their own, as many places
OF_CIRCUIT = (
    "p_discharge_pa p_suction_pa compressor_on p_compressor_w speed_used_hz limit circuit_residual_w t_discharge_k "
    "mdot_refrigerant_kg_per_s q_hot_w q_cold_w superheat_k valve_share compressor_map_left wet_return_margin_k "
    "subcooling_k compressor_hold store_level charge_short charge_error_kg liquid_in_accumulator_kg"
).split()

# reserved ledger terms [J]; the compiler appends one term per source, outside link and outside stream group
TERMS = (
    "throughput pack_chemistry station road_work low_voltage charger_loss heater_loss "
    "latent compressor_standby circuit_residual_abs use_traction use_compressor use_low_voltage use_pack_loss "
    "use_friction_brake ice_on_glass"
).split()
(
    A_THROUGH, A_CHEM, A_STATION, A_ROAD, A_LV, A_CHARGER, A_HEATER, A_LATENT, A_STANDBY, A_RESID,
    U_TRACTION, U_COMPRESSOR, U_LV, U_PACK, U_BRAKE, A_ICE,
) = range(16)  # fmt: skip
TERMS += "use_drive_heat short_drive charged".split()
U_DHEAT, S_DRIVE, S_CHARGED = (TERMS.index(name) for name in ("use_drive_heat", "short_drive", "charged"))
N_TERMS = len(TERMS)

# counters (solver health)
COUNTERS = (
    "circuit_failed circuit_retried circuit_limited flow_solves flow_failed rule_changes newton_iterations "
    "pack_power_capped compressor_steps energy_error_j temperature_error_k steps_redone compressor_map_left "
    "wet_return charge_short charge_over compressor_starts"
).split()
(
    M_FAILED, M_RETRIED, M_LIMITED, M_FLOWS, M_FLOWFAIL, M_RULES, M_NEWTON, M_CAPPED, M_CSTEPS, M_EERR, M_TERR,
    M_REDONE, M_MAPLEFT, M_WET, M_SHORT, M_OVER, M_STARTS,
) = range(17)  # fmt: skip
N_COUNTERS = len(COUNTERS)

# terms of the water ledger [kg], at the end of the section `wet`; the first is a magnitude
WATER_TERMS = "throughput people wet_clothes air_from_outside air_to_outside coil_drain ice_run_off".split()
V_THROUGH, V_PEOPLE, V_CLOTHES, V_IN, V_OUT, V_DRAIN, V_ICE = range(7)
N_WATER = len(WATER_TERMS)
