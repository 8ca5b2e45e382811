"""A Run: what one plant did on one trip, kept as named series, and its folder on disk.

Keys that the report and the command line look for (all are optional; a missing one is shown as a dash):

    summary     range_km, energy_kwh_per_100km, energy_used_kwh, distance_km, t_pack_end_k, soc_start, soc_end
    comfort     time_to_20c_s (None: never), and any others, each with its unit suffix
    health      any, each with its unit suffix: circuit residual, steps done again, tables clipped, limits hit
    ledger      residual_j, residual_relative, throughput_j, boundary_j, terms_j {name: joules, in is +}
    energy_kwh  {use: kWh}
    provenance  elapsed_s, accuracy, made_at, versions {package: version}, plant_source, plant_digest,
                trip_source, trip_digest, plant_about, trip_about, assumed (list of sentences)
"""

from __future__ import annotations

import json
import math
import os
import secrets
import shutil
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, field, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from heatwright.errors import InputError, OutputError, Problem

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    import xarray as xr

SERIES_FILE = "series.parquet"
BOOKS_FILE = "books.parquet"
PAGE_FILE = "report.html"
FORMAT = "heatwright run 1"
ARROW_NUMBERS = {"float": "float32", "double": "float64"}  # other Arrow numbers are called as in numpy


class Leg(Protocol):
    """What a Run needs to know of a trip segment."""

    @property
    def name(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def first(self) -> int: ...
    @property
    def last_exclusive(self) -> int: ...


@dataclass(frozen=True)
class Span:
    """A trip segment as read back from a saved run: steps `first` up to, not including, `last_exclusive`."""

    name: str
    kind: str
    first: int
    last_exclusive: int


@dataclass(frozen=True)
class Label:
    """How a series is to be read: words, stored (SI) unit, group of like series, body it belongs to."""

    text: str
    unit: str
    group: str
    body: str = ""


@dataclass(frozen=True, eq=False)
class Run:
    """Result of one march; `t_s` and every series have one row a step edge.

    `books` : the ledger over time (heatwright.books), times of its marks under `t_s`; empty where nobody kept it.
    """

    plant_name: str
    trip_name: str
    t_s: np.ndarray
    series: Mapping[str, np.ndarray]
    labels: Mapping[str, Label] = field(default_factory=dict)
    mode_names: tuple[str, ...] = ()
    segments: tuple[Leg, ...] = ()
    summary: Mapping[str, Any] = field(default_factory=dict)
    ledger: Mapping[str, Any] = field(default_factory=dict)
    health: Mapping[str, Any] = field(default_factory=dict)
    comfort: Mapping[str, Any] = field(default_factory=dict)
    energy_kwh: Mapping[str, float] = field(default_factory=dict)
    provenance: Mapping[str, Any] = field(default_factory=dict)
    books: Mapping[str, np.ndarray] = field(default_factory=dict)

    @property
    def steps(self) -> int:
        """Number of steps marched."""
        return max(0, len(self.t_s) - 1)

    def label(self, name: str) -> Label:
        """Label of a series; a plain one made from its name when the run gave none."""
        return self.labels.get(name) or Label(name, "", "other")

    def table(self) -> pd.DataFrame:
        """Every series as one table, indexed by time in seconds."""
        pandas = _optional("pandas", "Run.table()")
        frame = pandas.DataFrame(dict(self.series), index=pandas.Index(self.t_s, name="t_s"))
        return frame

    def dataset(self) -> xr.Dataset:
        """Every series as an xarray Dataset along `t_s`, with units and words as attributes."""
        xarray = _optional("xarray", "Run.dataset()")
        data = {name: ("t_s", values, asdict(self.label(name))) for name, values in self.series.items()}
        about = {"plant": self.plant_name, "trip": self.trip_name}
        return xarray.Dataset(data, coords={"t_s": self.t_s}, attrs=about)

    def _repr_html_(self) -> str:
        from html import escape

        rows = [("plant", self.plant_name), ("trip", self.trip_name), ("steps", f"{self.steps:,}")]
        rows += [(key, f"{value:.4g}") for key, value in self.summary.items() if _is_number(value)]
        rows += [(f"energy: {key}", f"{value:.3f} kWh") for key, value in self.energy_kwh.items()]
        cells = "".join(f"<tr><th scope=row>{escape(k)}</th><td>{escape(v)}</td></tr>" for k, v in rows)
        return f"<table><caption>Heatwright run</caption>{cells}</table>"


def given_name(source: Any, title: str) -> str:
    """The name a plant or trip was asked for by: its shipped name or its path; its title if that is not known."""
    return str(source).removeprefix("shipped trip ") if source else title


def run_as_json(run: Run) -> dict[str, Any]:
    """The run as plain JSON values, without its series."""
    elapsed = run.provenance.get("elapsed_s", run.summary.get("elapsed_s"))
    comfort = {"time_to_20c_s": None, **run.comfort}
    return plain(
        {
            "plant": given_name(run.provenance.get("plant_source"), run.plant_name),
            "trip": given_name(run.provenance.get("trip_source"), run.trip_name),
            "plant_title": run.plant_name,
            "trip_title": run.trip_name,
            "steps": run.steps,
            "elapsed_s": elapsed,
            "energy_kwh": run.energy_kwh,
            "ledger": run.ledger,
            "health": run.health,
            "comfort": comfort,
            "range_km": run.summary.get("range_km"),
            "summary": run.summary,
        }
    )


def plain(value: Any) -> Any:
    """The same value in JSON types; a number that is not finite becomes null."""
    if is_dataclass(value) and not isinstance(value, type):
        value = asdict(value)
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, str) or value is None or isinstance(value, bool):
        return value
    if hasattr(value, "tolist"):
        return plain(value.tolist())
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(item) for item in (sorted(value, key=str) if isinstance(value, (set, frozenset)) else value)]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value if isinstance(value, int) else str(value)


