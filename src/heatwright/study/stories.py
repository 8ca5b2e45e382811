"""The six stories, by name. Each answer is worked out from the figures: it says what was found, liked or not."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.modes.model import AIR_BOX, OUTSIDE, Mode
from heatwright.study.story import HELD, TABLE, ZERO_K, Column, Figures, Story, Way
from heatwright.study.story_names import QUESTIONS
from heatwright.study.table import number

PACK, STIR, DRYING, LOSS = "pack", "stir", "drying", "drive.loss"
NO_PRICE = ((0.0, 0.0),)
DEAR = 0.45
"""A standing price of heat in the pack above twice the usual one [J/J], still below the most that is allowed."""
PARKED_HEAT, PARKED_DRAWN = "into_pack_parked_kwh", "drawn_parked_kwh"
ALIKE = 0.01
"""Figures closer than this share are told as alike."""

SCORE = Column("score_kwh", "score", "kWh")
USED = Column("energy_used_kwh", "drawn in all", "kWh")
NOT_TRACTION = Column("energy_kwh", "drawn but for traction", "kWh")
COMPRESSOR = Column("compressor_kwh", "compressor", "kWh")
HEATER = Column("heater_kwh", "heaters", "kWh")
TO_20 = Column("time_to_20c_s", "20 °C in the cabin after", "min", 1 / 60, 1)
SHORT = Column("short_k_min", "too cold", "K min", digits=0)
OVER = Column("over_k_min", "too warm", "K min", digits=0)
FOGGED = Column("fogged_s", "fogged glass", "min", 1 / 60, 1)
LEFT = Column("heat_in_pack_end_kwh", "heat in the pack at the end (from 20 °C)", "kWh")
PACK_MOST = Column("pack_most_k", "hottest cells", "K")
SWITCHES = Column("switches_per_h", "changes of mode", "1/h", digits=1)


def into_pack(mode: Mode) -> bool:
    """Whether heat of any kind is moved into the pack."""
    return any(move.end == PACK for move in mode.moves)


def with_pack(mode: Mode) -> bool:
    """Whether heat is moved into the pack, or out of it to anything but the air outside."""
    taken = any(move.start == PACK and move.end not in (PACK, OUTSIDE) and move.way != STIR for move in mode.moves)
    return taken or into_pack(mode)


def closed_ring(mode: Mode) -> bool:
    """Whether air goes round in the air box and reaches nobody."""
    return any(move.end == AIR_BOX for move in mode.moves)


def dries(mode: Mode) -> bool:
    """Whether air is dried by one coil and warmed by another."""
    return any(move.way == DRYING for move in mode.moves)


def told(figures: Figures, key: str) -> float:
    """Return a figure that must be there."""
    found = figures[key]
    if found is None:
        raise ValueError(f"no figure {key!r}")
    return found


def kwh(x: float) -> str:
    """Return an energy as it is told."""
    return f"{number(x, 2)} kWh"


def compared(x: float, than: float, less: str, more: str) -> str:
    """Return how an energy compares in words: `less`, `more` or the same."""
    if abs(x - than) <= ALIKE * max(abs(x), abs(than)):
        return f"as much within {ALIKE * 100:.0f} % ({kwh(x)} and {kwh(than)})"
    return f"{kwh(abs(x - than))} {less if x < than else more}"


def minutes(seconds: float | None) -> str:
    """Return a time as it is told; None never came."""
    return "never" if seconds is None else f"after {seconds / 60.0:.0f} min"


def _sun(f: Mapping[str, Figures]) -> str:
    kept, gone, air, dear, free = (f[name] for name in ("kept", "let_go", "air_only", "dear", "no_awake_load"))
    awake = told(kept, "awake_parked_s") / 60.0
    first = (
        f"Seven hours parked the car is awake for {awake:.0f} min, and its score is {kwh(told(kept, 'score_kwh'))}: "
        f"letting "
        f"the heat go costs {compared(told(gone, 'score_kwh'), told(kept, 'score_kwh'), 'less', 'more')}, outside air "
        f"as the only source {compared(told(air, 'score_kwh'), told(kept, 'score_kwh'), 'less', 'more')}."
    )
    pairs = ((dear, kept), (f["router_dear"], f["router"]))
    heat, paid = ([told(one, key) - told(other, key) for one, other in pairs] for key in (PARKED_HEAT, PARKED_DRAWN))
    later = [told(one, "after_park_kwh") - told(other, "after_park_kwh") for one, other in pairs]
    second = (
        f"Where heat in the pack is priced at {DEAR} J/J, `secondary` stores {kwh(heat[0])} more while it stands for "
        f"{kwh(paid[0])} of electricity and `router` {kwh(heat[1])} for {kwh(paid[1])}, and on the way home they draw "
        f"{number(later[0], 2, plus=True)} and {number(later[1], 2, plus=True)} kWh: it "
        + ("does not pay" if sum(paid) + sum(later) > 0.0 else "pays")
        + f"; if being awake cost nothing the score would be {kwh(told(free, 'score_kwh'))}."
    )
    return f"{first} {second}"


def _ready(f: Mapping[str, Figures]) -> str:
    parts = []
    for plant in ("plate_in_pack", "secondary"):
        ready, cold = f[plant], f[f"{plant}_unpriced"]
        saved = told(cold, "charge_min") - told(ready, "charge_min")
        paid = told(ready, "before_charge_kwh") - told(cold, "before_charge_kwh")
        whole = told(ready, "energy_used_kwh") - told(cold, "energy_used_kwh")
        kept = told(ready, "heat_in_pack_end_kwh") - told(cold, "heat_in_pack_end_kwh")
        parts.append(
            f"`{plant}` pays {kwh(paid)} before the charge and {kwh(whole)} in all, waits {saved:.0f} min less "
            f"({told(ready, 'charge_min'):.0f} in place of {told(cold, 'charge_min'):.0f}) and has {kwh(kept)} more "
            f"heat "
            "in its pack at the end"
        )
    by_table = f["plate_in_pack_table"]
    return (
        f"{parts[0]}; {parts[1]}. By its table `plate_in_pack` charges in {told(by_table, 'charge_min'):.0f} min and "
        f"has "
        f"drawn {kwh(told(by_table, 'energy_used_kwh'))}, under dispatch "
        f"{kwh(told(f['plate_in_pack'], 'energy_used_kwh'))}."
    )


def _sink(f: Mapping[str, Figures]) -> str:
    cooled, past, through, poor, poor_through = (
        f[n] for n in ("cooled", "past", "through", "past_poor", "through_poor")
    )
    relief = told(past, "drive_coolant_most_k") - told(through, "drive_coolant_most_k")
    winding = told(past, "winding_most_k") - told(through, "winding_most_k")
    warmer = told(through, "cabin_end_k") - told(past, "cabin_end_k")
    held = [told(one, "drive_derated_s") for one in (cooled, past, through, poor, poor_through)]
    verdict = "does not pay" if held[2] >= held[1] else "pays"
    with_poor = "it pays" if held[4] < held[3] else "nor does it pay"
    return (
        f"All of the blower's air through the core takes {number(relief, 1)} K off the drive unit's coolant and "
        f"{number(winding, 1)} K off its winding and makes the cabin {number(warmer, 1)} K warmer "
        f"({told(through, 'cabin_end_k') - ZERO_K:.0f} °C at the top), which {verdict}: the drive unit is held back "
        f"for "
        f"{held[2]:.0f} s with it, {held[1]:.0f} s without, and {held[0]:.0f} s while the cabin is cooled. With a "
        f"radiator "
        f"a fifth as good {with_poor}: held back for {held[4]:.0f} s with it and {held[3]:.0f} s without, in a cabin "
        f"of "
        f"{told(poor_through, 'cabin_end_k') - ZERO_K:.0f} °C, which nobody bears."
    )


def _cold(f: Mapping[str, Figures]) -> str:
    def warm(name: str) -> str:
        one = f[name]
        return f"{minutes(one['time_to_20c_s'])} for {kwh(told(one, 'energy_kwh'))}"

    loss = f["router_no_loss"]
    ring = abs(told(f["router_no_ring"], "energy_kwh") - told(f["router"], "energy_kwh"))
    unused = ring <= 1e-6 * told(f["router"], "energy_kwh")
    better = told(f["router"], "score_kwh") < told(f["router_table"], "score_kwh")
    return (
        f"20 °C come {warm('reversing')} with heat pump and heater, {warm('plain')} with a heater alone, "
        f"{warm('router_table')} "
        f"without one by the table of `router`, and {warm('router')} under dispatch, whose score is "
        f"{'better' if better else 'worse'} ({kwh(told(f['router'], 'score_kwh'))} against "
        f"{kwh(told(f['router_table'], 'score_kwh'))}). Without loss on purpose the cabin of `router` ends at "
        f"{number(told(loss, 'cabin_end_k') - ZERO_K, 1)} °C in place of "
        f"{number(told(f['router'], 'cabin_end_k') - ZERO_K, 1)} °C; "
        + ("the closed ring was never chosen." if unused else f"the closed ring changed {kwh(ring)}.")
    )


def _rain(f: Mapping[str, Figures]) -> str:
    dried, rough, heater, router = (f[name] for name in ("two_coils", "two_coils_no_drying", "plain", "router"))
    return (
        f"Where one coil dries and the next rewarms with the same heat, an hour draws {kwh(told(dried, 'energy_kwh'))} "
        f"({told(dried, 'fogged_s') / 60.0:.0f} min of fog); forbidden to, the same plant draws "
        f"{kwh(told(rough, 'energy_kwh'))}, and `plain`, which cools by compressor and rewarms by heater, "
        f"{kwh(told(heater, 'energy_kwh'))}. By its table the plant draws "
        f"{kwh(told(f['two_coils_table'], 'energy_kwh'))} "
        f"and is {told(f['two_coils_table'], 'over_k_min'):.0f} K min too warm; `router` without a heater draws "
        f"{kwh(told(router, 'energy_kwh'))}."
    )


def _tow(f: Mapping[str, Figures]) -> str:
    own, flat, table = f["joined"], f["joined_unpriced"], f["joined_table"]
    held = max(told(one, "drive_derated_s") for one in f.values())
    first = (
        "No way is held back by heat"
        if held == 0.0
        else f"The worst way is held back by heat for {held / 60.0:.0f} min"
    )
    return (
        f"{first}; the hottest cells reach {told(own, 'pack_most_k') - ZERO_K:.1f} °C under dispatch and "
        f"{told(table, 'pack_most_k') - ZERO_K:.1f} °C by the table, which draws {kwh(told(table, 'energy_kwh'))} "
        f"beside "
        f"traction in place of {kwh(told(own, 'energy_kwh'))}. Without a price on heat in the pack dispatch draws "
        f"{kwh(told(flat, 'energy_kwh'))}, and its cabin is {told(flat, 'over_k_min'):.0f} K min too warm in place of "
        f"{told(own, 'over_k_min'):.0f}."
    )


FLAT_OUT = {"drive_pump": 1.0, "fan": 1.0, "blower": 1.0, "inlet:fresh": 1.0, "outlets:face": 1.0, "cabin_txv": 1.0}
CORE = "core_in_the_drive_loop"
POOR = {"radiator.radiator.ua": "150 W/K at 12 L/min, 3 m/s, 40 degC"}
"""A fifth of what it is: clogged, or far too small."""
STORIES = {
    one.name: one
    for one in (
        Story(
            "sun_in_the_pack", QUESTIONS["sun_in_the_pack"],
            (
                Way("kept", "free to keep it", "secondary"),
                Way("let_go", "nothing into the pack", "secondary", without=into_pack),
                Way("air_only", "pack left alone", "secondary", without=with_pack),
                Way("dear", "heat in the pack dear", "secondary", settings={"standing_price": DEAR}),
                Way("no_awake_load", "awake for nothing", "secondary", changed={"body.load_awake": "0 W"}),
                Way("router", "free to keep it", "router"),
                Way("router_dear", "heat in the pack dear", "router", settings={"standing_price": DEAR}),
            ),
            (
                SCORE, USED, COMPRESSOR, LEFT, Column("awake_parked_s", "awake while it stands", "min", 1 / 60, 0),
                Column("into_pack_parked_kwh", "heat the pack gains meanwhile", "kWh"),
                Column("drawn_parked_kwh", "drawn meanwhile", "kWh"),
                Column("after_park_kwh", "drawn on the way home", "kWh"),
            ),
            _sun,
        ),
        Story(
            "ready_for_the_charge", QUESTIONS["ready_for_the_charge"],
            tuple(
                way
                for plant in ("plate_in_pack", "secondary")
                for way in (
                    Way(plant, "dispatch", plant),
                    Way(f"{plant}_unpriced", "pack heat worth nothing", plant, settings={"pack_price": NO_PRICE}),
                    Way(f"{plant}_table", "table", plant, TABLE),
                )
            ),
            (
                Column("charge_min", "charging", "min", digits=1),
                Column("before_charge_kwh", "drawn before it", "kWh"),
                USED, Column("pack_at_plug_k", "pack as it begins", "K"), COMPRESSOR, HEATER, SHORT, LEFT, SCORE,
            ),
            _ready,
        ),
        Story(
            "heat_into_the_cabin", QUESTIONS["heat_into_the_cabin"],
            (
                Way("cooled", "cabin cooled", CORE),
                Way("past", "fresh air past the core", CORE, HELD, held={**FLAT_OUT, "temper:cold": 1.0}),
                Way("through", "fresh air through the core", CORE, HELD, held={**FLAT_OUT, "temper:hot": 1.0}),
                Way("past_poor", "past, poor radiator", CORE, HELD, POOR, {**FLAT_OUT, "temper:cold": 1.0}),
                Way("through_poor", "through, poor radiator", CORE, HELD, POOR, {**FLAT_OUT, "temper:hot": 1.0}),
            ),
            (
                Column("drive_coolant_most_k", "hottest coolant of the drive unit", "K", digits=1),
                Column("winding_most_k", "hottest winding", "K", digits=1),
                Column("drive_derated_s", "held back by heat", "s", digits=0),
                Column("drive_power_short_j", "work the road did not get", "MJ", 1e-6),
                Column("cabin_end_k", "cabin at the top", "K", digits=1), OVER, COMPRESSOR, NOT_TRACTION,
            ),
            _sink,
        ),
        Story(
            "no_heater_in_deep_cold", QUESTIONS["no_heater_in_deep_cold"],
            (
                Way("reversing", "heat pump and heater", "reversing"),
                Way("plain", "heater alone", "plain"),
                Way("router_table", "no heater, table", "router", TABLE),
                Way("router", "no heater, dispatch", "router"),
                Way("router_no_loss", "no loss on purpose", "router", masked=(LOSS,)),
                Way("router_no_ring", "no closed ring", "router", without=closed_ring),
            ),
            (
                TO_20, Column("time_to_10c_s", "10 °C in the cabin after", "min", 1 / 60, 1),
                Column("cabin_end_k", "cabin at the end", "K", digits=1), NOT_TRACTION, COMPRESSOR, HEATER,
                Column("drive_heat_kwh", "loss on purpose", "kWh"), FOGGED, SCORE,
            ),
            _cold,
        ),
        Story(
            "mild_rain", QUESTIONS["mild_rain"],
            (
                Way("two_coils", "dispatch", "reversing_two_coils"),
                Way("two_coils_no_drying", "no drying by two coils", "reversing_two_coils", without=dries),
                Way("two_coils_table", "table", "reversing_two_coils", TABLE),
                Way("plain", "dispatch", "plain"),
                Way("router", "dispatch", "router"),
            ),
            (NOT_TRACTION, COMPRESSOR, HEATER, FOGGED, SHORT, OVER, SWITCHES, SCORE),
            _rain,
        ),
        Story(
            "towing_in_the_heat", QUESTIONS["towing_in_the_heat"],
            (
                Way("joined", "dispatch", "joined"),
                Way("joined_unpriced", "pack heat worth nothing", "joined", settings={"pack_price": NO_PRICE}),
                Way("joined_table", "table", "joined", TABLE),
                Way("plate_in_pack", "dispatch", "plate_in_pack"),
                Way("plate_in_pack_table", "table", "plate_in_pack", TABLE),
            ),
            (
                NOT_TRACTION, COMPRESSOR, PACK_MOST,
                Column("drive_derated_s", "held back by heat", "s", digits=0), OVER,
                Column("ageing_kwh", "wear of warm cells, as counted", "kWh"), SWITCHES, SCORE,
            ),
            _tow,
        ),
    )
}  # fmt: skip
