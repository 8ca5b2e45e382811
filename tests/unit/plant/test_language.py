"""Each item of the language does what the guide says: former names, rules, twins, blends, extending, circuits."""

from collections.abc import Callable
from pathlib import Path

import pytest

from heatwright.errors import InputError, Problem
from heatwright.plant.load import load_plant
from heatwright.plant.model import End, Plant

Load = Callable[..., Plant]
Write = Callable[..., Path]
NEVER = 'name = "Sound"'
RING = 'ring = "compressor > condenser > txv > evaporator > compressor"'
CHILD = 'format = "heatwright plant 1"\nname = "Child"\nextends = "base.plant.toml"\n'


@pytest.fixture
def told(write: Write) -> Callable[..., list[Problem]]:
    """The problems of the sound plant with pieces of text replaced."""

    def _told(*changes: tuple[str, str]) -> list[Problem]:
        with pytest.raises(InputError) as caught:
            load_plant(write(*changes))
        return list(caught.value.problems)

    return _told


@pytest.fixture
def child(write: Write) -> Callable[[str], Plant]:
    """A plant that extends the sound one."""

    def _child(text: str) -> Plant:
        write(name="base.plant.toml")
        return load_plant(write(text=CHILD + text, name="child.plant.toml"))

    return _child


def never(load: Load, text: str) -> tuple[tuple[str, str], ...]:
    ((name, literals),) = load((NEVER, f'{NEVER}\nnever.a = "{text}"')).never
    assert name == "a"
    return literals


def test_a_rule_names_positions_states_and_what_is_on_or_off(load: Load) -> None:
    assert never(load, "three = past & txv = shut") == (("three", "past"), ("txv", "shut"))
    assert never(load, "drive.loss = on & compressor = off") == (("drive.loss", "on"), ("compressor", "off"))


@pytest.mark.parametrize("text", ["three = radiator ~ past", "three = past ~ radiator"])
def test_a_rule_may_name_a_blend_either_way_round(load: Load, text: str) -> None:
    assert never(load, text) == (("three", "radiator ~ past"),)


def test_a_rule_may_name_a_pad(load: Load) -> None:
    pad = ("[tank.tank]", '[pad]\nmat = { on = "pack" }\n[tank.tank]')
    plant = load(pad, (NEVER, f'{NEVER}\nnever.a = "mat = on & drive.loss = on"'))
    assert plant.never == (("a", (("mat", "on"), ("drive.loss", "on"))),)


def test_twins_are_of_one_kind(load: Load) -> None:
    plant = load(
        ("[fan.fan]", "[pump.other]\n[tank.tank_2]\n[fan.fan]"),
        ('past = "three.by > tank"', 'past = "three.by > tank"\nmore = "tank_2 > other > tank_2"'),
        (NEVER, f'{NEVER}\nmirror.pairs = ["pump ~ other", "tank ~ tank_2"]'),
    )
    assert plant.mirror == (("pump", "other"), ("tank", "tank_2"))


def test_a_renamed_part_says_its_former_name(load: Load) -> None:
    assert load(("[tank.tank]", '[tank.tank]\nwas = "vessel"')).parts["tank"].values["was"] == "vessel"


def test_blends_may_be_a_list_and_join_positions_of_a_router(load: Load) -> None:
    router = (
        'positions = { radiator = "in-out", past = "in-by" }\nblend = "radiator ~ past"',
        'positions = { radiator = "in-out", past = "in-by", all = "in-out-by", shut = "" }\n'
        'blend = ["radiator ~ past", "past ~ all"]',
    )
    part = load(router).parts["three"]
    assert part.values["blend"] == (("radiator", "past"), ("past", "all"))
    assert part.values["positions"]["all"] == (("in", "out", "by"),)
    assert part.values["positions"]["shut"] == ()


