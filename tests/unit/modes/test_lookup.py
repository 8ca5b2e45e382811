"""From settings back to modes: every combination of small plants, samples of large ones, and what is refused."""

import random
from collections import Counter
from itertools import product

import pytest
from atlas_plants import kept

from heatwright.modes.lookup import ModeIndex, mode_of


@pytest.mark.parametrize("letter", ["a", "b"])
def test_every_combination_is_its_mode_or_its_reason(letter: str) -> None:
    """The counts of the atlas, made again one combination at a time."""
    index = ModeIndex(kept(letter))
    modes: Counter[str] = Counter()
    refused = 0
    for states in product(*index.states.values()):
        found = mode_of(index, dict(zip(index.states, states, strict=True)))
        if isinstance(found, str):
            refused += 1
            assert found in index.atlas.illegal
        else:
            modes[found.id] += 1
    assert modes == {mode.id: mode.combinations for mode in index.atlas.modes}
    assert refused == sum(index.atlas.illegal.values())


@pytest.mark.parametrize("letter", ["d", "e", "e2", "f"])
def test_the_setting_of_a_mode_is_that_mode(letter: str) -> None:
    """Also with the actuators that do not matter put anywhere."""
    index = ModeIndex(kept(letter))
    chance = random.Random(5)
    for mode in chance.sample(index.atlas.modes, 60):
        anywhere = {name: chance.choice(index.states[name]) for name in (*mode.free, *index.atlas.trim)}
        assert mode_of(index, {**mode.setting, **anywhere}) is mode


def test_flows_have_their_signs() -> None:
    index = ModeIndex(kept("d"))
    seen = index.look({"join": "together", "pack_pump": "on", "bypass": "skip", "blower": "on"})
    assert seen.mode is not None
    assert seen.mode.state.circuits == {frozenset({"drive", "pack"})}
    coolant = {name: sign for name, sign in seen.flows.items() if name.startswith("coolant")}
    legs = ("pack_leg", "drive_leg/1", "drive_leg/2", "skip", "drive_home")  # the tank cuts a line in two
    assert coolant == {f"coolant/{leg}": 1 for leg in legs}
    assert seen.flows["air/to_left"] == 1


def test_what_is_refused_says_why() -> None:
    index = ModeIndex(kept("d"))
    assert mode_of(index, {"compressor": "on"}) == "compressor runs against a shut circuit"
    assert mode_of(index, {"compressor": "on", "cabin_exv": "throttle"}) == (
        "evaporator evaporates with nothing flowing past it"
    )
    assert index.look({}).mode is index.atlas.modes[0]
    with pytest.raises(KeyError, match="'join' has no state 'neither'"):
        index.look({"join": "neither"})
