"""What an example's readme tells agrees with its expected figures, which its runs are held against.

A figure of `expected.toml` names the words of the readme that tell it in a comment behind it; the last number of those
words is the figure, rounded.
"""

import re
from pathlib import Path

import pytest

from heatwright.study.story_names import QUESTIONS
from tools.sources import ROOT

LINE = re.compile(r"^(\w+)\s*=\s*(\S+)\s+#\s*(.+?)\s*$")
LAST = re.compile(r"([−-]?\d[\d,]*(?:\.(\d+))?)\s*(kWh|min|°C|km|kg|g|s|kW)?\w*\s*$")
PER = {("_s", "min"): 1.0 / 60.0, ("_kg", "g"): 1e3, ("_j", "kWh"): 1.0 / 3.6e6}
LIKE = {"_s": "s", "_kwh": "kWh", "_kwh_per_100km": "kWh", "_km": "km", "_minutes": "min"}


def told() -> list[tuple[Path, str, float, str]]:
    """Every figure that names its words: folder, key, value, words."""
    found = []
    for file in sorted((ROOT / "examples").glob("*/expected.toml")):
        for line in file.read_text(encoding="utf-8").splitlines():
            if match := LINE.match(line):
                found.append((file.parent, match[1], float(match[2]), match[3]))
    return found


def as_told(key: str, value: float, unit: str) -> float:
    """The value in the unit of the readme."""
    if key.endswith("_k") and unit == "°C":
        return value - 273.15
    for (suffix, there), factor in PER.items():
        if key.endswith(suffix) and unit == there:
            return factor * value
    assert not unit or any(key.endswith(end) and unit == one for end, one in LIKE.items()), f"{key} in {unit}"
    return value


def agrees(key: str, value: float, words: str) -> bool:
    """Whether the last number of the words is the value, to half of its last digit."""
    match = LAST.search(words)
    assert match, f"no number ends: {words}"
    number = float(match[1].replace("−", "-").replace(",", ""))
    return abs(as_told(key, value, match[3] or "") - number) <= 0.5000001 * 10.0 ** -len(match[2] or "")


@pytest.mark.parametrize(("folder", "key", "value", "words"), told(), ids=lambda one: getattr(one, "name", None))
def test_the_readme_tells_the_expected_figure(folder: Path, key: str, value: float, words: str) -> None:
    text = " ".join((folder / "README.md").read_text(encoding="utf-8").split())
    found = re.findall(re.escape(words) + r"(?!\d|[.,]\d)", text)
    assert len(found) == 1, f"{folder.name}: the readme does not say (or says twice): {words}"
    assert agrees(key, value, words), f"{folder.name}: {key} = {value} is told as: {words}"


def test_nearly_every_example_tells_figures() -> None:
    silent = {file.parent.name for file in (ROOT / "examples").glob("*/expected.toml")} - {
        one[0].name for one in told()
    }
    written = set(QUESTIONS)  # their readmes are written by tools.story_pages from the same runs
    assert silent - written == {"heat_without_a_heater"}  # its readme holds none: the guide does


DRIFTED = (
    ("heater_kwh", 6.25, 6.26, "heater | 6.25 kWh"),
    ("time_to_20c_s", 812.0, 830.0, "after | 13.5 min"),
    ("t_pack_end_k", 306.75, 307.0, "33.6 °C"),
)


@pytest.mark.parametrize(("key", "value", "drifted", "words"), DRIFTED)
def test_a_figure_that_drifts_is_seen(key: str, value: float, drifted: float, words: str) -> None:
    assert agrees(key, value, words)
    assert not agrees(key, drifted, words)


def test_a_figure_in_a_wrong_unit_is_seen() -> None:
    with pytest.raises(AssertionError):
        agrees("t_pack_end_k", 306.75, "33.6 kWh")