def write_run(
    run: Run,
    folder: str | os.PathLike[str],
    page: str,
    *,
    replace: bool = False,
    beside: Mapping[str, bytes] | None = None,
) -> Path:
    """Write the run and its page as one new folder, whole or not at all.

    `replace` lets an earlier run's folder, and nothing else, be put aside for this one. `beside` : further files.
    """

    def fill(work: Path) -> None:
        _write_files(run, work, page)
        for name, content in (beside or {}).items():
            (work / name).write_bytes(content)

    return write_folder(folder, fill, replace=replace)


def check_free(folder: str | os.PathLike[str], *, replace: bool = False) -> Path:
    """The folder as a path, if a run may be written there; OutputError otherwise."""
    target = Path(folder)
    if not (target.exists() or target.is_symlink()):
        above = next(parent for parent in target.absolute().parents if parent.exists())
        if not above.is_dir():
            raise OutputError(f"{target}: {above} is a file, not a folder; choose another place")
        if not os.access(above, os.W_OK):
            raise OutputError(f"{target}: the folder {above} may not be written to; choose another place")
        return target
    if replace and (target / "provenance.json").is_file() and not target.is_symlink():
        return target
    raise OutputError(f"{target}: exists already and is left as it is; name a new folder or remove this one")


def write_folder(folder: str | os.PathLike[str], fill: Callable[[Path], None], *, replace: bool = False) -> Path:
    """Let `fill` write into a hidden sibling, then rename it to `folder`; on any failure nothing stays."""
    target = check_free(folder, replace=replace)
    made: list[Path] = []
    work = target.absolute().parent / f".{target.name}.{secrets.token_hex(4)}.part"
    try:
        _make_parents(work.parent, made)
        work.mkdir()
        fill(work)
        _sync(work)
        _put_in_place(work, target.absolute(), replace)
    except BaseException as failure:
        shutil.rmtree(work, ignore_errors=True)
        _unmake(made)
        if isinstance(failure, OSError):
            raise OutputError(f"{target}: could not be written ({failure.strerror or failure})") from failure
        raise
    return target


