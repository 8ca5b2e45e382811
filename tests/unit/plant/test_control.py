"""The decision table: what it means in SI, and every way to get it wrong."""

from collections.abc import Callable
from pathlib import Path

import pytest

from heatwright.plant.model import Act, Linear, Plant
from heatwright.plant.sums import crossing, read_condition, read_sum

Problems = Callable[..., list[tuple[int, str]]]
SIGNALS = {
    "cabin.air": "degC",
    "setpoint": "degC",
    "glass.margin": "K",
    "speed": "km/h",
    "driving": "1",
    "a": "1",
}


def test_the_table_in_si(load: Callable[..., Plant]) -> None:
    control = load().control
    assert control is not None
    assert control.dwell_s == 30.0
    (cold,) = control.latches
    assert cold.yes == Linear(((1.0, "setpoint"), (-1.0, "cabin.air")), -1.0)
    assert cold.no == Linear(((1.0, "cabin.air"), (-1.0, "setpoint")), -1.0)
    assert [rule.needs for rule in control.rules] == [
        (("wanted", True), ("cold", True)),
        (("wanted", True), ("cold", False)),
        (),
    ]
    heat = control.acts["heat"]
    assert heat["pump"] == Act("fixed", value=0.6), "from always"
    assert heat["blower"] == Act(
        "ramp",
        from_=pytest.approx(0.3),
        to=0.9,
        linear=Linear(((1.0, "setpoint"), (-1.0, "cabin.air"))),
        low=1.0,
        high=8.0,
    )
    assert heat["heater"] == Act(
        "hold",
        from_=0.0,
        to=5000.0,
        linear=Linear(((1.0, "vent_target"), (-1.0, "cabin.vent"))),
        band=9.0,
        settle_s=9.0,
    )
    assert heat["inlet"].value == (("fresh", pytest.approx(0.3)), ("recirculate", 0.7))
    assert (heat["three"].low, heat["three"].high) == (313.15, 333.15)
    assert heat["three"].to == (("radiator", 1.0),)
    assert control.acts["air"]["blower"] == heat["blower"], "like heat"
    assert control.acts["air"]["heater"] == Act("fixed", value=0.0), "its own entry wins"
    assert set(control.acts["rest"]) == {"pump"}


def test_lowering_turns_the_error_round(load: Callable[..., Plant]) -> None:
    entry = (
        'compressor = { lowers = "evaporator.air", until = "4 degC", from = "900 rpm", to = "6000 rpm", '
        'band = "12 K", min_on = "1 min" }'
    )
    plant = load(('heater = "off"', entry))
    assert plant.control is not None
    act = plant.control.acts["air"]["compressor"]
    assert act.linear == Linear(((1.0, "evaporator.air"),), pytest.approx(-277.15))
    assert (act.from_, act.to, act.min_on_s) == (pytest.approx(15.0), pytest.approx(100.0), 60.0)


def test_deliberate_loss_has_a_name(load: Callable[..., Plant]) -> None:
    for written in ("drive.loss", '"drive.loss"'):
        plant = load(('heater = "off"', f'heater = "off"\n{written} = "3 kW"'))
        assert plant.control is not None
        assert plant.control.acts["air"]["drive.loss"] == Act("fixed", value=3000.0)


@pytest.mark.parametrize(
    ("text", "terms", "const", "unit"),
    [
        ("setpoint - 1 K", {"setpoint": 1.0}, -1.0, "degC"),
        ("setpoint - cabin.air", {"setpoint": 1.0, "cabin.air": -1.0}, 0.0, "K"),
        ("2 * setpoint - cabin.air", {"setpoint": 2.0, "cabin.air": -1.0}, 0.0, "degC"),
        ("cabin.air - 20 degC", {"cabin.air": 1.0}, -293.15, "K"),
        ("glass.margin + 20 K * driving", {"glass.margin": 1.0, "driving": 20.0}, 0.0, "K"),
        ("-3 K + glass.margin", {"glass.margin": 1.0}, -3.0, "K"),
        ("speed - 36 km/h", {"speed": 1.0}, -10.0, "km/h"),
    ],
)
def test_sums(text: str, terms: dict[str, float], const: float, unit: str) -> None:
    total = read_sum(text, SIGNALS)
    assert {name: weight for weight, name in total.linear.terms} == pytest.approx(terms)
    assert total.linear.const == pytest.approx(const)
    assert total.unit == unit


@pytest.mark.parametrize("text", ["cabin.air < 20 degC", "20 degC > cabin.air", "cabin.air - 20 degC < 0 K"])
def test_a_condition_is_a_positive_sum(text: str) -> None:
    condition = read_condition(text, SIGNALS)
    assert condition.terms == ((-1.0, "cabin.air"),)
    assert condition.const == pytest.approx(293.15)


@pytest.mark.parametrize(
    ("yes", "no", "said"),
    [
        ("cabin.air < setpoint - 1 K", "cabin.air > setpoint + 1 K", ""),
        ("cabin.air < setpoint - 1 K", "cabin.air > setpoint - 2 K", "the thresholds cross"),
        ("cabin.air > 20 degC", "cabin.air < 20 degC", "no gap"),
        ("cabin.air > 20 degC", "cabin.air < 18 degC", ""),
        ("cabin.air > 20 degC", "cabin.air > 22 degC", "the same way"),
        ("2 * speed > 20 km/h", "speed < 12 km/h", "the thresholds cross"),
        ("2 * speed > 20 km/h", "speed < 8 km/h", ""),
        ("cabin.air > 20 degC", "speed < 8 km/h", ""),
    ],
)
def test_crossing_thresholds(yes: str, no: str, said: str) -> None:
    found = crossing(read_condition(yes, SIGNALS), read_condition(no, SIGNALS))
    assert said in found
    assert bool(found) == bool(said)


