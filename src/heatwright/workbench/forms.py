"""The set-up of a plant as a form: every number with its unit, range, what it means, its source and its grade."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.plant.parts import Field, kinds

FORMS = ("quantity", "rated", "count", "factor", "span", "choice", "flag")
LONGEST = 200
MOST = 200


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
    """The form of one plant, or what is wrong with its file."""

    plant: str
    title: str
    about: str
    rows: tuple[Row, ...] = ()
    problems: tuple[dict[str, Any], ...] = field(default=())

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return asdict(self)


def set_up(name: str, source: str) -> SetUp:
    """The form of a plant; a file with mistakes gives their list instead."""
    try:
        plant = load_plant(source)
    except InputError as failure:
        return SetUp(name, name, "", (), tuple(one.as_json() for one in failure.problems))
    return SetUp(name, plant.name, plant.about, tuple(_rows(plant)))


def mistakes(source: str, changes: dict[str, str]) -> list[dict[str, Any]]:
    """What is wrong with a plant once the changes are made; an empty list where nothing is."""
    try:
        load_plant(source, changes)
    except InputError as failure:
        return [one.as_json() for one in failure.problems]
    return []


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
    span = "" if one.low is None or one.high is None else f"{one.low:g} to {one.high:g} {one.unit}".strip()
    choices = one.choices if one.form == "choice" else ("true", "false") if one.form == "flag" else ()
    text = text.lower() if one.form == "flag" else text
    words = one.meaning
    return Row(f"{owner}.{one.name}", owner, words, text, one.unit, span, source, grade, choices)