def check_new_file(path: str | os.PathLike[str], *, replace: bool = False) -> Path:
    """The path, if a new file may be written there; OutputError otherwise."""
    target = Path(path)
    if target.is_dir() or (target.exists() and not replace):
        raise OutputError(f"{target}: exists already and is left as it is; name a new file or remove this one")
    return target if target.exists() else check_free(target)


def write_file(path: str | os.PathLike[str], text: str, *, replace: bool = False) -> Path:
    """Write one text file, whole or not at all."""
    target = check_new_file(path, replace=replace).absolute()
    made: list[Path] = []
    work = target.parent / f".{target.name}.{secrets.token_hex(4)}.part"
    try:
        _make_parents(work.parent, made)
        work.write_text(text, encoding="utf-8")
        _sync_file(work)
        os.replace(work, target)
    except BaseException as failure:
        work.unlink(missing_ok=True)
        _unmake(made)
        if isinstance(failure, OSError):
            raise OutputError(f"{path}: could not be written ({failure.strerror or failure})") from failure
        raise
    return Path(path)


def load_run(folder: str | os.PathLike[str]) -> Run:
    """Read back a folder that `write_run` made."""
    source = Path(folder)
    try:
        notes = json.loads((source / "summary.json").read_text(encoding="utf-8"))
        ledger = json.loads((source / "ledger.json").read_text(encoding="utf-8"))
        provenance = json.loads((source / "provenance.json").read_text(encoding="utf-8"))
        table = _read_series(source / SERIES_FILE)
        books = _read_series(source / BOOKS_FILE) if (source / BOOKS_FILE).is_file() else None
    except (OSError, ValueError) as failure:
        raise InputError([_not_a_run(source, failure)], "run folder") from failure
    if notes.get("format") != FORMAT:
        raise InputError([_not_a_run(source, f"format {notes.get('format')!r}")], "run folder")
    try:
        return _from_parts(notes, ledger, provenance, table, books)
    except (KeyError, TypeError, ValueError) as failure:
        raise InputError([_not_a_run(source, failure)], "run folder") from failure


def _from_parts(notes: Any, ledger: Any, provenance: Any, table: Any, books: Any) -> Run:
    columns = {name: _from_arrow(table.column(name)) for name in table.column_names}
    marks = json.loads((table.schema.metadata or {}).get(b"heatwright.labels", b"{}"))
    return Run(
        plant_name=notes["plant"],
        trip_name=notes["trip"],
        t_s=columns.pop("t_s"),
        series=columns,
        labels={name: Label(**mark) for name, mark in marks.items()},
        mode_names=tuple(notes["mode_names"]),
        segments=tuple(Span(**span) for span in notes["segments"]),
        summary=notes["summary"],
        ledger=ledger,
        health=notes["health"],
        comfort=notes["comfort"],
        energy_kwh=notes["energy_kwh"],
        provenance=provenance,
        books={name: _from_arrow(books.column(name)) for name in books.column_names} if books is not None else {},
    )


def _write_files(run: Run, work: Path, page: str) -> None:
    notes = {
        "format": FORMAT,
        "plant": run.plant_name,
        "trip": run.trip_name,
        "mode_names": run.mode_names,
        "segments": [_span(leg) for leg in run.segments],
        "summary": run.summary,
        "health": run.health,
        "comfort": run.comfort,
        "energy_kwh": run.energy_kwh,
    }
    marks = json.dumps({name: asdict(mark) for name, mark in run.labels.items()})
    about = {"heatwright.labels": marks, "heatwright.format": FORMAT}
    _write_series({"t_s": run.t_s, **run.series}, work / SERIES_FILE, about)
    if run.books:
        _write_series(run.books, work / BOOKS_FILE, {"heatwright.format": FORMAT})
    _write_json(work / "summary.json", notes)
    _write_json(work / "ledger.json", run.ledger)
    _write_json(work / "provenance.json", run.provenance)
    (work / PAGE_FILE).write_text(page, encoding="utf-8")


