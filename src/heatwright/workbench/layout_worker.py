"""One refinement of a layout in a process of its own: an order on stdin, lines of JSON on stdout.

The layout is written under the key of its graph by a rename, whole or not at all. It stops when its stdin ends.
"""

from __future__ import annotations

import json
import sys
import threading

from heatwright.errors import HeatwrightError, InputError
from heatwright.workbench.worker import Teller, _watch, tell


def refine(order: dict[str, object]) -> None:
    """Refine the layout of a plant with its changes, and tell its crossings and bends."""
    from heatwright.draw.sheet import layout_of
    from heatwright.draw.sheet.layout import bend_count, crossings
    from heatwright.plant.load import load_plant

    plant = load_plant(str(order["plant_source"]), order["changes"])  # type: ignore[arg-type]
    layout = layout_of(plant, refine=True, progress=Teller())
    tell(done={"crossings": len(crossings(layout)), "bends": bend_count(layout)})


def main() -> int:
    """Do the order on stdin."""
    order = json.loads(sys.stdin.readline())
    threading.Thread(target=_watch, daemon=True).start()
    try:
        refine(order)
    except InputError as failure:
        tell(failed=[one.as_json() for one in failure.problems])
    except HeatwrightError as failure:
        tell(failed=[{"where": "sheet", "found": str(failure)}])
    except KeyboardInterrupt:
        return 130
    except Exception as failure:
        tell(failed=[{"where": "sheet", "found": f"a fault of the program: {type(failure).__name__}: {failure}"}])
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
