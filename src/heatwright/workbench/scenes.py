"""A scene list for talks: pictures in an order of the user's, whose captions read their numbers from the runs shown.

A caption holds names in braces: `{cabin}` is read at the scene's instant, `{electricity}` over the whole trip, of every
run of the scene. The list lies in the study's folder, written whole or not at all; without one there is a fixed one.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from heatwright.draw.axes import clock, span_words
from heatwright.errors import InputError, Problem
from heatwright.run import write_file
from heatwright.study.heats import heats
from heatwright.workbench.frame import numbers_of
from heatwright.workbench.study import MADE, Kept, Study

FILE = "scenes.json"
FORMAT = "heatwright scenes 1"
MOST = 60
LONGEST = 600
TOKEN = re.compile(r"\{([^{}]*)\}")
MISSING = "–"


@dataclass(frozen=True)
class Scene:
    """One picture of a talk: the layer to open, its runs by their place in the study, the instant, and what to say."""

    title: str
    says: str
    layer: str
    runs: tuple[str, ...]
    at_s: float


@dataclass(frozen=True)
class Told:
    """A scene as it stands now: ids of its runs for this start, and its caption with the numbers of those runs."""

    scene: Scene
    caption: str
    ids: tuple[str, ...]


@dataclass(frozen=True)
class SceneList:
    """Every scene in its order; `own` says whether the list is the user's; `words` are the names a caption may hold."""

    scenes: tuple[Told, ...]
    own: bool
    words: tuple[tuple[str, str], ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


Read = Callable[[Kept, float], str]


def _degrees(body: str) -> Read:
    def read(one: Kept, at_s: float) -> str:
        row = numbers_of(one)
        k = min(int(np.searchsorted(row["t"], at_s)), len(row["t"]) - 1)
        return _number(float(row[f"t_{body}"][k]) - 273.15, 1, "°C")

    return read


def _summary(key: str, unit: str, digits: int, factor: float = 1.0) -> Read:
    def read(one: Kept, _: float) -> str:
        value = one.run.summary.get(key)
        return MISSING if value is None else _number(float(value) * factor, digits, unit)

    return read


def _number(value: float, digits: int, unit: str) -> str:
    return MISSING if not np.isfinite(value) else f"{value:.{digits}f} {unit}".replace("-", "−")


def _warm(one: Kept, _: float) -> str:
    reached = one.run.comfort.get("time_to_20c_s")
    return "never" if reached is None else span_words(reached)


def _source(one: Kept, _: float) -> str:
    if not one.run.books:
        return MISSING
    found = heats(one.run).sources
    return f"{found[0].words}, {found[0].joules / 3.6e6:.2f} kWh" if found else MISSING


def _mode(one: Kept, at_s: float) -> str:
    from heatwright.workbench.frame import modes_of

    titles, track = modes_of(one.run)
    k = min(int(np.searchsorted(one.run.t_s, at_s)), len(track) - 1)
    return titles[track[k]] if track[k] >= 0 else "valves on their way"


WORDS: dict[str, tuple[str, Read]] = {
    "outside": ("air outside", _degrees("outside")),
    "cabin": ("cabin air", _degrees("cabin")),
    "pack": ("pack", _degrees("pack")),
    "drive": ("drive unit", _degrees("drive")),
    "mode": ("mode that runs", _mode),
    "electricity": ("electricity of the trip", _summary("energy_kwh_per_100km", "kWh/100 km", 1)),
    "range": ("range", _summary("range_km", "km", 0)),
    "charge": ("charge at the end", _summary("soc_end", "%", 1, 100.0)),
    "warm": ("until the cabin has 20 °C", _warm),
    "source": ("greatest source of heat", _source),
}
"""Names that a caption may hold, with what they are and how they are read; besides, `time` and `trip`."""
ALONE = {"time": "the instant", "trip": "name of the trip"}


def scene_list(study: Study) -> SceneList:
    """The scenes of a study: the user's list, or the fixed one. InputError where the list cannot be read."""
    kept = _stored(study)
    told = tuple(_tell(study, one) for one in (fixed(study) if kept is None else kept))
    words = (*ALONE.items(), *((key, words) for key, (words, _) in WORDS.items()))
    return SceneList(told, kept is not None, words)


def fixed(study: Study) -> tuple[Scene, ...]:
    """The list to begin with, out of the study's first runs; nothing where it has no run."""
    kept = study.kept[:2]
    if not kept:
        return ()
    places = tuple(one.place for one in kept)
    coldest, end = _coldest(kept[0]), float(kept[0].run.t_s[-1])
    return (
        Scene("The start", "{trip}: it is {outside} outside and the cabin has {cabin}.", "needs", places, 0.0),
        Scene("The worst minute of the cabin", "At {time} the cabin has: {cabin}.", "traces", places, coldest),
        Scene("Where the heat came from", "The greatest source of heat. {source}.", "heat", places, coldest),
        Scene("What it cost", "{electricity}. The cabin reaches 20 °C after: {warm}.", "energy", places, end),
    )


def store(study: Study, said: Any, layers: Sequence[str]) -> None:
    """Keep a list of scenes in the study's folder; InputError where it is none, and nothing is written then."""
    scenes, problems = _read(said, layers)
    places = {one.place for one in study.kept}
    for number, one in enumerate(scenes, 1):
        gone = [place for place in one.runs if place not in places]
        problems += [Problem(f"scene {number}", f"there is no run {place[:60]!r} on the bench") for place in gone]
    if problems:
        raise InputError(problems, "scenes")
    rows = [asdict(one) for one in scenes]
    text = json.dumps({"format": FORMAT, "scenes": rows}, indent=1, ensure_ascii=False)
    write_file(study.folder / MADE / FILE, text, replace=True)
    study.changed()


def forget(study: Study) -> None:
    """Go back to the fixed list."""
    (study.folder / MADE / FILE).unlink(missing_ok=True)
    study.changed()


def _stored(study: Study) -> tuple[Scene, ...] | None:
    file = study.folder / MADE / FILE
    if not file.is_file():
        return None
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        scenes, problems = _read(told["scenes"], ())
    except (OSError, ValueError, KeyError, TypeError) as failure:
        scenes, problems = (), [Problem(FILE, f"the list of scenes cannot be read ({failure})")]
    if problems:
        where = f"{MADE}/{FILE}"
        raise InputError(
            [Problem(where, problems[0].found, "", "take the file out; the fixed list comes back")], "scenes"
        )
    return scenes


def _read(said: Any, layers: Sequence[str]) -> tuple[tuple[Scene, ...], list[Problem]]:
    """Scenes out of plain values, and what is wrong with them; `layers` () asks of no layer whether it exists."""
    if not isinstance(said, list) or len(said) > MOST:
        return (), [Problem("scenes", "this is no list of scenes", f"at most {MOST} of them")]
    scenes, problems = [], []
    for number, one in enumerate(said, 1):
        where = f"scene {number}"
        scene = _scene(one)
        if scene is None:
            problems.append(Problem(where, "it cannot be read", "title, says, layer, runs and at_s"))
            continue
        if layers and scene.layer not in layers:
            problems.append(Problem(where, f"there is no layer {scene.layer[:40]!r}", ", ".join(layers)))
        known = [*ALONE, *WORDS]
        bad = [name for name in TOKEN.findall(scene.says) if name not in known]
        problems += [Problem(where, f"nothing is called {{{name[:40]}}}", ", ".join(known)) for name in bad]
        scenes.append(scene)
    return tuple(scenes), problems


def _scene(said: Any) -> Scene | None:
    if not isinstance(said, Mapping):
        return None
    title, says, layer, runs, at_s = (said.get(key) for key in ("title", "says", "layer", "runs", "at_s"))
    texts = all(isinstance(one, str) and len(one) <= LONGEST for one in (title, says, layer))
    listed = isinstance(runs, (list, tuple)) and 0 < len(runs) <= 4 and all(isinstance(one, str) for one in runs)
    timed = isinstance(at_s, (int, float)) and not isinstance(at_s, bool) and 0.0 <= at_s <= 1e7
    if not (texts and listed and timed and str(title).strip()):
        return None
    return Scene(str(title).strip(), str(says), str(layer), tuple(map(str, runs)), float(at_s))  # type: ignore[arg-type]


def _tell(study: Study, scene: Scene) -> Told:
    """A scene with its numbers; a run that is gone is said to be so and not filled in."""
    found = [study.at(place) for place in scene.runs]
    runs = [one for one in found if one is not None]
    gone = [place for place, one in zip(scene.runs, found, strict=True) if one is None]
    caption = TOKEN.sub(lambda match: _word(match[1], runs, scene.at_s), scene.says)
    if gone:
        caption += f" (No longer on the bench: {', '.join(gone)}.)"
    return Told(scene, caption, tuple(one.id for one in runs))


def _word(name: str, runs: Sequence[Kept], at_s: float) -> str:
    if name == "time":
        return clock(at_s)
    if not runs:
        return MISSING
    if name == "trip":
        return "; ".join(dict.fromkeys(one.run.trip_name for one in runs))
    read = WORDS[name][1]
    told = [read(one, at_s) for one in runs]
    if len(set(told)) == 1:
        return told[0]
    return "; ".join(f"{one.name} {text}" for one, text in zip(runs, told, strict=True))


def _coldest(one: Kept) -> float:
    """The time at which the cabin lies farthest below what is wished while people are aboard [s]."""
    s = one.run.series
    if not {"t_setpoint_k", "t_zone_air_k", "occupied"} <= set(s):
        return 0.0
    short = np.where(s["occupied"] > 0.0, s["t_setpoint_k"] - s["t_zone_air_k"], -np.inf)
    return float(one.run.t_s[int(np.argmax(short))])
