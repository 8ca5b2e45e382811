"""What is found of one need at one air outside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heatwright.plant.model import Plant
from heatwright.study.capacity.tasks import Task
from heatwright.study.needs.why import conditioned

ALIKE = 0.01


@dataclass(frozen=True)
class Amount:
    """One side of a need: what is wanted and what the mode can do, both above zero [W, or kg/s of water]."""

    side: str
    load: float
    capacity: float


@dataclass(frozen=True)
class Cell:
    """One need at one air outside, in the best mode. `share` of the load that is served, 1 and more: met.

    `p_least_w` is the least electricity with which the load is served, found in `least_mode`, turned down to it.

    Without a load there is nothing to do and `share` is None; without a mode `mode` is empty and `share` 0.
    """

    task: str
    t_ambient_k: float
    amounts: tuple[Amount, ...]
    share: float | None
    mode: str = ""
    title: str = ""
    p_electric_w: float = 0.0
    bound: str = ""
    steady: bool = True
    devices: int = 0
    p_least_w: float | None = None
    least_mode: str = ""
    least_title: str = ""

    @property
    def met(self) -> bool:
        """Whether the load is served, or there is none."""
        return self.share is None or self.share >= 1.0 - 1e-9


def best_of(found: Sequence[Cell]) -> Cell:
    """Return the cell that serves the greatest share; of those alike the one with the fewest devices, then power."""
    most = max(cell.share or 0.0 for cell in found)
    near = [cell for cell in found if (cell.share or 0.0) >= most - ALIKE * abs(most)]
    return min(near, key=lambda cell: (cell.devices, cell.p_electric_w, cell.mode))


def no_mode(plant: Plant, task: Task) -> str:
    """Return why no mode serves a need."""
    told = "no mode does both at once" if task.key.endswith("_both") else "no mode of this plant does it"
    return f"{told} ({conditioned(plant)})" if "pack" in task.key or task.key.endswith("_both") else told
