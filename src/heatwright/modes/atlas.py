"""Builds the atlas of a plant: every mode its parts allow."""

from __future__ import annotations

from collections.abc import Mapping

from heatwright.modes.identity import folded_text, id_names, mirror_names
from heatwright.modes.join import JoinedNets, Progress
from heatwright.modes.large import LargePlant
from heatwright.modes.memory import collector_paused
from heatwright.modes.model import Atlas
from heatwright.modes.readings import read_states
from heatwright.modes.telling import told
from heatwright.plant.model import Plant


@collector_paused()
def build_atlas(plant: Plant, frozen: Mapping[str, str] | None = None, progress: Progress | None = None) -> Atlas:
    """Every mode of a plant with its id, and what is illegal by reason.

    `frozen` holds actuators in one of their states (a position, a blend "one ~ two", "shut", "off" ...): the atlas
    is then what is left of the plant. Above the budget of joint states the atlas is not `whole`: it lists families,
    and `large.modes_of_family` makes the modes of one. Raises InputError for an unknown actuator or state, and for one
    net above its budget. `progress` is called with (done, total).
    """
    nets = JoinedNets(plant, frozen, progress)
    return _whole(plant, nets) if nets.within_budget else _by_families(plant, nets)


def _whole(plant: Plant, nets: JoinedNets) -> Atlas:
    states = nets.states()
    modes, families = read_states(plant, states.found, nets.teller("readings"))
    names, twins = id_names(plant), mirror_names(plant)
    return Atlas(
        plant=plant.name,
        combinations=states.combinations,
        legal=states.legal,
        illegal=states.illegal,
        modes=modes,
        families=families,
        folded=len({folded_text(state, twins, names) for state in told(states.found, nets.teller("twins"))}),
        joined=states.joined,
        trim=states.trim,
    )


def _by_families(plant: Plant, nets: JoinedNets) -> Atlas:
    large = LargePlant(plant, nets)
    return Atlas(
        plant=plant.name,
        combinations=nets.combinations,
        legal=large.legal,
        illegal=large.illegal,
        modes=(),
        families=large.families,
        folded=0,
        joined=large.joined,
        trim=nets.trim,
        whole=False,
    )
