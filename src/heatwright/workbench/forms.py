"""The set-up of a plant or a trip as a form: every number with its unit, range, meaning, source and grade."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.plant.parts import Field, kinds

if TYPE_CHECKING:
    from heatwright.trip.changes import Stated
    from heatwright.trip.model import Trip

FORMS = ("quantity", "rated", "count", "factor", "span", "choice", "flag")
LONGEST = 200
MOST = 200
LEFT_OUT = "left out"
"""Grade of a number of a trip that is neither written nor has a default."""


@dataclass(frozen=True)
class Row:
    """One number that may be changed."""

    key: str
    owner: str
    words: str
    text: str
    unit: str
    span: str
    source: str
    grade: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class SetUp:
    """The form of one plant or trip (`kind`), or what is wrong with its file; `note` says what it does not hold."""

    kind: str
    name: str
    title: str
    about: str
    rows: tuple[Row, ...] = ()
    problems: tuple[dict[str, Any], ...] = field(default=())
    note: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def set_up(name: str, source: str) -> SetUp:
    """The form of a plant; a file with mistakes gives their list instead."""
    try:
        plant = load_plant(source)
    except InputError as failure:
        return SetUp("plant", name, name, "", (), tuple(one.as_json() for one in failure.problems))
    return SetUp("plant", name, plant.name, plant.about, tuple(_rows(plant)))


def trip_set_up(name: str, source: str) -> SetUp:
    """The form of a trip; a file with mistakes gives their list instead."""
    from heatwright.trip.load import stated_trip

    try:
        trip, stated = stated_trip(source)
    except InputError as failure:
        return SetUp("trip", name, name, "", (), tuple(one.as_json() for one in failure.problems))
    rows = tuple(_trip_row(one) for one in stated)
    return SetUp("trip", name, trip.name, " ".join(trip.about.split()), rows, (), _trip_note(trip))


def mistakes(
    plant_source: str, changes: dict[str, str], trip_source: str = "", trip_changes: dict[str, str] | None = None
) -> list[dict[str, Any]]:
    """What is wrong with a plant, and with a trip where one is named, once the changes are made."""
    from heatwright.trip.load import load_trip

    found: list[dict[str, Any]] = []
    try:
        load_plant(plant_source, changes)
    except InputError as failure:
        found += [one.as_json() for one in failure.problems]
    try:
        if trip_source:
            load_trip(trip_source, trip_changes)
    except InputError as failure:
        found += [one.as_json() for one in failure.problems]
    return found


def read_changes(said: Any) -> dict[str, str] | None:
    """Changes out of a request: names and texts of bounded length; None for anything else."""
    if not isinstance(said, dict) or len(said) > MOST:
        return None
    sound = all(isinstance(v, str) and len(k) <= LONGEST and len(v) <= LONGEST for k, v in said.items())
    return dict(said) if sound else None


def _rows(plant: Plant) -> list[Row]:
    stated = {(one.owner, one.key): one for one in plant.stated}
    assumed = {(one.owner, one.key): one for one in plant.assumed}
    found = []
    for part in plant.parts.values():
        for one in kinds()[part.kind].fields:
            known, taken = stated.get((part.name, one.name)), assumed.get((part.name, one.name))
            if one.form not in FORMS or (known is None and taken is None):
                continue
            text = known.text if known else taken.text if taken else ""
            source = known.where if known else taken.source if taken else ""
            grade = (known.grade or "ungraded") if known else "default"
            found.append(_row(part.name, one, text, source, grade))
    return found


def _row(owner: str, one: Field, text: str, source: str, grade: str) -> Row:
    unit = "" if one.unit == "1" else one.unit
    span = "" if one.low is None or one.high is None else f"{one.low:g} to {one.high:g} {unit}".strip()
    choices = one.choices if one.form == "choice" else ("true", "false") if one.form == "flag" else ()
    text = text.lower() if one.form == "flag" else text
    words = one.meaning
    return Row(f"{owner}.{one.name}", owner, words, text, unit, span, source, grade, choices)


def _trip_row(one: Stated) -> Row:
    """A number of a trip: files of trips hold no grades, so a written one is ungraded."""
    how = one.field
    unit = "" if how.unit == "1" else how.unit
    bounded = how.form in ("quantity", "count") and how.low < how.high
    span = f"{how.low:g} to {how.high:g} {unit}".strip() if bounded else ""
    choices = ("true", "false") if how.form == "flag" else ()
    file, _, line = one.where.rpartition(":")
    source = f"{Path(file).name}:{line}" if one.given else "default of the trip format" if one.text else ""
    grade = "ungraded" if one.given else "default" if one.text else LEFT_OUT
    return Row(one.key, one.owner, how.meaning, one.text, unit, span, source, grade, choices)


def _trip_note(trip: Trip) -> str:
    """What of a trip stands in tables over time or in a weather file, and so in no field."""
    told = []
    for name, table in (("weather", trip.weather.table), ("sun", trip.sun.table)):
        if table is not None:
            told.append(f"[{name}] has a table over time for {', '.join(table.values)}; change it in the file.")
    if trip.weather.file is not None:
        told.append(f"The weather comes from {trip.weather.file.name}.")
    return " ".join(told)
