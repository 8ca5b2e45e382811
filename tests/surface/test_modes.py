"""`heatwright modes` as a user meets it."""

import json
import re
import shlex
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, given, settings
from modes.random_plants import plant_texts

from heatwright.cli_modes import modes_verb
from tools.sources import ROOT

GUIDE = ROOT / "docs" / "guide" / "modes.md"
JOINED = "tests/unit/plant/files/d_joined.plant.toml"


def call(*words: str) -> Result:
    return CliRunner().invoke(modes_verb, list(words))


def data(*words: str) -> dict:
    answer = call(*words, "--json")
    assert answer.exit_code == 0, answer.output
    return json.loads(answer.stdout)


def test_overview() -> None:
    answer = call("plain")
    assert answer.exit_code == 0, answer.output
    for words in (
        "18  modes",
        "8  families",
        "pack warmed",
        "cannot",
        "heat from",
        "illegal",
        "Structure only",
    ):
        assert words in answer.stdout, words
    assert "never at once" not in answer.stdout


def test_never_at_once() -> None:
    answer = call("reversing")
    assert "never at once\n  cabin cooled" in answer.stdout


def test_json_has_the_whole_atlas() -> None:
    found = data(JOINED)
    assert (found["plant"], found["combinations"], found["legal"]) == ("Joined", 9216, 3366)
    assert (found["distinct"], found["useful"], found["mirror_folded"]) == (340, 272, 260)
    assert found["checksum"] is True
    assert found["legal"] + sum(found["illegal"].values()) == found["combinations"]
    assert len(found["modes"]) == 340
    assert len(found["families"]) == 72
    assert found["needs"]["cabin warmed"] == 204
    assert found["reach"]["drive"]["pack"] == {"coolant": 128}
    mode = next(one for one in found["modes"] if one["title"] == "Drive to radiator")
    assert mode["moves"] == [{"from": "drive", "to": "outside", "way": "coolant"}]
    assert mode["needs"] == ["drive unit cooled", "heat put outside"]
    assert mode["running"] == ["drive_pump"]
    assert mode["setting"]["join"] == "apart"
    assert mode["flags"] == []
    assert mode["useful"] is True
    assert mode["id"] in next(one["modes"] for one in found["families"] if one["id"] == mode["family"])


def test_needs_narrow_what_is_shown() -> None:
    found = data("three_loops", "--need", "pack cooled below air", "--need", "Cabin-Warmed")
    assert 0 < len(found["modes"]) < found["distinct"] == 90
    assert all({"pack cooled below air", "cabin warmed"} <= set(one["needs"]) for one in found["modes"])
    text = call("three_loops", "--need", "pack cooled below air", "--need", "cabin warmed").stdout
    assert text.startswith("8 families of 32\n")
    assert "bought heat is lifted" in text


def test_needs_that_no_mode_serves() -> None:
    alone = call("plain", "--need", "pack warmed", "--need", "cabin warmed")
    assert alone.stdout == "Plain has no useful mode for: pack warmed\n"
    both = call("reversing", "--need", "cabin cooled", "--need", "heat taken from outside")
    assert both.stdout == "Reversing has no useful mode for these at once: cabin cooled, heat taken from outside\n"
    assert data("plain", "--need", "pack warmed")["modes"] == []


def test_family_and_mode() -> None:
    found = data("plain")
    family = next(one for one in found["families"] if one["title"] == "Coolant from drive to outside")
    text = call("plain", "--family", family["id"]).stdout
    assert "fresh air" in text
    assert "does the same with less" in text
    assert set(family["modes"]) == {one["id"] for one in data("plain", "--family", family["id"])["modes"]}
    one = call("plain", "--mode", family["modes"][0]).stdout
    assert "drive to radiator" in one.lower()
    assert "drive_pump=on" in one
    assert "outside  coolant" in one


def test_all_lists_every_mode() -> None:
    text = call("plain", "--all").stdout
    assert all(one["id"] in text for one in data("plain")["modes"])


def test_from_one_mode_to_another() -> None:
    modes = data("reversing")["modes"]
    cool = next(one for one in modes if one["title"] == "Heat lifted from cabin to outside; fresh air")
    heat = next(one for one in modes if one["title"] == "Heat lifted from outside to cabin; fresh air")
    text = call("reversing", "--from", cool["id"], "--to", heat["id"]).stdout
    assert "must stop" in text
    found = data("reversing", "--from", cool["id"], "--to", heat["id"])
    assert found["compressor_must_stop"] is True
    assert found["moves"] == {"reverser": {"from": "cool", "to": "heat"}}


