"""The workbench over HTTP: what it answers, whom it refuses, and what it leaves behind when it is stopped."""

import hashlib
import json
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import numpy as np
import pytest
from bench_rig import PLANT, TRIP, TWO_LEGS, break_marches, make_study
from click.testing import CliRunner
from starlette.testclient import TestClient

from heatwright.cli import main
from heatwright.workbench.app import make_app
from heatwright.workbench.guard import LONGEST_BODY, TOKEN_HEADER
from heatwright.workbench.layers import KINDS
from heatwright.workbench.serve import free_port
from heatwright.workbench.study import MADE, Study

TOKEN = "a-token-of-this-start"
HOME = "http://127.0.0.1:8737"
GIVEN = {TOKEN_HEADER: TOKEN}
ASKED = {"plant": "mine", "trip": "short", "changes": {"pack.heat_capacity": "500 kJ/K"}}
POSTS = ["/runs", "/check", "/jobs/j0/cancel", "/verdicts", "/scenes", "/runs/r0/layout", "/runs/r0/layout/stop"]
PATHS = [
    "../secret",
    "..%2fsecret",
    "%2e%2e/secret",
    "....//secret",
    "/etc/passwd",
    "%2fetc%2fpasswd",
    "vendor/../../app.py",
]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("bench")
    (place / "secret").write_text("a secret beside the study")
    return make_study(place / "study") if (place / "study").mkdir() is None else place


@pytest.fixture(scope="module")
def page(folder: Path) -> Iterator[TestClient]:
    app, queue = make_app(Study(folder, "A study"), TOKEN)
    yield TestClient(app, base_url=HOME)
    queue.close()


def serve(folder: Path, port: int) -> tuple[subprocess.Popen[str], str, str]:
    """Open the workbench on a folder in a process of its own; its address, and the whole line it printed."""
    code = f"from heatwright.cli import main; main(['open', {str(folder)!r}, '--no-browser', '--port', '{port}'])"
    server = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    told = server.stdout.readline()
    return server, told.split()[0], told


def stop(server: subprocess.Popen[str]) -> None:
    server.terminate()
    server.wait(15)
    assert server.stdout is not None
    server.stdout.close()


def wait_for(page: TestClient, key: str, *states: str) -> dict[str, Any]:
    until = time.monotonic() + 120
    while time.monotonic() < until:
        job = next(one for one in page.get("/queue.json").json()["jobs"] if one["id"] == key)
        if job["state"] in states:
            return job
        time.sleep(0.05)
    raise AssertionError(f"{key} never came to {states}: {job}")


def test_page_and_twin_tell_the_same(page: TestClient) -> None:
    text, twin = page.get("/").text, page.get("/page.json").json()
    assert twin["title"] in text
    assert all(f'data-layer="{key}"' in text for key, *_ in twin["layers"])
    assert "Lithium-ion" in text


def test_page_is_light_and_asks_nothing_outside(page: TestClient) -> None:
    weight = len(page.get("/").content)
    static = files("heatwright.workbench") / "static"
    names = [one.name for one in static.iterdir() if one.is_file()]
    kinds = (".js", ".css", ".woff2")
    names += [f"vendor/{one.name}" for one in (static / "vendor").iterdir() if one.name.endswith(kinds)]
    for one in names:
        weight += len(page.get(f"/static/{one}").content)
    assert weight < 300_000
    answer = page.get("/")
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    assert "http://" not in answer.text
    assert "https://" not in answer.text


def test_numbers_on_the_wire_are_those_of_the_run(page: TestClient, folder: Path) -> None:
    frame = page.get("/runs/r0.json").json()
    raw = np.frombuffer(page.get("/runs/r0.f32").content, "<f4")
    assert sum(one["count"] for one in frame["columns"]) == raw.size
    run = Study(folder, "").run("r0").run
    got = np.frombuffer(page.get("/runs/r0/series?names=t_zone_air_k").content, "<f4")
    assert np.array_equal(got, run.series["t_zone_air_k"].astype("<f4"))
    at = {one["key"]: raw[sum(c["count"] for c in frame["columns"][:k]) :][: one["count"]]
          for k, one in enumerate(frame["columns"])}  # fmt: skip
    assert np.array_equal(at["t_cabin"], got)
    closed = at["made"] - at["heat_outside"] - at["heat_pack"] - at["heat_drive"] - at["heat_cabin"] - at["kept"]
    assert np.max(np.abs(closed)) < 1e-2


