"""Reads a plant file and the files it extends into one table that remembers where each key is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import blake2b
from pathlib import Path
from typing import Any

from heatwright.plant.keys import check_keys
from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.plant.parts import kinds
from heatwright.plant.read_text import read_text
from heatwright.toml_lines import lines_of

SUFFIX = ".plant.toml"
FORMAT = "heatwright plant 1"
HEAD = "write it as the first line: it tells which language the file is in"
WHOLE = frozenset({("control", "rule")})
"""Tables that an extending file replaces as a whole, because their order matters."""


@dataclass
class Source:
    """The merged table, and what is known of the files behind it."""

    data: dict[str, Any]
    digest: str = ""
    files: list[Path] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    dropped: dict[str, str] = field(default_factory=dict)


def shipped_folder() -> Path:
    """The folder of the plants that come with the package."""
    return Path(__file__).resolve().parent.parent / "data" / "plants"


def locate(source: str | Path, mistakes: Mistakes) -> Path | None:
    """The file behind a path or the name of a shipped plant."""
    path = Path(source)
    if path.is_file():
        return path
    name = str(source)
    shipped = shipped_folder() / (name if name.endswith(SUFFIX) else name + SUFFIX)
    if "/" not in name and shipped.is_file():
        return shipped
    from heatwright.plant.catalogue import list_shipped

    names = [one.name for one in list_shipped()]
    mistakes.add_at(
        name,
        "this is a folder" if path.is_dir() else "there is no such file or shipped plant",
        f"a path, or one of {listed(names)}",
        near(name, names, "heatwright list tells of each"),
    )
    return None


def read_source(path: Path, mistakes: Mistakes, changes: Mapping[str, Any] | None = None) -> Source | None:
    """Read a file with all it extends, and put `changes` ("part.key" -> value) on top."""
    shown = path.name if path.parent == shipped_folder() else str(path)
    mistakes.title = shown
    source = _read(path, shown, mistakes, ())
    if source is None:
        return None
    if source.data.get("base") is True:
        mistakes.add(
            ("base",), "this file is only a base for others to extend", "a file that extends it", "take base = true out"
        )
        return None
    digest = blake2b(digest_size=16)
    for file in source.files:
        digest.update(file.read_bytes())
    for dotted, value in sorted((changes or {}).items()):
        digest.update(f"{dotted}={value!r}".encode())
        _change(source.data, dotted, value, mistakes)
    source.digest = digest.hexdigest()
    return source


def _read(path: Path, shown: str, mistakes: Mistakes, above: tuple[Path, ...]) -> Source | None:
    read = read_text(path, shown, mistakes)
    if read is None:
        return None
    text, data = read
    if _of_another_language(data.get("format")):
        where = f"{shown}:{lines_of(text)['format',]}"
        hint = "a trip stands behind the plant on the command line" if "trip" in data["format"] else HEAD
        mistakes.add_at(where, f"format is {data['format']!r}", f'format = "{FORMAT}" at the head of the file', hint)
        return None
    places = {key: f"{shown}:{line}" for key, line in lines_of(text).items()}
    mistakes.places.update(places)
    check_keys(data, mistakes)
    places = {key: where for key, where in mistakes.places.items() if where.rpartition(":")[0] == shown}
    source = Source(data, files=[path], shown=[shown])
    if "extends" in data:
        base = _base(path, shown, data["extends"], places, mistakes, (*above, path.resolve()))
        if base is None:
            return None
        _drop(base, data.get("drop", []), places, mistakes)
        base.data.pop("base", None)
        own = {key: value for key, value in data.items() if key not in ("extends", "drop")}
        data = _merge(base.data, own, ())
        source = Source(data, files=[*base.files, path], shown=[*base.shown, shown], dropped=base.dropped)
    elif "drop" in data:
        found = "'drop' without 'extends': there is nothing to drop from"
        mistakes.add_at(places["drop",], found, 'extends = "..."', "take the parts out of this file")
    mistakes.places.update(places)
    return source


def _of_another_language(said: Any) -> bool:
    """Whether a file says that it is a trip or a sheet: then no key of it is worth a word."""
    return isinstance(said, str) and said.startswith(FORMAT.split()[0]) and said.split()[1:2] != FORMAT.split()[1:2]


def _base(
    path: Path, shown: str, name: Any, places: dict[Any, str], mistakes: Mistakes, above: tuple[Path, ...]
) -> Source | None:
    where = places["extends",]
    if not isinstance(name, str):
        mistakes.add_at(where, "extends names no file", 'text such as "car.plant.toml"', "put its name between quotes")
        return None
    beside, shipped = path.parent / name, shipped_folder() / name
    itself = beside.is_file() and beside.resolve() == path.resolve()
    file = beside if beside.is_file() and not (itself and shipped.is_file()) else shipped
    if not file.is_file():
        others = sorted(one.name for one in path.parent.glob("*.toml") if one != path)
        others += sorted(one.name for one in shipped_folder().glob("*" + SUFFIX))
        whole = name.removesuffix(SUFFIX).removesuffix(".toml") + SUFFIX
        found = f"there is no file '{name}' beside this one, and none shipped"
        mistakes.add_at(where, found, "the name of a plant file", near(whole, others))
        return None
    if file.resolve() in above:
        found = f"'{name}' extends this file in turn: a ring without a first file"
        mistakes.add_at(where, found, "a first file that extends none", "take one 'extends' out")
        return None
    base_shown = str(Path(shown).parent / name) if file == beside else f"shipped {name}" if itself else name
    return _read(file, base_shown, mistakes, above)


def _drop(base: Source, names: Any, places: dict[Any, str], mistakes: Mistakes) -> None:
    """Take parts out of the table of the base file."""
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        mistakes.add_at(
            places["drop",],
            "drop is no list of names",
            'a list such as ["heater", "core"]',
            "put the names between [ and ]",
        )
        return
    tables = [table for key, table in base.data.items() if key in kinds() and isinstance(table, dict)]
    for number, name in enumerate(names):
        where = places.get(("drop", number), places["drop",])
        holders = [table for table in tables if name in table]
        if not holders and name in names[:number]:
            mistakes.add_at(where, f"drop names '{name}' twice", "each part once", "take one out")
        elif not holders:
            found = f"drop names '{name}', which the base file does not declare"
            hint = near(name, [one for table in tables for one in table], _take_away(base.data, name))
            mistakes.add_at(where, found, "a part of the base file", hint)
        for table in holders:
            del table[name]
        base.dropped[name] = where


def _take_away(data: Mapping[str, Any], name: str) -> str:
    """How to take away what is no part."""
    lines = data.get("lines", {})
    for fluid, table in lines.items() if isinstance(lines, dict) else ():
        if isinstance(table, dict) and name in table:
            return f"a line is taken away below [lines.{fluid}]: {name} = false"
    return "take it out"


def _merge(base: dict[str, Any], own: dict[str, Any], path: tuple[str, ...]) -> dict[str, Any]:
    """Tables merge, anything else replaces, `false` takes away."""
    for key, value in own.items():
        here = (*path, key)
        if value is False and key in base:
            del base[key]
        elif isinstance(value, dict) and isinstance(base.get(key), dict) and here not in WHOLE and key != "positions":
            _merge(base[key], value, here)
        else:
            base[key] = value
    return base


def _change(data: dict[str, Any], dotted: str, value: Any, mistakes: Mistakes) -> None:
    """Set one key: "pack.heat_capacity" (part and key) or the full path "glass.screen.area"."""
    path = dotted.split(".")
    table: Any = data
    if not (len(path) > 1 and isinstance(table.get(path[0]), dict) and path[1] in table[path[0]]):
        kind = next((k for k, t in data.items() if isinstance(t, dict) and isinstance(t.get(path[0]), dict)), None)
        path = [kind, *path] if kind and kind not in ("lines", "control") else path
    for key in path[:-1]:
        table = table.setdefault(key, {}) if isinstance(table, dict) else None
    if not isinstance(table, dict):
        mistakes.add_at(
            f"change {dotted}",
            "there is no such place in the plant",
            "a part and its key: pack.energy",
            "see heatwright show",
        )
        return
    table[path[-1]] = value
    mistakes.places[tuple(path)] = f"change {dotted}"
