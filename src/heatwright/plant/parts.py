"""The kinds of part a plant file may declare: one declaration each, read by loader, schema and docs.

Every quantity that a car maker may not know yet has a default; its source stands beside it. Ranges are wide:
they refuse what cannot be, not what is unusual.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Form = Literal["quantity", "rated", "count", "factor", "choice", "span", "flag", "words"]
Role = Literal["body", "mover", "valve", "inline", "exchanger", "heater", "passive", "junction"]

COMMON = "common practice"
FITTED = "common practice; fitted so that the whole car lands in published bands"
MEMORY = "value from memory"
SUM = "follows from the other defaults"

AT_COOLANT = "10 L/min, 40 degC"


@dataclass(frozen=True)
class Field:
    """One key of a part or table.

    `unit` is a sample of the unit (its dimension is checked), `default` the text used when the key is left
    out ("" = none: the value is then None), `low` and `high` the possible range in `unit`. `at` holds the
    reference conditions of a rated value. `follows` = (other key, power): the default is scaled by
    (other / its default) ** power. `by_refrigerant` replaces the default for some refrigerants.
    """

    name: str
    form: Form
    unit: str
    default: str
    meaning: str
    source: str = COMMON
    low: float | None = None
    high: float | None = None
    at: str = ""
    follows: tuple[str, int] | None = None
    by_refrigerant: Mapping[str, str] = field(default_factory=dict)
    choices: tuple[str, ...] = ()
    required: bool = False


@dataclass(frozen=True)
class Kind:
    """One kind of part: what it is, the fluids that pass through it, and its keys.

    `gives` and `takes` say whether it can be a source or a sink of heat for a coolant circuit; `symbol` names
    its drawing. A `body` may stand in no line (a pack without a plate); an `exchanger` must stand in a line
    of each of its fluids; `front` marks what may stand in the wind. `ordered` lists pairs of keys, the
    first of which must stay below the second. `sides` names the places of a part that stands twice in lines of
    one fluid: `NAME.a` and `NAME.b`.
    """

    name: str
    says: str
    role: Role
    fluids: tuple[str, ...]
    fields: tuple[Field, ...]
    gives: bool = False
    takes: bool = False
    front: bool = False
    symbol: str = ""
    ordered: tuple[tuple[str, str], ...] = ()
    sides: tuple[str, ...] = ()

    def field(self, name: str) -> Field | None:
        """The declaration of one key, or None."""
        return next((one for one in self.fields if one.name == name), None)


def quantity(
    name: str,
    default: str,
    low: float,
    high: float,
    meaning: str,
    source: str = COMMON,
    *,
    unit: str = "",
    follows: tuple[str, int] | None = None,
    by_refrigerant: Mapping[str, str] | None = None,
) -> Field:
    """A number with a unit; the unit of the range is that of the default unless `unit` says otherwise."""
    sample = unit or default.split(" ", 1)[1]
    return Field(
        name,
        "quantity",
        sample,
        default,
        meaning,
        source,
        low,
        high,
        follows=follows,
        by_refrigerant=by_refrigerant or {},
    )


def rated(
    name: str,
    default: str,
    at: str,
    low: float,
    high: float,
    meaning: str,
    source: str = COMMON,
    *,
    unit: str = "",
    follows: tuple[str, int] | None = None,
) -> Field:
    """A number with a unit that holds at stated conditions: "850 W/K at 12 L/min, 3 m/s"."""
    sample = unit or default.split(" ", 1)[1]
    return Field(name, "rated", sample, default, meaning, source, low, high, at=at, follows=follows)


def count(name: str, default: str, low: int, high: int, meaning: str, source: str = COMMON) -> Field:
    """A whole number, bare or with the word of its unit."""
    return Field(name, "count", default.split(" ", 1)[1], default, meaning, source, low, high)


def factor(
    name: str, default: str, low: float, high: float, meaning: str, source: str = COMMON, *, unit: str = ""
) -> Field:
    """A pure number, bare or in per cent."""
    sample = unit or ("%" if default.endswith("%") else "1")
    return Field(name, "factor", sample, default, meaning, source, low, high)


def span(name: str, default: str, low: float, high: float, meaning: str, source: str = COMMON) -> Field:
    """Two numbers with a unit: "5 % to 97 %"."""
    return Field(name, "span", default.split(" to ")[0].split(" ", 1)[1], default, meaning, source, low, high)


def choice(name: str, choices: tuple[str, ...], meaning: str, source: str = COMMON) -> Field:
    """One word out of a few; the first is the default."""
    return Field(name, "choice", "", choices[0], meaning, source, choices=choices)


def flag(name: str, default: bool, meaning: str) -> Field:
    """true or false."""
    return Field(name, "flag", "", "true" if default else "false", meaning)


def words(name: str, meaning: str, *, required: bool = False) -> Field:
    """Text or a table with a grammar of its own (positions, states, names of parts)."""
    return Field(name, "words", "", "", meaning, "", required=required)


NOTE = words("note", "free text, kept for the reader")
WAS = words("was", "the part's former name, so that modes keep their ids across a renaming")


def mass_and_cost(mass: str, cost: str, source: str = COMMON) -> tuple[Field, Field]:
    """The two keys every part has for the roll-up of a whole plant; `source` speaks of the mass."""
    return (
        quantity("mass", mass, 0, 2000, "mass of the part, for the roll-up of a plant", source),
        quantity("cost", cost, 0, 100000, "cost at high volume, an order of magnitude"),
    )


def coolant_side(drop: str, channel: str, area: str, length: str, volume: str) -> tuple[Field, ...]:
    """The keys of a coolant passage: from them film and friction follow the Reynolds number."""
    return (
        rated("drop", drop, AT_COOLANT, 0, 500, "pressure drop of the coolant", unit="kPa"),
        quantity("channel", channel, 0.2, 60, "hydraulic diameter of the coolant channels", unit="mm"),
        quantity("flow_area", area, 0.05, 200, "flow area of the coolant, all parallel channels", unit="cm2"),
        quantity("channel_length", length, 0.01, 50, "length of one coolant channel", unit="m"),
        quantity("volume", volume, 0.01, 50, "coolant held inside", unit="L"),
    )


_REGISTRY: dict[str, Kind] = {}


def kinds() -> Mapping[str, Kind]:
    """Every kind by name, in the order bodies, coolant, refrigerant, air, comfort."""
    if not _REGISTRY:
        from heatwright.plant import kinds_air, kinds_bodies, kinds_comfort, kinds_coolant, kinds_refrigerant

        for group in (kinds_bodies, kinds_coolant, kinds_refrigerant, kinds_air, kinds_comfort):
            for kind in group.KINDS:
                _REGISTRY[kind.name] = kind
    return _REGISTRY
