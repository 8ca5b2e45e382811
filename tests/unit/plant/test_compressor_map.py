"""A compressor's measured map as it is declared: both forms, and each mistake with its line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from heatwright.errors import InputError
from heatwright.plant.compressor_map import CompressorMap
from heatwright.plant.load import load_plant

TEN = "[80, 2, -0.3, 0.02, 0.004, -0.001, 0.0001, 0, 0, 0]"
HEAD = 'superheat = "5 K"\nevaporating = "-30 degC to 15 degC"\ncondensing = "20 degC to 65 degC"\n'
POLYNOMIAL = f"""{HEAD}form = "polynomial"
flow_unit = "kg/h"
flow = {{ "2000 rpm" = {TEN}, "4000 rpm" = {TEN} }}
power = {{ "2000 rpm" = [300, 4, 20, 0, 0, 0, 0, 0, 0, 0], "4000 rpm" = [600, 8, 40, 0, 0, 0, 0, 0, 0, 0] }}
"""
ROWS = "[[9, 8, 7, 6], [12, 11, 10, 9], [16, 15, 14, 13], [20, 19, 18, 17]]"
TABLE = (
    f'{HEAD}form = "table"\nflow = {{ "3000 rpm" = {ROWS} }}\npower = {{ "3000 rpm" = {ROWS} }}\npower_unit = "kW"\n'
)


def load(tmp_path: Path, text: str) -> Any:
    file = tmp_path / "mapped.plant.toml"
    head = 'format = "heatwright plant 1"\nname = "Mapped"\nextends = "reversing.plant.toml"\n'
    file.write_text(f"{head}[compressor.compressor.map]\n{text}")
    return load_plant(file).parts["compressor"].values["map"]


def test_polynomial(tmp_path: Path) -> None:
    found = load(tmp_path, POLYNOMIAL)
    assert isinstance(found, CompressorMap)
    assert found.speeds_hz == pytest.approx((2000 / 60, 4000 / 60))
    assert found.t_evap_k == pytest.approx((243.15, 288.15))
    assert found.electric
    at_corner = 80 - 60 - 6 + 18 - 2.4 - 0.4 - 2.7  # -30 and 20 degC
    assert found.mdot_kg_per_s[0][0][0] == pytest.approx(at_corner / 3600)
    assert found.power_w[1][-1][-1] == pytest.approx(600 + 8 * 15 + 40 * 65)


def test_table(tmp_path: Path) -> None:
    found = load(tmp_path, TABLE)
    assert found.mdot_kg_per_s[0][1] == pytest.approx((0.012, 0.011, 0.010, 0.009))
    assert found.power_w[0][3][0] == 20e3


def test_without_a_map() -> None:
    assert load_plant("reversing").parts["compressor"].values["map"] is None


MISTAKES = {
    "nine numbers": (POLYNOMIAL.replace(TEN, "[1, 2, 3, 4, 5, 6, 7, 8, 9]"), "10 numbers", 10),
    "three rows": (TABLE.replace(", [20, 19, 18, 17]]", "]"), "4 rows and 4 columns", 9),
    "a ragged table": (TABLE.replace("[9, 8, 7, 6]", "[9, 8, 7]"), "all of one length", 9),
    "no superheat": (POLYNOMIAL.replace('superheat = "5 K"\n', ""), "does not say superheat", 4),
    "a strange unit": (POLYNOMIAL.replace("kg/h", "L/min"), "L/min", 9),
    "a strange key": (POLYNOMIAL + "floww = 3\n", "did you mean 'flow'", 12),
    "a strange form": (POLYNOMIAL.replace('"polynomial"', '"spline"'), "one of polynomial, table", 8),
    "other speeds": (TABLE.replace('power = { "3000', 'power = { "3001'), "the same speeds", 4),
    "a range of nothing": (POLYNOMIAL.replace("-30 degC to", "15 degC to"), "the lower temperature first", 6),
    "flow below nothing": (POLYNOMIAL.replace("[80, 2,", "[80, 4,"), "more than nothing", 10),
}


@pytest.mark.parametrize(("text", "said", "line"), MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_is_told_with_its_line(tmp_path: Path, text: str, said: str, line: int) -> None:
    with pytest.raises(InputError) as caught:
        load(tmp_path, text)
    found = [one for one in caught.value.problems if said in str(one)]
    assert found, caught.value
    assert found[0].where.endswith(f".plant.toml:{line}"), found[0].where
