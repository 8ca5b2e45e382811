"""Addresses and twins of the layers, forms of trips, verdicts, chosen reports and scene lists of the workbench."""

import json
import os
import time
from collections.abc import Iterator
from html import escape
from pathlib import Path
from typing import Any

import pytest
from bench_rig import PLANT, make_study
from starlette.testclient import TestClient

from heatwright.report.browser import CHOSEN
from heatwright.report.page import SECTIONS
from heatwright.workbench.app import make_app
from heatwright.workbench.guard import TOKEN_HEADER
from heatwright.workbench.opened import TITLES
from heatwright.workbench.study import MADE, Study

TOKEN = "a-token-of-this-start"
HOME = "http://127.0.0.1:8737"
GIVEN = {TOKEN_HEADER: TOKEN}
ASKED = {"plant": "mine", "trip": "short", "changes": {"pack.heat_capacity": "500 kJ/K"}, "base": "r0"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_study(tmp_path_factory.mktemp("study"))


@pytest.fixture(scope="module")
def page(folder: Path) -> Iterator[TestClient]:
    app, queue = make_app(Study(folder, "A study"), TOKEN)
    client = TestClient(app, base_url=HOME)
    job = client.post("/runs", json=ASKED, headers=GIVEN).json()
    assert finish(client, job["id"])["state"] == "done"
    yield client
    queue.close()


def finish(page: TestClient, key: str) -> dict[str, Any]:
    until = time.monotonic() + 600
    while time.monotonic() < until:
        job: dict[str, Any] = next(one for one in page.get("/queue.json").json()["jobs"] if one["id"] == key)
        if job["state"] in ("done", "failed", "cancelled"):
            return job
        time.sleep(0.05)
    raise AssertionError(f"{key} did not end: {job}")


@pytest.mark.parametrize("key", TITLES)
def test_every_layer_has_an_address_and_a_twin_that_tells_the_same(page: TestClient, key: str) -> None:
    asked = "?runs=r0,r1&at=60"
    twin = page.get(f"/layers/{key}.json{asked}").json()
    answer = page.get(f"/layers/{key}{asked}")
    assert answer.status_code == 200
    assert twin["key"] == key
    assert f'aria-selected="true" aria-controls="layer" tabindex="-1" data-layer="{key}"' in answer.text
    assert escape(twin["question"]) in answer.text
    assert twin["sorry"] or twin["pictures"] or twin["tables"] or twin["lines"]
    for words in (*twin["lines"], *(where for where, _ in twin["links"])):
        assert escape(words) in answer.text
    for table in (*twin["tables"], *(one["table"] for one in twin["pictures"] if one["table"])):
        assert escape(table["caption"]) in answer.text
        assert all(escape(cell) in answer.text for row in table["rows"][:20] for cell in row)
    for one in twin["pictures"]:
        assert one["svg"] in answer.text


def test_a_cycle_that_never_runs_is_said_so(page: TestClient) -> None:
    (shown,) = page.get("/layers/cycle.json?runs=r0&at=60").json()["pictures"]
    assert "the compressor runs nowhere on this trip" in shown["name"]


@pytest.mark.parametrize("path", ["/layers/nonsense", "/layers/nonsense.json", "/layers/..%2f..%2fsecret"])
def test_an_unknown_layer_is_refused_in_a_sentence(page: TestClient, path: str) -> None:
    answer = page.get(path)
    assert answer.status_code in (400, 404)
    assert "def " not in answer.text


def test_a_study_without_runs_has_all_its_pages(tmp_path: Path) -> None:
    app, queue = make_app(Study(tmp_path, "Nothing yet"), TOKEN)
    try:
        empty = TestClient(app, base_url=HOME)
        for key in TITLES:
            assert "No run lies on the bench yet" in empty.get(f"/layers/{key}").text
            assert empty.get(f"/layers/{key}.json").json()["sorry"]
        assert empty.get("/scenes.json").json()["scenes"] == []
    finally:
        queue.close()


def test_the_form_of_a_trip_has_units_ranges_sources_and_grades(page: TestClient) -> None:
    form = page.get("/set-up.json?trip=short").json()
    rows = {one["key"]: one for one in form["rows"]}
    assert form["kind"] == "trip"
    assert rows["weather.temperature"]["text"] == "-7 degC"
    assert rows["weather.temperature"]["span"] == "-60 to 60 degC"
    assert rows["weather.temperature"]["source"] == "short.trip.toml:7"
    assert rows["weather.temperature"]["grade"] == "ungraded"
    assert rows["weather.humidity"]["grade"] == "default"
    assert rows["segment.1.climb"]["grade"] == "left out"
    assert rows["segment.1.conditioned"]["choices"] == ["true", "false"]
    assert "table over time" in page.get("/set-up.json?trip=winter_day").json()["note"]


def test_a_number_of_the_trip_is_changed_and_run(page: TestClient, folder: Path) -> None:
    wrong = {**ASKED, "changes": {}, "trip_changes": {"weather.temperature": "3 km", "nonsense": "1"}}
    answer = page.post("/runs", json=wrong, headers=GIVEN)
    assert answer.status_code == 400
    assert {one["where"] for one in answer.json()["problems"]} == {"change weather.temperature", "change nonsense"}
    assert page.post("/check", json=wrong, headers=GIVEN).json()["problems"] == answer.json()["problems"]
    right = {**wrong, "trip_changes": {"weather.temperature": "4 degC"}}
    job = finish(page, page.post("/runs", json=right, headers=GIVEN).json()["id"])
    frame = page.get(f"/runs/{job['run']}.json").json()
    assert frame["trip_changes"] == right["trip_changes"]
    assert job["base"] == "r0"
    run = Study(folder, "").at(frame["place"])
    assert run is not None
    assert run.run.series["t_ambient_k"][0] == pytest.approx(277.15)


def test_rules_may_drive_a_run(page: TestClient) -> None:
    job = finish(page, page.post("/runs", json={**ASKED, "strategy": "rules"}, headers=GIVEN).json()["id"])
    assert job["state"] == "done", job
    assert page.get(f"/runs/{job['run']}.json").json()["strategy"] == "rules"
    refused = page.post("/runs", json={**ASKED, "strategy": "chance"}, headers=GIVEN).json()["problems"]
    assert refused[0]["expected"] == "table, rules, dispatch"


def test_verdicts_are_asked_for_kept_and_told(page: TestClient, folder: Path) -> None:
    before = page.get("/compare.json?runs=r0,r1&at=60").json()
    assert before["verdicts"] is None
    assert before["unasked"] == ""
    job = page.post("/verdicts", json={"runs": ["r0", "r1"]}, headers=GIVEN)
    assert job.status_code == 202
    assert finish(page, job.json()["id"])["state"] == "done"
    after = page.get("/compare.json?runs=r0,r1&at=60").json()
    against = after["verdicts"]["against"][0]
    assert against["names"] == after["names"]
    assert against["better"].endswith(".")
    assert {row[-1] for row in against["rows"]} <= {"holds", "depends", "within doubt", "same"}
    assert after["whole"][0]["differences"][0] == 0.0
    assert against["better"] in page.get("/layers/compare.json?runs=r0,r1").json()["lines"]
    assert escape(against["better"]) in page.get("/report.html?runs=r0,r1&sections=answer&view=1").text
    assert page.get("/compare.json?runs=r1,r0&at=60").json()["verdicts"] is None
    assert len(list((folder / MADE).glob("verdict_*.json"))) == 1


def test_verdicts_that_cannot_be_asked_say_why(page: TestClient, folder: Path) -> None:
    assert "two to four" in page.post("/verdicts", json={"runs": ["r0"]}, headers=GIVEN).json()["problems"][0]["found"]
    assert page.post("/verdicts", json={"runs": "r0"}, headers=GIVEN).status_code == 400
    others = ({"strategy": "rules"}, {"trip_changes": {"set_point": "20 degC"}})
    jobs = [page.post("/runs", json={**ASKED, **one}, headers=GIVEN).json()["id"] for one in others]
    ruled, elsewhere = (finish(page, key)["run"] for key in jobs)
    ids = [one["id"] for one in page.get("/queue.json").json()["jobs"]]
    assert "decision tables alone" in page.get(f"/compare.json?runs=r0,{ruled}").json()["unasked"]
    assert "one trip" in page.get(f"/compare.json?runs=r0,{elsewhere}").json()["unasked"]
    file = folder / "mine.plant.toml"
    try:
        file.write_text(PLANT + '[pack.pack]\nheat_capacity = "700 kJ/K"\n')
        assert "has changed since it ran" in page.get("/compare.json?runs=r0,r1").json()["unasked"]
    finally:
        file.write_text(PLANT)
    assert [one["id"] for one in page.get("/queue.json").json()["jobs"]] == ids


def test_a_file_that_breaks_while_its_run_waits_fails_it_with_the_reason(page: TestClient, folder: Path) -> None:
    file = folder / "mine.plant.toml"
    before = sorted((folder / MADE).iterdir())
    long = page.post("/runs", json={**ASKED, "plant": "plain", "trip": "winter_day", "changes": {}}, headers=GIVEN)
    job = page.post("/runs", json=ASKED, headers=GIVEN).json()
    try:
        file.write_text(PLANT + "[pack\n")
        page.post(f"/jobs/{long.json()['id']}/cancel", headers=GIVEN)
        ended = finish(page, job["id"])
    finally:
        file.write_text(PLANT)
    assert ended["state"] == "failed"
    assert "mine.plant.toml" in ended["problems"][0]["where"]
    assert ended["problems"][0]["found"]
    assert sorted((folder / MADE).iterdir()) == before


def test_a_broken_plant_file_leaves_the_last_good_sheet(page: TestClient, folder: Path) -> None:
    file, asked = folder / "mine.plant.toml", "/layers/sheet.json?runs=r0&at=60&level=idea"
    good = page.get(asked).json()
    try:
        file.write_text(PLANT + "[pack\n")
        assert page.get(asked).json() == good
    finally:
        file.write_text(PLANT)
    assert good["pictures"]


def test_a_report_holds_the_sections_chosen_and_always_the_cautions(page: TestClient) -> None:
    offer = page.get("/report.json").json()
    assert [key for key, *_ in offer["sections"]] == list(SECTIONS)
    text = page.get("/report.html?runs=r0&sections=answer,ledger").text
    assert [key for key in SECTIONS if f'<section id="{key}">' in text] == ["answer", "ledger", "cautions"]
    both = page.get("/report.html?runs=r0,r1&sections=question,plant,answer&view=1")
    assert "content-disposition" not in both.headers
    assert both.text.count('<section id="plant">') == 1
    for name in page.get("/compare.json?runs=r0,r1").json()["names"]:
        assert f"<h3>{escape(name)}</h3>" in both.text
    assert "http://" not in both.text.replace("http://www.w3.org", "")
    assert page.get("/report.html?runs=r0&sections=nonsense").status_code == 400
    assert page.get("/runs/r0/report.html").headers["content-disposition"].startswith("attachment")


def test_without_a_chromium_a_sentence_says_how_to_print(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(os.environ, CHOSEN, "no-such-browser")
    offer = page.get("/report.json").json()
    assert not offer["prints"]
    assert "print" in offer["how"]
    answer = page.get("/report.pdf?runs=r0&sections=answer")
    assert answer.status_code == 400
    assert "print" in answer.json()["problems"][0]["hint"]


def test_scenes_are_kept_in_the_order_given_and_read_their_numbers_again(page: TestClient, folder: Path) -> None:
    first = page.get("/scenes.json").json()
    assert not first["own"]
    plain = [one["scene"] for one in first["scenes"]]
    own = {"title": "Mine", "says": "At {time}: {cabin}, {electricity}.", "layer": "heat", "runs": [f"{MADE}/run_1"],
           "at_s": 60.0}  # fmt: skip
    kept = page.post("/scenes", json={"scenes": [own, *reversed(plain)]}, headers=GIVEN).json()
    assert kept["own"]
    assert [one["scene"]["title"] for one in kept["scenes"]] == ["Mine", *(one["title"] for one in reversed(plain))]
    run = Study(folder, "").at(f"{MADE}/run_1")
    assert run is not None
    air = run.run.series["t_zone_air_k"][60] - 273.15
    assert f"{air:.1f} °C".replace("-", "−") in kept["scenes"][0]["caption"]
    app, queue = make_app(Study(folder, "Again"), TOKEN)
    try:
        assert TestClient(app, base_url=HOME).get("/scenes.json").json()["scenes"] == kept["scenes"]
    finally:
        queue.close()


def test_a_list_with_a_mistake_changes_nothing(page: TestClient, folder: Path) -> None:
    file = folder / MADE / "scenes.json"
    before = file.read_bytes()
    own = json.loads(before)["scenes"]
    for wrong in ({"says": "{nonsense}"}, {"layer": "nonsense"}, {"runs": ["../secret"]}, {"title": ""}, {"at_s": "x"}):
        answer = page.post("/scenes", json={"scenes": [*own, {**own[0], **wrong}]}, headers=GIVEN)
        assert answer.status_code == 400, wrong
        assert answer.json()["problems"][0]["found"]
    assert page.post("/scenes", json={"scenes": own * 61}, headers=GIVEN).status_code == 400
    assert page.post("/scenes", json={"scenes": own}).status_code == 403
    assert file.read_bytes() == before
    assert [one.name for one in (folder / MADE).iterdir() if one.name.startswith(".")] == []


def test_a_list_that_cannot_be_read_says_so_and_may_be_given_up(page: TestClient, folder: Path) -> None:
    (folder / MADE / "scenes.json").write_text("{")
    answer = page.get("/scenes.json")
    assert answer.status_code == 400
    assert "scenes.json" in answer.json()["problems"][0]["where"]
    assert "cannot be read" in page.get("/layers/scenes").text
    back = page.post("/scenes", json={"scenes": None}, headers=GIVEN).json()
    assert not back["own"]
    assert not (folder / MADE / "scenes.json").exists()
