"""Sentences of the trade, tried on runs: true, true when, false, or open, each with the bound that runs gave.

The sentences are common practice and have no source. Nothing is tuned to agree with them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.physics.pack import NMC, charge_rate_per_h, resistance_ohm
from heatwright.plant.load import load_plant
from heatwright.run import Run
from heatwright.simulate import simulate
from heatwright.study.estimate import estimate
from heatwright.study.point import Asked, operating_point
from heatwright.study.sense import ZERO_K, heat_pump
from heatwright.study.settled import CP_AIR_J_PER_KG_K, short_case
from heatwright.study.stories import PARKED_DRAWN, PARKED_HEAT, STORIES, told
from heatwright.study.story import tell
from heatwright.study.table import number
from heatwright.trip.load import build_case, load_trip

TRUE, WHEN, FALSE, OPEN = "true", "true when", "false", "open"
HEATING = {"outlets:screen": 0.25, "outlets:foot": 0.75, "drive_pump": 0.5, "blower": 0.46}
POWER_W = 5500.0
GIVEN_W = 3000.0
QUICK = {"air_heater.quick.power": "5.5 kW", "lines.air.spread": "@mixed > quick > outlets.in"}


@dataclass(frozen=True)
class Claim:
    """A sentence, the verdict of the runs, the bound in words, and the figures behind it (words, value, unit)."""

    sentence: str
    verdict: str
    bound: str
    figures: tuple[tuple[str, float | None, str], ...]


def claims(progress: Callable[[int, int], object] | None = None) -> tuple[Claim, ...]:
    """Return every claim, in the page's order; progress(done, total) is called after each."""
    found: list[Claim] = []
    for claim in _claims():
        found.append(claim)
        if progress is not None:
            progress(len(found), N_CLAIMS)
    return tuple(found)


def _claims() -> Iterator[Claim]:
    for one in (
        best_temperature, fast_charge, stored_heat, air_heater_sooner, moving_beats_making, warmer_source, winter_sun,
        cabin_as_sink,
    ):  # fmt: skip
        yield one()


N_CLAIMS = 8


def best_temperature() -> Claim:
    """Packs live best at 10 to 30 degC: what of it a run can show."""
    r = {t: resistance_ohm(ZERO_K + t, 0.5, 1.0, 0.0, 25e3, 0.0, 4e4) for t in (-10.0, 10.0, 25.0, 30.0)}
    rates = {t: charge_rate_per_h(ZERO_K + t, ZERO_K + t, 0.5, NMC) for t in (-10.0, 10.0, 30.0)}
    return Claim(
        "Packs live best at 10 to 30 °C.",
        OPEN,
        "Life is not computed yet: no model of ageing is in. What is in says that they *work* tolerably there: "
        "resistance rises slowly down to 10 °C and steeply below, and so does the charge a cold cell takes.",
        (
            ("resistance at 10 °C against 25 °C", r[10.0] / r[25.0], "times"),
            ("at −10 °C against 25 °C", r[-10.0] / r[25.0], "times"),
            ("charge taken at half charge, −10 °C", rates[-10.0], "1/h"),
            ("10 °C", rates[10.0], "1/h"),
            ("30 °C", rates[30.0], "1/h"),
        ),
    )


@lru_cache(maxsize=1)
def _best_for_charging() -> tuple[tuple[float, float, float], ...]:
    """Return (charge, coldest, hottest) [degC] between which a cell takes 95 % of its best rate."""
    t_c = np.arange(-20.0, 60.0, 0.5)
    out = []
    for soc in (0.1, 0.3, 0.5, 0.7):
        rate = np.array([charge_rate_per_h(ZERO_K + t, ZERO_K + t, soc, NMC) for t in t_c])
        good = t_c[rate >= 0.95 * rate.max()]
        out.append((soc, float(good[0]), float(good[-1])))
    return tuple(out)


def fast_charge() -> Claim:
    """Fast charging wants 30 to 50 degC, depending on charge."""
    best = _best_for_charging()
    true = all(low >= 25.0 and high <= 55.0 for _, low, high in best)
    figures = [
        (f"at {soc * 100:.0f} % charge: {end} for 95 % of the best rate", t, "°C")
        for soc, low, high in best
        for end, t in (("coldest", low), ("hottest", high))
    ]
    return Claim(
        "Fast charging wants 30 to 50 °C, depending on charge.",
        TRUE if true and best[0][1] > best[-1][1] else WHEN,
        "The empty pack wants the most warmth; the fuller it is, the less power it takes anyway and the less "
        "warmth it needs. From the joint limit of temperature and charge of the default cell (value from memory).",
        tuple(figures),
    )


