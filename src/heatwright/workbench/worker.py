"""One job in a process of its own: it comes on stdin, lines of JSON go out, results are written whole or not at all.

It stops when its stdin ends: so a cancelled job, and one whose server was killed, both leave nothing behind.
"""

from __future__ import annotations

import _thread
import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from heatwright.errors import HeatwrightError, InputError, RunError
from heatwright.run import Run

EVERY_S = 0.1


def tell(**what: Any) -> None:
    """Say one thing to the server."""
    sys.stdout.write(json.dumps(what) + "\n")
    sys.stdout.flush()


class Teller:
    """Progress of a march as lines, ten a second at most."""

    def __init__(self) -> None:
        self.last = 0.0

    def __call__(self, done: float, total: float = 1.0, what: str = "") -> None:
        """Tell how much is done."""
        now = time.monotonic()
        if now - self.last > EVERY_S:
            self.last = now
            tell(share=done / total if total else 0.0)


def work(job: dict[str, Any]) -> None:
    """Do a job: march a plant and save its run, or march the draws of a verdict."""
    from heatwright.compiler.warm import is_cold, wake, warm

    if is_cold():
        tell(say="compiling the solver, once: a minute or more")
        warm()
    else:
        wake()
    if job["kind"] == "verdict":
        from heatwright.workbench.verdicts import judge

        judge(job, Teller())
    else:
        march(job)
    tell(done=job["folder"])


def load_ahead() -> None:
    """Load what a march needs, as far as it is compiled already."""
    from heatwright.compiler.warm import is_cold, wake

    if not is_cold():
        wake()
        import heatwright.plant.load
        import heatwright.report
        import heatwright.report.page
        import heatwright.study.one_run
        import heatwright.trip.load  # noqa: F401


def march(job: dict[str, Any]) -> None:
    """Run the plant of a job with its changes on its trip, and save the run."""
    from heatwright.compiler.warm import is_cold
    from heatwright.plant.load import load_plant
    from heatwright.report import save_run
    from heatwright.trip.load import load_trip

    plant = load_plant(job["plant_source"], job["changes"])
    trip = load_trip(job["trip_source"], job["trip_changes"])
    why = None
    if job["strategy"] == "table":
        from heatwright.study.one_run import one_run

        run = one_run(plant, trip, progress=Teller())
    else:
        from heatwright.dispatch.rules import Rules
        from heatwright.study.dispatched import dispatched

        if is_cold("dispatch.decide"):
            tell(say="compiling the dispatch, once: a few minutes")
        found = dispatched(plant, trip, Teller(), Rules() if job["strategy"] == "rules" else None)
        run, why = found.run, found.why
    save_run(_marked(run, job), Path(job["folder"]), why=why)


def _marked(run: Run, job: dict[str, Any]) -> Run:
    """The run with what the bench must know to show it again."""
    bench = {key: job[key] for key in ("name", "plant", "trip", "changes", "trip_changes", "strategy")}
    return replace(run, provenance={**run.provenance, "bench": bench})


def main() -> int:
    """Do the job on stdin; what every march needs is loaded before it comes."""
    load_ahead()
    return do_order(work, lambda job: str(job["name"]))


def do_order(work: Callable[[dict[str, Any]], None], place: Callable[[dict[str, Any]], str]) -> int:
    """Do what comes on stdin and tell how it failed, if it did; return the exit status.

    place : where a failure that names no file is said to be.
    """
    line = sys.stdin.readline()
    if not line:  # let go of before there was an order
        return 0
    order = json.loads(line)
    signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored where the server was started in the background
    try:
        threading.Thread(target=_watch, daemon=True).start()
        work(order)
    except InputError as failure:
        tell(failed=[one.as_json() for one in failure.problems])
    except RunError as failure:
        from heatwright.draw.axes import span_words

        tell(failed=[{"where": f"{place(order)}, after {span_words(failure.t_s)} of the trip", "found": str(failure)}])
    except HeatwrightError as failure:
        tell(failed=[{"where": place(order), "found": str(failure)}])
    except KeyboardInterrupt:
        return 130
    except Exception as failure:
        found = f"a fault of the program: {type(failure).__name__}: {failure}"
        tell(failed=[{"where": place(order), "found": found}])
        return 1
    return 0


def _watch() -> None:
    """Interrupt the work when the server lets go of this process, and end it where that is not heard."""
    while os.read(0, 1024):
        pass
    _thread.interrupt_main()
    time.sleep(5.0)
    os._exit(130)


if __name__ == "__main__":
    sys.exit(main())
