"""Capacities in words: a table for a terminal, and for every need the sentence that says where it falls short."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from textwrap import fill

from heatwright.study.capacity.cells import Cell
from heatwright.study.capacity.sweep import Capacities
from heatwright.study.capacity.tasks import TASKS, Task
from heatwright.study.point_table import celsius
from heatwright.study.table import DASH, WIDTH, Row, aligned, number

MOST_COLUMNS = 7
UNEVEN = 0.05
SCALE = {"water": (3.6e6, "g/h", 0)}
HEAT = (1e-3, "kW", 1)
BASIS = (
    "Capacity: what the best mode adds, every heater and the compressor at their most, to the same car with only its"
    " air moving; cabin and cells held, exchangers dry. Least power: the mode that serves just the load with the least"
    " electricity, heaters and compressor turned down alike. Steady states of the model: an engineering estimate."
)


def outside(t_k: float) -> str:
    """Return an air outside in degC: whole, or with the one digit that it needs."""
    return celsius(t_k, 0 if abs(t_k - 273.15 - round(t_k - 273.15)) < 0.05 else 1)


def shown(side: str, value: float, digits: int | None = None) -> str:
    """Return an amount of a side as a number in its unit."""
    factor, _, usual = SCALE.get(side, HEAT)
    return number(factor * value, usual if digits is None else digits)


def unit(side: str) -> str:
    """Return the unit a side is shown in."""
    return SCALE.get(side, HEAT)[1]


def span(cells: Sequence[Cell]) -> str:
    """Return the air outside of neighbouring cells in words."""
    first, last = cells[0].t_ambient_k, cells[-1].t_ambient_k
    return f"at {outside(first)} °C" if first == last else f"{outside(first)} to {outside(last)} °C"


def runs(cells: Sequence[Cell], key: Callable[[Cell], object]) -> list[list[Cell]]:
    """Return neighbouring cells of the same key together; those without a load part them and are left out."""
    groups = (list(group) for _, group in groupby(cells, lambda cell: (cell.share is None, key(cell))))
    return [group for group in groups if group[0].share is not None]


def verdict(cells: Sequence[Cell]) -> str:
    """Return the sentence of one need: where it falls short and why, or the least that is left."""
    asked = [cell for cell in cells if cell.share is not None]
    if not asked:
        return "nothing to do at any of these temperatures"
    short = runs(cells, lambda cell: cell.met)
    failing = [group for group in short if not group[0].met]
    if not failing:
        least = min(asked, key=lambda cell: cell.share or 0.0)
        return f"served {span(asked)}, least {_worst(least)}"
    return "; ".join(f"short {span(group)}{_why(group)}" for group in failing)


def _why(group: Sequence[Cell]) -> str:
    """Return where neighbouring cells fall shortest and what binds there, or that no mode serves."""
    cell = min(group, key=lambda one: one.share or 0.0)
    return f", most {_worst(cell)}" if cell.mode else f": {cell.bound}"


def _worst(cell: Cell) -> str:
    """Return the amounts of one cell and what binds."""
    limiting = [one for one in cell.amounts if one.load > 0.0]
    one = min(limiting, key=lambda amount: amount.capacity / amount.load)
    side = f"{one.side} " if len(limiting) > 1 else ""
    amount = f"{side}{shown(one.side, one.capacity)} of {shown(one.side, one.load)} {unit(one.side)}"
    uneven = ", one zone short" if (cell.share or 0.0) < one.capacity / one.load - UNEVEN else ""
    return f"at {outside(cell.t_ambient_k)} °C ({amount}{uneven}): {cell.bound}"


def best_modes(cells: Sequence[Cell]) -> list[tuple[str, str]]:
    """Return (air outside in words, title with id) of the best mode from cold to hot."""
    groups = runs(cells, lambda cell: cell.mode)
    return [(span(group), f"{group[0].title} [{group[0].mode}]") for group in groups if group[0].mode]


def least_modes(cells: Sequence[Cell]) -> list[tuple[str, str]]:
    """Return the same of the mode that serves the load with the least electricity."""
    groups = runs(cells, lambda cell: cell.least_mode)
    return [(span(group), f"{group[0].least_title} [{group[0].least_mode}]") for group in groups if group[0].least_mode]


def electricity(cells: Sequence[Cell]) -> str:
    """Return in words how much electricity serves the load, from the least to the most; empty where nothing does."""
    powers = [cell for cell in cells if cell.p_least_w is not None]
    if not powers:
        return ""
    ends = [pick(powers, key=lambda cell: cell.p_least_w or 0.0) for pick in (min, max)]
    if _kilowatts(ends[0].p_least_w) == _kilowatts(ends[1].p_least_w):
        return f"served with {_kilowatts(ends[0].p_least_w)} kW of electricity"
    words = [f"{_kilowatts(one.p_least_w)} kW at {outside(one.t_ambient_k)} °C" for one in ends]
    return f"served with {' to '.join(words)} of electricity"


def capacities_as_text(found: Capacities) -> str:
    """Return every need as a small table with its sentence and its best modes."""
    blocks = [f"{found.plant}: capacities against loads, by air outside"]
    blocks += [_block(task, found.of(task.key)) for task in TASKS]
    return "\n\n".join([*blocks, fill(BASIS, WIDTH)])


def _block(task: Task, cells: Sequence[Cell]) -> str:
    every = max(1, -(-len(cells) // MOST_COLUMNS))
    chosen = cells[::every]
    rows: list[Row] = [[f"{task.words}, °C outside", *(outside(cell.t_ambient_k) for cell in chosen)]]
    for k, (side, _) in enumerate(task.sides):
        name = f"{side} " if len(task.sides) > 1 else ""
        for words, key in (("load", "load"), ("capacity", "capacity")):
            values = [DASH if c.share is None else shown(side, getattr(c.amounts[k], key)) for c in chosen]
            rows.append([f"  {name}{words}, {unit(side)}", *values])
    rows.append(["  share of the load", *(DASH if c.share is None else _percent(c.share) for c in chosen)])
    rows.append(["  electric power then, kW", *(number(c.p_electric_w / 1e3, 1) if c.mode else DASH for c in chosen)])
    rows.append(["  least that serves it, kW", *(_kilowatts(c.p_least_w) for c in chosen)])
    told = [fill(verdict(cells), WIDTH, initial_indent="  ", subsequent_indent="    ")]
    for where, title in best_modes(cells):
        told.append(fill(f"most {where}: {title}", WIDTH, initial_indent="  ", subsequent_indent="    "))
    for where, title in least_modes(cells):
        told.append(fill(f"least power {where}: {title}", WIDTH, initial_indent="  ", subsequent_indent="    "))
    moving = [outside(cell.t_ambient_k) for cell in cells if not cell.steady]
    if moving:
        told.append(f"  still moving when read: at {', '.join(moving)} °C")
    return "\n".join([*aligned(rows), *told])


def _kilowatts(power_w: float | None) -> str:
    return DASH if power_w is None else number(power_w / 1e3, 1)


def _percent(share: float) -> str:
    return f"{number(100.0 * share, 0)} %" if share < 9.995 else "> 999 %"
