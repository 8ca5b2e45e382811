"""Estimates of the cabin's warm-up: by an air heater, and by a coolant heater through two lumped masses in a row."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from heatwright.study.estimate import Estimate, Input, Side, Worked, impossible
from heatwright.study.estimate_pack import celsius, warm_up_s

LONGEST_S = 6.0 * 3600.0
WALL = Input("wall", "W/K", "67 W/K", "glass and body together, 49 standing, 67 at 50 km/h", 0.0)
_COOLANT_HEATER = (
    Input("volume", "L", "2.5 L", "coolant that is heated", 0.0, above=True),
    Input("metal", "kJ/K", "3.3 kJ/K", "heater 2.5 and core 0.8", 0.0),
    Input("flow", "L/min", "10 L/min", "coolant through the core", 0.0, above=True),
    Input("glycol", "%", "50 %", "ethylene glycol in the coolant, by mass", 0.30, 0.60),
    Input("core-size", "W/K", "170 W/K", "of the heater core at 300 kg/h; goes with air^0.5", 0.0, above=True),
    Input("air", "kg/h", "300 kg/h", "air through the core", 0.0, above=True),
)  # fmt: skip


@dataclass(frozen=True)
class TwoMasses:
    """x' = m x + s for rises x of (coolant, air) above a common start, m = ((-a, b), (c, -d))."""

    c_coolant: float
    g_core: float
    t_start_k: float
    a: float
    b: float
    c: float
    d: float
    s_coolant: float
    s_air: float

    def end_k(self) -> tuple[float, float]:
        """Return where (coolant, air) settle [K]."""
        whole = self.a * self.d - self.b * self.c
        if whole <= 1e-18:
            return math.inf, math.inf
        coolant = (self.d * self.s_coolant + self.b * self.s_air) / whole
        air = (self.c * self.s_coolant + self.a * self.s_air) / whole
        return self.t_start_k + coolant, self.t_start_k + air

    def at(self, time_s: float) -> tuple[float, float]:
        """Return the temperatures of (coolant, air) at a time [K], x = (integral of exp(m t)) s."""
        middle = -0.5 * (self.a + self.d)
        root = math.sqrt(0.25 * (self.a - self.d) ** 2 + self.b * self.c)
        fast, slow = middle - root, middle + root
        # exp(m t) = e^slow t P + e^fast t (1 - P), P = (m - fast) / (slow - fast)
        grown_slow, grown_fast = (_grown(rate, time_s) for rate in (slow, fast))
        share = 1.0 / (slow - fast)
        along = (
            (-self.a - fast) * self.s_coolant + self.b * self.s_air,
            self.c * self.s_coolant + (-self.d - fast) * self.s_air,
        )
        rises = [
            grown_slow * share * p + grown_fast * (s - share * p)
            for p, s in zip(along, (self.s_coolant, self.s_air), strict=True)
        ]
        return self.t_start_k + rises[0], self.t_start_k + rises[1]


def _grown(rate: float, time_s: float) -> float:
    """Return (exp(rate t) - 1) / rate, t where the rate is nil."""
    return time_s if abs(rate * time_s) < 1e-12 else math.expm1(rate * time_s) / rate


def two_masses(v: Mapping[str, float], leaving: float) -> TwoMasses:
    """Return the pair of a coolant heater's loop and a cabin; `leaving` is the conductance to outside [W/K]."""
    import numpy as np

    from heatwright.physics import coolant, exchange, front_air, heaters
    from heatwright.physics.moist_air import CP_AIR_J_PER_KG_K

    fit = coolant.coolant_fit(v["glycol"])
    zero = np.uint64(0)
    per_volume = coolant.density(v["from"], fit, zero) * coolant.heat_capacity(v["from"], fit, zero)
    c_coolant = v["volume"] * per_volume + v["metal"]
    ua = front_air.power_law(v["core-size"], v["air"], 300.0 / 3600.0, 0.5)
    air = v["air"] * CP_AIR_J_PER_KG_K
    g_core = exchange.exchange_conductance(exchange.CROSS_UNMIXED, ua, v["flow"] * per_volume, air)
    heat = heaters.heater_heat_w(v["power"], v["efficiency"])[0]
    round_share = 1.0 - v["fresh"] / v["air"]
    below_k = v["ambient"] - v["from"]
    inlet_k = (1.0 - round_share) * below_k  # rise of the core's inlet with the cabin still at its start
    return TwoMasses(
        c_coolant,
        g_core,
        v["from"],
        a=g_core / c_coolant,
        b=g_core * round_share / c_coolant,
        c=g_core / v["capacity"],
        d=(g_core * round_share + leaving + v["trim"]) / v["capacity"],
        s_coolant=(heat + g_core * inlet_k) / c_coolant,
        s_air=(leaving * below_k - g_core * inlet_k) / v["capacity"],
    )


def first_time_s(both: TwoMasses, t_wanted_k: float) -> float:
    """Return the first time the air is as warm as wanted [s]; InputError where it never is."""
    if t_wanted_k <= both.t_start_k:
        return 0.0
    end_k = both.end_k()[1]
    if end_k <= t_wanted_k:
        reach = end_k - 273.15
        raise impossible("--power", _settles(reach), "more power, less fresh air or a lower --to")
    low, high = 0.0, 1.0
    while both.at(high)[1] < t_wanted_k:
        low, high = high, 2.0 * high
        if low > LONGEST_S:
            raise impossible("--to", "takes more than six hours", "more power or a lower --to")
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if both.at(middle)[1] < t_wanted_k else (low, middle)
    return high


