"""The roll-up of plants for a terminal: figures side by side, what one stuck part takes down, what a trip costs."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill, wrap

from heatwright.study.parts import TRIP_ROWS, PartsAnswer
from heatwright.study.parts_roll import Roll, cost_words
from heatwright.study.stuck import StuckParts
from heatwright.study.table import DASH, WIDTH, Row, aligned, number

NAME_WIDTH = 14
RULES = (
    "Zones are spaces and not counted. Mass and cost are those of parts alone, without pack, drive unit,"
    " electronics, hoses and fluids. A cost is an order of magnitude: from about half to about double of the sum of the"
    " parts. Joints: two for every part and check valve that a coolant or refrigerant line passes through, one where a"
    " line ends at a tee, a tank or a port; each is a point that can leak."
)
CHARGE_RULE = "* The least refrigerant with which the vessels are 40 % full; the file gives none."
TRIP_RULE = (
    "On the trip: one march each, and at equal service of the cabin; what a plant does for its pack is paid for and not"
    " counted. `heatwright compare` tells which differences hold."
)
STUCK_RULE = (
    "One stuck part: structure alone, a need that is left may be served worse. A door that only chooses an outlet"
    " takes no need down here, though with it stuck the screen may stay fogged. Fans and heaters at the body are not"
    " looked at."
)


def parts_as_text(found: PartsAnswer) -> str:
    """Return everything as tables and sentences."""
    blocks = ["\n".join(_figures(found))]
    blocks += ["\n".join(_stuck(roll, stuck)) for roll, stuck in zip(found.rolls, found.stuck, strict=True)]
    said = [fill(one, WIDTH, initial_indent="  ", subsequent_indent="  ") for one in found.sentences]
    if said:
        blocks.append("\n".join(["does having fewer parts pay?", *said]))
    notes = [RULES, STUCK_RULE]
    if any(roll.refrigerant_kg and not roll.charge_given for roll in found.rolls):
        notes.append(CHARGE_RULE)
    if found.comparison is not None:
        notes.append(TRIP_RULE)
    return "\n\n".join([*blocks, "\n".join(fill(note, WIDTH) for note in notes)])


def _figures(found: PartsAnswer) -> list[str]:
    grid = _heads([roll.plant for roll in found.rolls])
    for kind in dict.fromkeys(kind for roll in found.rolls for kind in roll.kinds):
        counts = (str(roll.kinds.get(kind) or DASH) for roll in found.rolls)
        grid.append([f"  {kind.replace('_', ' ')}", *counts])
    grid += [[words, *(show(roll) for roll in found.rolls)] for words, show in FIGURES]
    if found.comparison is not None:
        grid.append([f"on {found.comparison.trip}"])
        for key, words, digits in TRIP_ROWS:
            values = [row.get(key) for row in found.comparison.rows]
            grid.append([f"  {words}", *(number(value, digits) for value in values)])
    return aligned(grid)


def _heads(names: Sequence[str]) -> list[Row]:
    """The names of the plants over their columns, a long one in several lines."""
    broken = [wrap(name, NAME_WIDTH) for name in names]
    deep = max(map(len, broken))
    rows = [[one[k - deep] if k >= deep - len(one) else "" for one in broken] for k in range(deep)]
    return [["parts" if k == deep - 1 else "", *row] for k, row in enumerate(rows)]


def _charge(roll: Roll) -> str:
    if roll.refrigerant_kg is None:
        return DASH
    return number(1e3 * roll.refrigerant_kg, 0) + ("" if roll.charge_given else "*")


FIGURES = (
    ("  all parts", lambda roll: str(roll.parts)),
    ("what they weigh and cost", lambda roll: ""),
    ("  mass, kg", lambda roll: number(roll.mass_kg, 1)),
    ("  cost, USD", lambda roll: cost_words(roll.cost_usd)),
    ("what moves", lambda roll: ""),
    ("  valves", lambda roll: str(roll.valves)),
    ("  check valves", lambda roll: str(roll.check_valves)),
    ("  doors", lambda roll: str(roll.doors)),
    ("  actuators", lambda roll: str(roll.actuators)),
    ("what holds fluid", lambda roll: ""),
    ("  coolant loops", lambda roll: str(roll.loops["coolant"])),
    ("  refrigerant circuits", lambda roll: str(roll.loops["refrigerant"])),
    ("  joints in coolant", lambda roll: str(roll.joints["coolant"])),
    ("  joints in refrigerant", lambda roll: str(roll.joints["refrigerant"])),
    ("  coolant hose, m", lambda roll: number(roll.hose_m, 1)),
    ("  coolant, L", lambda roll: number(roll.coolant_l, 1)),
    ("  refrigerant, g", _charge),
)


def _stuck(roll: Roll, found: StuckParts) -> list[str]:
    """What one stuck part takes down, worst first; then how many parts can take down each need."""
    if found.left_out:
        return [f"one stuck part in {roll.plant}: not looked at, {found.left_out}"]
    lines = [f"one stuck part in {roll.plant}: what is lost of {len(found.needs)} needs"]
    rows = found.losing
    ends = ["", *("all" if len(row.lost) == len(found.needs) else ", ".join(row.lost) for row in rows)]
    heads = aligned([["  stuck", "at", "lost"], *([f"  {r.actuator}", r.state, str(len(r.lost))] for r in rows)], (1,))
    for head, end in zip(heads, ends, strict=True):
        lines += wrap(f"{head}  {end}".rstrip(), WIDTH, subsequent_indent=" " * (len(head) + 2))
    losing = {row.actuator for row in rows}
    harmless = dict.fromkeys(row.actuator for row in found.rows if row.actuator not in losing)
    if harmless:
        lines.append(fill("  nothing lost wherever it sticks: " + ", ".join(harmless), WIDTH, subsequent_indent="    "))
    counts: list[Row] = [["  parts that alone can take it down", ""]]
    counts += [[f"    {need}", str(len(names))] for need, names in found.single_points.items()]
    return [*lines, "", *aligned(counts)]
