"""The page that shows how cold coolant throttles: flow and film of every exchanger over its temperature."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from heatwright.draw.curves import curves
from heatwright.report import html
from heatwright.study.table import number

if TYPE_CHECKING:
    from heatwright.study.cold import Cold

SHOWN = (
    ("flow_l_per_min", "Flow", "L/min", 1),
    ("film_w_per_k", "Conductance of the coolant film", "W/K", 0),
    ("reynolds", "Reynolds number", "–", 0),
)
ABOUT = (
    "All coolant has one temperature, every pump runs at full speed.",
    "Conductances are those of the coolant film alone; what lies behind it (metal, air, refrigerant) comes on top.",
    "Below a Reynolds number of about 2300 a passage is laminar: its film hardly knows the flow any more, and its"
    " pressure drop goes with viscosity.",
)


def _merged(lines: Sequence[tuple[str, tuple[float, ...]]]) -> list[tuple[str, tuple[float, ...]]]:
    """Lines that lie on each other become one with both names: parts in one line of coolant share its flow."""
    names: dict[tuple[float, ...], list[str]] = {}
    for name, values in lines:
        names.setdefault(values, []).append(name)
    return [(", ".join(own), values) for values, own in names.items()]


def render_cold(cold: Cold) -> str:
    """One HTML page that needs nothing else."""
    stood = cold.standing
    sections = [("about", "What is shown", html.sentences((*ABOUT, f"{stood[0].upper()}{stood[1:]}.")))]
    for key, title, unit, digits in SHOWN:
        lines = [(one.part, getattr(one, key)) for one in cold.parts]
        if not lines:
            continue
        drawn = curves(
            cold.temperatures_c, _merged(lines), title=title, unit=unit, x_title="temperature of the coolant, °C"
        )
        head = (f"{title}, {unit}", *(f"{number(t, 0)} °C" for t in cold.temperatures_c))
        rows = [(name, *(number(v, digits) for v in values)) for name, values in lines]
        sections.append((key.partition("_")[0], title, html.drawing(drawn) + html.table(head, rows)))
    sections.append(("cautions", "Cautions", html.cautions()))
    cells = [("Plant", cold.plant), ("Exchangers", str(len(cold.parts)))]
    return html.page(f"Cold coolant, {cold.plant}", html.title_block("Cold coolant", cold.plant, cells), sections)
