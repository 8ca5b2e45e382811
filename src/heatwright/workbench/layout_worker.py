"""One refinement of a layout in a process of its own: an order on stdin, lines of JSON on stdout.

The layout is written under the key of its graph by a rename, whole or not at all. It stops when its stdin ends.
"""

from __future__ import annotations

import sys
from typing import Any

from heatwright.workbench.worker import Teller, do_order, tell


def refine(order: dict[str, Any]) -> None:
    """Refine the layout of a plant with its changes, and tell its crossings and bends."""
    from heatwright.draw.sheet import layout_of
    from heatwright.draw.sheet.layout import bend_count, crossings
    from heatwright.plant.load import load_plant

    plant = load_plant(str(order["plant_source"]), order["changes"])
    layout = layout_of(plant, refine=True, progress=Teller())
    tell(done={"crossings": len(crossings(layout)), "bends": bend_count(layout)})


def main() -> int:
    """Do the order on stdin."""
    return do_order(refine, lambda _: "sheet")


if __name__ == "__main__":
    sys.exit(main())
