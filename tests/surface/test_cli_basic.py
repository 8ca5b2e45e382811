"""The command line: light, honest with its exit codes, and tidy. The march itself is stood in for here."""

from __future__ import annotations

import ctypes
import json
import os
import signal
import subprocess
import sys
import time
from importlib import import_module
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np
import pytest
from click.exceptions import Exit
from click.testing import CliRunner, Result

from heatwright import cli, cli_common
from heatwright.errors import RunError
from heatwright.run import Run, Span, load_run

HEAVY = ("numba", "scipy", "pandas", "CoolProp", "pvlib", "xarray")
VERBS = ("list", "check", "show", "run", "compare", "cold", "demo", "schema")
PLANT, TRIP = "plain", "winter_day"


def made_up(plant: str) -> Run:
    """A tiny run, invented."""
    t = np.arange(601.0)
    series = {"t_cabin_air_k": 263.15 + t / 20, "t_pack_k": 265 + t / 100, "mode": (t // 200).astype(int)}
    return Run(
        plant_name=plant,
        trip_name="made-up trip",
        t_s=t,
        series=series,
        mode_names=("off", "warm", "hold"),
        segments=(Span("drive", "drive", 0, 600),),
        summary={"range_km": 300.0, "distance_km": 10.0, "energy_kwh_per_100km": 20.0},
        ledger={
            "residual_j": 0.1,
            "residual_relative": 1e-9,
            "throughput_j": 1e8,
            "terms_j": {"a": 1.0, "b": -0.9},
        },
        health={"steps_redone": 0},
        comfort={"time_to_20c_s": None},
        energy_kwh={"traction": 1.8, "compressor": 0.2},
        provenance={"elapsed_s": 0.1, "plant_source": plant},
    )


@pytest.fixture
def stand_in(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Puts a made-up march in place of compiler, march and study; records what it was asked."""
    import_module("heatwright.study.strategies")  # what imports the march does so before it is replaced
    asked: dict[str, Any] = {}

    def simulate(program: Any, case: Any, accuracy: str = "normal", progress: Any = None) -> Run:
        asked["accuracy"] = accuracy
        progress(0.5)
        if asked.get("fail"):
            raise RunError("the cabin air left the range of the tables at 12 s; give it more air", 12.0)
        return made_up(program.name)

    def compare(plants: list[Any], trip: Any, progress: Any = None, strategies: tuple[str, ...] = ()) -> Any:
        runs = tuple(made_up(plant.name) for plant in plants)
        rows = [{"plant": run.plant_name, "range_km": 300.0} for run in runs]
        return SimpleNamespace(
            rows=rows, runs=runs, verdicts=["equal"], pairs=(), dispatched=(),
            as_json=lambda: {"rows": rows}, as_text=lambda: "equal",
        )  # fmt: skip

    for name, members in (
        ("heatwright.simulate", {"simulate": simulate}),
        ("heatwright.study.compare", {"compare": compare}),
        ("heatwright.study.one_run", {"one_run": simulate}),
    ):
        module = ModuleType(name)
        vars(module).update(members)
        monkeypatch.setitem(sys.modules, name, module)
    monkeypatch.setattr(cli, "get_ready", lambda progress, dispatch=False: None)
    return asked


def call(*words: str) -> Result:
    return CliRunner().invoke(cli.main, list(words))


def in_process(code: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=cwd)


@pytest.mark.parametrize(
    "words",
    [["--help"], ["--version"], ["list"], ["list", "--json"], ["check", PLANT], ["check", PLANT, TRIP],
     ["check", "no_such_plant"], ["show", "plain"], ["schema", "plant"], ["schema", "trip"],
     *([verb, "--help"] for verb in VERBS)],
    ids=" ".join,
)  # fmt: skip
def test_light_verbs_import_nothing_heavy(words: list[str]) -> None:
    code = (
        "import sys\nfrom heatwright.cli import main\n"
        f"try: main({words!r})\nexcept SystemExit: pass\n"
        f"print('loaded:', [name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)"
    )
    answer = in_process(code)
    assert answer.stderr.splitlines()[-1] == "loaded: []", answer.stderr


def test_importing_the_package_is_light_and_names_are_lazy() -> None:
    code = (
        "import sys, heatwright\n"
        f"print([name for name in {(*HEAVY, 'numpy', 'click')!r} if name in sys.modules])\n"
        "print(heatwright.load_run.__module__, 'load_trip' in dir(heatwright))"
    )
    assert in_process(code).stdout.splitlines() == ["[]", "heatwright.run True"]


def test_unknown_names_are_attribute_errors() -> None:
    import heatwright

    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = heatwright.nothing


def test_a_function_keeps_its_name_beside_a_module_of_that_name(stand_in: dict[str, Any]) -> None:
    """Loading `heatwright.simulate` the module must not hide `heatwright.simulate` the function."""
    import heatwright

    module = sys.modules["heatwright.simulate"]
    assert heatwright.simulate is module.simulate
    heatwright.simulate = module
    assert heatwright.simulate is module.simulate


def test_help_is_quick() -> None:
    spent = []
    for _ in range(3):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-m", "heatwright.cli", "--help"], capture_output=True, check=True)
        spent.append(time.perf_counter() - start)
    assert min(spent) < 0.5


@pytest.mark.parametrize("verb", ["", *VERBS])
def test_every_help_has_an_example(verb: str) -> None:
    answer = call(*([verb] if verb else []), "--help")
    assert answer.exit_code == 0
    assert f"Example:  heatwright {verb}" in answer.output


def test_list_names_what_is_shipped() -> None:
    text, data = call("list"), json.loads(call("list", "--json").stdout)
    assert text.exit_code == 0
    assert set(data) == {"plants", "trips", "schedules"}
    for rows in data.values():
        assert rows
        for row in rows:
            assert row["name"] in text.stdout


def test_check_passes_a_sound_pair() -> None:
    answer = call("check", PLANT, TRIP)
    assert answer.exit_code == 0
    assert "no mistakes" in answer.stdout
    data = json.loads(call("check", PLANT, TRIP, "--json").stdout)
    assert data["problems"] == []


@pytest.fixture
def broken(tmp_path: Path) -> tuple[str, str]:
    plant, trip = tmp_path / "broken.plant.toml", tmp_path / "broken.trip.toml"
    plant.write_text('format = "heatwright plant 1"\nname = "Broken"\n[pack.pack]\nheat_capacity = "4 furlongs"\n')
    trip.write_text('format = "heatwright trip 1"\nname = "Broken"\nnonsense = 1\n')
    return str(plant), str(trip)


@pytest.mark.parametrize("verb", [["check"], ["run"], ["compare", "--trip"]], ids=lambda words: words[0])
def test_all_mistakes_come_in_one_report(verb: list[str], broken: tuple[str, str]) -> None:
    plant, trip = broken
    words = [verb[0], plant, *verb[1:], trip]
    answer = call(*words)
    assert answer.exit_code == 2
    assert answer.stdout == ""
    assert "broken.plant.toml:4" in answer.stderr
    assert "broken.trip.toml" in answer.stderr
    assert "Traceback" not in answer.stderr
    as_json = call(*words, "--json")
    assert as_json.exit_code == 2
    problems = json.loads(as_json.stdout)["problems"]
    assert len(problems) >= 2
    assert all(set(one) == {"where", "file", "line", "found", "expected", "hint"} for one in problems)


@pytest.mark.parametrize("words", [[], ["run"], ["run", PLANT], ["compare", PLANT], ["fly"], ["schema", "cat"]])
def test_wrong_usage_is_told_with_exit_code_2(words: list[str]) -> None:
    answer = call(*words)
    assert answer.exit_code == 2
    assert "Traceback" not in answer.output


def test_run_prints_and_writes_nothing_without_out(
    stand_in: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    answer = call("run", PLANT, TRIP, "--accuracy", "high")
    assert answer.exit_code == 0, answer.output
    assert stand_in["accuracy"] == "high"
    for words in ("20.00 kWh/100 km", "300.0 km", "not reached", "compressor"):
        assert words in answer.stdout
    assert list(tmp_path.iterdir()) == []


def test_run_json_is_one_object(stand_in: dict[str, Any]) -> None:
    answer = call("run", PLANT, TRIP, "--json")
    data = json.loads(answer.stdout)
    assert {
        "plant",
        "trip",
        "steps",
        "elapsed_s",
        "energy_kwh",
        "ledger",
        "health",
        "comfort",
        "range_km",
    } <= set(data)
    assert data["comfort"]["time_to_20c_s"] is None


def test_run_writes_a_whole_folder_once(stand_in: dict[str, Any], tmp_path: Path) -> None:
    out = tmp_path / "results" / "plain"
    answer = call("run", PLANT, TRIP, "--out", str(out))
    assert answer.exit_code == 0, answer.output
    assert load_run(out).steps == 600
    assert "Ledger and health" in (out / "report.html").read_text()
    again = call("run", PLANT, TRIP, "--out", str(out), "--json")
    assert again.exit_code == 2
    problem = json.loads(again.stdout)["problems"][0]
    assert problem["where"] == str(out)
    assert "exists already" in problem["found"]


def test_a_march_that_stops_is_exit_code_1_and_leaves_nothing(stand_in: dict[str, Any], tmp_path: Path) -> None:
    stand_in["fail"] = True
    answer = call("run", PLANT, TRIP, "--out", str(tmp_path / "out"))
    assert answer.exit_code == 1
    assert answer.stderr.startswith("the cabin air left the range")
    assert list(tmp_path.iterdir()) == []
    problem = json.loads(call("run", PLANT, TRIP, "--json").stdout)["problems"][0]
    assert problem["where"] == "t = 12 s"


def test_compare_prints_and_writes_a_page(stand_in: dict[str, Any], tmp_path: Path) -> None:
    page = tmp_path / "compare.html"
    answer = call("compare", PLANT, "reversing", "--trip", TRIP, "--out", str(page))
    assert answer.exit_code == 0, answer.output
    assert answer.stdout.startswith("equal")
    assert "Side by side" in page.read_text()
    assert call("compare", PLANT, "--trip", TRIP, "--out", str(page)).exit_code == 2
    assert json.loads(call("compare", PLANT, "--trip", TRIP, "--json").stdout)["rows"]


def test_demo_may_be_run_again(stand_in: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for _ in range(2):
        answer = call("demo")
        assert answer.exit_code == 0, answer.output
    assert {path.name for path in (tmp_path / "demo").iterdir()} == {"plain", "reversing", "comparison.html"}
    assert (tmp_path / "demo" / "reversing" / "report.html").is_file()


def test_demo_leaves_a_folder_of_someone_else_alone(
    stand_in: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    mine = tmp_path / "demo" / "plain" / "mine.txt"
    mine.parent.mkdir(parents=True)
    mine.touch()
    assert call("demo").exit_code == 2
    assert mine.is_file()
    assert not (tmp_path / "demo" / "comparison.html").exists()


@pytest.mark.parametrize("where", ["march", "write"])
def test_ctrl_c_is_exit_code_130_and_leaves_nothing(tmp_path: Path, where: str) -> None:
    code = f"""
import sys, time
from types import ModuleType
from heatwright import cli, run as run_module
def wait(*args, **options):
    print("busy", flush=True)
    time.sleep(60)
def module(name, **members):
    sys.modules[name] = ModuleType(name)
    vars(sys.modules[name]).update(members)
module("heatwright.compiler.build", compile_program=lambda plant, case: plant)
bare = lambda *a, **k: run_module.Run("p", "t", __import__("numpy").arange(9.0), {{}})
module("heatwright.simulate", simulate=wait if {where!r} == "march" else bare)
module("heatwright.study.meter", metered=lambda program, run: run)
module("heatwright.study.run_modes", with_modes=lambda plant, run: run)
cli.get_ready = lambda progress, dispatch=False: None
if {where!r} == "write":
    run_module._sync = wait
cli.main(["run", {PLANT!r}, {TRIP!r}, "--out", "deep/out"])
"""
    with subprocess.Popen(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(
            signal.SIGINT, signal.default_int_handler
        ),  # also where a shell switched it off
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "busy\n"
        os.kill(child.pid, signal.SIGINT)
        _, errors = child.communicate(timeout=30)
    assert child.returncode == 130
    assert "interrupted" in errors
    assert "Traceback" not in errors
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("kind", ["plant", "trip", "needs"])
def test_schema_is_a_json_schema(kind: str) -> None:
    answer = call("schema", kind)
    assert answer.exit_code == 0, answer.output
    schema = json.loads(answer.stdout)
    assert schema["type"] == "object"
    assert "name" in schema["properties"]


def test_a_cold_compile_is_announced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is said where the march lies in the cache; where it does not, one sentence, then it is compiled."""
    from heatwright.compiler import warm

    said: list[str] = []
    compiled: list[int] = []
    monkeypatch.setitem(vars(warm.config), "CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(warm, "wake", lambda: None)
    monkeypatch.setattr(warm, "warm", lambda: compiled.append(1))
    cli.get_ready(SimpleNamespace(say=said.append))  # type: ignore[arg-type]
    assert said == [cli_common.COMPILING]
    assert compiled == [1]
    folder = tmp_path / "kernel_1"
    folder.mkdir(parents=True)
    (folder / "march.compiled_march-10.py311.nbi").touch()
    cli.get_ready(SimpleNamespace(say=said.append))  # type: ignore[arg-type]
    assert said == [cli_common.COMPILING]
    assert compiled == [1]


def test_an_interrupt_lost_in_a_call_back_is_heard_again() -> None:
    """An exception in a call-back from C is dropped there, as in the compiler's."""

    def interrupted() -> None:
        raise KeyboardInterrupt

    @cli_common.reporting
    def verb() -> None:
        ctypes.CFUNCTYPE(None)(interrupted)()
        for _ in range(500):
            time.sleep(0.01)

    begun, hook = time.monotonic(), sys.unraisablehook
    heard = signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored in a background process
    try:
        with pytest.raises(Exit) as caught:
            verb()
    finally:
        signal.signal(signal.SIGINT, heard)
    assert caught.value.exit_code == cli_common.INTERRUPTED
    assert time.monotonic() - begun < 4.0
    assert sys.unraisablehook is hook
