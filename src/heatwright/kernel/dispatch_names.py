"""Fixed places in the arrays of the dispatch: settings, needs, latches, what is kept between decisions, rows."""

from __future__ import annotations

SETTINGS = (
    "horizon_s period_s dwell_s regret_j regret_fade start_cost_w air_time_s band_k "
    "short_weight cover_weight cover_idle dry_weight_w pack_weight drive_weight frost_weight coming_weight "
    "heat_on_k heat_off_k cool_on_k cool_off_k dry_on dry_off damp_aim "
    "pack_cold_k pack_cold_width_k pack_cold_power_w pack_hot_driving_k pack_hot_charging_k pack_hot_width_k "
    "pack_hot_power_w pack_hot_slope_w_per_k pack_hot_most_w drive_cool_on_k drive_cool_off_k drive_aim_w "
    "frost_on_kg frost_off_kg frost_air_k frost_power_w frost_patience coil_least_k coil_weight_w_per_k "
    "drive_margin_k drive_hot_weight_w_per_k far_rest_s far_rest_most_s near_rest_s knob_rest_s far_gap_w near_gap_w "
    "bias_gain bias_error_k bias_most_k pulse_above_k pulse_below_k fresh_least blower_least "
    "fog_weight_w fog_from flash_weight flash_switch coil_full_w fog_doubt cold_weight cold_gap_k warm_weight "
    "far_share asleep_rest passive_price_least lifted_price_least frost_price_j_per_kg damp_share damp_most"
).split()
"""Fields of `dispatch.settings.Settings` that the kernel reads, in its order."""
(
    K_H, K_PERIOD, K_DWELL, K_REGRET, K_FADE, K_START, K_APPROACH, K_BAND,
    K_SHORT, K_COVER, K_COVER_IDLE, K_DRY, K_PACK, K_DRIVE, K_FROST, K_COMING,
    K_HEAT_ON, K_HEAT_OFF, K_COOL_ON, K_COOL_OFF, K_DRY_ON, K_DRY_OFF, K_DAMP_AIM,
    K_FLOOR, K_FLOOR_WIDTH, K_FLOOR_W, K_HOT, K_HOT_CHARGE, K_HOT_WIDTH,
    K_HOT_W, K_HOT_W_PER_K, K_HOT_MOST, K_DRIVE_ON, K_DRIVE_OFF, K_DRIVE_W,
    K_FROST_ON, K_FROST_OFF, K_FROST_T, K_FROST_W, K_FROST_PATIENCE, K_ICE, K_ICE_W,
    K_DHOT, K_DHOT_W, K_LAZY, K_LAZY_MOST, K_LAZY_NEAR, K_KNOB_REST, K_FAR, K_NEAR,
    K_BIAS, K_BIAS_STEP, K_BIAS_MOST, K_PULSE_ABOVE, K_PULSE_BELOW, K_FRESH, K_BLOWER_LEAST, K_FOG,
    K_FOG_FROM, K_FLASH, K_FLASH_SWITCH, K_ICE_FULL, K_FOG_DOUBT, K_COLD, K_COLD_K, K_WARM,
    K_FAR_SHARE, K_ASLEEP_REST, K_PASSIVE, K_LIFTED, K_FROST_PRICE, K_DAMP_SHARE, K_DAMP_MOST,
) = range(len(SETTINGS))  # fmt: skip

LATCHES = "heat cool dry pack_warm pack_cool drive_cool frost".split()
L_HEAT, L_COOL, L_DRY, L_PACK_WARM, L_PACK_COOL, L_DRIVE, L_FROST = range(len(LATCHES))
B_PASSIVE = len(LATCHES)  # a further bit of `serves`: heat gets into the pack without being lifted or bought

NEEDS = (
    "wanted heat cool dry pack_in_w pack_out_w drive frost price_pack price_drive price_cabin humid t_ref t_ref_2"
).split()
N_WANTED, N_HEAT, N_COOL, N_DRY, N_PACK_IN, N_PACK_OUT, N_DRIVE, N_FROST, N_LP, N_LD, N_LC, N_HUMID, N_TREF, _ = range(
    len(NEEDS)
)

ROW = (
    "score_w electric_w cabin_w dry_w pack_w drive_w frost_w soft_w stored_w start_w "
    "short_w pack_stored_w drive_stored_w cabin_stored_w speed loss_w t_air_k rh_glass reason unmet_pack_w duty looks"
).split()
"""One line of the why-record: the score, its terms [W], what comes of it. reason 0: it can be done."""
(
    R_SCORE, R_ELECTRIC, R_CABIN, R_DRY, R_PACK, R_DRIVE, R_FROST, R_SOFT, R_STORED, R_START,
    R_SHORT, R_DPACK, R_DDRIVE, R_DCABIN, R_SPEED, R_LOSS, R_TAIR, R_RH, R_REASON, R_UNMET, R_DUTY, R_LOOKS,
) = range(len(ROW))  # fmt: skip
N_ROW = len(ROW)

KEPT = (
    "time current in_mode regret ring_at ring_count pulse_on decisions looks unsolved bias drive_alone bar damp_bias"
).split()
(
    H_TIME, H_CURRENT, H_IN_MODE, H_REGRET, H_RING_AT, H_RING_COUNT, H_PULSE, H_DECISIONS, H_LOOKS,
    H_UNSOLVED, H_BIAS, H_DRIVE_ALONE, H_BAR, H_DAMP_BIAS,
) = range(len(KEPT))  # fmt: skip
RING = 64
RINGS = "air damp".split()
RING_AIR, RING_DAMP = range(len(RINGS))
BEST = 3
"""So many of the best candidates stand in the why-record."""
IMPOSSIBLE_W = 1e6
