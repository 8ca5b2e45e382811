"""A plant on a trip under dispatch, with the same modes, stops and meters as a run under its decision table."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from heatwright.compiler.build import lower_plant
from heatwright.dispatch.march import Dispatched, run_dispatch
from heatwright.dispatch.own import Own
from heatwright.dispatch.rules import Rules
from heatwright.kernel import dispatch_names as dn
from heatwright.modes.atlas import build_atlas
from heatwright.plant.model import Plant
from heatwright.run import Label, Run
from heatwright.simulate import Progress
from heatwright.study.run_modes import with_modes
from heatwright.study.stops import settled_case
from heatwright.trip.model import Trip

MODE_LABEL = Label("candidate that ran", "", "mode")


class Dispatcher:
    """Marches one plant under dispatch, as often as asked, on one look at its atlas."""

    def __init__(self, plant: Plant, strategy: Own | Rules | None = None) -> None:
        self.plant, self.atlas, self.strategy = plant, build_atlas(plant), strategy
        self.lowered = lower_plant(plant, all_signals=isinstance(strategy, Own))

    def __call__(self, case: Any, progress: Progress | None = None) -> Dispatched:
        """Return the march over a case; its run tells what the dispatch did and which settings were overridden."""
        own = self.strategy
        program = self.lowered.on(case)
        found = run_dispatch(self.plant, program, case, self.atlas, progress=progress, strategy=own)
        aboard = np.asarray(case.steps["occupied"])[np.rint(found.why.t_s / case.dt_s).astype(int)] > 0.0
        found = replace(found, why=replace(found.why, aboard=aboard))
        return replace(found, run=_told(found, self.plant, case, own))

    def march(self, _: Plant, case: Any) -> Run:
        """Return the run alone, in the form that stops which last as long as a charge ask for."""
        return self(case).run


def _told(found: Dispatched, plant: Plant, case: Any, own: Own | Rules | None) -> Run:
    """Return a run with counts of the dispatch in its health, strategy and overridden settings in its provenance."""
    run = found.run
    health = {
        "decisions": found.decisions,
        "switches": len(found.why.switches()),
        "points_looked_at": found.looks,
        "points_not_settled_and_not_used": found.unsettled,
    }
    given = {**plant.dispatch, **case.dispatch}
    settings = {name: f"{one.text} ({one.where})" for name, one in given.items()}
    known = {"strategy": own.name if own else "dispatch", "controlled": True, "dispatch_settings": settings}
    if own is not None:
        known |= own.told
        asked = found.why.asked
        scores = found.why.lines[:, dn.BEST, dn.R_SCORE]
        health["decisions_left_to_the_laws_of_a_rule"] = int((scores >= dn.IMPOSSIBLE_W).sum())
        health["choices_that_could_not_be_done"] = int((asked != found.why.chosen).sum()) if asked is not None else 0
    return replace(
        run,
        health={**run.health, **health},
        provenance={**run.provenance, **known},
        labels={**run.labels, "mode": MODE_LABEL},
    )


def dispatched(
    plant: Plant, trip: Trip, progress: Progress | None = None, strategy: Own | Rules | None = None
) -> Dispatched:
    """Return the run of a plant under dispatch, with its modes, its why-record, and the dispatch's health.

    strategy : the plant's rules or a user's own (`own.load_own`), which chooses in the place of dispatch. A fast
    charge lasts as long as this plant needs under whoever chooses. RunError where a strategy fails.
    """
    dispatcher = Dispatcher(plant, strategy)
    case = settled_case([plant], trip, marches=(dispatcher.march,))
    found = dispatcher(case, progress)
    return replace(found, run=with_modes(plant, found.run))
