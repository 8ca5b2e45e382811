"""`heatwright story` as a user meets it, and the figures of every story against its folder in examples."""

import json
import tomllib
from functools import cache

import pytest
from click.testing import CliRunner, Result

from heatwright.cli_story import story_verb
from heatwright.compiler.build import compile_program
from heatwright.dispatch.march import run_dispatch
from heatwright.study.stories import STORIES
from heatwright.study.story import Told, left_out, story_plant, tell
from heatwright.study.story_names import QUESTIONS
from heatwright.trip.load import build_case, load_trip
from heatwright.trip.story_files import story_file
from tools.sources import ROOT

QUICK = "mild_rain"


@cache
def told(name: str) -> Told:
    return tell(STORIES[name])


def call(*words: str) -> Result:
    return CliRunner().invoke(story_verb, list(words))


@pytest.mark.parametrize("name", STORIES)
def test_a_story_gives_what_its_folder_promises(name: str) -> None:
    """Each figure within 2 % of `expected.toml`, temperatures within 0.5 K."""
    folder = ROOT / "examples" / name
    want = tomllib.loads((folder / "expected.toml").read_text(encoding="utf-8"))["way"]
    found = told(name).figures
    assert set(want) == set(found)
    for way, figures in want.items():
        assert len(figures) >= 5
        for key, value in figures.items():
            near = pytest.approx(value, abs=0.5) if key.endswith("_k") else pytest.approx(value, rel=0.02)
            assert found[way][key] == near, (way, key)


def test_every_story_has_a_question_a_trip_and_a_folder() -> None:
    assert tuple(STORIES) == tuple(QUESTIONS)
    for name, story in STORIES.items():
        assert story.question == QUESTIONS[name]
        assert story_file(name, "trip").is_file()
        assert (ROOT / "examples" / name / "README.md").read_text(encoding="utf-8").count(story.question) == 1
        assert len({way.name for way in story.ways}) == len(story.ways) >= 3


def test_what_a_way_may_not_use_is_not_used() -> None:
    way = next(one for one in STORIES[QUICK].ways if one.without is not None)
    plant = story_plant(way.plant)
    case = build_case(load_trip(story_file(QUICK, "trip")))
    free = run_dispatch(plant, compile_program(plant, case), case)
    banned = left_out(way, free_atlas(way.plant))
    assert banned
    used = {free.candidates[int(k)].id for k in free.why.chosen}
    assert used & banned, "what is forbidden would be used"
    held = run_dispatch(plant, compile_program(plant, case), case, masked=banned)
    assert not {held.candidates[int(k)].id for k in held.why.chosen} & banned


def free_atlas(name: str):  # type: ignore[no-untyped-def]
    from heatwright.modes.atlas import build_atlas

    return build_atlas(story_plant(name))


def test_a_dispatched_way_is_a_run_under_dispatch() -> None:
    plant = story_plant("plain")
    case = build_case(load_trip(story_file(QUICK, "trip")))
    own = run_dispatch(plant, compile_program(plant, case), case).run
    assert told(QUICK).figures["plain"]["compressor_kwh"] == own.energy_kwh["compressor"] > 0.0


def test_the_verb_names_the_stories() -> None:
    answer = call("--list")
    assert answer.exit_code == 0
    assert all(name in answer.output and asked in answer.output for name, asked in QUESTIONS.items())
    listed = json.loads(call("--list", "--json").stdout)["stories"]
    assert [one["name"] for one in listed] == list(QUESTIONS)


def test_the_verb_tells_a_story() -> None:
    answer = call(QUICK, "--json")
    assert answer.exit_code == 0, answer.output
    told_ = json.loads(answer.stdout)
    assert told_["answer"] == told(QUICK).answer
    assert [one["way"] for one in told_["ways"]] == [way.name for way in STORIES[QUICK].ways]
    words = call(QUICK).output
    assert told(QUICK).answer in words
    assert QUESTIONS[QUICK] in words


def test_an_unknown_story_is_one_report() -> None:
    answer = call("mild_rian")
    assert answer.exit_code == 2
    assert "there is no story 'mild_rian'" in answer.output
    assert "mild_rain" in answer.output
