"""A bare car for plants whose size is varied: a cabin with a blower, a pack, a drive unit, and more on top."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant

HEAD = """format = "heatwright plant 1"
name = "{name}"
[pack.pack]
[drive_unit.drive]
[zone.cabin]
[blower.blower]
[lines.air]
fresh = "outside > blower > @box"
box = "@box > cabin"
out = "cabin > outside"
"""


def bare_car(name: str, more: str) -> Plant:
    """Return the plant of a bare car with `more` tables, its coolant lines among them."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "bare.plant.toml"
        file.write_text(HEAD.format(name=name) + more, encoding="utf-8")
        return load_plant(file)
