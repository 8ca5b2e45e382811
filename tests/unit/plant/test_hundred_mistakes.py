"""Every kind of mistake in files/mistakes.toml: told once, in its file and line, in the words of the list."""

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from heatwright.errors import InputError, Problem
from heatwright.plant.load import load_plant
from heatwright.plant.schema import plant_schema
from tests.unit.plant.conftest import SOUND

MISTAKES = tomllib.loads((Path(__file__).parent / "files" / "mistakes.toml").read_text(encoding="utf-8"))["mistake"]
SCHEMA = jsonschema.Draft202012Validator(plant_schema())


def each(chosen: list[dict[str, Any]]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("one", [pytest.param(one, id=one["id"]) for one in chosen])


def texts_of(one: dict[str, Any]) -> dict[str, str]:
    """The files of one mistake by name; the last is the one that is read."""
    text = SOUND[: SOUND.index(one["until"])] if "until" in one else SOUND
    for old, new in one.get("changes", ()):
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the sound plant"
        text = text.replace(old, new)
    return {"base": text, "child": one["child"]} if "child" in one else {"some": text}


def place_of(one: dict[str, Any], texts: dict[str, str]) -> str:
    """The file and line at which the mistake must be told."""
    file = one.get("file", list(texts)[-1])
    lines = [number for number, line in enumerate(texts[file].splitlines(), 1) if one["at"] in line]
    return f"{file}.plant.toml:{lines[one.get('nth', 1) - 1]}"


def told(folder: Path, texts: dict[str, str]) -> list[Problem]:
    for name, text in texts.items():
        (folder / f"{name}.plant.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_plant(folder / f"{list(texts)[-1]}.plant.toml")
    return list(caught.value.problems)


@each(MISTAKES)
def test_a_mistake_is_told_once_with_its_place_and_what_to_try(tmp_path: Path, one: dict[str, Any]) -> None:
    texts = texts_of(one)
    problems = told(tmp_path, texts)
    assert len(problems) == 1, [str(problem) for problem in problems]
    (problem,) = problems
    home = f"{tmp_path}/"
    assert problem.where == home + place_of(one, texts)
    assert problem.found.replace(home, "") == one["found"]
    assert problem.expected == one["expected"]
    assert problem.hint == one["hint"]


@each([one for one in MISTAKES if "schema" in one])
def test_an_editor_sees_what_a_schema_can_see(one: dict[str, Any]) -> None:
    """Entries without `schema` are no TOML, which an editor sees by itself."""
    texts = texts_of(one)
    table = tomllib.loads(texts[one.get("file", list(texts)[-1])])
    assert SCHEMA.is_valid(table) != one["schema"]


def test_the_list_is_long_and_every_entry_is_whole() -> None:
    assert len(MISTAKES) >= 100
    assert max(Counter(one["id"] for one in MISTAKES).values()) == 1
    assert all(one["found"] and one["expected"] and one["hint"] for one in MISTAKES)
    said = Counter(one["found"] for one in MISTAKES)
    assert len(said) >= 200, "entries that say the same are one kind"


def test_all_at_once_are_all_told(tmp_path: Path) -> None:
    """One mistake each in five tables of one file: five problems, in the order of their lines."""
    names = ["an unknown unit", "an unknown state", "a part that does not stand in the wind", "a line that is no text",
             "an unknown latch"]  # fmt: skip
    chosen = [next(one for one in MISTAKES if one["id"] == name) for name in names]
    text = texts_of({"changes": [change for one in chosen for change in one["changes"]]})
    problems = told(tmp_path, text)
    assert [problem.found for problem in problems] == [one["found"] for one in chosen]
