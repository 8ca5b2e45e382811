"""What the list of mistakes does not hold: files that are none, several mistakes at once, echoes, spoilt files."""

import random
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from heatwright.errors import InputError, Problem
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.plant.source import shipped_folder
from heatwright.plant.tables import GLYCOL_RANGE
from tests.unit.plant.conftest import SOUND

Problems = Callable[..., list[tuple[int, str]]]

PACK = 'energy = "50 kWh"'


def test_a_tee_may_stand_inside_a_line(load: Callable[..., Plant]) -> None:
    plant = load(("> heater > cabin.face", "> heater > @a > cabin.face"))
    assert [branch.name for branch in plant.nets["air"].branches if branch.line == "box"] == [
        "box/1",
        "box/2",
    ]


@pytest.mark.parametrize(
    ("old", "said"),
    [
        ('[pack.pack]\nenergy = "50 kWh"\nplate = "1200 W/K"\n', "the plant has no pack"),
        ('[drive_unit.drive]\ndeliberate_loss = "4 kW"\n', "the plant has no drive_unit"),
        ('[zone.cabin]\nair = "3 m3"\n', "the plant has no zone"),
    ],
)
def test_required_parts(problems: Problems, old: str, said: str) -> None:
    assert any(said in sentence for _, sentence in problems((old, "")))


def test_a_load_beyond_the_converter(problems: Problems) -> None:
    found = problems(("[tank.tank]", '[body]\nconverter = "150 W"\n[tank.tank]'))
    said = [sentence for _, sentence in found]
    assert len(said) == 2
    assert any("load_driving is 300 W, more than the converter gives" in sentence for sentence in said)
    assert any("load_awake is 200 W" in sentence and "at most 150 W" in sentence for sentence in said)


def test_one_pack_only(problems: Problems) -> None:
    found = problems(("[tank.tank]", "[pack.second]\n[tank.tank]"))
    assert any("'second' is a second pack" in sentence for _, sentence in found)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ('format = "heatwright plant 1"\nname = "x\n', 2, "not readable as TOML"),
        ('format = "heatwright plant 1"\nname = "x"\nname = "y"\n', 3, "not readable as TOML"),
        ('format = "heatwright plant 1"\n[pack.pack\n', 2, "not readable as TOML"),
        ('name = "x"\nextends = "b.toml"\n', 2, "there is no file 'b.toml'"),
        ('name = "x"\nextends = "some.plant.toml"\n', 2, "extends this file in turn"),
        ('name = "x"\nextends = 3\n', 2, "extends names no file"),
        ('name = "x"\ndrop = ["pack"]\n', 2, "'drop' without 'extends'"),
        ('name = "x"\n', 1, "the file does not say its format"),
    ],
)
def test_unreadable_files(problems: Problems, text: str, line: int, said: str) -> None:
    found = problems(text=text)
    assert any(at == line and said in sentence for at, sentence in found), found


def test_a_file_that_is_not_text(tmp_path: Path) -> None:
    path = tmp_path / "x.plant.toml"
    path.write_bytes(b"name = '\xff\xfe'")
    with pytest.raises(InputError, match="not UTF-8"):
        load_plant(path)


def parts(count: int) -> str:
    """A plant with so many more parts than the sound one, each in a line."""
    return SOUND.replace("[tank.tank]", "".join(f"[filter.f{k}]\n" for k in range(count)) + "[tank.tank]").replace(
        "> pump > pack", "> pump > " + "".join(f"f{k} > " for k in range(count)) + "pack"
    )


def test_a_plant_of_two_thousand_parts_is_refused_by_its_number(write: Callable[..., Path]) -> None:
    path = write(text=parts(2000).replace("> f", "> ff"))
    with pytest.raises(InputError) as caught:
        load_plant(path)
    (problem,) = caught.value.problems  # none of the wrong names is looked for
    assert problem.where == f"{path}:1"
    assert problem.found == f"the plant has {2000 + 15} parts"
    assert problem.expected.startswith("at most 500")
    assert problem.hint


def test_a_plant_of_five_hundred_parts_is_read(write: Callable[..., Path]) -> None:
    assert len(load_plant(write(text=parts(485))).parts) == 500
    with pytest.raises(InputError, match="501 parts"):
        load_plant(write(text=parts(486)))


