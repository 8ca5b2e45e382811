"""The plant sheet: graph of a plant, symbols, placing, routing, labels, and the picture made of them."""

from __future__ import annotations

from heatwright.draw.sheet.sheet import draw_sheet, layout_of

__all__ = ["draw_sheet", "layout_of"]