def test_picture(tmp_path: Path) -> None:
    file = tmp_path / "modes.svg"
    answer = call("plain", "--svg", str(file))
    assert answer.stdout.rstrip().endswith(f"written to {file}")
    assert file.read_text().startswith("<svg")
    assert call("plain", "--svg", str(file)).exit_code == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--need", "cabin warmd"), "did you mean 'cabin warmed'?"),
        (("--need", "tea"), "needs: drive unit cooled, "),
        (("--family", "zzzzzz"), "`heatwright modes PLANT --all` lists every family"),
        (("--mode", "zzzzzz"), "this plant has no mode 'zzzzzz'"),
        (("--all", "--family", "zzzzzz"), "this plant has no family 'zzzzzz'"),
        (("--from", "zzzzzz"), "this plant has no mode 'zzzzzz'"),
    ],
)
def test_mistakes(words: tuple[str, ...], said: str) -> None:
    answer = call("plain", *words)
    assert answer.exit_code == 2
    assert said in answer.stderr
    problem = json.loads(call("plain", *words, "--json").stdout)["problems"][0]
    assert said in problem["found"] + problem["hint"]


def test_one_level_at_a_time_and_both_ends() -> None:
    id_ = data("plain")["modes"][0]["id"]
    assert "more than one level" in call("plain", "--mode", id_, "--all").stderr
    assert "only one of the two" in call("plain", "--from", id_).stderr


def test_too_many_modes_are_listed_by_family(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = data("plain")
    family = whole["families"][3]["id"]
    monkeypatch.setattr("heatwright.modes.join.MOST_JOINT_STATES", 10)
    listed = data("plain")
    assert (listed["whole"], listed["modes"], listed["needs"], listed["distinct"]) == (False, [], None, None)
    assert {one["title"] for one in listed["families"]} == {one["title"] for one in whole["families"]}
    text = call("plain").stdout
    assert "too many ways to list modes" in text
    assert family in text
    assert "cannot" not in text
    found = {mode["id"] for mode in data("plain", "--family", family)["modes"]}
    assert found == {mode["id"] for mode in whole["modes"] if mode["family"] == family}
    refused = call("plain", "--need", "pack warmed", "--all")
    assert refused.exit_code == 2
    assert refused.stderr.count("too many modes to look through") == 2


def test_one_mode_tells_what_flows_where() -> None:
    whole = data(JOINED)
    mode = next(one for one in whole["modes"] if set(one["running"]) == {"drive_pump", "compressor", "blower"})
    text = call(JOINED, "--mode", mode["id"]).stdout
    assert "refrigerant  " in text
    assert "cold side    evaporator" in text
    assert "still        pack_leg: pack_pump, pack, chiller" in text
    known = data(JOINED, "--mode", mode["id"])["record"]
    assert known["exchangers"]["condenser"] == "hot side"
    assert known["exchangers"]["chiller"] == "inert"
    coolant = next(one for one in known["circuits"] if one["fluid"] == "coolant")
    assert coolant["ring"]
    assert coolant["walk"][:2] == ["drive_pump", "drive"]
    assert known["still"]["pack_leg"] == ["pack_pump", "pack", "chiller"]


BLOCK = re.compile(r"^```text\n\$ heatwright modes ([^\n]+)\n(.*?)^```$", re.M | re.S)


@pytest.mark.parametrize(("words", "shown"), BLOCK.findall(GUIDE.read_text(encoding="utf-8")))
def test_the_guide_shows_what_is_printed(words: str, shown: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    assert call(*shlex.split(words)).stdout == shown


def test_the_guide_has_its_example() -> None:
    assert len(BLOCK.findall(GUIDE.read_text(encoding="utf-8"))) == 3


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plant_texts())
def test_every_level_of_random_plants_can_be_shown(text: str) -> None:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "drawn.plant.toml"
        file.write_text(text, encoding="utf-8")
        modes = data(str(file))["modes"]
        assert call(str(file)).exit_code == call(str(file), "--all").exit_code == 0
        if modes:
            first, last = modes[0]["id"], modes[-1]["id"]
            assert call(str(file), "--mode", last).exit_code == 0
            assert call(str(file), "--from", first, "--to", last).exit_code == 0