@lru_cache(maxsize=8)
def warm_up(t_c: float, quick: bool) -> Run:
    """Return a plain car warmed from `t_c` [degC] by 5.5 kW, through coolant or (`quick`) straight into the air."""
    plant = load_plant("plain", QUICK if quick else None)
    drive = '[[segment]]\nkind = "drive"\nspeed = "50 km/h"\nduration = "90 min"\noccupants = 1'
    case = short_case(f'temperature = "{t_c:g} degC"\nhumidity = "70 %"', drive, 'set_point = "22 degC"')
    program = compile_program(plant, case)
    values = HEATING | {"inlet:fresh": 0.6, "inlet:recirculate": 0.4}
    values |= (
        {"temper:cold": 1.0, "quick": POWER_W} if quick else {"temper:hot": 1.0, "core_pump": 0.7, "heater": POWER_W}
    )
    row = np.array([values.get(name, 0.0) for name in program.index.actuators])
    return simulate(program, case, replay=np.tile(row, (case.n, 1)))


def _minutes(run: Run, key: str) -> float | None:
    seconds = run.comfort[key]
    return None if seconds is None else float(seconds) / 60.0


def _share(one: float | None, other: float | None) -> float:
    """Return one time as a share of another; a time that never came counts as endless."""
    if one is None:
        return float("inf")
    return 0.0 if other is None else one / other


def _heat_until_20(run: Run) -> float | None:
    """Return the heat blown into the cabin until its air has 20 degC [kWh]."""
    end = run.comfort["time_to_20c_s"]
    if end is None:
        return None
    s = {name: run.series[name][1 : int(end) + 1].astype(float) for name in (
        "t_zone_air_k", "t_ambient_k", "t_vent_k", "mdot_air_box_kg_per_s", "mdot_air_fresh_kg_per_s")}  # fmt: skip
    back = s["t_zone_air_k"] - s["t_ambient_k"]
    blown = s["mdot_air_box_kg_per_s"] * (s["t_vent_k"] - s["t_ambient_k"])
    heat = CP_AIR_J_PER_KG_K * (blown - (s["mdot_air_box_kg_per_s"] - s["mdot_air_fresh_kg_per_s"]) * back)
    return float(np.sum(heat)) / 3.6e6


def stored_heat() -> Claim:
    """A pack of about 80 kWh stores 2 to 3 kWh inside its good window, two to four cabin warm-ups."""
    stored = estimate("pack-heat", {"energy": "80 kWh", "from": "10 degC", "to": "30 degC"}).value
    need = {t: _heat_until_20(warm_up(t, True)) for t in (-10.0, 0.0)}
    counts = {t: None if heat is None else stored / heat for t, heat in need.items()}
    cop = 3.0
    lifted = None if need[-10.0] is None else stored / (need[-10.0] * (1.0 - 1.0 / cop))
    return Claim(
        "A pack of about 80 kWh stores 2 to 3 kWh of heat inside its good window, worth two to four cabin warm-ups.",
        WHEN,
        "The stored heat holds. A warm-up is counted to 20 °C in the cabin with an air heater and 40 % recirculated "
        "air; how many there are in the pack depends on the cold outside, and on whether the heat is lifted.",
        (
            ("stored between 10 and 30 °C", stored, "kWh"),
            ("one warm-up at −10 °C", need[-10.0], "kWh"),
            ("one warm-up at 0 °C", need[0.0], "kWh"),
            ("warm-ups at −10 °C", counts[-10.0], ""),
            ("warm-ups at 0 °C", counts[0.0], ""),
            ("warm-ups at −10 °C, lifted with a COP of 3", lifted, ""),
        ),
    )


