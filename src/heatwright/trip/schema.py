"""Every key a trip file may have, declared once: read by the loader, the JSON Schema and the guide."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from heatwright.dispatch_table import KEY as DISPATCH
from heatwright.dispatch_table import dispatch_schema

Form = Literal["quantity", "count", "flag", "words", "clock", "date", "openings"]

FORMAT = "heatwright trip 1"


@dataclass(frozen=True)
class Field:
    """One key.

    `unit` is a sample of the unit of a quantity, `low` and `high` its possible range in that unit, `default`
    the text that stands in for a key left out ("" = none: the value is then None).
    """

    name: str
    form: Form
    meaning: str
    unit: str = ""
    default: str = ""
    low: float = 0.0
    high: float = 0.0
    required: bool = False


def quantity(
    name: str, meaning: str, unit: str, low: float, high: float, default: str = "", required: bool = False
) -> Field:
    """A number with a unit, as text."""
    return Field(name, "quantity", meaning, unit, default, low, high, required)


def words(name: str, meaning: str, required: bool = False) -> Field:
    """Free text or a name."""
    return Field(name, "words", meaning, required=required)


def flag(name: str, meaning: str, default: bool) -> Field:
    """true or false."""
    return Field(name, "flag", meaning, default="true" if default else "false")


TOP = (
    words("format", f'"{FORMAT}", the language of the file', required=True),
    words("name", "title of the trip", required=True),
    words("about", "what the trip is, for the reader"),
    quantity("step", "length of a time step", "s", 0.05, 60, "1 s"),
    quantity("set_point", "cabin temperature where a segment names none", "degC", 5, 35, "22 degC"),
    quantity("heat_reference", "temperature from which heat in the pack is counted", "degC", -40, 60, "20 degC"),
    quantity("clothing", "clothing of those aboard, in clo; left out, 1 in the cold to 0.5 in the warm", "1", 0, 2),
)

START = (
    quantity("temperature", "temperature of the whole car; left out, that of the air", "degC", -60, 80),
    quantity("pack_temperature", "temperature of the pack, if another", "degC", -60, 80),
    quantity("charge", "state of charge of the pack", "%", 0, 100, "80 %"),
    quantity("ice_on_screen", "ice on the outside of the screen, frozen on before the trip", "kg/m2", 0, 5, "0 kg/m2"),
    Field("time", "clock", "time of day when the first segment begins"),
    Field("date", "date", "day on which the first segment begins"),
)

PLACE = (
    quantity("latitude", "north is positive", "deg", -90, 90),
    quantity("longitude", "east is positive", "deg", -180, 180),
    quantity("altitude", "height above the sea where the trip begins", "m", -500, 5500, "0 m"),
    quantity("clock_offset", "how far the clocks there are ahead of universal time", "h", -12, 14),
)

WEATHER = (
    quantity("temperature", "air temperature", "degC", -60, 60),
    quantity("humidity", "relative humidity over water", "%", 0, 100, "70 %"),
    quantity("pressure", "pressure where the trip begins; left out, standard air", "hPa", 400, 1100),
    quantity("cloud", "share of the sky covered by cloud", "%", 0, 100, "0 %"),
    quantity("lapse", "how much colder the air gets with height", "K/km", -20, 20, "0 K/km"),
    flag("rain", "whether it rains or snows", False),
)
WEATHER_SOURCES = (
    words("table", "a table over time, as a file or as text of several lines; its columns replace constants"),
    words("file", "a weather file: .epw, or .csv of a typical meteorological year in TMY3 form"),
)

SUN = (
    quantity("direct", "direct radiation on a plane facing the sun", "W/m2", 0, 1400, "0 W/m2"),
    quantity("diffuse", "diffuse radiation on the flat", "W/m2", 0, 800, "0 W/m2"),
    quantity("elevation", "height of the sun above the level", "deg", -90, 90, "0 deg"),
    quantity("azimuth", "direction of the sun, from north through east", "deg", -360, 720, "180 deg"),
)
SUN_SOURCES = (
    words("table", "a table over time, as a file or as text of several lines; its columns replace constants"),
    flag("clear_sky", "work the sun out for a clear sky; needs place, date and time", False),
    quantity("turbidity", "haze of a clear sky (Linke); left out, the climate of the place", "1", 1, 10),
)

_NAME = words("name", "name of the segment in results")
_NOTE = words("note", "free text, kept for the reader")
_DURATION = quantity("duration", "how long it lasts", "s", 0, 31 * 86400)
_UNTIL = Field("until", "clock", "time of day when it ends, instead of a duration")
_SET_POINT = quantity("set_point", "cabin temperature asked for", "degC", 5, 35)
_HEADING = quantity("heading", "where the car's nose points, from north through east", "deg", -360, 720, "0 deg")
_SHADE = quantity("shade", "share of sun and sky that roof, trees or walls keep off", "%", 0, 100, "0 %")
_STATION = quantity("station", "power the plug can give", "kW", 0.1, 1000)
_DOORS = (
    Field("doors_at_start", "openings", "doors opened when it begins, and for how long: `2 x 20 s`"),
    Field("doors_at_end", "openings", "doors opened before it ends, and for how long"),
)
_WATER = (
    quantity("wet_clothes", "water carried in on clothes when it begins; leaves with the people", "g", 0, 5000),
    quantity("wet_floor", "water or snow carried in on shoes when it begins; stays on the mats", "g", 0, 5000),
)
_CHARGE_TO = quantity("charge_to", "charge the pack through the car's charger up to; left out, not at all", "%", 1, 100)


def _people(default: str) -> Field:
    return Field("occupants", "count", "people in the car", default=default, low=0, high=9)


def _conditioned(default: bool) -> Field:
    return flag("conditioned", "whether the cabin is heated, cooled and kept clear", default)


def _plugged(default: bool) -> Field:
    return flag("plugged", "whether the car is plugged in; needs `station`", default)


KINDS: dict[str, tuple[str, tuple[Field, ...]]] = {
    "soak": (
        "the car stands and takes the temperature of its surroundings",
        (
            _NAME,
            _NOTE,
            _DURATION,
            _UNTIL,
            quantity("temperature", "temperature it takes; left out, that of the air", "degC", -60, 80),
        ),
    ),
    "precondition": (
        "the cabin is made ready before anyone sits in it",
        (
            _NAME,
            _NOTE,
            _DURATION,
            Field("ready_by", "clock", "time of day when it is ready; the stop before makes room"),
            _SET_POINT,
            _people("0"),
            _conditioned(True),
            _plugged(True),
            _STATION,
            _CHARGE_TO,
            _HEADING,
            _SHADE,
            *_DOORS,
            *_WATER,
        ),
    ),
    "drive": (
        "the car is driven by a speed schedule or at one speed",
        (
            _NAME,
            _NOTE,
            words("schedule", "speed schedule: one that comes with the package, or a file"),
            Field("repeats", "count", "how often the schedule is driven", default="1", low=1, high=1000),
            quantity("speed", "one speed, instead of a schedule", "km/h", 1, 300),
            _DURATION,
            quantity("distance", "length of the way, instead of a duration", "km", 0.01, 5000),
            flag("rolling", "at one speed: already moving at the start, still moving at the end", False),
            quantity("climb", "height gained from start to end; a profile is scaled to it", "m", -5000, 5000),
            words("profile", "shape of the way in height, one of [profile]; left out, an even slope"),
            flag("reverse", "the way is driven from its end to its start", False),
            _SET_POINT,
            _people("1"),
            _conditioned(True),
            _HEADING,
            _SHADE,
            *_WATER,
            quantity("towed", "mass of a trailer, or of a load beyond the `mass` of the plant", "kg", 0, 20000, "0 kg"),
            quantity("towed_drag", "drag area that it adds", "m2", 0, 20, "0 m2"),
            flag(
                "dynamometer",
                "on rollers: the drag set once, in air of 20 degC and 1000 hPa, not that of the air",
                False,
            ),
        ),
    ),
    "park": (
        "the car stands; every step is worked out",
        (
            _NAME,
            _NOTE,
            _DURATION,
            _UNTIL,
            _SET_POINT,
            _people("0"),
            _conditioned(False),
            _plugged(False),
            _STATION,
            _CHARGE_TO,
            _HEADING,
            _SHADE,
            *_DOORS,
            *_WATER,
        ),
    ),
    "fast_charge": (
        "the car stands at a station of direct current until the pack has the charge asked for",
        (
            _NAME,
            _NOTE,
            quantity("station", "most power the station gives", "kW", 1, 1000, required=True),
            quantity("to", "charge at which it ends", "%", 1, 100, "80 %"),
            quantity("longest", "longest stay; the trip goes on then, whatever the charge", "s", 60, 43200, "2 h"),
            quantity("prepare", "how long before it the flag `prepare` is up", "s", 0, 21600, "0 min"),
            _SET_POINT,
            _people("1"),
            _conditioned(True),
            _HEADING,
            _SHADE,
        ),
    ),
}

TABLES: dict[str, tuple[Field, ...]] = {
    "start": START,
    "place": PLACE,
    "weather": WEATHER + WEATHER_SOURCES,
    "sun": SUN + SUN_SOURCES,
}


def json_schema() -> dict[str, Any]:
    """JSON Schema of a trip file, made from the declarations above."""
    properties: dict[str, Any] = {field.name: value_shape(field) for field in TOP}
    properties["format"] = {"const": FORMAT}
    for name, fields in TABLES.items():
        properties[name] = table_shape(fields)
    properties[DISPATCH] = dispatch_schema()
    way = {"type": "array", "items": {"type": "string"}, "minItems": 2}
    properties["profile"] = {"type": "object", "additionalProperties": way}
    kinds = [table_shape(fields, kind, says) for kind, (says, fields) in KINDS.items()]
    properties["segment"] = {"type": "array", "minItems": 1, "items": {"oneOf": kinds}}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "type": "object",
        "properties": properties,
        "required": [*(field.name for field in TOP if field.required), "weather", "segment"],
        "additionalProperties": False,
    }


def table_shape(fields: tuple[Field, ...], kind: str = "", says: str = "") -> dict[str, Any]:
    """JSON Schema of a table with these keys; of a segment where a `kind` is given."""
    properties: dict[str, Any] = {"kind": {"const": kind}} if kind else {}
    properties |= {field.name: value_shape(field) for field in fields}
    required = [*(["kind"] if kind else []), *(field.name for field in fields if field.required)]
    shape: dict[str, Any] = {"type": "object", "properties": properties, "additionalProperties": False}
    return shape | ({"required": required} if required else {}) | ({"description": says} if says else {})


def value_shape(field: Field) -> dict[str, Any]:
    """JSON Schema of one value."""
    shape: dict[str, Any] = {"description": field.meaning}
    if field.form == "flag":
        return shape | {"type": "boolean", "default": field.default == "true"}
    if field.form == "count":
        low, high = int(field.low), int(field.high)
        return shape | {"type": "integer", "minimum": low, "maximum": high, "default": int(field.default)}
    if field.form == "openings":
        return shape | {"type": "string", "examples": ["2 x 20 s"]}
    if field.form == "quantity" and field.unit == "1":
        shape |= {"type": ["number", "string"]}
    else:
        shape |= {"type": "string"}
    if field.form == "quantity":
        shape["examples"] = [field.default or f"{field.low:g} {field.unit}".removesuffix(" 1")]
    if field.default:
        shape["default"] = field.default
    return shape