def _write_series(columns: Mapping[str, np.ndarray], path: Path, about: Mapping[str, str]) -> None:
    import pyarrow
    import pyarrow.parquet as parquet

    table = pyarrow.table({name: _to_arrow(values) for name, values in columns.items()})
    floats = [field.name for field in table.schema if pyarrow.types.is_floating(field.type)]
    table = table.replace_schema_metadata(dict(about))
    # Split by byte, smooth series pack four times as tightly as in a dictionary.
    parquet.write_table(table, path, compression="zstd", use_dictionary=False, use_byte_stream_split=floats)


def _read_series(path: Path) -> Any:
    """The columns of a file; pyarrow's read_table() would load pandas for it."""
    import pyarrow.parquet as parquet

    with parquet.ParquetFile(path) as file:
        return file.read()


def _to_arrow(values: np.ndarray) -> Any:
    """An Arrow array over a copy of the numbers; pyarrow.array() would load pandas for it."""
    import numpy as np
    import pyarrow

    flat = np.ascontiguousarray(values)
    return pyarrow.Array.from_buffers(pyarrow.from_numpy_dtype(flat.dtype), flat.size, [None, pyarrow.py_buffer(flat)])


def _from_arrow(column: Any) -> np.ndarray:
    """The numbers of a column without nulls; to_numpy() would load pandas for it."""
    import numpy as np

    parts = []
    for part in column.chunks:
        kind = np.dtype(ARROW_NUMBERS.get(str(part.type), str(part.type)))
        parts.append(np.frombuffer(part.buffers()[1], kind, len(part), part.offset * kind.itemsize))
    return np.concatenate(parts) if parts else np.zeros(0)


def _write_json(path: Path, value: Any) -> None:
    path.write_text(json.dumps(plain(value), indent=2, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")


def _span(leg: Leg) -> dict[str, Any]:
    return {"name": leg.name, "kind": leg.kind, "first": leg.first, "last_exclusive": leg.last_exclusive}


def _make_parents(parent: Path, made: list[Path]) -> None:
    """Make the missing folders above a target, noting in `made` each one made, outermost first."""
    missing = [folder for folder in (parent, *parent.parents) if not folder.exists()]
    for folder in reversed(missing):
        folder.mkdir()
        made.append(folder)


def _unmake(made: list[Path]) -> None:
    for parent in reversed(made):
        if parent.is_dir() and not any(parent.iterdir()):
            parent.rmdir()


def _sync(work: Path) -> None:
    """Have the files and their folder on the disk before the rename makes them visible."""
    for path in [*work.iterdir(), work]:
        _sync_file(path)


def _sync_file(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _put_in_place(work: Path, target: Path, replace: bool) -> None:
    """Rename the finished work; an earlier run's folder is put aside first and brought back on failure."""
    if not target.exists():
        os.rename(work, target)
        return
    if not replace:
        raise OutputError(f"{target}: was made by something else meanwhile and is left as it is")
    aside = target.parent / f".{target.name}.{secrets.token_hex(4)}.old"
    os.rename(target, aside)
    try:
        os.rename(work, target)
    except BaseException:
        os.rename(aside, target)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def _not_a_run(source: Path, why: object) -> Problem:
    return Problem(str(source), f"is not a whole run folder ({why})", "a folder written by `heatwright run --out`")


def _optional(module: str, user: str) -> Any:
    from importlib import import_module

    try:
        return import_module(module)
    except ImportError as failure:
        text = f"{user} needs {module}, which is not installed; install it, or read the arrays in Run.series"
        raise ImportError(text) from failure


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