def air_heater_sooner() -> Claim:
    """An air heater warms the cabin much sooner than a coolant heater of equal power."""
    coolant, air = warm_up(-10.0, False), warm_up(-10.0, True)

    def vent(run: Run, minute: int) -> float:
        return float(run.series["t_vent_k"][60 * minute]) - ZERO_K

    slow, fast = _minutes(coolant, "time_to_20c_s"), _minutes(air, "time_to_20c_s")
    vents = [_minutes(run, "vent_time_to_40c_s") for run in (coolant, air)]
    share = {"cabin": _share(fast, slow), "vent": _share(vents[1], vents[0])}
    return Claim(
        "An air heater warms the cabin much sooner than a coolant heater of equal power.",
        TRUE if max(share.values()) < 0.8 else WHEN if share["vent"] < 0.8 else FALSE,
        f"At the vent 40 °C comes in {share['vent'] * 100:.0f} % of the coolant heater's time, 20 °C in the cabin in "
        f"{share['cabin'] * 100:.0f} %: coolant and metal have to be warmed first, but trim and fresh air "
        "take most of the heat either way. Both 5.5 kW from −10 °C, 40 % of the air recirculated.",
        (
            ("vent after 1 min, coolant heater", vent(coolant, 1), "°C"),
            ("vent after 1 min, air heater", vent(air, 1), "°C"),
            ("vent after 4 min, coolant heater", vent(coolant, 4), "°C"),
            ("vent after 4 min, air heater", vent(air, 4), "°C"),
            ("to 40 °C at the vent, coolant heater", _minutes(coolant, "vent_time_to_40c_s"), "min"),
            ("to 40 °C at the vent, air heater", _minutes(air, "vent_time_to_40c_s"), "min"),
            ("to 20 °C in the cabin, coolant heater", slow, "min"),
            ("to 20 °C in the cabin, air heater", fast, "min"),
        ),
    )


def moving_beats_making() -> Claim:
    """Moving heat always beats making it."""
    figures: list[tuple[str, float | None, str]] = []
    worst = float("inf")
    stopped = 0
    for t_c in (-30.0, -25.0, -20.0, -15.0, -10.0, 0.0, 10.0):
        s = heat_pump(t_c)
        running = s["p_compressor_w"] > 1.0
        cop = s["q_hot_w"] / s["p_compressor_w"] if running else None
        stopped += not running
        worst = worst if cop is None else min(worst, cop)
        figures.append((f"COP at {number(t_c, 0)} °C", cop, ""))
        figures.append(
            (
                f"heat there, cabin at {number(s['t_zone_air_k'] - ZERO_K, 0)} °C",
                s["q_hot_w"] / 1e3 if running else None,
                "kW",
            )
        )
    return Claim(
        "Moving heat always beats making it.",
        WHEN if worst > 1.0 else FALSE,
        f"Every point that could run gave more heat than the compressor took (least COP {worst:.2f}); but "
        + (f"at {stopped} of 7 temperatures it could not run at all, and in" if stopped else "in")
        + " deep cold it gives less than the cabin needs, so that a heater must make the rest.",
        tuple(figures),
    )


def warmer_source() -> Claim:
    """A warmer source beats the outside air."""
    plant = load_plant("reversing")
    cops = {}
    for t_c in (-10.0, 0.0, 10.0):
        asked = Asked(ZERO_K + t_c, ZERO_K + 20.0, fresh=0.0, setting="heat")
        slow, fast = 15.0, 130.0  # 1/s; heat given rises with speed
        for _ in range(12):
            point = operating_point(plant, replace(asked, speed_hz=0.5 * (slow + fast)))
            slow, fast = (0.5 * (slow + fast), fast) if point.q_hot_w < GIVEN_W else (slow, 0.5 * (slow + fast))
        cops[t_c] = point.cop_heating
    cold, warm = cops[-10.0], cops[10.0]
    per_k = None if cold is None or warm is None else 100.0 * ((warm / cold) ** (1.0 / 20.0) - 1.0)
    return Claim(
        "A warmer source beats the outside air.",
        TRUE if cold is not None and warm is not None and warm > cold else OPEN,
        "3 kW from the same circuit to the same air of 20 °C, the source at three temperatures: every kelvin of source "
        f"is worth {number(per_k, 1)} % of the coefficient of performance, if reaching that source costs no more.",
        tuple((f"COP, source at {number(t, 0)} °C", cop, "") for t, cop in cops.items()),
    )