def test_a_file_too_large_is_not_read(write: Callable[..., Path]) -> None:
    with pytest.raises(InputError, match=r"the file has 2\.0 MB; expected a plant file, at most 1 MB"):
        load_plant(write(text=SOUND + "# nothing\n" * 200_000))


def test_many_wrong_names_are_all_told(write: Callable[..., Path]) -> None:
    """A hint is looked for among all names, for every name that is wrong."""
    path = write(text=parts(480).replace("> f", "> ff"))
    with pytest.raises(InputError) as caught:
        load_plant(path)
    assert len(caught.value.problems) == 480


def test_a_long_ring_of_files(write: Callable[..., Path]) -> None:
    write(text='extends = "b.toml"\n', name="a.toml")
    path = write(text='extends = "a.toml"\n', name="b.toml")
    with pytest.raises(InputError, match=r"a\.toml:1: 'b\.toml' extends this file in turn"):
        load_plant(path)


def test_a_file_may_bear_the_name_of_the_shipped_one_it_extends(write: Callable[..., Path]) -> None:
    text = 'extends = "plain.plant.toml"\n[pack.pack]\nenergy = "33 kWh"\n'
    plant = load_plant(write(text=text, name="plain.plant.toml"))
    assert plant.parts["pack"].values["energy"] == pytest.approx(33 * 3.6e6)
    assert "core" in plant.parts
    write(text='extends = "car.plant.toml"\nbase = true\n[pack.pack]\nenergy = "44 kWh"\n', name="car.plant.toml")
    through = write(text='extends = "plain.plant.toml"\n', name="plain.plant.toml")
    assert load_plant(through).parts["pack"].values["energy"] != pytest.approx(44 * 3.6e6), "the shipped plain's base"


def test_the_shipped_file_of_the_same_name_is_told_apart(write: Callable[..., Path]) -> None:
    path = write(text='extends = "plain.plant.toml"\ndrop = ["core_pump"]\n', name="plain.plant.toml")
    with pytest.raises(InputError) as caught:
        load_plant(path)
    assert any(one.where.startswith("shipped plain.plant.toml:") for one in caught.value.problems)


def test_no_such_plant() -> None:
    with pytest.raises(InputError, match=r"(?s)no such file or shipped plant.*did you mean 'plain'"):
        load_plant("plane")
    with pytest.raises(InputError) as caught:
        load_plant("nothing_of_the_kind")
    (one,) = caught.value.problems
    assert "one of carbon_dioxide, joined" in one.expected  # `car` is a base: no plant
    assert one.hint == "heatwright list tells of each"


def test_a_mistake_in_a_base_points_there(write: Callable[..., Path]) -> None:
    write((PACK, 'energy = "50 kW"'), name="base.plant.toml")
    path = write(
        text='format = "heatwright plant 1"\nname = "C"\nextends = "base.plant.toml"\ndrop = ["heatr"]\n',
        name="c.toml",
    )
    with pytest.raises(InputError) as caught:
        load_plant(path)
    said = str(caught.value)
    assert "base.plant.toml:5: pack.energy: '50 kW'" in said
    assert "c.toml:4: drop names 'heatr', which the base file does not declare" in said
    assert "did you mean 'heater'?" in said


def test_a_dropped_part_in_a_line_of_the_base(write: Callable[..., Path]) -> None:
    write(name="base.plant.toml")
    path = write(
        text='format = "heatwright plant 1"\nname = "C"\nextends = "base.plant.toml"\n'
        'drop = ["radiator"]\nfront.stack = ["condenser", "fan"]\n',
        name="c.toml",
    )
    with pytest.raises(InputError) as caught:
        load_plant(path)
    (problem,) = caught.value.problems
    assert "goes through 'radiator', dropped at" in problem.found
    assert problem.where.endswith("base.plant.toml:44")