def test_two_positions_must_be_a_declared_blend(problems: Problems) -> None:
    ((_, sentence),) = problems(('blend = "fresh ~ recirculate"\n', ""))
    assert "is no blend of it" in sentence


TWO_ZONES = (
    ('[zone.cabin]\nair = "3 m3"', '[zone.front]\nair = "2 m3"\n[zone.rear]\nair = "1.5 m3"'),
    ('back = "cabin >', 'back = "rear >'),
    ('heater > cabin.face"', 'heater > @d > front.face"\nrearward = "@d > rear.foot"\nbetween = "front >> rear"'),
    ('exhaust = "cabin >>', 'exhaust = "rear >>'),
)
ASKED = (
    ("cabin.air < setpoint", "front.air < setpoint"),
    ("cabin.air > setpoint", "rear.air > setpoint"),
    ('"setpoint - cabin.air"', '"setpoint - front.air"'),
    ('"cabin.vent"', '"rear.vent"'),
)


def test_a_plant_of_two_zones_is_asked_by_their_names(load: Callable[..., Plant]) -> None:
    control = load(*TWO_ZONES, *ASKED).control
    assert control is not None
    assert [name for _, name in control.latches[0].no.terms] == ["rear.air", "setpoint"]


@pytest.mark.parametrize("number", range(4))
def test_no_zone_called_cabin(problems: Problems, write: Callable[..., Path], number: int) -> None:
    changes = [*TWO_ZONES, *(pair for k, pair in enumerate(ASKED) if k != number)]
    ((line, sentence),) = problems(*changes)
    at = "[control.act.heat.heater]" if number == 3 else ASKED[number][0]
    assert at in write(*changes).read_text().splitlines()[line - 1]
    assert "there is no signal 'cabin." in sentence
    assert "expected a signal of this plant" in sentence


def test_a_zone_that_nothing_blows_into_has_no_vent(problems: Problems) -> None:
    still = ('heater > cabin.face"', 'heater > front.face"\nbetween = "front >> rear"')
    ((_, sentence),) = problems(*TWO_ZONES[:2], still, TWO_ZONES[3], *ASKED)
    assert "there is no signal 'rear.vent'" in sentence


def test_blown_straight_from_outside(problems: Problems) -> None:
    lines = ('fresh = "outside > inlet.outside"\nback = "cabin > inlet.cabin"\nbox = "inlet.box >', 'box = "outside >')
    door = 'positions = { fresh = "outside-box", recirculate = "cabin-box" }\nblend = "fresh ~ recirculate"\n'
    ((_, sentence),) = problems(lines, ("[door.inlet]\n" + door, ""), ('inlet = "fresh ~ recirculate 70 %"\n', ""))
    assert "line 'box' leads from 'outside' to 'cabin' in one piece" in sentence


def test_a_pack_without_a_plate_has_no_coolant(problems: Problems) -> None:
    dry = (('plate = "1200 W/K"\n', ""), ("> pack > drive", "> drive"))
    ((_, sentence),) = problems(*dry, ('by = "drive.coolant"', 'by = "pack.coolant"'))
    assert "there is no signal 'pack.coolant'" in sentence


FOUR = "setpoint + cabin.air - outside.air - drive.coolant"
MANY = {
    "in one sum": ("cabin.air < setpoint - 1 K", f"cabin.air < {FOUR} + tank.coolant", "cold = "),
    "on two sides": ("cabin.air < setpoint - 1 K", f"tank.coolant < {FOUR} + 20 degC", "cold = "),
    "in a ramp": ('"setpoint - cabin.air"', f'"{FOUR} + tank.coolant - pack.coolant"', "blower = "),
    "in a hold": ('until = "vent_target"', f'until = "{FOUR} + 20 degC"', "[control.act.heat.heater]"),
}


@pytest.mark.parametrize(("old", "new", "at"), MANY.values(), ids=MANY)
def test_more_than_four_signals(problems: Problems, write: Callable[..., Path], old: str, new: str, at: str) -> None:
    ((line, sentence),) = problems((old, new))
    assert "expected at most 4" in sentence
    assert at in write((old, new)).read_text().splitlines()[line - 1]


def _latches(count: int) -> tuple[str, str]:
    one = 'n{0} = {{ yes = "cabin.air < {0} degC", no = "cabin.air > {0}.5 degC" }}'
    return "[control.rule]", "\n".join([*(one.format(number) for number in range(count)), "[control.rule]"])


def test_no_more_than_32_latches_and_flags(
    load: Callable[..., Plant], problems: Problems, write: Callable[..., Path]
) -> None:
    control = load(_latches(30)).control  # with `cold`, and `wanted`, for which the rules ask
    assert control is not None
    assert len(control.latches) == 31
    ((line, sentence),) = problems(_latches(31))
    assert "33 latches and flags are in use; expected at most 32" in sentence
    assert write(_latches(31)).read_text().splitlines()[line - 1] == "[control.latch]"
