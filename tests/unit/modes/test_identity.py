"""Ids: from the state alone, short, and longer where two would clash."""

import pytest

from heatwright.modes import identity
from heatwright.modes.identity import canonical_text, folded_text, ids_of, short_id
from heatwright.modes.model import Aired, State, Stream

WARM = State(
    circuits=frozenset({frozenset({"pack", "chiller"}), frozenset({"drive", "radiator", "drive.loss"})}),
    streams=frozenset({Stream(frozenset({"condenser"}), frozenset({"chiller"}), False)}),
    air=frozenset({Aired("heater_left", frozenset({"left"}), frozenset())}),
    feed=frozenset({("left", "fresh")}),
    pads=frozenset({"mat"}),
)


def test_text_says_everything_sorted() -> None:
    assert canonical_text(WARM) == (
        "C:chiller,pack;drive,drive.loss,radiator|R:hot condenser cold chiller|A:heater_left>left</left=fresh|P:mat"
    )
    assert canonical_text(State()) == "C:|R:|A:/|P:"


def test_former_names_make_the_id() -> None:
    text = canonical_text(WARM, {"drive": "motor"})
    assert "motor,motor.loss,radiator" in text
    assert "drive" not in text


def test_twins_share_a_text() -> None:
    twins = {"left": "right", "right": "left", "heater_left": "heater_right", "heater_right": "heater_left"}
    other = State(
        air=frozenset({Aired("heater_right", frozenset({"right"}), frozenset())}), feed=frozenset({("right", "fresh")})
    )
    this = State(
        air=frozenset({Aired("heater_left", frozenset({"left"}), frozenset())}), feed=frozenset({("left", "fresh")})
    )
    assert folded_text(this, twins) == folded_text(other, twins)
    assert folded_text(this, {}) != folded_text(other, {})


def test_ids_are_six_characters_and_lengthen_for_both(monkeypatch: pytest.MonkeyPatch) -> None:
    texts = [f"text {number}" for number in range(50)]
    ids = ids_of(texts)
    assert {len(one) for one in ids.values()} == {6}
    monkeypatch.setattr(identity, "LENGTH", 1)
    short = ids_of(texts)
    assert len(set(short.values())) == len(texts)
    for text, one in short.items():
        assert one == short_id(text, len(one))
        if len(one) > 1:  # a shorter id is shared with another text, which has a longer id too
            sharing = [other for other in texts if short_id(other, len(one) - 1) == one[:-1]]
            assert len(sharing) > 1
            assert all(len(short[other]) >= len(one) for other in sharing)
