"""A Run is written whole or not at all, and comes back as it was."""

import json
import sys
from dataclasses import FrozenInstanceError, dataclass
from pathlib import Path

import numpy as np
import pytest
from run_factory import fake_run

from heatwright import run as run_module
from heatwright.errors import InputError, OutputError
from heatwright.run import (
    Label,
    Run,
    check_free,
    check_new_file,
    load_run,
    plain,
    run_as_json,
    write_file,
    write_run,
)

PAGE = "<!doctype html><title>made up</title>"


def everything(folder: Path) -> set[str]:
    """Every path under a folder, hidden ones too."""
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


def test_a_run_comes_back_as_it_was(short_run: Run, tmp_path: Path) -> None:
    folder = write_run(short_run, tmp_path / "one", PAGE)
    files = {"series.parquet", "summary.json", "ledger.json", "provenance.json", "report.html"}
    assert everything(tmp_path) == {"one", *(f"one/{name}" for name in files)}
    back = load_run(folder)
    assert set(back.series) == set(short_run.series)
    for name, values in short_run.series.items():
        assert back.series[name].dtype == values.dtype
        assert np.array_equal(back.series[name], values)
    assert np.array_equal(back.t_s, short_run.t_s)
    assert back.labels == short_run.labels
    assert back.mode_names == short_run.mode_names
    assert run_as_json(back) == run_as_json(short_run)
    assert [(s.name, s.kind, s.first, s.last_exclusive) for s in back.segments] == [
        (s.name, s.kind, s.first, s.last_exclusive) for s in short_run.segments
    ]
    assert back.provenance == plain(short_run.provenance)


def test_what_is_not_a_number_becomes_null(tmp_path: Path) -> None:
    run = Run("p", "t", np.arange(2.0), {}, summary={"range_km": float("nan"), "k": np.float32(1.5)})
    folder = write_run(run, tmp_path / "r", PAGE)
    assert json.loads((folder / "summary.json").read_text())["summary"] == {"range_km": None, "k": 1.5}


def test_an_existing_folder_is_left_as_it_is(short_run: Run, tmp_path: Path) -> None:
    for name, make in (("folder", Path.mkdir), ("file", Path.touch)):
        make(tmp_path / name)
        with pytest.raises(OutputError, match="exists already"):
            write_run(short_run, tmp_path / name, PAGE)
        with pytest.raises(OutputError, match="exists already"):
            write_run(short_run, tmp_path / name, PAGE, replace=True)
    assert everything(tmp_path) == {"folder", "file"}


def test_only_an_earlier_run_is_replaced(short_run: Run, tmp_path: Path) -> None:
    folder = write_run(short_run, tmp_path / "mine", PAGE)
    (folder / "stray.txt").write_text("from the earlier run")
    write_run(short_run, folder, PAGE + "<p>again", replace=True)
    assert (folder / "report.html").read_text().endswith("again")
    assert not (folder / "stray.txt").exists()
    assert {path.name for path in tmp_path.iterdir()} == {"mine"}


@pytest.mark.parametrize("failure", [KeyboardInterrupt, MemoryError])
@pytest.mark.parametrize("step", ["_write_series", "_write_json", "_sync", "_put_in_place"])
def test_an_interrupt_leaves_nothing(
    short_run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, failure: type[BaseException]
) -> None:
    def stop(*_: object) -> None:
        raise failure

    monkeypatch.setattr(run_module, step, stop)
    with pytest.raises(failure):
        write_run(short_run, tmp_path / "deep" / "er" / "run", PAGE)
    assert everything(tmp_path) == set()


