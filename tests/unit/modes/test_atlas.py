"""Whole atlases: counts made by hand, the checksum, ids that stay, rules, and actuators that are stuck."""

from itertools import pairwise
from pathlib import Path

import pytest
from atlas_plants import PLATES, changed, kept, written

from heatwright.errors import InputError
from heatwright.modes import facets
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas, State

# combinations, legal, distinct, folded, families, useful
COUNTS = {
    # Drive loop off or with the radiator: 2. Blower off: nothing in the cabin may run: 1; on: inlet 2 x
    # air conditioning 2 x core 2 = 8. So 2 x 9. Recirculating with nothing active is bettered by all off: 2.
    "a": (1440, 660, 18, 18, 8, 16),
    # Drive 2 x pad 2 x (off + inlet 2 x refrigerant {off, cools, warms} x air heater 2 = 13).
    "b": (960, 600, 52, 52, 24, 48),
    # Drive 2 x (nothing chilled: pack loop 3 x air 5; cabin cooled 3 x 4; pack chilled 2 x 5; both 2 x 4 = 45).
    "c": (23040, 7080, 90, 90, 32, 80),
    # Coolant, chiller idle: apart {off, stirred} x {off, radiator, radiator with loss, bypassed} + joined
    # {radiator, skip} x {loss, none} = 12; chiller active: the pack flows, 8. Air: 1 + inlet 2 x heaters 4 = 9.
    # Refrigerant off 12 x 9, evaporator 12 x 8, chiller 8 x 9, both 8 x 8 = 340; twins folded, air is 7 or 6.
    "d": (9216, 3366, 340, 260, 72, 272),
    "e": (322560, 197160, 614, 614, 128, 487),
    "e2": (4838400, 3017400, 906, 726, 183, 741),
    "f": (77760, 34260, 198, 198, 68, 170),
}


@pytest.fixture(scope="module")
def joined() -> Atlas:
    return build_atlas(kept("d"))


@pytest.mark.parametrize("letter", COUNTS)
def test_counts(letter: str) -> None:
    atlas = build_atlas(kept(letter))
    found = (
        atlas.combinations,
        atlas.legal,
        atlas.distinct,
        atlas.folded,
        len(atlas.families),
        len(atlas.useful),
    )
    assert found == COUNTS[letter]
    assert atlas.legal + sum(atlas.illegal.values()) == atlas.combinations
    assert sum(mode.combinations for mode in atlas.modes) == atlas.legal
    assert len({mode.id for mode in atlas.modes}) == len({mode.state for mode in atlas.modes}) == atlas.distinct


def test_illegal_by_reason() -> None:
    """Plain: 45 positions of doors; drive loop 2, core loop 4 of which one heats still coolant, compressor 2."""
    illegal = dict(build_atlas(kept("a")).illegal)
    assert illegal == {
        # heater on, core pump off: a quarter of all
        "heater is on with no flow through it": 1440 // 4,
        # blower off: 45 doors x drive 2 x core 3; or all air past the core, which does not concern the evaporator
        "evaporator evaporates with nothing flowing past it": 45 * 2 * 3,
        # core loop heated, no air through the core: blower off 45 x 2, or blower on and the door cold: 15 x 2 x 2
        "heat is made with nowhere to go": 45 * 2 + 15 * 2 * 2,
    }


def ids(atlas: Atlas) -> set[str]:
    return {mode.id for mode in atlas.modes}


@pytest.mark.parametrize(
    "changes",
    [
        [("together =", "as_one ="), ("apart =", "as_two ="), ("radiator ~ skip", "cool ~ past"),
         ("{ radiator = ", "{ cool = "), (", skip = ", ", past = ")],
        [("pack_pump", "first_pump"), ("drive_pump", "second_pump")],
        [("[tank.tank]", "[tank.more]\n[tank.tank]"), ("pack_pump > pack > ", "pack_pump > more > pack > ")],
        [('drive_out-drive_in" }', 'drive_out-drive_in", hold = "pack_out-pack_in" }')],
        [("[tank.tank]", "[shutoff.tap]\n[tank.tank]"), ("> tank > drive_pump", "> tap > tank > drive_pump")],
    ],
    ids=["positions renamed", "pumps renamed", "tank added", "position added", "shut-off added"],
)  # fmt: skip
def test_ids_stay(changes: list[tuple[str, str]], joined: Atlas, tmp_path: Path) -> None:
    assert ids(build_atlas(changed(tmp_path, "d", *changes))) == ids(joined)