def test_all_mistakes_at_once_and_no_echoes(problems: Problems) -> None:
    found = problems(
        (PACK, 'enregy = "50 kWh"'),
        ("[radiator.radiator]", "[radiater.radiator]"),
        ("tank > pump > pack", "tank > pmup > pack"),
        ("[compressor.compressor]", '[compressor.compressor]\nspeed = "8000"'),
        ("cabin.air < setpoint - 1 K", "cabin.air < setpont - 1 K"),
    )
    assert [at for at, _ in found] == [5, 17, 28, 44, 61]
    assert all("did you mean" in sentence or 'write "8000 rpm"' in sentence for _, sentence in found)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (PACK, 'energy = "50 kWhh"'),
        (PACK, 'energy = "50 bananas"'),
        (PACK, 'energy = "50 kWh'),
        ("[tank.tank]", "[tank.tank"),
        ("> pack >", "> pakc >"),
        ("> pack >", "> something >"),
        ('[zone.cabin]\nair = "3 m3"\n', ""),
        ("cabin.air < setpoint", "cabin.ear < setpoint"),
        ("cabin.air < setpoint", "nothing_like_it < setpoint"),
    ],
)
def test_a_report_says_what_was_expected_and_what_to_try(write: Callable[..., Path], old: str, new: str) -> None:
    with pytest.raises(InputError) as caught:
        load_plant(write((old, new)))
    first = caught.value.problems[0]
    assert first.expected
    assert first.hint


def test_an_unknown_unit_says_which_there_are(problems: Problems) -> None:
    ((_, sentence),) = problems((PACK, 'energy = "50 bananas"'))
    assert "expected a unit such as 'kWh' (energy)" in sentence
    assert "units of energy: J, kJ, MJ, Wh, kWh" in sentence


ECHOES = [
    ("[air_heater.heater]", '[air_heater.heater]\npower = "9 kWw"', "kWw"),
    ("[compressor.compressor]", '[compressor.compressor]\nspeed = "8000 rmp"', "rmp"),
    ('deliberate_loss = "4 kW"', 'deliberate_loss = "4 kWw"', "kWw"),
    ('blend = "radiator ~ past"', 'blend = "radiator ~ pest"', "pest"),
    ('air = { when = "wanted, not cold" }', "air = 3", "is not a table with 'when'"),
]


@pytest.mark.parametrize(("old", "new", "said"), ECHOES, ids=[said for _, _, said in ECHOES])
def test_what_hangs_on_a_key_already_reported_is_no_echo(problems: Problems, old: str, new: str, said: str) -> None:
    acts = (
        'heater = "off"',
        'heater = "3 kW"\ncompressor = "3000 rpm"\ndrive.loss = "2 kW"\nthree = "radiator ~ past 40 %"',
    )
    ((_, sentence),) = problems(acts, (old, new))
    assert said in sentence


def test_a_sound_key_still_bounds_the_acts(problems: Problems) -> None:
    ((_, sentence),) = problems(("[air_heater.heater]", '[air_heater.heater]\npower = "4 kW"'))
    assert "'5 kW' is more than it can do; expected 0 to 4000 W" in sentence


def test_the_range_of_the_coolant_is_that_of_its_physics() -> None:
    from heatwright.physics import coolant

    assert (coolant.GLYCOL_MIN, coolant.GLYCOL_MAX) == GLYCOL_RANGE


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ('fluid.refrigerant = "R12"', "one of R1234yf, R134a, R290, R744"),
        ('fluid.coolant = "oil"', "coolant 'oil' is not known"),
        (
            'fluid.coolant = "water-glycol 90 %"',
            "coolant 'water-glycol 90 %' cannot be worked out; expected 30 % to 60 %",
        ),
        ('fluid.coolant = "water-glycol 29 %"', "coolant 'water-glycol 29 %' cannot be worked out"),
        ('body.mas = "1800 kg"', "did you mean 'mass'?"),
        ("body = 3", "'body' is a table"),
        ('glass.front = { area = "1 m2" }', "no pane is called 'screen'"),
        ('hoses.length.mian = "2 m"', "did you mean 'main'?"),
        ('hoses.length.main = "2 s"', "expected a unit such as 'm'"),
        ('mirror.pairs = ["left ~ pump"]', "names 'left', which is not declared"),
        ('never.a = "three = pest"', "did you mean 'past'?"),
        ('never.a = "thre = past"', "did you mean 'three'?"),
        ('never.a = "three"', "says no state"),
        ("front.shutters = 1", "true or false"),
        ("pack = 3", "is a kind of part, not a value"),
        ("nmae = 3", "did you mean 'name'?"),
    ],
)
def test_other_tables(problems: Problems, head: str, said: str) -> None:
    text = ('name = "Sound"', f'name = "Sound"\n{head}')
    if head.startswith("pack"):
        found = problems(text=f'format = "heatwright plant 1"\nname = "x"\n{head}\n')
    elif head.startswith("front"):
        found = problems(("[front]\n", f"[front]\n{head.removeprefix('front.')}\n"))
    else:
        found = problems(text)
    assert any(said in sentence for _, sentence in found), found