def test_an_interrupt_keeps_the_run_that_was_to_be_replaced(
    short_run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_run(short_run, tmp_path / "mine", PAGE)
    before = everything(tmp_path)
    rename = run_module.os.rename

    def fails_on_the_new_one(old: Path, new: Path) -> None:
        if Path(new) == folder and ".part" in str(old):
            raise KeyboardInterrupt
        rename(old, new)

    monkeypatch.setattr(run_module.os, "rename", fails_on_the_new_one)
    with pytest.raises(KeyboardInterrupt):
        write_run(short_run, folder, "new", replace=True)
    assert everything(tmp_path) == before
    assert (folder / "report.html").read_text() == PAGE


def test_a_disk_that_refuses_is_told_as_a_sentence(
    short_run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(run_module, "_write_series", full)
    with pytest.raises(OutputError, match="No space left"):
        write_run(short_run, tmp_path / "run", PAGE)
    assert everything(tmp_path) == set()


def test_a_file_in_the_way_is_told_as_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="is a file, not a folder"):
        check_free(tmp_path / "file" / "run")


def test_one_file_is_written_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_file(tmp_path / "new" / "page.html", "one")
    with pytest.raises(OutputError, match="exists already"):
        check_new_file(path)
    write_file(path, "two", replace=True)
    assert path.read_text() == "two"

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(run_module, "_sync_file", stop)
    with pytest.raises(KeyboardInterrupt):
        write_file(tmp_path / "other" / "page.html", "three")
    with pytest.raises(KeyboardInterrupt):
        write_file(path, "three", replace=True)
    assert everything(tmp_path) == {"new", "new/page.html"}
    assert path.read_text() == "two"


@pytest.mark.parametrize("spoil", ["series.parquet", "summary.json", "ledger.json", "provenance.json"])
def test_a_folder_that_is_no_run_is_an_input_error(short_run: Run, tmp_path: Path, spoil: str) -> None:
    folder = write_run(short_run, tmp_path / "run", PAGE)
    (folder / spoil).write_text("{")
    with pytest.raises(InputError, match="not a whole run folder"):
        load_run(folder)
    (folder / spoil).unlink()
    with pytest.raises(InputError, match="not a whole run folder"):
        load_run(folder)


@pytest.mark.parametrize("notes", ["{}", '{"format": "heatwright run 1"}'])
def test_a_summary_of_another_form_is_an_input_error(short_run: Run, tmp_path: Path, notes: str) -> None:
    folder = write_run(short_run, tmp_path / "run", PAGE)
    (folder / "summary.json").write_text(notes)
    with pytest.raises(InputError):
        load_run(folder)


def test_json_has_the_agreed_keys(short_run: Run) -> None:
    answer = run_as_json(short_run)
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
    } <= set(answer)
    assert {"residual_j", "residual_relative", "throughput_j", "boundary_j", "terms_j"} <= set(answer["ledger"])
    assert answer["comfort"]["time_to_20c_s"] == 701.0
    assert answer["elapsed_s"] == 0.412
    assert answer["steps"] == 1200
    json.dumps(answer, allow_nan=False)


def test_json_of_a_bare_run() -> None:
    answer = run_as_json(Run("p", "t", np.arange(3.0), {}))
    assert answer["range_km"] is None
    assert answer["comfort"] == {"time_to_20c_s": None}


def test_plain_takes_dataclasses_and_arrays() -> None:
    @dataclass
    class Taken:
        key: str
        value: float

    given = {
        "a": Taken("ua", float("inf")),
        "b": np.array([1, 2]),
        "c": (np.int64(3), {"z", "y"}),
        "d": Path("x"),
    }
    assert plain(given) == {"a": {"key": "ua", "value": None}, "b": [1, 2], "c": [3, ["y", "z"]], "d": "x"}


def test_views(short_run: Run) -> None:
    table = short_run.table()
    assert table.index.name == "t_s"
    assert len(table) == short_run.steps + 1
    assert set(table) == set(short_run.series)
    dataset = short_run.dataset()
    assert dataset["t_cabin_air_k"].attrs["unit"] == "K"
    assert dataset.attrs == {"plant": "Made-up plant", "trip": "Made-up hut day"}


def test_a_missing_library_is_named(short_run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "xarray", None)
    with pytest.raises(ImportError, match=r"Run\.dataset\(\) needs xarray, which is not installed"):
        short_run.dataset()


def test_notebook_view_is_escaped() -> None:
    html = fake_run("Plant <b>", hours=0.05)._repr_html_()
    assert "Plant &lt;b&gt;" in html
    assert "range_km" in html


def test_a_run_is_frozen(short_run: Run) -> None:
    with pytest.raises(FrozenInstanceError):
        short_run.plant_name = "other"  # type: ignore[misc]


def test_a_series_without_label_still_has_one() -> None:
    assert Run("p", "t", np.arange(2.0), {}).label("t_x_k") == Label("t_x_k", "", "other")


def test_smooth_series_are_packed_tightly(made_up_run: Run, tmp_path: Path) -> None:
    smooth = {f"t_{k}_k": (280 + np.sin(made_up_run.t_s / (900 + k))).astype(np.float32) for k in range(10)}
    folder = write_run(Run("p", "t", made_up_run.t_s, smooth), tmp_path / "r", PAGE)
    raw = sum(values.nbytes for values in smooth.values())
    assert (folder / "series.parquet").stat().st_size < 0.6 * raw