def test_the_first_view_of_a_run_loads_neither_solver_nor_pandas(folder: Path) -> None:
    code = (
        "import sys\nfrom pathlib import Path\nfrom heatwright.workbench.study import Study\n"
        "from heatwright.workbench.frame import frame_bytes, frame_of\n"
        f"one = Study(Path({str(folder)!r}), '').run('r0')\nassert frame_of(one).columns and frame_bytes(one)\n"
        "print(*({'numba', 'pandas', 'heatwright.compiler', 'heatwright.modes'} & set(sys.modules)))"
    )
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert answer.stdout.split() == []


@pytest.mark.parametrize("key", KINDS)
def test_every_layer_answers_or_says_why_not(page: TestClient, key: str) -> None:
    found = page.get(f"/layers/{key}.json?runs=r0&at=60").json()
    assert found["pictures"] or found["sorry"]
    for one in found["pictures"]:
        assert one["svg"].startswith("<svg")
        assert one["table"]["rows"]


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8737", "127.0.0.1.evil.example", ""])
def test_another_host_is_refused(page: TestClient, host: str) -> None:
    assert page.get("/", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("origin", ["http://evil.example", "http://127.0.0.1:9999", "null", "https://localhost"])
def test_another_origin_is_refused(page: TestClient, origin: str) -> None:
    assert page.get("/page.json", headers={"origin": origin}).status_code == 403
    assert page.post("/runs", json=ASKED, headers={**GIVEN, "origin": origin}).status_code == 403


def test_own_origin_is_heard(page: TestClient) -> None:
    assert page.post("/check", json=ASKED, headers={**GIVEN, "origin": HOME}).status_code == 200


@pytest.mark.parametrize("headers", [{}, {TOKEN_HEADER: ""}, {TOKEN_HEADER: "old"}, {TOKEN_HEADER: "ä"}])
@pytest.mark.parametrize("path", POSTS)
def test_without_the_token_nothing_changes(page: TestClient, path: str, headers: dict[str, str]) -> None:
    before = page.get("/queue.json").json()["jobs"]
    sent = {key: value.encode() for key, value in headers.items()}
    assert page.post(path, json=ASKED, headers=sent).status_code == 403  # type: ignore[arg-type]
    assert page.get("/queue.json").json()["jobs"] == before


@pytest.mark.parametrize("path", PATHS)
def test_no_route_takes_a_path(page: TestClient, path: str) -> None:
    for url in (f"/static/{path}", f"/runs/{path}.json", f"/runs/{path}/report.html", f"/set-up.json?plant={path}",
                f"/layers/{path}.json", f"/layers/{path}", f"/layers/needs.json?runs={path}", f"/runs/{path}.f32",
                f"/runs/r0/series?names={path}", f"/runs/{path}/series?names=t_zone_air_k", f"/set-up.json?trip={path}",
                f"/compare.json?runs=r0,{path}", f"/report.html?runs={path}", f"/report.pdf?runs={path}",
                f"/report.html?runs=r0&sections={path}", f"/runs/{path}/layout.json",
                ):  # fmt: skip
        answer = page.get(url)
        assert answer.status_code in (400, 404), url
        assert "a secret" not in answer.text
        assert "root:" not in answer.text
        assert "def make_app" not in answer.text
    for order in ({**ASKED, "plant": path}, {**ASKED, "trip": path}):
        assert page.post("/runs", json=order, headers=GIVEN).status_code == 400
    scene = {"title": "x", "says": "", "layer": "heat", "runs": [path], "at_s": 0}
    for where, order in (("/verdicts", {"runs": ["r0", path]}), (f"/runs/{path}/layout", {}),
                         (f"/jobs/{path}/cancel", {}),
                         ("/scenes", {"scenes": [scene]}),
                         ):  # fmt: skip
        assert page.post(where, json=order, headers=GIVEN).status_code in (400, 404), where


def test_long_bodies_are_refused(page: TestClient) -> None:
    long = b"x" * (LONGEST_BODY + 1)
    for path in POSTS:
        assert page.post(path, content=long, headers=GIVEN).status_code == 413, path
    pieces = (b"x" * 1024 for _ in range(LONGEST_BODY // 1024 + 2))
    assert page.post("/runs", content=pieces, headers=GIVEN).status_code == 413


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b'{"changes": 3}', b'{"changes": {"a": 1}}', b'"x"', b"\xff"])
def test_unreadable_orders_get_a_sentence(page: TestClient, body: bytes) -> None:
    answer = page.post("/runs", content=body, headers=GIVEN)
    assert answer.status_code == 400
    assert answer.json()["problems"][0]["found"]


def test_mistakes_in_changes_are_told_at_once_and_nothing_runs(page: TestClient) -> None:
    changes = {"pack.heat_capacity": "3 km", "pack.nonsense": "1"}
    answer = page.post("/runs", json={**ASKED, "changes": changes}, headers=GIVEN)
    assert answer.status_code == 400
    assert len(answer.json()["problems"]) == 2


def test_a_broken_plant_file_is_told_and_mends(page: TestClient, folder: Path) -> None:
    file = folder / "mine.plant.toml"
    try:
        file.write_text(PLANT + "[pack\n")
        broken = page.get("/set-up.json?plant=mine").json()
        assert broken["problems"]
        assert "mine.plant.toml" in broken["problems"][0]["where"]
    finally:
        file.write_text(PLANT)
    assert page.get("/set-up.json?plant=mine").json()["problems"] == []


def test_runs_on_the_bench_are_told_apart_by_name(tmp_path: Path, folder: Path) -> None:
    for name, strategy in zip("abcdef", (None, None, "dispatch", "rules", "mine", "dispatch"), strict=True):
        shutil.copytree(folder / "mine", tmp_path / name)
        notes = tmp_path / name / "provenance.json"
        notes.write_text(json.dumps({**json.loads(notes.read_text()), "strategy": strategy}))
    names = [one.name for one in Study(tmp_path, "").kept]
    assert names == ["Mine", "Mine (2)", "Mine under dispatch", "Mine on its rules", "Mine under mine",
                     "Mine under dispatch (2)"]  # fmt: skip


def test_two_clients_change_and_run_at_once(folder: Path) -> None:
    app, queue = make_app(Study(folder, "A study"), TOKEN)
    try:
        one, two = TestClient(app, base_url=HOME), TestClient(app, base_url=HOME)
        first = one.post("/runs", json=ASKED, headers=GIVEN).json()
        second = two.post("/runs", json={**ASKED, "changes": {}, "name": "again"}, headers=GIVEN).json()
        assert first["id"] != second["id"]
        done = [wait_for(one, key, "done", "failed") for key in (first["id"], second["id"])]
        assert [job["state"] for job in done] == ["done", "done"]
        assert done[0]["run"] != done[1]["run"]
        frame = two.get(f"/runs/{done[0]['run']}.json").json()
        assert frame["changes"] == ASKED["changes"]
        found = one.get(f"/compare.json?runs={done[0]['run']},{done[1]['run']}&at=60").json()
        assert found["names"] == [frame["name"], "again"]
    finally:
        queue.close()


def test_a_march_that_breaks_half_way_says_when_and_why_and_the_queue_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from heatwright.workbench import queue as room

    monkeypatch.setattr(room, "COMMAND", room.COMMAND)
    break_marches(tmp_path)
    study = tmp_path / "study"
    study.mkdir()
    (study / "mine.plant.toml").write_text(PLANT)
    (study / "two.trip.toml").write_text(TWO_LEGS)
    app, queue = make_app(Study(study, "A study"), TOKEN)
    try:
        page = TestClient(app, base_url=HOME)
        order = {**ASKED, "trip": "two"}
        jobs = [page.post("/runs", json={**order, "changes": some}, headers=GIVEN).json()["id"]
                for some in (ASKED["changes"], {})]  # fmt: skip
        broken = wait_for(page, jobs[0], "failed", "done")
        (reason,) = broken["problems"]
        assert reason["where"].endswith(", after 60 s of the trip")
        assert reason["found"] == "a temperature was lost; the plant is outside what the models can bear"
        assert wait_for(page, jobs[1], "failed", "done")["state"] == "done"
    finally:
        queue.close()
    assert [one.name for one in (study / MADE).iterdir()] == ["run_1"]
    assert [one.name for one in Study(study, "").kept] == ["Mine"]


def test_a_cancelled_run_leaves_nothing(folder: Path) -> None:
    app, queue = make_app(Study(folder, "A study"), TOKEN)
    before = sorted(folder.rglob("*"))
    try:
        page = TestClient(app, base_url=HOME)
        job = page.post("/runs", json={**ASKED, "trip": "winter_day"}, headers=GIVEN).json()
        wait_for(page, job["id"], "running", "done")
        assert page.post(f"/jobs/{job['id']}/cancel", headers=GIVEN).json() == {"cancelled": True}
    finally:
        queue.close()
    assert sorted(folder.rglob("*")) == before


def test_a_server_killed_in_a_run_leaves_nothing_half_written(tmp_path: Path) -> None:
    target = tmp_path / MADE / "run_1"
    order = {"name": "x", "plant": "plain", "trip": "winter_day", "changes": {}, "strategy": "table",
             "kind": "run", "trip_changes": {}, "plant_source": "plain", "trip_source": "winter_day",
             "folder": str(target)}  # fmt: skip
    code = ("import subprocess, sys, time\n"
            "p = subprocess.Popen([sys.executable, '-m', 'heatwright.workbench.worker'], stdin=subprocess.PIPE)\n"
            f"p.stdin.write({json.dumps(order).encode()!r} + b'\\n'); p.stdin.flush()\n"
            "print(p.pid, flush=True); time.sleep(60)\n")  # fmt: skip
    server = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    worker = int(server.stdout.readline())
    time.sleep(0.8)
    server.send_signal(signal.SIGKILL)
    server.wait()
    until = time.monotonic() + 20
    while Path(f"/proc/{worker}").exists() and time.monotonic() < until:
        time.sleep(0.05)
    server.stdout.close()
    assert not Path(f"/proc/{worker}").exists()
    assert list(tmp_path.rglob("*.part")) == []
    assert not target.exists() or (target / "provenance.json").is_file()


def test_a_killed_workbench_leaves_nothing_half_written(tmp_path: Path) -> None:
    """The server is killed while a run of it is marching: the march hears of it and ends, and the folder is clean."""
    server, address, _ = serve(tmp_path, 8811)
    with urlopen(address) as page:
        token = re.search(r'heatwright-token" content="([^"]+)"', page.read().decode())
    assert token is not None
    order = json.dumps({"plant": "plain", "trip": "winter_day"}).encode()
    with urlopen(Request(f"{address}runs", order, {TOKEN_HEADER: token[1]})) as answer:
        assert answer.status == 202
    marching = 0.0
    while marching == 0.0:
        with urlopen(f"{address}queue.json") as answer:
            (job,) = json.load(answer)["jobs"]
        assert job["state"] in ("waiting", "running"), job
        marching = job["share"]
    threads = Path(f"/proc/{server.pid}/task").iterdir()
    workers = [int(key) for one in threads for key in (one / "children").read_text().split()]
    assert workers
    server.kill()
    stop(server)
    until = time.monotonic() + 20
    while any(Path(f"/proc/{one}").exists() for one in workers) and time.monotonic() < until:
        time.sleep(0.05)
    assert not any(Path(f"/proc/{one}").exists() for one in workers)
    assert [one for one in tmp_path.rglob("*") if one.is_file()] == []
    assert Study(tmp_path, "").kept == ()


def test_open_runs_the_demo_first_where_it_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The demo's trip is a short one here: what counts is that it is run, kept, and told in one line."""
    from heatwright import cli_open
    from heatwright.workbench import serve

    (tmp_path / "short.trip.toml").write_text(TRIP)
    home, seen = tmp_path / "cache" / "demo", []

    def shown(folder: Path, title: str, bound: socket.socket, ready: Any) -> None:
        bound.close()
        seen.append([one.name for one in Study(folder, title).kept])
        ready()

    monkeypatch.setattr(serve, "demo_folder", lambda: home)
    monkeypatch.setattr(serve, "serve", shown)
    monkeypatch.setattr(cli_open, "DEMO_TRIP", str(tmp_path / "short.trip.toml"))
    for _ in range(2):
        told = CliRunner().invoke(main, ["open", "--no-browser", "--port", "8790"])
        assert told.exit_code == 0, told.output
        lines = [line for line in told.stdout.splitlines() if line.strip()]
        assert len(lines) == 1
        assert lines[0].startswith("http://127.0.0.1:")
    assert seen == [["Plain", "Reversing"]] * 2
    first = (home / "plain" / "provenance.json").stat().st_mtime_ns
    assert first <= (home / "reversing" / "provenance.json").stat().st_mtime_ns


def test_a_taken_port_is_said_and_the_next_one_served(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        server, address, told = serve(tmp_path, port)
        try:
            assert f"(port {port} is taken)" in told
            assert int(address.rsplit(":", 1)[1].strip("/")) > port
            with urlopen(f"{address}page.json") as answer:
                assert json.load(answer)["runs"] == []
        finally:
            stop(server)


def test_a_taken_port_gives_way_to_the_next() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        bound, got = free_port(port)
        bound.close()
    assert got > port


def test_vendored_files_are_those_of_the_manifest() -> None:
    folders = [files("heatwright.workbench") / "static" / "vendor", Path(__file__).parents[1] / "browser" / "vendor"]
    for folder in folders:
        rows = json.loads((folder / "manifest.json").read_text())
        assert {one["file"] for one in rows} | {"manifest.json"} == {one.name for one in folder.iterdir()}
        for one in rows:
            assert hashlib.sha256((folder / one["file"]).read_bytes()).hexdigest() == one["sha256"], one["file"]
            assert one["licence"]
