"""Above the budget of joint states: the same families and counts, and the same modes family by family."""

import pytest
from atlas_plants import kept

from heatwright.errors import InputError
from heatwright.modes import join, large
from heatwright.modes.atlas import build_atlas
from heatwright.modes.large import modes_of_family


@pytest.mark.parametrize("letter", ["b", "d", "f"])
def test_families_and_their_modes_are_those_of_the_whole_atlas(letter: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plant = kept(letter)
    whole = build_atlas(plant)
    monkeypatch.setattr(join, "MOST_JOINT_STATES", 10)
    listed = build_atlas(plant)
    assert not listed.whole
    assert listed.modes == ()
    assert (listed.combinations, listed.legal, listed.illegal) == (whole.combinations, whole.legal, whole.illegal)
    assert {family.id: family.title for family in listed.families} == {f.id: f.title for f in whole.families}
    for family in whole.families[::7]:
        found = {mode.id: mode for mode in modes_of_family(plant, family.id)}
        assert found.keys() == set(family.modes)
        for mode in (one for one in whole.modes if one.id in found):
            same = found[mode.id]
            assert (same.state, same.combinations, same.arrangements) == (
                mode.state,
                mode.combinations,
                mode.arrangements,
            )
            assert (same.setting, same.dominated_by, same.family) == (mode.setting, mode.dominated_by, mode.family)


def test_mistakes_are_said(monkeypatch: pytest.MonkeyPatch) -> None:
    plant = kept("d")
    with pytest.raises(InputError, match="no family 'nowhere'"):
        modes_of_family(plant, "nowhere")
    monkeypatch.setattr(join, "MOST_JOINT_STATES", 10)
    with pytest.raises(InputError, match="432 joint states; expected at most 10"):  # (14 less 2 stranded) x 4 x 9
        join.build_states(plant)
    monkeypatch.setattr(large, "MOST_GROUPS", 10)
    with pytest.raises(InputError, match="joint states; expected at most 10"):
        build_atlas(plant)