def test_a_heater_more_adds_modes(joined: Atlas, tmp_path: Path) -> None:
    heater = [
        ("[tank.tank]", '[coolant_heater.warmer]\npower = "4 kW"\n[tank.tank]'),
        ("pack_pump > pack >", "pack_pump > warmer > pack >"),
    ]
    more = ids(build_atlas(changed(tmp_path, "d", *heater)))
    assert ids(joined) < more
    assert len(more) == 340 + 272


def test_was_keeps_ids(joined: Atlas, tmp_path: Path) -> None:
    renamed = [('"radiator"', '"front"'), ("> radiator >", "> front >"), ("[radiator.radiator]", "[radiator.front]")]
    lost = ids(build_atlas(changed(tmp_path, "d", *renamed)))
    assert len(lost & ids(joined)) == 170  # those without the radiator
    was = [("[radiator.front]", '[radiator.front]\nwas = "radiator"')]
    assert ids(build_atlas(changed(tmp_path, "d", *renamed[:2], (renamed[2][0], was[0][1])))) == ids(joined)


def test_rules_forbid(tmp_path: Path) -> None:
    """Joined with the compressor on: 4 circuits x (evaporator 8 + chiller 9 + both 8) are gone."""
    rule = '[never]\nslow = "join = together & compressor = on"\n[lines.coolant]'
    atlas = build_atlas(changed(tmp_path, "d", ("[lines.coolant]", rule)))
    assert atlas.distinct == 340 - 4 * (8 + 9 + 8) == 240
    assert atlas.illegal["rule: slow"] > 0
    assert atlas.legal + sum(atlas.illegal.values()) == atlas.combinations == 9216


def test_rules_name_losses(joined: Atlas, tmp_path: Path) -> None:
    rule = '[never]\nno_waste = "drive.loss = on"\n[lines.coolant]'
    atlas = build_atlas(changed(tmp_path, "d", ("[lines.coolant]", rule)))
    assert ids(atlas) == {m.id for m in joined.modes if not any("drive.loss" in c for c in m.state.circuits)}


def test_a_rule_makes_a_trim_door_count(tmp_path: Path) -> None:
    rule = '[never]\nfog = "outlets = face & compressor = on"\n[lines.coolant]'
    atlas = build_atlas(changed(tmp_path, "e", ("[lines.coolant]", rule)))
    whole = build_atlas(kept("e"))
    assert "outlets" in whole.trim
    assert "outlets" not in atlas.trim
    assert ids(atlas) == ids(whole)
    assert atlas.legal + sum(atlas.illegal.values()) == atlas.combinations == whole.combinations
    assert atlas.legal < whole.legal


@pytest.mark.parametrize(
    ("frozen", "lost"),
    [({"compressor": "off"}, 340 - 108), ({"compressor": "on"}, 108), ({"pack_exv": "shut"}, 72 + 64)],
)
def test_frozen_actuators(frozen: dict[str, str], lost: int, joined: Atlas) -> None:
    """Counts by the sum above: refrigerant off 108, evaporator 96, chiller 72, both 64."""
    atlas = build_atlas(kept("d"), frozen)
    assert atlas.distinct == 340 - lost
    assert ids(atlas) < ids(joined)
    assert atlas.combinations == 9216 // 2


def test_frozen_states_of_one_actuator_add_up(joined: Atlas) -> None:
    plant = kept("d")
    apart = [build_atlas(plant, {"bypass": state}) for state in ("radiator", "skip", "radiator ~ skip")]
    assert sum(atlas.legal for atlas in apart) == joined.legal
    assert set.union(*map(ids, apart)) == ids(joined)


def test_unknown_frozen_actuators_are_named() -> None:
    with pytest.raises(InputError) as caught:
        build_atlas(kept("d"), {"compresor": "on", "join": "togethr", "fan": "on"})
    hints = [problem.hint for problem in caught.value.problems]
    assert hints == ["did you mean 'compressor'?", "did you mean 'together'?", ""]


def test_one_net_above_its_budget_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(facets, "MOST_COMBINATIONS", 47)
    with pytest.raises(InputError, match=r"coolant \(pack_pump, drive_pump\) has 48 combinations.*at most 47"):
        build_atlas(kept("d"))


