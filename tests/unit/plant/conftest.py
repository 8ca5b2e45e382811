"""A small sound plant to break in one place, and the plants kept as files."""

from collections.abc import Callable
from pathlib import Path

import pytest

from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant

FILES = Path(__file__).parent / "files"

SOUND = """\
format = "heatwright plant 1"
name = "Sound"

[pack.pack]
energy = "50 kWh"
plate = "1200 W/K"

[drive_unit.drive]
deliberate_loss = "4 kW"

[zone.cabin]
air = "3 m3"

[pump]
pump = { flow = "12 L/min", head = "40 kPa", power = "50 W" }

[radiator.radiator]
ua = "800 W/K at 12 L/min, 3 m/s, 40 degC"

[valve.three]
positions = { radiator = "in-out", past = "in-by" }
blend = "radiator ~ past"

[tank.tank]
volume = "1 L"

[compressor.compressor]
[outdoor_coil.condenser]
[evaporator.evaporator]
[expansion.txv]
[blower.blower]
[air_heater.heater]

[door.inlet]
positions = { fresh = "outside-box", recirculate = "cabin-box" }
blend = "fresh ~ recirculate"

[fan.fan]
[front]
stack = ["condenser", "radiator", "fan"]

[lines.coolant]
main = "tank > pump > pack > drive > three.in"
front = "three.out > radiator > tank"
past = "three.by > tank"

[lines.refrigerant]
ring = "compressor > condenser > txv > evaporator > compressor"

[lines.air]
fresh = "outside > inlet.outside"
back = "cabin > inlet.cabin"
box = "inlet.box > blower > evaporator > heater > cabin.face"
exhaust = "cabin >> outside"

[control]
dwell = "30 s"

[control.latch]
cold = { yes = "cabin.air < setpoint - 1 K", no = "cabin.air > setpoint + 1 K" }

[control.rule]
heat = { when = "wanted, cold" }
air = { when = "wanted, not cold" }
rest = { }

[control.act.always]
pump = "60 %"

[control.act.heat]
blower = { from = "30 %", to = "90 %", by = "setpoint - cabin.air", over = "1 K to 8 K" }
inlet = "fresh ~ recirculate 70 %"
three = { from = "past", to = "radiator", by = "drive.coolant", over = "40 degC to 60 degC" }

[control.act.heat.heater]
raises = "cabin.vent"
until = "vent_target"
from = "0 W"
to = "5 kW"
band = "9 K"
settle = "9 s"

[control.act.air]
like = "heat"
heater = "off"
"""


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Write a plant file: the sound one with pieces of text replaced, or the text given."""

    def _write(*changes: tuple[str, str], text: str = SOUND, name: str = "some.plant.toml") -> Path:
        for old, new in changes:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the sound plant"
            text = text.replace(old, new)
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return _write


@pytest.fixture
def load(write: Callable[..., Path]) -> Callable[..., Plant]:
    """Load the sound plant with pieces of text replaced."""
    return lambda *changes, **more: load_plant(write(*changes, **more))


@pytest.fixture
def problems(write: Callable[..., Path]) -> Callable[..., list[tuple[int, str]]]:
    """Line and sentence of every mistake in the sound plant with pieces of text replaced."""

    def _problems(*changes: tuple[str, str], **more: str) -> list[tuple[int, str]]:
        path = write(*changes, **more)
        with pytest.raises(InputError) as caught:
            load_plant(path)
        return [(int(one.where.rpartition(":")[2]), str(one).partition(": ")[2]) for one in caught.value.problems]

    return _problems