WORDS = [(match.start(), match[0]) for match in re.finditer(r"[A-Za-z_]{3,}", SOUND)]
FREE = {"Sound", "main", "front", "past", "ring", "fresh", "back", "box", "exhaust", "rest"}
"""Words that may be anything, in one place at least: the plant's name, names of lines, a rule without acts."""


@pytest.mark.parametrize("part", range(4))
def test_a_slip_of_the_pen_in_any_word_is_one_mistake(tmp_path: Path, part: int) -> None:
    """A letter too many in each word in turn: never silence, where the word means something, and never an echo."""
    for at, word in WORDS[part::4]:
        middle = at + len(word) // 2
        problems = problems_of(tmp_path, f"{SOUND[:middle]}x{SOUND[middle:]}")
        line = SOUND.count("\n", 0, at) + 1
        assert len(problems) == 1 or (word in FREE and not problems), f"{word} in line {line}: {problems}"


SIGNS = [*'[]{}"=.,#>@~-&<()%*', "\n", "false", '"""', "[[x]]", "[control.rule]\n", "never = 3\n", " at ", "9e999"]
STRAY = [
    "3",
    "true",
    "[]",
    "{}",
    '""',
    '["a"]',
    "1.5",
    "[{a=1}]",
    '"12 W"',
    "2020-01-01",
    '"> >"',
    '"a-b"',
    "nan",
]


EVERY_FILE = [shipped_folder() / f"{one.name}.plant.toml" for one in list_shipped()]


def problems_of(folder: Path, text: str) -> tuple[Problem, ...]:
    """What is wrong with a text; nothing if it loads."""
    file = folder / "cut.plant.toml"
    file.write_text(text, encoding="utf-8", errors="surrogatepass")
    try:
        load_plant(file)
    except InputError as failure:
        return failure.problems
    return ()


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_cut_or_addition_in_a_shipped_plant_is_more_than_a_mistake(tmp_path: Path, data: st.DataObject) -> None:
    """Pieces of a shipped plant's text lost, doubled or written over with signs: it loads, or says what is wrong."""
    text = data.draw(st.sampled_from(EVERY_FILE)).read_text(encoding="utf-8")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        end = at + data.draw(st.integers(0, 40))
        put = data.draw(st.one_of(st.just(""), st.sampled_from([*STRAY, *SIGNS]), st.text(max_size=6)))
        text = text[:at] + put + text[data.draw(st.sampled_from([at, end])) :]
    assert all(one.found and one.expected and one.hint for one in problems_of(tmp_path, text))


@pytest.mark.parametrize("start", range(4))
def test_a_spoilt_file_is_never_more_than_a_mistake(write: Callable[..., Path], start: int) -> None:
    """Lines of the sound plant lost, doubled, cut or given a stray value: it loads, or says what is wrong."""
    dice = random.Random(start)
    refused = 0
    for _ in range(60):
        lines = write().read_text().splitlines()
        for _ in range(dice.randint(1, 3)):
            at = dice.randrange(len(lines))
            way = dice.random()
            if way < 0.5 and "=" in lines[at]:
                lines[at] = lines[at].partition("=")[0] + "= " + dice.choice(STRAY)
            elif way < 0.7:
                del lines[at]
            elif way < 0.85:
                lines.insert(at, dice.choice(lines))
            else:
                lines[at] = lines[at].replace(dice.choice(lines[at] or " "), dice.choice(">.@~-% "))
        try:
            load_plant(write(text="\n".join(lines)))
        except InputError:
            refused += 1
    assert 20 < refused < 60
