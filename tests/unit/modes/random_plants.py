"""Small invented plants by the hundred, as text: a few loops, a refrigerant circuit, one or two zones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from hypothesis import strategies as st

HEAD = 'format = "heatwright plant 1"\nname = "Drawn"\nabout = "Test data: invented at random."'
PERCENT = st.integers(0, 99)
POSITION_NAMES = ("one", "two", "three", "four")


@dataclass
class Sheet:
    """A plant file that grows: parts, lines by fluid, the front stack, and literals that rules may forbid."""

    parts: list[str] = field(default_factory=list)
    lines: dict[str, list[str]] = field(default_factory=lambda: {"coolant": [], "refrigerant": [], "air": []})
    front: list[str] = field(default_factory=list)
    literals: list[str] = field(default_factory=list)

    def part(self, kind: str, name: str, values: str = "") -> str:
        """Declare a part and return its name."""
        self.parts.append(f"[{kind}.{name}]\n{values}")
        return name

    def line(self, fluid: str, *items: str) -> None:
        """Add a line through the items that are not empty."""
        text = " > ".join(item for item in items if item).replace("> > >", ">>")
        self.lines[fluid].append(f'line_{len(self.lines[fluid])} = "{text}"')

    def text(self) -> str:
        """The whole file."""
        lines = [f"[lines.{fluid}]\n" + "\n".join(found) for fluid, found in self.lines.items() if found]
        stack = ", ".join(f'"{name}"' for name in self.front)
        return "\n".join([HEAD, *self.parts, f"[front]\nstack = [{stack}]", *lines, ""])


class Dice:
    """Draws of chance, so that a plant reads as a few throws."""

    def __init__(self, draw: st.DrawFn) -> None:
        self.draw = draw

    def chance(self, percent: int) -> bool:
        """True in about so many per cent."""
        return self.draw(PERCENT) < percent

    def one(self, *choices: str) -> str:
        """One of several words."""
        return self.draw(st.sampled_from(choices))

    def shuffled(self, items: Sequence[str]) -> list[str]:
        """The same in another order."""
        return list(self.draw(st.permutations(items)))

    def number(self, low: int, high: int) -> int:
        """A whole number from low to high."""
        return self.draw(st.integers(low, high))

    def some(self, percent: int, *items: str) -> list[str]:
        """Each item with a chance."""
        return [item for item in items if self.chance(percent)]


@st.composite
def plant_texts(draw: st.DrawFn) -> str:
    """A valid plant file."""
    dice, sheet = Dice(draw), Sheet()
    plates, coils = _refrigerant(dice, sheet)
    if dice.chance(15):
        plates, coils = _second_circuit(dice, sheet, plates, coils)
    cores = dice.some(35, "heater_core", "cooler_core")
    for core in cores:
        sheet.part(core, core)
    _coolant(dice, sheet, [*plates, *cores])
    _air(dice, sheet, coils, cores)
    if dice.chance(25):
        sheet.part("pad", "mat", 'on = "pack"')
        sheet.literals.append("mat = on")
    if dice.chance(20) and len(sheet.literals) > 1:
        first, second, *_ = dice.shuffled(sheet.literals)
        sheet.parts.append(f'[never]\nrule = "{first} & {second}"')
    return sheet.text()


# ---- refrigerant ---------------------------------------------------------------------------------------------------


def _refrigerant(dice: Dice, sheet: Sheet) -> tuple[list[str], list[str]]:
    """The refrigerant circuit; returns the exchangers that coolant, and those that cabin air must pass through."""
    scheme = dice.one("none", "ring", "reversing", "branched", "branched", "branched")
    if scheme == "none":
        return [], []
    sheet.part("compressor", "press")
    sheet.literals.append("press = on")
    if scheme == "branched":
        return _branched(dice, sheet)
    sheet.part("outdoor_coil", "coil")
    sheet.front.append("coil")
    if scheme == "ring":
        sheet.part("evaporator", "cold_coil")
        meter = _meter(dice, sheet, "meter", "throttle", *dice.some(40, "shut"))
        sheet.line("refrigerant", "press", "coil", meter, "cold_coil", "press")
        return [], ["cold_coil"]
    sheet.part("cabin_coil", "cabin_coil")
    sheet.part("valve", "turn", 'positions = { cool = "out-far, near-back", heat = "out-near, far-back" }')
    sheet.line("refrigerant", "turn.back", "press", "turn.out")
    sheet.line("refrigerant", "turn.far", "coil", _meter(dice, sheet, "meter", "throttle"), "cabin_coil", "turn.near")
    return [], ["cabin_coil"]


def _meter(dice: Dice, sheet: Sheet, name: str, *states: str) -> str:
    quoted = ", ".join(f'"{state}"' for state in states)
    return sheet.part("expansion", name, f"states = [{quoted}]")


def _branched(dice: Dice, sheet: Sheet) -> tuple[list[str], list[str]]:
    """One way round: hot exchangers in a row, one or two cold legs, perhaps a middle throttle and hot gas."""
    hot = dice.some(50, "hot_coil", "hot_plate", "coil") or ["coil"]
    cold = dice.some(70, "cold_coil", "cold_plate") + dice.some(15, "bed") or ["cold_coil"]
    kinds = {"hot_coil": "cabin_condenser", "hot_plate": "liquid_condenser", "coil": "outdoor_coil",
             "cold_coil": "evaporator", "cold_plate": "chiller", "bed": "refrigerant_plate"}  # fmt: skip
    for name in (*hot, *cold):
        sheet.part(kinds[name], name, 'on = "pack"' if name == "bed" else "")
    sheet.front += [name for name in hot if name == "coil"]
    middle = dice.chance(25) and len(hot) > 1
    row = [*hot[:-1], _meter(dice, sheet, "middle", "open", "throttle"), hot[-1]] if middle else hot
    sheet.line("refrigerant", "@suction", "press", "@hot")
    sheet.line("refrigerant", "@hot", *row, "@liquid")
    gas = dice.chance(25)
    for name in cold:
        shuts = ["shut"] if len(cold) > 1 or gas or dice.chance(50) else []
        meter = _meter(dice, sheet, f"meter_{name}", *shuts, "throttle", *(["open"] if middle else []))
        sheet.line("refrigerant", "@liquid", meter, name, *dice.some(50, ">"), "@suction")
    if gas:
        sheet.line("refrigerant", "@hot", _meter(dice, sheet, "meter_gas", "shut", "throttle"), "@suction")
    names = (*hot, *cold)
    return [name for name in names if "plate" in name], [name for name in names if name.endswith("_coil")]


def _second_circuit(dice: Dice, sheet: Sheet, plates: list[str], coils: list[str]) -> tuple[list[str], list[str]]:
    """A ring of its own that lifts heat out of coolant, into coolant or into cabin air."""
    kind, hot = ("cabin_condenser", "warm_coil") if dice.chance(50) else ("liquid_condenser", "warm_plate")
    for name, other in (("compressor", "press_2"), (kind, hot), ("chiller", "cool_plate")):
        sheet.part(name, other)
    meter = _meter(dice, sheet, "meter_2", "throttle", *dice.some(30, "shut"))
    sheet.line("refrigerant", "press_2", hot, meter, "cool_plate", "press_2")
    return [*plates, "cool_plate", *([hot] if hot == "warm_plate" else [])], coils + [hot] * (hot == "warm_coil")


# ---- coolant -------------------------------------------------------------------------------------------------------


def _coolant(dice: Dice, sheet: Sheet, more: list[str]) -> None:
    """Bodies, radiator, heater and exchangers dealt to up to three legs, and the legs joined in one of four ways."""
    plated = dice.chance(65)
    sheet.part("pack", "pack", 'plate = "1200 W/K"' if plated else "")
    sheet.part("drive_unit", "drive", 'deliberate_loss = "4 kW"' if dice.chance(35) else "")
    parts = ["drive", *more, *(["pack"] if plated else [])]
    for kind, percent in (("radiator", 70), ("coolant_heater", 40), ("electronics", 15)):
        if dice.chance(percent):
            parts.append(sheet.part(kind, kind))
    sheet.front += [name for name in parts if name == "radiator"]
    parts = dice.shuffled(parts)
    count = dice.number(1, min(3, len(parts)))
    legs = [parts[i::count] for i in range(count)]
    if count > 1 and dice.chance(25):
        sheet.part("coolant_exchanger", "plate")
        legs[0].append("plate.a")
        legs[1].insert(0, "plate.b")
    way = dice.one("rings", "router", "router", "shared", "parallel") if count > 1 else dice.one("rings", "router")
    if way == "router":
        _router(dice, sheet, count)
    for i, leg in enumerate(legs):
        start, end = {"rings": (f"@ring_{i}",) * 2, "router": (f"deal.to_{i}", f"deal.from_{i}"),
                      "shared": ("@shared",) * 2, "parallel": ("@away", "@home")[:: 1 if i else -1]}[way]  # fmt: skip
        always = way in ("rings", "shared") or i == 0
        if always or dice.chance(50):
            leg = [sheet.part("pump", f"pump_{i}", 'off = "blocks"' if dice.chance(10) else ""), *leg]
            sheet.literals.append(f"pump_{i} = on")
        _leg(dice, sheet, i, start, leg, end, *dice.some(40 if way == "parallel" else 0, ">"))


def _router(dice: Dice, sheet: Sheet, count: int) -> None:
    """A valve that leads every leg to every other, or to itself, in up to four ways."""
    positions = {}
    for name in POSITION_NAMES[: dice.number(2, 4)]:
        order = dice.shuffled([str(i) for i in range(count)]) if positions else [str(i) for i in range(count)]
        groups = [f"from_{i}-to_{target}" for i, target in enumerate(order)]
        if positions and dice.chance(20):
            groups = groups[1:]
        if len(groups) > 1 and positions and dice.chance(15):
            groups[:2] = ["-".join(groups[:2])]
        positions[name] = ", ".join(groups)
    table = ", ".join(f'{name} = "{groups}"' for name, groups in positions.items())
    blend = 'blend = "one ~ two"' if dice.chance(30) else ""
    sheet.part("valve", "deal", f"positions = {{ {table} }}\n{blend}")
    sheet.literals.append("deal = two")


def _leg(dice: Dice, sheet: Sheet, i: int, start: str, parts: list[str], end: str, check: str = "") -> None:
    """A leg in a row, or with its last part in a branch of its own beside a bypass or a pump; perhaps one way only."""
    shape = dice.one("row", "row", "row", "valve", "shutoff", "pump") if len(parts) > 1 else "row"
    if shape == "row":
        sheet.line("coolant", start, *parts, check, end)
        return
    *first, last = parts
    if shape == "valve":
        blend = '\nblend = "through ~ past"' if dice.chance(50) else ""
        sheet.part("valve", f"side_{i}", f'positions = {{ through = "in-through", past = "in-past" }}{blend}')
        sheet.line("coolant", start, *first, f"side_{i}.in")
        sheet.line("coolant", f"side_{i}.through", last, f"@met_{i}")
        sheet.line("coolant", f"side_{i}.past", f"@met_{i}")
    elif shape == "pump":
        sheet.part("pump", f"pump_side_{i}")
        sheet.line("coolant", start, *first, f"@cut_{i}")
        sheet.line("coolant", f"@cut_{i}", last, *dice.some(50, ">"), f"@met_{i}")
        sheet.line("coolant", f"@cut_{i}", f"pump_side_{i}", *dice.some(50, ">"), f"@met_{i}")
    else:
        sheet.part("shutoff", f"side_{i}")
        sheet.line("coolant", start, *first, f"@cut_{i}")
        sheet.line("coolant", f"@cut_{i}", f"side_{i}", last, f"@met_{i}")
        sheet.line("coolant", f"@cut_{i}", *dice.some(30, ">"), f"@met_{i}")
    sheet.line("coolant", f"@met_{i}", check, end)


# ---- air -----------------------------------------------------------------------------------------------------------


def _air(dice: Dice, sheet: Sheet, coils: list[str], cores: list[str]) -> None:
    """An inlet, the exchangers in a row or behind a temper door, and one or two zones with doors or heaters."""
    zones = ["left", "right"] if dice.chance(35) else ["cabin"]
    for zone in zones:
        sheet.part("zone", zone)
        sheet.line("air", zone, "@return")
    sheet.part("blower", "blower")
    sheet.literals.append("blower = on")
    _inlet(dice, sheet)
    row = sorted((*coils, *cores), key=lambda name: (not name.startswith("c"), name))
    if len(row) > 1 and dice.chance(40):
        blend = '\nblend = "past ~ through"' if dice.chance(50) else ""
        sheet.part("door", "temper", f'positions = {{ past = "in-past", through = "in-through" }}{blend}')
        sheet.line("air", "@intake", "blower", *row[:-1], "temper.in")
        sheet.line("air", "temper.through", row[-1], "@mixed")
        sheet.line("air", "temper.past", "@mixed")
    else:
        sheet.line("air", "@intake", "blower", *row, "@mixed")
    if len(zones) == 1 and dice.chance(25):
        sheet.part("door", "inner", 'positions = { shut = "", open = "mixed-intake" }')
        sheet.line("air", "@mixed", ">", "inner.mixed")
        sheet.line("air", "inner.intake", "@intake")
    for zone in zones:
        _outlet(dice, sheet, zone)


def _inlet(dice: Dice, sheet: Sheet) -> None:
    """Fresh and recirculated air by a door, or one of them only."""
    way = dice.one("door", "door", "door", "fresh", "recirculated")
    if way == "door":
        blend = '\nblend = "fresh ~ back"' if dice.chance(40) else ""
        sheet.part("door", "inlet", f'positions = {{ fresh = "outside-box", back = "cabin-box" }}{blend}')
        sheet.line("air", "outside", "inlet.outside")
        sheet.line("air", "@return", "inlet.cabin")
        sheet.line("air", "inlet.box", "@intake")
        sheet.literals.append("inlet = back")
    elif way == "fresh":
        sheet.line("air", "outside", "@intake")
    else:
        sheet.line("air", "@return", "@intake")
    sheet.line("air", "@return", *dice.some(60, ">"), "outside")


def _outlet(dice: Dice, sheet: Sheet, zone: str) -> None:
    """The way of the mixed air into a zone: plain, through a door that may shut, or through one that only trims."""
    heater = [sheet.part("air_heater", f"warm_{zone}")] if dice.chance(25) else []
    shape = dice.one("plain", "gate", "trim")
    if shape == "plain":
        sheet.line("air", "@mixed", *heater, zone)
    elif shape == "gate":
        sheet.part("door", f"gate_{zone}", 'positions = { open = "in-out", shut = "" }')
        sheet.line("air", "@mixed", f"gate_{zone}.in")
        sheet.line("air", f"gate_{zone}.out", *heater, zone)
    else:
        blend = '\nblend = "face ~ foot"' if dice.chance(30) else ""
        sheet.part("door", f"spread_{zone}", f'positions = {{ face = "in-face", foot = "in-foot" }}{blend}')
        sheet.line("air", "@mixed", *heater, f"spread_{zone}.in")
        sheet.line("air", f"spread_{zone}.face", f"{zone}.face")
        sheet.line("air", f"spread_{zone}.foot", f"{zone}.foot")
