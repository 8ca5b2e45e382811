"""The numbers of dispatch: defaults from data/dispatch, what a plant says on top, what a trip says on top of that."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from heatwright.dispatch_table import KEY, Given, crossing, declared, default_of
from heatwright.errors import InputError, Problem

PricePath = tuple[tuple[float, float], ...]
"""Prices [J/J] over the time since the start of the trip [s]: straight between points, level beyond."""


@dataclass(frozen=True)
class Settings:
    """Every threshold, weight and price of dispatch, SI inside; meanings and sources stand in data/dispatch.

    Temperatures of `heat_*` and `cool_*` are differences to the set-point. Weights and prices are pure numbers.
    """

    # decision
    horizon_s: float
    far_horizon_s: float
    far_short_w: float
    period_s: float
    dwell_s: float
    regret_j: float
    regret_fade: float
    switch_every_s: float
    switch_span_s: float
    switch_growth: float
    asleep_period_s: float
    far_gap_w: float
    near_gap_w: float
    far_share: float
    far_rest_s: float
    far_rest_most_s: float
    near_rest_s: float
    asleep_rest: float
    knob_rest_s: float
    start_cost_w: float
    pulse_above_k: float
    pulse_below_k: float
    bias_gain: float
    bias_error_k: float
    bias_most_k: float
    # comfort
    short_weight: float
    cold_weight: float
    cold_gap_k: float
    warm_weight: float
    cover_weight: float
    cover_idle: float
    band_k: float
    air_time_s: float
    coming_weight: float
    fresh_least: float
    blower_least: float
    pack_weight: float
    dry_weight_w: float
    fog_weight_w: float
    fog_from: float
    fog_doubt: float
    flash_weight: float
    flash_switch: float
    damp_aim: float
    damp_share: float
    damp_most: float
    drive_weight: float
    drive_aim_w: float
    # needs
    heat_on_k: float
    heat_off_k: float
    cool_on_k: float
    cool_off_k: float
    dry_on: float
    dry_off: float
    pack_cold_k: float
    pack_cold_width_k: float
    pack_cold_power_w: float
    pack_hot_driving_k: float
    pack_hot_charging_k: float
    pack_hot_width_k: float
    pack_hot_power_w: float
    pack_hot_slope_w_per_k: float
    pack_hot_most_w: float
    drive_cool_on_k: float
    drive_cool_off_k: float
    frost_on_kg: float
    frost_off_kg: float
    frost_doubt_kg: float
    frost_air_k: float
    frost_power_w: float
    frost_weight: float
    frost_patience: float
    frost_price_j_per_kg: float
    # soft_limits
    coil_least_k: float
    coil_weight_w_per_k: float
    coil_full_w: float
    drive_margin_k: float
    drive_hot_weight_w_per_k: float
    # prices
    pack_price: PricePath | None
    drive_price: PricePath
    cabin_price: PricePath | None
    lining_price: float
    standing_price: float
    standing_price_most: float
    standing_centre_k: float
    standing_slope_k: float
    passive_price_least: float
    lifted_price_least: float
    plateau: float
    making_power_w: float
    making_margin: float
    # fast_charge
    waiting_cost_w: float
    ageing_w: float
    ageing_centre_k: float
    ageing_double_k: float
    arrival_charge: float | None
    price_most: float
    cooling_power_w: float
    cooling_cop: float
    heating_power_w: float


def load_settings(
    plant_overrides: Mapping[str, Given] | None = None, trip_overrides: Mapping[str, Given] | None = None
) -> Settings:
    """Return the settings for a plant on a trip; InputError where limits of both together cross.

    plant_overrides, trip_overrides : `Plant.dispatch` and `Trip.dispatch`; the trip's word counts.
    """
    given = {**(plant_overrides or {}), **(trip_overrides or {})}
    problems = []
    for low, high, said in crossing(given, base=True):
        where = given[high].where if high in given else given[low].where
        problems.append(Problem(where, *said))
    if problems:
        raise InputError(problems, f"[{KEY}] of plant and trip together")
    values = {one.field: given[name].value if name in given else default_of(one) for name, one in declared().items()}
    return Settings(**values)  # type: ignore[arg-type]
