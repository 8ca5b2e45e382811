"""How much of the drive unit's loss a plant can carry away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from heatwright.plant.model import Plant
from heatwright.study.capacity.bench import Bench
from heatwright.study.capacity.candidates import Candidate
from heatwright.study.capacity.cells import ALIKE, Amount, Cell, no_mode
from heatwright.study.capacity.tasks import Task

STEPS = tuple(16.0 * 2.0 ** (-k / 2) for k in range(13))
HALVINGS = 4


def drive_cell(
    plant: Plant, task: Task, t_k: float, bench: Bench, modes: Sequence[Candidate]
) -> tuple[Cell, tuple[str, ...]]:  # fmt: skip
    """Return the mode that carries the most of the drive unit's loss away; those with few devices are asked first.

    Another is only looked at where it bears a little more than the best so far.
    """
    best = Cell(task.key, t_k, (Amount("drive", bench.loss_w(), 0.0),), 0.0, bound=no_mode(plant, task))
    good: tuple[str, ...] = ()
    least: dict[str, Any] = {}
    for mode in sorted(modes, key=lambda one: (one.devices, one.id)):
        over = (1.0 + ALIKE) * (best.share or 0.0)
        if not least and (found := bench.settle(mode.acts, 1.0)).drive_share >= 1.0:
            least = {"p_least_w": found.p_electric_w, "least_mode": mode.id, "least_title": mode.title}
        if over > STEPS[0]:
            break
        if not good or bench.settle(mode.acts, over).drive_share >= 1.0:
            best = _most_loss(task, t_k, bench, mode)
            good = (mode.id, *good)
    return replace(best, **least), good


def _most_loss(task: Task, t_k: float, bench: Bench, mode: Candidate) -> Cell:
    """Return the greatest loss that a mode keeps within the drive unit's limits: from above, then by halving.

    All losses are scaled alike, up to sixteen times those of the point of driving.

    From above, because cold coolant may cool worse than warm: a smaller loss can then be worse than a greater one.
    """
    wanted = bench.loss_w()
    low, over, under = 0.0, None, None
    for times in STEPS:
        found = bench.settle(mode.acts, times)
        if found.drive_share >= 1.0:
            low, under = times, found
            break
        high, over = times, found
    if under is not None and over is not None:
        for _ in range(HALVINGS):
            middle = (low * high) ** 0.5
            found = bench.settle(mode.acts, middle)
            if found.drive_share >= 1.0:
                low, under = middle, found
            else:
                high, over = middle, found
    bound = f"{over.drive_limit} at its limit" if over else f"no limit up to {STEPS[0]:.0f} times the loss"
    power, steady = (under.p_electric_w, under.steady) if under else (0.0, True)
    amount = Amount("drive", wanted, low * wanted)
    return Cell(task.key, t_k, (amount,), low, mode.id, mode.title, power, bound, steady, mode.devices)