def test_settings_and_free_valves() -> None:
    atlas = build_atlas(kept("e"))
    still = next(mode for mode in atlas.modes if not mode.running)
    assert set(still.free) == {"router", "cabin_exv", "chill_exv", "gas_exv", "inlet", "temper", "inner"}
    assert set(still.setting) | set(atlas.trim) == set(still.free) | {
        "pack_pump", "drive_pump", "front_pump", "drive.loss", "compressor", "blower", "outlets"
    }  # fmt: skip
    for mode in atlas.modes:
        assert mode.running == {name for name, state in mode.setting.items() if state == "on"}


def test_coolant_exchangers_join_circuits(tmp_path: Path) -> None:
    """Drive loop off: pack {off, stirred}; on: pack {off, stirred, joined by the loop between}; blower: (2 + 3) x 2."""
    atlas = build_atlas(written(tmp_path, PLATES))
    assert (atlas.combinations, atlas.legal, atlas.distinct) == (16, 16, 10)
    meeting = [mode for mode in atlas.modes if len(mode.state.circuits) == 3]
    assert len(meeting) == 2
    assert all({("drive", "pack"), ("pack", "outside")} <= {move[:2] for move in mode.moves} for mode in meeting)


CASCADE = """\
format = "heatwright plant 1"
name = "Cascade"
[pack.pack]
[drive_unit.drive]
[zone.cabin]
[pump]
pump = {}
drive_pump = {}
[compressor]
low = {}
high = {}
[outdoor_coil.coil]
[liquid_condenser.warm]
[chiller.cool]
[cabin_condenser.air]
[expansion]
first = { states = ["throttle"] }
second = { states = ["throttle"] }
[blower.blower]
[front]
stack = ["coil"]
[lines.coolant]
between = "pump > warm > cool > pump"
own = "drive_pump > drive > drive_pump"
[lines.refrigerant]
low = "low > warm > first > coil > low"
high = "high > air > second > cool > high"
[lines.air]
box = "outside > blower > @box"
in = "@box > air > cabin"
out = "cabin >> outside"
"""


def test_one_refrigerant_circuit_may_feed_another(tmp_path: Path) -> None:
    """Each alone has no sink or no source; both, with pump and blower, lift outside's heat to the cabin."""
    atlas = build_atlas(written(tmp_path, CASCADE))
    # Compressors off: pump 2 x blower 2 settings, 2 modes; both on: one; each with the drive unit's loop off or on.
    assert (atlas.combinations, atlas.legal, atlas.distinct) == (32, 10, 6)
    assert {"low runs with nothing to give its heat to", "high runs with nothing to give its heat to"} <= set(
        atlas.illegal
    )
    both = next(mode for mode in atlas.modes if mode.state.streams)
    assert len(both.state.streams) == 2
    assert ("outside", "cabin", "lift") in both.moves


def test_arrangements_are_counted(joined: Atlas, tmp_path: Path) -> None:
    """Drive unit to radiator alone: with the bypass shut or half open. A leg that stands makes no arrangement."""
    alone = State(circuits=frozenset({frozenset({"drive", "radiator"})}))
    mode = next(mode for mode in joined.modes if mode.state == alone)
    # bypass 2, evaporator and chiller valves 4, inlet 3
    assert (mode.arrangements, mode.combinations) == (2, 2 * 4 * 3)
    dead_leg = [
        ("skip = ", 'also = "in-radiator-spare", skip = '),
        ("[tank.tank]", '[shutoff.tap]\nstates = ["shut"]\n[tank.tank]'),
        ("[lines.coolant]", '[lines.coolant]\nspare = "bypass.spare > tap > @back"'),
    ]
    same = next(one for one in build_atlas(changed(tmp_path, "d", *dead_leg)).modes if one.state == alone)
    assert (same.arrangements, same.combinations) == (2, 3 * 4 * 3)


def test_progress_goes_from_nothing_to_the_end() -> None:
    told: list[float] = []
    build_atlas(kept("d"), progress=lambda done, total: told.append(done / total))
    assert told == sorted(told)
    assert told[0] < 0.05
    assert told[-1] == pytest.approx(1.0, abs=0.01)
    assert max(b - a for a, b in pairwise(told)) < 0.1, "no step is a leap"