def _leaving(v: Mapping[str, float]) -> float:
    """Return the conductance from cabin air to outside, by walls and by fresh air [W/K]."""
    from heatwright.physics.moist_air import CP_AIR_J_PER_KG_K

    return v["wall"] + v["fresh"] * CP_AIR_J_PER_KG_K


def air_heater_warm_up(v: Mapping[str, float]) -> Worked:
    """Return the time an air heater takes to warm the cabin's air."""
    from heatwright.physics.heaters import heater_heat_w

    heat = heater_heat_w(v["power"], v["efficiency"])[0]
    leaving = _leaving(v)
    net = heat - leaving * (v["from"] - v["ambient"])
    return _warmed(v, net, leaving + v["trim"], heat)


def _warmed(v: Mapping[str, float], net: float, conductance: float, heat: float) -> Worked:
    rise_k = v["to"] - v["from"]
    if rise_k < 0.0:
        raise impossible("--to", "a heater does not cool the air", "--to not below --from")
    if conductance * rise_k >= net:
        reach = v["from"] + net / conductance - 273.15
        raise impossible("--power", _settles(reach), "more power, less fresh air or a lower --to")
    time_s = warm_up_s(v["capacity"], conductance, net, rise_k)
    sides = [
        Side("heat", heat, "W", "power × efficiency, into the air"),
        Side("losses", conductance, "W/K", "wall + trim + fresh × 1006 J/kg K"),
        Side("net", net, "W", "heat less what leaves by wall and fresh air at the start"),
        Side("energy", v["power"] * time_s, "kWh", "drawn from the battery until then"),
    ]
    formula = "" if conductance > 0.0 else "time = {capacity} × ({to} − {from}) / {net}"
    if conductance > 0.0:
        sides.append(Side("settles", v["from"] + net / conductance, "degC", "while the trim is still cold"))
    return Worked(time_s, tuple(sides), formula=formula)


def _settles(reach: float) -> str:
    return f"the air settles at {reach:.1f} degC while the trim is cold, and gets further only as slowly as the trim"


def coolant_heater_warm_up(v: Mapping[str, float]) -> Worked:
    """Return the time a coolant heater takes to warm the cabin's air through coolant and heater core."""
    if v["to"] < v["from"]:
        raise impossible("--to", "a heater does not cool the air", "--to not below --from")
    if v["air"] < v["fresh"]:
        raise impossible("--fresh", "more fresh air than air through the core", "--fresh at most --air")
    both = two_masses(v, _leaving(v))
    time_s = first_time_s(both, v["to"])
    t_coolant_k, _ = both.at(time_s)
    t_coolant_end_k, t_end_k = both.end_k()
    sides = (
        Side("coolant-capacity", both.c_coolant, "kJ/K", "volume × density × specific heat + metal"),
        Side("core", both.g_core, "W/K", "heat from coolant to air per difference at the core's inlets"),
        Side("leaving", _leaving(v), "W/K", "wall + fresh × 1006 J/kg K"),
        Side("coolant-then", t_coolant_k, "degC", "coolant when the air is there"),
        Side("settles", t_end_k, "degC", "air, while the trim is still cold"),
        Side("energy", v["power"] * time_s, "kWh", "drawn from the battery until then"),
    )
    notes = ["The heater's coolant would settle above 75 degC: it throttles and takes longer."]
    return Worked(time_s, sides, tuple(notes) if t_coolant_end_k > 348.15 else ())


_WARM = (
    celsius("from", "-7 degC", "cabin, all of it, at the start"),
    celsius("to", "15 degC", "air wanted"),
    celsius("ambient", "-7 degC", "air outside"),
)
_BODY = (
    Input("capacity", "kJ/K", "25 kJ/K", "air with the skin of dash and seats that warms with it", 0.0, above=True),
    WALL,
    Input("trim", "W/K", "70 W/K", "from the air to the slow trim, which stays cold meanwhile", 0.0),
)
ESTIMATES = (
    Estimate(
        "air-heater-warm-up",
        "Time an air heater takes to warm the cabin's air",
        "min",
        "time = −{capacity} / {losses} × ln(1 − {losses} × ({to} − {from}) / {net})",
        (
            *_WARM,
            Input("power", "kW", "5.5 kW", "electric", 0.0, above=True),
            Input("efficiency", "%", "98 %", "heat into the air per electric power", 0.0, 1.0, True),
            *_BODY,
            Input("fresh", "kg/h", "180 kg/h", "outside air into the cabin", 0.0),
        ),
        air_heater_warm_up,
    ),
    Estimate(
        "coolant-heater-warm-up",
        "Time a coolant heater takes to warm the cabin's air",
        "min",
        "A(time) = {to}, from {coolant-capacity} × T' = {power} × {efficiency} − {core} × (T − N) and"
        " {capacity} × A' = {core} × (T − N) − {leaving} × (A − {ambient}) − {trim} × (A − {from});"
        " T coolant, A air, N = A + {fresh} / {air} × ({ambient} − A) air entering the core",
        (
            *_WARM,
            Input("power", "kW", "5.5 kW", "electric", 0.0, above=True),
            Input("efficiency", "%", "97 %", "heat into the coolant per electric power", 0.0, 1.0, True),
            *_COOLANT_HEATER,
            *_BODY,
            Input("fresh", "kg/h", "180 kg/h", "outside air into the cabin; the rest of --air goes round", 0.0),
        ),
        coolant_heater_warm_up,
    ),
)
