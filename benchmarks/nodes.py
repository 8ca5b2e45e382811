"""Microseconds a step against the number of nodes: one small car with more and more coolant loops.

Every loop has a tank, a pump, a heater and hoses. In a row each passes heat to the next through a coolant exchanger, so
that the whole is one matrix; apart they do not meet. `python -m benchmarks.nodes` measures and draws the picture.
"""

from __future__ import annotations

import statistics
from pathlib import Path

import numpy as np

from benchmarks.bare import bare_car
from benchmarks.readings import Reading, timed
from heatwright.compiler.build import compile_program
from heatwright.compiler.program import Program
from heatwright.draw.curves import curves
from heatwright.draw.svg import standalone
from heatwright.kernel import march as kernel
from heatwright.plant.model import Plant
from heatwright.study.settled import short_case

PICTURE = Path(__file__).resolve().parents[1] / "docs" / "img" / "step-against-nodes.svg"
IN_A_ROW = (0, 3, 6, 12, 18, 24, 31, 38, 46, 54, 62)
APART = (0, 4, 9, 18, 27, 36, 46, 56, 68, 80, 93)
STEPS = 3000
NONE = np.zeros((1, 1)), np.zeros(0, np.uint32), np.zeros((0, 0), np.float32)

LOOPS = """[lines.coolant]
drive = "drive_tank > drive_pump > drive > drive_tank"
{lines}
[pump]
drive_pump = {{}}
{pumps}
[tank]
drive_tank = {{}}
{tanks}
{heaters}
{plates}
[control]
[control.rule]
rest = {{ }}
[control.act.always]
blower = "40 %"
drive_pump = "60 %"
{acts}
[control.act.rest]
"""


def car_with(loops: int, joined: bool) -> Plant:
    """Return a small car with so many coolant loops besides that of its drive unit."""
    each = range(loops)
    plates = range(loops - 1) if joined else range(0)

    def way(i: int) -> str:
        sides = [f"plate_{i}.a"] * (i in plates) + [f"plate_{i - 1}.b"] * (i - 1 in plates)
        return " > ".join([f"tank_{i}", f"pump_{i}", f"heater_{i}", *sides, f"tank_{i}"])

    more = LOOPS.format(
        lines="\n".join(f'loop_{i} = "{way(i)}"' for i in each),
        pumps="\n".join(f"pump_{i} = {{}}" for i in each),
        tanks="\n".join(f"tank_{i} = {{}}" for i in each),
        heaters="\n".join(["[coolant_heater]", *(f"heater_{i} = {{}}" for i in each)] if loops else []),
        plates="\n".join(["[coolant_exchanger]", *(f"plate_{i} = {{}}" for i in plates)] if plates else []),
        acts="\n".join(f'pump_{i} = "60 %"\nheater_{i} = "{100 + i} W"' for i in each),
    )
    return bare_car(f"A car with {loops} loops", more)


def compiled(plant: Plant) -> Program:
    """Return the Program of a plant on a drive of `STEPS` steps."""
    drive = f'[[segment]]\nkind = "drive"\nspeed = "60 km/h"\nduration = "{STEPS} s"'
    return compile_program(plant, short_case('temperature = "5 degC"', drive, 'step = "1 s"'))


def march_s(program: Program) -> float:
    """Return the seconds of one march: controls and ledger on, no record."""
    w = program.start()
    kernel.prepare(program.pi, program.pf, w, program.rows[0])
    return timed(lambda: kernel.march(program.pi, program.pf, w, program.rows, 1.0, False, False, *NONE))


def against_nodes(repeats: int) -> list[Reading]:
    """Return a reading for every size of both families of cars; all take turns, a busy spell meets them alike."""
    cars = [(loops, "in a row", compiled(car_with(loops, True))) for loops in IN_A_ROW]
    cars += [(loops, "apart", compiled(car_with(loops, False))) for loops in APART]
    turns = [[march_s(program) for *_, program in cars] for _ in range(repeats + 1)][1:]
    out = []
    for k, (loops, name, program) in enumerate(cars):
        times = [1e6 * turn[k] / STEPS for turn in turns]
        nodes, best = len(program.index.nodes), min(times)
        note = f"{1000.0 * best / nodes:.1f} ns a node"
        label = f"{nodes} nodes, {loops} loops {name}"
        out.append(Reading(label, best, "us", None, "most", repeats, statistics.median(times), note))
    return out


def drawn(readings: list[Reading]) -> str:
    """Return the picture: time of a step over nodes, one curve a family."""
    found = {name: [r for r in readings if r.name.endswith(name)] for name in ("in a row", "apart")}
    x = sorted({_nodes(r) for r in readings})
    lines = []
    for name, own in found.items():
        at = {_nodes(r): r.value for r in own}
        lines.append((f"loops {name}", [at.get(n, float("nan")) for n in x]))
    return standalone(curves(x, lines, title="Time of a step", unit="us", x_title="nodes"))


def _nodes(reading: Reading) -> int:
    return int(reading.name.split()[0])


def main() -> None:
    """Measure, print, draw."""
    readings = against_nodes(40)
    for one in readings:
        print(f"{one.name:34} {one.value:8.2f} us, median {one.median:8.2f}; {one.note}")
    PICTURE.write_text(drawn(readings), encoding="utf-8")


if __name__ == "__main__":
    main()
