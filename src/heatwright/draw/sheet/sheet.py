"""`draw_sheet`: a plant's sheet at one of its levels, as planned, in one mode, or at one instant of a run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from heatwright.draw.sheet.graph import Graph, graph_of
from heatwright.draw.sheet.layout import Layout
from heatwright.draw.sheet.levels import idea_sheet, loops_sheet
from heatwright.draw.sheet.picture import plant_sheet, title_cells
from heatwright.draw.sheet.state import NOTHING_KNOWN, State, state_of_mode
from heatwright.draw.sheet.store import in_cache, keep, keep_refined, stored
from heatwright.draw.sheet.temperatures import temperatures_sheet
from heatwright.errors import InputError, Problem
from heatwright.plant.model import Plant

if TYPE_CHECKING:
    from heatwright.draw.sheet.place import Progress
    from heatwright.run import Run

LEVELS = ("idea", "loops", "plumbing", "temperatures")


def draw_sheet(
    plant: Plant,
    level: str = "plumbing",
    *,
    mode: str = "",
    run: Run | None = None,
    t_s: float = 0.0,
    layout: Layout | None = None,
    progress: Progress | None = None,
) -> str:
    """SVG of a plant's sheet.

    `level` is one of `LEVELS`. With `mode` (an id of the atlas) idle legs are shown as casing only; with `run`
    the sheet has the temperatures and flows at `t_s` [s]. Without `layout` the stored one is taken, or a draft is
    made and kept in the user's cache. Raises InputError for an unknown level or mode, for both a mode and a run, and
    for the level "temperatures" without a run.
    """
    if level not in LEVELS:
        raise InputError(
            [Problem("level", f"'{level}' is no level of a sheet", f"one of {', '.join(LEVELS)}")], "sheet"
        )
    if mode and run is not None:
        raise InputError([Problem("mode and run", "both are asked for", "one of the two")], "sheet")
    if level == "temperatures" and run is None:
        raise InputError([Problem("level", "'temperatures' without a run", "a run and an instant of it")], "sheet")
    state = _state(plant, mode, run, t_s)
    if level == "idea":
        return idea_sheet(plant, state, title_cells(plant, state, "the idea"))
    if level == "loops":
        return loops_sheet(plant, state, title_cells(plant, state, "the loops"))
    if level == "temperatures":
        return temperatures_sheet(plant, state, title_cells(plant, state, "every temperature"))
    return plant_sheet(plant, layout or layout_of(plant, progress=progress), state)


def layout_of(plant: Plant, *, refine: bool = False, progress: Progress | None = None) -> Layout:
    """The layout of a plant's graph: the stored one; else, or to `refine` it, a new one, which is kept.

    A draft takes a few seconds and is kept in the user's cache; a refinement takes a minute or some and is kept beside
    the plant's file. The better of the stored and the refined one stays.
    """
    from heatwright.draw.sheet.place import DRAFT, REFINED, lay_out
    from heatwright.draw.sheet.quality import blemish

    graph: Graph = graph_of(plant)
    known = stored(graph, plant.source)
    if known is not None and not refine:
        return known
    found = lay_out(graph, REFINED if refine else DRAFT, progress)
    if known is not None and blemish(graph, known) <= blemish(graph, found):
        return known
    if refine:
        keep_refined(graph, found, plant.source)
    else:
        keep(found, in_cache(graph))
    return found


def _state(plant: Plant, mode: str, run: Run | None, t_s: float) -> State:
    if run is not None:
        from heatwright.draw.sheet.instant import state_of_run

        return state_of_run(plant, run, t_s)
    if not mode:
        return NOTHING_KNOWN
    from heatwright.modes.lookup import ModeIndex

    index = ModeIndex(plant)
    found = next((one for one in index.atlas.modes if one.id == mode), None)
    if found is None:
        what = f"'{mode}' is no mode of this plant"
        raise InputError([Problem("--mode", what, "an id that `heatwright modes` lists")], "sheet")
    return state_of_mode(plant, found, index)
