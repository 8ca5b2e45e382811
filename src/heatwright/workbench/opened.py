"""What an open layer is: its title and question by key, what it is asked for, and what it then shows.

One dataclass is both the page and its JSON twin. Nothing here draws, so that the server is soon ready.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from heatwright.errors import InputError, Problem
from heatwright.run import plain
from heatwright.workbench.study import Kept, Study

if TYPE_CHECKING:
    from heatwright.draw.sheet.figures import Figures

TITLES = {
    "traces": ("Traces", "How did each quantity go?"),
    "needs": ("Needs", "Was everything asked for given, and how narrowly?"),
    "heat": ("Heat", "Where did the heat come from, and where did it go?"),
    "sheet": ("Sheet", "Which way does what flow at this instant?"),
    "compare": ("Compare", "How do the plants differ at this instant, and in all?"),
    "setup": ("Set up", "Which number should be another?"),
    "modes": ("Modes", "Which modes ran, and what was moved in them?"),
    "reach": ("Reach", "Which modes does the plant have at all, and which needs do they serve?"),
    "cycle": ("Cycle", "What does the refrigerant do at this instant?"),
    "why": ("Why", "Which modes competed at this instant, and why did one win?"),
    "energy": ("Energy", "What was the electricity spent on?"),
    "scenes": ("Scenes", "How is it told to others?"),
    "report": ("Report", "What is handed on?"),
}
"""In the order of their tabs."""


def title_of(key: str) -> tuple[str, str]:
    """Title and question of a layer; InputError where there is none of that name."""
    if key in TITLES:
        return TITLES[key]
    raise InputError([Problem("layer", f"there is no layer {key[:40]!r}", ", ".join(TITLES))], "bench")


@dataclass(frozen=True)
class Table:
    """A table twin."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Picture:
    """A drawing and its table; of a sheet also the figures of its parts, and the id of the run shown."""

    name: str
    svg: str
    table: Table | None = None
    parts: tuple[Figures, ...] = ()
    run: str = ""


@dataclass(frozen=True)
class Layer:
    """What one open layer shows at an instant; `sorry` says why there is nothing to show.

    `links` are (address on this server, words).
    """

    key: str
    title: str
    question: str
    at_s: float
    pictures: tuple[Picture, ...] = ()
    lines: tuple[str, ...] = ()
    sorry: str = ""
    follows: bool = True
    tables: tuple[Table, ...] = ()
    links: tuple[tuple[str, str], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        found: dict[str, Any] = plain(asdict(self))
        return found


@dataclass(frozen=True)
class Asked:
    """What a layer is asked for: runs by id, an instant, and the ends of a span."""

    study: Study
    runs: tuple[Kept, ...]
    at_s: float
    span: tuple[float, float] | None = field(default=None)
    level: str = "plumbing"


def no_run(key: str) -> Layer:
    """A layer of a study that holds no run yet."""
    return Layer(key, *title_of(key), 0.0, sorry="No run lies on the bench yet.")