def winter_sun() -> Claim:
    """Winter sun adds a few hundred watts to a parked cabin and is worth storing after paying for being awake."""
    case = build_case(load_trip("winter_day"))
    program = compile_program(load_plant("plain"), case)
    run = simulate(program, case)
    leg = next(one for one in run.segments if one.name == "in the sun")
    span = slice(leg.first, leg.last_exclusive)
    over = (run.series["t_zone_air_k"][span] - run.series["t_ambient_k"][span]).astype(float)
    sun = program.rows[span, program.index.columns.index("q_sun_cabin_w")]
    awake = float(load_plant("plain").body["load_awake"])
    story = tell(STORIES["sun_in_the_pack"]).figures
    kept, gone = story["kept"], story["let_go"]
    pairs = {plant: (story[dear], story[usual]) for plant, dear, usual in (
        ("secondary", "dear", "kept"), ("router", "router_dear", "router"))}  # fmt: skip
    few = told(kept, "awake_parked_s") < 0.05 * told(kept, "parked_s")
    costs = [told(dear, "score_kwh") - told(usual, "score_kwh") for dear, usual in pairs.values()]
    stored: list[tuple[str, float | None, str]] = []
    for plant, (dear, usual) in pairs.items():
        for words, key in (
            ("more heat stored while it stands", PARKED_HEAT), ("electricity for that", PARKED_DRAWN),
            ("change of what the way home draws", "after_park_kwh"), ("change of the score", "score_kwh"),
        ):  # fmt: skip
            stored.append((f"pack heat dear, {plant}: {words}", told(dear, key) - told(usual, key), "kWh"))
    loses = min(costs) > 0.0
    return Claim(
        "Winter sun adds a few hundred watts to a parked cabin and is worth storing, after paying for being awake.",
        FALSE if few and loses else TRUE if not few and max(costs) < 0.0 else WHEN,
        "The watts are there. Whether they are worth storing is answered by "
        "[a bright day](../../examples/sun_in_the_pack/README.md) under dispatch, for plants that can: "
        + ("it leaves the car asleep nearly all the time it stands, and " if few else "it wakes the car, and ")
        + (
            "where a higher price makes it store, the day comes out worse."
            if loses
            else "a higher price pays, or not, by plant."
        )
        + " Most of what the pack gains while it stands comes by itself. Heat left in it at the end is not counted.",
        (
            ("sun through the glass, mean of six hours' stand", float(np.mean(sun)), "W"),
            ("most", float(np.max(sun)), "W"),
            ("cabin above outside air, mean", float(np.mean(over)), "K"),
            ("most", float(np.max(over)), "K"),
            ("12 V load of a car awake", awake, "W"),
            ("bright day: awake while it stands", told(kept, "awake_parked_s") / 60.0, "min"),
            ("heat the pack gains meanwhile", kept["into_pack_parked_kwh"], "kWh"),
            ("the same, nothing moved into the pack", gone["into_pack_parked_kwh"], "kWh"),
            ("score, free to store", kept["score_kwh"], "kWh"),
            ("score, nothing moved into the pack", gone["score_kwh"], "kWh"),
            *stored,
        ),
    )


def cabin_as_sink() -> Claim:
    """A hot hard drive gains from the cabin as a sink."""
    story = tell(STORIES["heat_into_the_cabin"]).figures
    figures: list[tuple[str, float | None, str]] = []
    gains = []
    for words, ending in (("whole radiator", ""), ("a poor one", "_poor")):
        past, through = story[f"past{ending}"], story[f"through{ending}"]
        gains.append(told(past, "drive_derated_s") - told(through, "drive_derated_s"))
        relief = told(past, "drive_coolant_most_k") - told(through, "drive_coolant_most_k")
        figures += [
            (f"{words}: drive unit's coolant colder by", relief, "K"),
            (f"{words}: cabin warmer by", told(through, "cabin_end_k") - told(past, "cabin_end_k"), "K"),
            (f"{words}: held back, air past the core", told(past, "drive_derated_s"), "s"),
            (f"{words}: held back, air through the core", told(through, "drive_derated_s"), "s"),
        ]
    figures.append(("cabin at the top, air through the core", told(story["through"], "cabin_end_k") - ZERO_K, "°C"))
    return Claim(
        "A hot hard drive gains from the cabin as a sink.",
        TRUE if min(gains) > 0.0 else WHEN if max(gains) > 0.0 else FALSE,
        "A plant made for it, with the heater core in the drive unit's loop, on [a climb at 44 °C]"
        "(../../examples/heat_into_the_cabin/README.md): "
        + (
            "the drive unit gains even with its whole radiator" if gains[0] > 0.0
            else "with its whole radiator the drive unit is not held back and gains nothing"
        )
        + (", with a poor one it is held back for less time" if gains[1] > 0.0 else ", nor with a poor one")
        + ". Nobody bears such a cabin.",
        tuple(figures),
    )  # fmt: skip
