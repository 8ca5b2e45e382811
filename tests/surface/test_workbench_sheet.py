"""The sheet layer over HTTP: figures of every part, every temperature of an instant, and a layout refined on demand."""

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_rig import make_study
from starlette.testclient import TestClient

from heatwright.draw.sheet import place
from heatwright.draw.sheet.graph import graph_of
from heatwright.draw.sheet.store import beside_own, read
from heatwright.plant.load import load_plant
from heatwright.workbench.app import make_app
from heatwright.workbench.guard import TOKEN_HEADER
from heatwright.workbench.study import Study

TOKEN = "a-token-of-this-start"
GIVEN = {TOKEN_HEADER: TOKEN}
RING = """format = "heatwright plant 1"
extends = "plain.plant.toml"
name = "Mine, pinned"
[sheet.pins]
cabin = [5, 1]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_study(tmp_path_factory.mktemp("bench"))


@pytest.fixture
def page(folder: Path) -> Iterator[TestClient]:
    app, queue = make_app(Study(folder, "A study"), TOKEN)
    yield TestClient(app, base_url="http://127.0.0.1:8737")
    queue.close()


def sheet(page: TestClient, level: str, at_s: float = 60.0) -> dict[str, Any]:
    found = page.get(f"/layers/sheet.json?level={level}&at={at_s}").json()
    assert not found["sorry"]
    return found["pictures"][0]


def test_every_part_on_the_sheet_has_its_figures(page: TestClient) -> None:
    shown = sheet(page, "plumbing")
    graph = graph_of(load_plant("plain"))
    parts = {one["part"]: dict(one["rows"]) for one in shown["parts"]}
    assert set(parts) == {node.part for node in graph.nodes.values() if node.part}
    for part in parts:
        assert f'id="part-{part}"' in shown["svg"]
    assert parts["heater"]["power"].endswith("kW")
    assert any(row.startswith("coolant in from") and "kg/min" in value for row, value in parts["heater"].items())
    assert "charge" in parts["pack"]
    told = {(row[0], row[1]) for row in shown["table"]["rows"]}
    assert ("heater", "power") in told


def test_figures_are_those_of_the_run_at_the_instant(page: TestClient, folder: Path) -> None:
    from heatwright.run import load_run

    run = load_run(folder / "mine")
    for at_s in (0.0, 90.0):
        k = int(abs(run.t_s - at_s).argmin())
        cells = next(one for one in sheet(page, "plumbing", at_s)["parts"] if one["part"] == "pack")
        wanted = f"{float(run.series['t_pack_hottest_k'][k]) - 273.15:.1f} °C".replace("-", "−")
        assert dict(cells["rows"])["hottest cells"] == wanted


def test_every_temperature_stands_on_one_ladder(page: TestClient) -> None:
    shown = sheet(page, "temperatures")
    groups = {row[0] for row in shown["table"]["rows"]}
    assert {"Outside", "Pack", "Drive", "Cabin", "Coolant A", "Air"} <= groups
    assert shown["svg"].count("linearGradient") == 2  # one scale: its opening and its closing tag
    assert shown["parts"] == []


def test_an_unknown_level_is_said(page: TestClient) -> None:
    assert "no level" in page.get("/layers/sheet.json?level=roof").json()["sorry"]


def test_a_refinement_needs_the_token_and_a_run(page: TestClient) -> None:
    assert page.post("/runs/r0/layout").status_code == 403
    assert page.post("/runs/r9/layout", headers=GIVEN).status_code == 400
    assert page.post("/runs/r0/layout/stop", headers=GIVEN).status_code == 404


def wait_for(page: TestClient, *states: str) -> dict[str, Any]:
    until = time.monotonic() + 240
    while time.monotonic() < until:
        found = page.get("/runs/r0/layout.json").json()
        if found["refinement"]["state"] in states:
            return found
        time.sleep(0.1)
    raise AssertionError(found)


def test_a_refinement_can_be_stopped_and_leaves_nothing(page: TestClient, folder: Path) -> None:
    assert page.post("/runs/r0/layout", headers=GIVEN).status_code == 202
    assert page.post("/runs/r0/layout", headers=GIVEN).status_code == 409
    assert page.get("/runs/r0/layout.json").json()["busy"]
    assert page.post("/runs/r0/layout/stop", headers=GIVEN).status_code == 200
    found = wait_for(page, "stopped")
    assert not found["busy"]
    assert not list(folder.glob("sheets/*"))


def test_a_worker_refines_and_tells_what_came_of_it(folder: Path, monkeypatch, capsys) -> None:
    from heatwright.workbench import layout_worker

    plant = folder / "ring.plant.toml"
    plant.write_text(RING)
    monkeypatch.setattr(place, "REFINED", (2, 4000, 2))
    monkeypatch.setattr(place, "DRAFT", (2, 2000, 0))
    layout_worker.refine({"plant_source": str(plant), "changes": {}})
    assert '"done": {"crossings": ' in capsys.readouterr().out
    loaded = load_plant(plant)
    graph = graph_of(loaded)
    kept = beside_own(graph, str(plant))
    assert kept is not None
    assert kept.parent == folder / "sheets"
    assert kept.name == f"{graph.key}.sheet.json"
    layout = read(kept)
    assert layout is not None
    assert layout.graph == graph.key
    assert not list(folder.glob("sheets/*.part"))
    assert beside_own(graph_of(load_plant("plain")), "plain") is None
