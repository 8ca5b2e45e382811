"""The settings of dispatch: defaults, what plant and trip put in their place, and limits that cross between the two."""

import re
from dataclasses import fields
from pathlib import Path

import pytest
from click.testing import CliRunner

from heatwright.cli import main
from heatwright.dispatch.settings import Settings, load_settings
from heatwright.dispatch_table import declared, ordered
from heatwright.errors import InputError
from heatwright.plant.load import load_plant
from heatwright.trip.load import parse_trip
from heatwright.units import in_unit

HEAD = 'format = "heatwright trip 1"\nname = "test"\n'
REST = '[weather]\ntemperature = "0 degC"\n[[segment]]\nkind = "park"\nduration = "10 s"\n'
SUFFIXES = ("_s", "_j", "_w", "_k", "_w_per_k", "_kg")


def plant_with(folder: Path, table: str) -> Path:
    file = folder / "own.plant.toml"
    head = 'format = "heatwright plant 1"\nname = "Own"\nextends = "plain.plant.toml"\n'
    file.write_text(f"{head}[dispatch]\n{table}\n", encoding="utf-8")
    return file


def trip_with(table: str):
    return parse_trip(f"{HEAD}[dispatch]\n{table}\n{REST}", Path("t.trip.toml"))


def test_every_setting_has_its_place_unit_range_and_source() -> None:
    assert {one.field for one in declared().values()} == {one.name for one in fields(Settings)}
    for one in declared().values():
        assert one.says, one.name
        assert one.source, one.name
        assert one.low < one.high, one.name
        assert one.is_ratio != one.field.endswith(SUFFIXES), one.name


def test_defaults_lie_in_their_range_and_do_not_cross() -> None:
    settings = load_settings()
    for one in declared().values():
        value = getattr(settings, one.field)
        if isinstance(value, float):
            assert one.low - 1e-9 <= in_unit(value, one.unit) <= one.high + 1e-9, one.name
    for low, high in ordered():
        assert getattr(settings, declared()[low].field) < getattr(settings, declared()[high].field)


def test_what_stands_in_the_table_is_what_counts() -> None:
    settings = load_settings()
    assert settings.horizon_s == 120.0
    assert settings.regret_j == 18e3
    assert settings.dry_on == 0.92
    assert settings.pack_cold_k == pytest.approx(258.15)
    assert settings.pack_price is None
    assert settings.drive_price == ((0.0, 0.0),)


def test_a_trip_counts_before_its_plant(tmp_path: Path) -> None:
    car = load_plant(plant_with(tmp_path, 'dwell = "1 min"\nplateau = "90 %"'))
    way = trip_with('dwell = "45 s"\npack_price = [["0 min", "30 %"], ["10 min", "0.5 kWh/kWh"]]')
    settings = load_settings(car.dispatch, way.dispatch)
    assert settings.dwell_s == 45.0
    assert settings.plateau == pytest.approx(0.9)
    assert settings.pack_price == ((0.0, 0.3), (600.0, 0.5))
    assert load_settings(car.dispatch).dwell_s == 60.0
    assert car.dispatch["dwell"].where.endswith("own.plant.toml:5")


def test_limits_of_plant_and_trip_that_cross_are_told_with_their_line(tmp_path: Path) -> None:
    car = load_plant(plant_with(tmp_path, 'heat_on = "1.5 K"\nheat_off = "3 K"\ncool_on = "4 K"'))
    way = trip_with('heat_off = "1.2 K"')
    with pytest.raises(InputError) as caught:
        load_settings(car.dispatch, way.dispatch)
    (problem,) = caught.value.problems
    assert problem.where == "t.trip.toml:4"
    assert problem.found == "dispatch.heat_on is 1.5 K, not below heat_off, which is 1.2 K"


def test_check_tells_what_crosses_between_plant_and_trip(tmp_path: Path) -> None:
    plant = plant_with(tmp_path, 'heat_on = "1.5 K"\nheat_off = "3 K"\ncool_on = "4 K"')
    trip = tmp_path / "own.trip.toml"
    trip.write_text(f'{HEAD}[dispatch]\nheat_off = "1.2 K"\n{REST}', encoding="utf-8")
    answer = CliRunner().invoke(main, ["check", str(plant), str(trip)])
    assert answer.exit_code == 2
    assert re.search(r"own\.trip\.toml:4: dispatch\.heat_on is 1\.5 K", answer.output)


def test_a_plant_without_a_table_has_none() -> None:
    assert load_plant("plain").dispatch == {}


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ('horizn = "60 s"', "[dispatch] has no 'horizn'"),
        ("plateau = 0.7", "dispatch.plateau: '0.7' has no unit"),
        ('dwell = "30 W"', "dispatch.dwell: '30 W' is in 'W'"),
        ('dwell = "2 h"', "dispatch.dwell: '2 h' cannot be"),
        ('dry_on = "60 %"\ndry_off = "70 %"', "dispatch.dry_off is 70 %, not below dry_on, which is 60 %"),
        ('cabin_price = [["5 min", "0 %"], ["5 min", "9 %"]]', "the times of its path do not rise"),
    ],
)
def test_mistakes_in_a_trip_are_told_with_their_line(line: str, found: str) -> None:
    with pytest.raises(InputError) as caught:
        trip_with(line)
    (problem,) = caught.value.problems
    assert problem.where in ("t.trip.toml:4", "t.trip.toml:5")
    assert found in problem.found


def test_all_mistakes_of_a_table_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        trip_with('horizn = "60 s"\ndwell = "30 W"\nplateau = "0.7"')
    assert [one.where for one in caught.value.problems] == [f"t.trip.toml:{line}" for line in (4, 5, 6)]


def test_a_table_changes_nothing_that_is_compiled(tmp_path: Path) -> None:
    import numpy as np

    from heatwright.compiler.build import compile_program
    from tests.balance.marches import case_of, program_of

    bare = program_of("plain", "winter_day")
    own = compile_program(load_plant(plant_with(tmp_path, 'dwell = "1 min"')), case_of("winter_day"))
    for name in ("pi", "pf", "rows", "tau0", "ext0", "act0"):
        assert np.array_equal(getattr(bare, name), getattr(own, name), equal_nan=True), name
