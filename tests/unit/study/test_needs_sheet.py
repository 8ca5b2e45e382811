"""Sheets of needs: the shipped one, sheets on top of it, and every kind of mistake with its line."""

import tomllib
from pathlib import Path

import jsonschema
import pytest

from heatwright.errors import InputError
from heatwright.study.needs.figures import FIGURES
from heatwright.study.needs.sheet import SHIPPED, load_sheet, sheet_schema

HEAD = 'format = "heatwright needs 1"\nname = "Mine"\n'
LINE = '[need.warm]\nasks = "warm"\nsource = "mine"\ntrip = "cold_test"\nfigure = "warm_up"\nmark = "20 degC"\n'


def sheet(folder: Path, text: str) -> str:
    file = folder / "mine.needs.toml"
    file.write_text(text, encoding="utf-8")
    return str(file)


def problems(folder: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        load_sheet(sheet(folder, text))
    return [str(one).removeprefix(str(folder) + "/") for one in caught.value.problems]


def test_every_line_of_the_shipped_sheet_has_a_source_and_one_limit() -> None:
    found = load_sheet()
    assert len(found.needs) >= 20
    for need in found.needs:
        assert need.source
        assert (need.most is None) != (need.least is None)
        assert need.trip in found.trips or need.glass in ("defrost", "demist")
    used = {need.figure for need in found.needs}
    assert used == set(FIGURES)


def test_limits_are_read_in_si() -> None:
    needs = {one.name: one for one in load_sheet().needs}
    assert needs["warm_up"].most == 1200.0
    assert needs["warm_up"].mark_k == pytest.approx(293.15)
    assert needs["range_mild"].least == 400e3
    assert needs["move_off_arctic"].most == pytest.approx(0.05 * 3.6e6)


def test_a_sheet_changes_drops_and_adds_lines(tmp_path: Path) -> None:
    own = HEAD + 'extends = "default"\ndrop = ["towing"]\n[need.warm_up]\nmost = "12 min"\n' + LINE + 'most = "9 min"\n'
    found = load_sheet(sheet(tmp_path, own))
    names = [one.name for one in found.needs]
    assert "towing" not in names
    assert names[-1] == "warm"
    assert len(names) == len(load_sheet().needs)
    changed = next(one for one in found.needs if one.name == "warm_up")
    assert changed.most == 720.0
    assert changed.source.startswith("common practice")


def test_a_trip_beside_the_sheet_is_found(tmp_path: Path) -> None:
    trip = 'format = "heatwright trip 1"\nname = "x"\n[weather]\ntemperature = "0 degC"\n'
    (tmp_path / "own.trip.toml").write_text(trip + '[[segment]]\nkind = "drive"\nspeed = "50 km/h"\nduration = "9 min"')
    own = HEAD + LINE.replace("cold_test", "own.trip.toml") + 'most = "9 min"\n'
    assert load_sheet(sheet(tmp_path, own)).trips["own.trip.toml"].name == "x"


MISTAKES = {
    'most = "9 min"\nleast = "2 min"\n': "3: 2 limits",
    "": "3: 0 limits",
    'most = "9 km"\n': "9: most:",
    "most = 9\n": "9: most = 9 has no unit",
    'most = "9 min"\nstop = "night"\n': "10: `stop` says nothing to warm_up",
    'most = "9 min"\nglass = "defrost"\n': "3: neither or both of `trip` and `glass`",
    'most = "9 min"\nmarks = "3 K"\n': "10: unknown key 'marks'",
    'most = "9 min"\nchamber = "warm"\n': "10: chamber:",
}


@pytest.mark.parametrize(("more", "told"), list(MISTAKES.items()))
def test_a_mistake_is_told_with_its_line(tmp_path: Path, more: str, told: str) -> None:
    found = problems(tmp_path, HEAD + LINE + more)
    assert found[0].startswith(f"mine.needs.toml:{told}"), found


def test_mistakes_in_names_carry_what_is_known(tmp_path: Path) -> None:
    text = HEAD + 'extends = "default"\ndrop = ["toving"]\n' + LINE.replace("warm_up", "warmup") + 'most = "9 min"\n'
    text += '[need.a]\nasks = "a"\nsource = "b"\ntrip = "colt_test"\nfigure = "range"\nleast = "3 km"\n'
    text += '[need.c]\nasks = "c"\nsource = "d"\ntrip = "towing"\nfigure = "charge"\nstop = "x"\nshare = "9 %"\n'
    text += 'most = "9 min"\n[need.e]\nasks = "e"\nsource = "f"\nglass = "thaw"\nfigure = "area_clear"\narea = "a"\n'
    text += 'share = "80 %"\nmost = "9 min"\nchamber = "0 degC"\n'
    found = "\n".join(problems(tmp_path, text))
    for words in ("'towing'", "'warm_up'", "cold_test", "over the pass", "defrost, demist"):
        assert words in found, words
    assert len(found.splitlines()) >= 5


def test_loads_of_capacities_are_read_and_checked(tmp_path: Path) -> None:
    whole = HEAD + LINE + 'most = "9 min"\n[capacity]\n'
    assert load_sheet(sheet(tmp_path, whole + 'blower = "50 %"\n')).loads["blower"] == pytest.approx(0.5)
    found = problems(tmp_path, whole + 'coldest = "30 degC"\nhottest = "10 degC"\nblowr = "3 %"\n')
    assert "blowr" in found[0]
    assert found[1].startswith("mine.needs.toml:12: hottest is colder")


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="shipped sheet: default"):
        load_sheet(str(tmp_path / "none.toml"))
    assert "not TOML" in problems(tmp_path, HEAD + "x =\n")[0]
    ring = HEAD + 'extends = "mine.needs.toml"\n' + LINE + 'most = "9 min"\n'
    assert "extends this sheet in turn" in problems(tmp_path, ring)[0]
    assert "0 needs" in problems(tmp_path, HEAD)[0]
    (only,) = problems(tmp_path, 'format = "heatwright plant 1"\nname = "x"\n[pack.pack]\n[pump.pump]\n')
    assert "this is a plant file; name a sheet of needs" in only
    assert "heatwright needs 1" in problems(tmp_path, HEAD.replace("needs 1", "needs 9") + LINE + 'most = "9 min"')[0]


def test_the_schema_takes_what_loads_and_refuses_what_does_not() -> None:
    jsonschema.Draft202012Validator.check_schema(sheet_schema())
    validator = jsonschema.Draft202012Validator(sheet_schema())
    whole = tomllib.loads((SHIPPED / "default.needs.toml").read_text(encoding="utf-8"))
    assert validator.is_valid(whole)
    assert validator.is_valid(tomllib.loads(HEAD + 'extends = "default"\n[need.towing]\nmost = "2 min"\n'))
    for bad in ("[need.a]\nfigure = 'warmup'\n", "[need.a]\nmost = 3\n", "[capacity]\nblowr = '3 %'\n", "x = 1\n"):
        assert not validator.is_valid(tomllib.loads(HEAD + bad)), bad
