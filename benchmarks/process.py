"""Whole processes, each measured from outside: cold start, warm start, a day, the help text."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from benchmarks.readings import Reading

ROOT = Path(__file__).resolve().parent.parent
DAY = Path(__file__).resolve().parent / "day.trip.toml"
HEATWRIGHT = [sys.executable, "-m", "heatwright.cli"]
DAY_SCRIPT = """
import json, resource, statistics, sys
from heatwright.compiler.build import compile_program
from heatwright.plant.load import load_plant
from heatwright.simulate import simulate
from heatwright.trip.load import build_case, load_trip
case = build_case(load_trip(sys.argv[1]))
program = compile_program(load_plant("reversing"), case)
times = [simulate(program, case).provenance["elapsed_s"] for _ in range(int(sys.argv[2]))]
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
print(json.dumps([case.n, min(times), statistics.median(times), peak]))
"""


def run(command: list[str], cache: str | None = None) -> tuple[float, str]:
    """Return seconds and output of a process; CalledProcessError if it fails."""
    env = {**os.environ, **({"HEATWRIGHT_CACHE": cache} if cache else {})}
    begun = time.perf_counter()
    done = subprocess.run(command, cwd=ROOT, env=env, check=True, capture_output=True, text=True)
    return time.perf_counter() - begun, done.stdout


def day(repeats: int) -> list[Reading]:
    """Return seconds of the march over 24 h at 1 s with full record, and the process's peak memory."""
    _, text = run([sys.executable, "-c", DAY_SCRIPT, str(DAY), str(repeats)])
    n, best, median, peak = json.loads(text)
    return [
        Reading(f"24 h of {n} steps, record on", best, "s", 0.5, "most", repeats, median),
        Reading("peak memory of that process", peak, "MiB", 400.0),
    ]


def starts(repeats: int) -> list[Reading]:
    """Return seconds of cold start (fresh cache), of a later run of the winter day, and of the help text."""
    winter = [*HEATWRIGHT, "run", "reversing", "winter_day"]
    with tempfile.TemporaryDirectory() as cache:
        warm = "from heatwright.compiler.warm import warm; warm()"
        compile_s, _ = run([sys.executable, "-c", warm], cache)
        first_s, _ = run(winter, cache)
        later = [run(winter, cache)[0] for _ in range(repeats)]
    helps = [run([*HEATWRIGHT, "--help"])[0] for _ in range(repeats)]
    return [
        Reading("cold: compile the march into a fresh cache", compile_s, "s", 20.0),
        Reading("then the first winter day (builds property tables)", first_s, "s"),
        Reading(
            "any later winter day, process start to end", min(later), "s", 2.5, "most", repeats,
            statistics.median(later),
        ),
        Reading("heatwright --help", min(helps), "s", None, "most", repeats, statistics.median(helps)),
    ]  # fmt: skip
