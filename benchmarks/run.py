"""Measure Heatwright on this machine: `make bench`.  README.md says how to read the table."""

from __future__ import annotations

import argparse
import json
import sys
import time
from dataclasses import asdict
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks import cases, dispatch, methods, modes, nodes, parts, process, speed
from benchmarks.readings import Reading, machine
from heatwright.compiler.warm import is_cold, warm

OUT = Path(__file__).resolve().parent / "out"
GROUPS = ("methods", "speed", "nodes", "parts", "modes", "day", "dispatch", "year", "starts")


def say(text: str) -> None:
    """Report progress on the error stream."""
    print(f"... {text}", file=sys.stderr, flush=True)


def measure(groups: list[str], repeats: int, engineer_s: int) -> tuple[dict[str, list[Reading]], dict[str, Any]]:
    """Return the readings by group, and what else the methods gave."""
    found: dict[str, list[Reading]] = {}
    extra: dict[str, Any] = {}
    if "methods" in groups:
        bench = methods.Bench(cases.driving_hour("reversing", lumps=True), repeats, engineer_s, say)
        rows = methods.side_by_side(bench)
        extra = {"rows": rows, "input_shape": methods.input_shape(bench)}
        found["ratios at about equal error"] = methods.ratios(rows)
        found["step by step, on the hour's own inputs"] = speed.observed_order(bench)
        found["independence of the step, own controls"] = speed.step_size()
    if "speed" in groups:
        say("step times")
        found["microseconds a step, driving hour, ledger on"] = speed.step_times(repeats)
    if "nodes" in groups:
        say("step times against nodes")
        found["microseconds a step, against the nodes of the plant"] = nodes.against_nodes(repeats)
    if "parts" in groups:
        say("parts of a step")
        found["where a step goes"] = [r for plant in ("reversing", "plain") for r in parts.part_times(plant, repeats)]
    if "modes" in groups:
        say("atlases")
        found["an atlas, against the size of the plant"] = modes.atlas_times(repeats)
    if "day" in groups:
        say("a day")
        found["a day"] = process.day(repeats)
    if "dispatch" in groups:
        say("decisions of the dispatch, and days under it")
        found["the dispatch"] = dispatch.decisions(repeats) + dispatch.days(repeats)
    if "year" in groups:
        found["a year of commutes under dispatch"] = dispatch.a_year(say)
    if "starts" in groups:
        say("cold and warm starts")
        found["starts"] = process.starts(repeats)
    return found, extra


def show(found: dict[str, list[Reading]], extra: dict[str, Any], where: dict[str, Any]) -> None:
    """Print machine, methods and readings with their targets."""
    load = ", ".join(f"{x:.2f}" for x in where["load_average"])
    print(f"{where['cpu']}, {where['cores']} cores, load average {load}, {where['at']}")
    if extra:
        print("\none driving hour, reversing plant, errors against a converged solution of the same inputs")
        print(methods.table(extra["rows"].values()))
        shape = extra["input_shape"]
        print(
            f"  inputs as steps or as lines: rms {shape['rms_k']:.1e} K, after 60 s {shape['settled_k']:.1e} K at most"
        )
    for group, readings in found.items():
        print(f"\n{group}")
        for reading in readings:
            print(reading.line())
    held = [r for readings in found.values() for r in readings if r.target is not None]
    missed = [r.name for r in held if not r.met]
    print(
        f"\n{len(held) - len(missed)} of {len(held)} targets met" + (f"; missed: {'; '.join(missed)}" if missed else "")
    )


def write(file: Path, found: dict[str, list[Reading]], extra: dict[str, Any], where: dict[str, Any]) -> None:
    """Write everything as JSON."""
    file.parent.mkdir(parents=True, exist_ok=True)
    rows = [asdict(r) for r in extra.get("rows", {}).values()]
    readings = {group: [r.as_json() for r in some] for group, some in found.items()}
    whole = {"machine": where, "methods": rows, "input_shape": extra.get("input_shape"), "readings": readings}
    file.write_text(json.dumps(whole, indent=1) + "\n", encoding="utf-8")
    print(f"written: {file}")


def main() -> None:
    """Measure, print, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, help="JSON file (default: benchmarks/out/<time>.json)")
    parser.add_argument("--repeats", type=int, default=5, help="take the best of so many (default 5)")
    parser.add_argument("--only", choices=GROUPS, action="append", help="measure this group only; may be repeated")
    parser.add_argument(
        "--engineer-seconds", type=int, default=3600, help="seconds of the hour the engineer's script marches (3600)"
    )
    given = parser.parse_args()
    if given.engineer_seconds <= methods.START_S:
        parser.error(f"--engineer-seconds {given.engineer_seconds}: more than {methods.START_S}, where errors are read")
    if is_cold():
        say("compiling the march")
    warm()
    before = machine()
    found, extra = measure(given.only or list(GROUPS), given.repeats, given.engineer_seconds)
    where = before | {"load_average_after": machine()["load_average"], "repeats": given.repeats}
    show(found, extra, where)
    write(given.out or OUT / f"{time.strftime('%Y%m%d-%H%M%S')}.json", found, extra, where)


if __name__ == "__main__":
    main()