def test_tanks_join_lines_wherever_they_stand(load: Load) -> None:
    plant = load(
        ('main = "tank > pump > pack > drive > three.in"', 'main = "@back > tank > pump > pack > drive > three.in"'),
        ("radiator > tank", "radiator > @back"),
        ("three.by > tank", "three.by > @back"),
    )
    first, second, *_ = plant.nets["coolant"].branches
    assert (first.start, first.end) == (End("tee", "back"), End("tank", "tank"))
    assert second.start == End("tank", "tank")


def test_a_line_of_the_base_is_replaced_or_taken_away(child: Callable[[str], Plant]) -> None:
    plant = child(
        'drop = ["three"]\n[control.act.heat]\nthree = false\n[lines.coolant]\n'
        'main = "tank > pump >> pack > drive > radiator > tank"\nfront = false\npast = false\n'
    )
    (branch,) = plant.nets["coolant"].branches
    assert (branch.name, branch.check) == ("main", True)


def test_a_dropped_part_may_come_back_as_another_kind(child: Callable[[str], Plant]) -> None:
    plant = child('drop = ["heater"]\n[heater_core.heater]\n[pump.p]\n[control.act.heat]\nheater = false\n'
                  '[control.act.air]\nheater = false\n[lines.coolant]\nwarm = "@a > p > heater > @a"\n')  # fmt: skip
    assert plant.parts["heater"].kind == "heater_core"


def test_a_base_may_extend_a_base(write: Write) -> None:
    write((NEVER, f"{NEVER}\nbase = true"), name="base.plant.toml")
    middle = CHILD.replace("Child", "Middle") + 'base = true\n[pack.pack]\nenergy = "60 kWh"\n'
    write(text=middle, name="mid.plant.toml")
    plant = load_plant(write(text=CHILD.replace("base.", "mid."), name="child.plant.toml"))
    assert plant.parts["pack"].values["energy"] == 60 * 3.6e6
    assert "plate" in plant.parts["pack"].given


def test_what_still_speaks_of_a_dropped_part_is_told_where_it_was_dropped(write: Write) -> None:
    base = (NEVER, f'{NEVER}\nmirror.pairs = ["radiator ~ condenser"]\nnever.a = "three = past"')
    write(base, name="base.plant.toml")
    path = write(text=CHILD + 'drop = ["radiator", "three"]\n', name="child.plant.toml")
    with pytest.raises(InputError) as caught:
        load_plant(path)
    said = str(caught.value)
    for piece in (
        "stack names 'radiator', which is dropped at",
        "names 'radiator', which is dropped at",
        "rule 'a' names 'three', which is dropped at",
        "goes through 'radiator', dropped at",
    ):
        assert piece in said
    assert "child.plant.toml:4" in said


CIRCUITS = {
    "nothing throttles": ("compressor > condenser > evaporator > compressor", "has no expansion valve"),
    "nothing is warm": ("compressor > txv > condenser > evaporator > compressor", "nothing takes its heat"),
    "nothing is cold": ("compressor > condenser > evaporator > txv > compressor", "nothing gives it heat"),
}


@pytest.mark.parametrize("name", CIRCUITS)
def test_a_circuit_that_cannot_work(told: Callable[..., list[Problem]], name: str) -> None:
    ring, said = CIRCUITS[name]
    changes = [(RING, f'ring = "{ring}"')]
    changes += [("[expansion.txv]\n", "")] if "txv" not in ring else []
    (problem,) = told(*changes)
    assert said in problem.found
    assert problem.where.endswith(str(48 - ("txv" not in ring)))


def test_a_reversing_valve_serves_both_ways(load: Load) -> None:
    """The walk takes a valve as open all ways, so either position may make it sound."""
    load(
        ("[expansion.txv]", '[expansion.txv]\n[valve.turn]\npositions = { cool = "a-b, c-d", heat = "a-c, b-d" }'),
        (RING, 'one = "turn.d > compressor > turn.a"\ntwo = "turn.b > condenser > txv > evaporator > turn.c"'),
    )
