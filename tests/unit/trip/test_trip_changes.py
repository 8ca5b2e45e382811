"""Numbers of a trip put in the place of those in its file: they count, and mistakes are told at once."""

import numpy as np
import pytest

from heatwright.errors import InputError
from heatwright.trip.load import build_case, load_trip, stated_trip


def test_changes_count_and_move_the_digest() -> None:
    plain = load_trip("winter_day")
    changes = {
        "set_point": "19 degC",
        "segment.3.occupants": "4",
        "segment.2.conditioned": "false",
        "start.charge": "50 %",
    }
    other = load_trip("winter_day", changes)
    assert other.digest != plain.digest
    assert other.legs[2].values["occupants"] == 4
    assert other.legs[2].values["set_point"] == pytest.approx(292.15)
    assert other.legs[1].values["conditioned"] is False
    assert build_case(other).start.soc == pytest.approx(0.5)
    assert load_trip("winter_day", {}).digest == plain.digest


def test_every_mistake_is_told_with_what_was_changed() -> None:
    changes = {
        "set_point": "19 km",
        "segment.3.occupants": "two",
        "segment.9.duration": "1 h",
        "segment.2.plugged": "so",
    }
    with pytest.raises(InputError) as failure:
        load_trip("winter_day", changes)
    where = {one.where for one in failure.value.problems}
    assert where == {f"change {key}" for key in changes}


def test_a_change_of_a_table_that_is_none_is_a_mistake(tmp_path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "odd.trip.toml"
    file.write_text('name = "Odd"\nweather = 3\n[[segment]]\nkind = "soak"\nduration = "60 s"\n')
    with pytest.raises(InputError):
        load_trip(file, {"weather.temperature": "3 degC"})


@pytest.mark.parametrize("name", ["winter_day", "charge_cold", "summer_charge_day", "rain_day"])
def test_what_a_file_says_may_be_put_in_again(name: str) -> None:
    trip, stated = stated_trip(name)
    assert len({one.key for one in stated}) == len(stated)
    again = load_trip(name, {one.key: one.text for one in stated if one.given})
    one, two = build_case(trip), build_case(again)
    assert one.start == two.start
    assert all(np.array_equal(one.steps[key], two.steps[key]) for key in one.steps)
    assert all(np.array_equal(one.edges[key], two.edges[key]) for key in one.edges)
    for said in stated:
        assert bool(said.where) == said.given
        assert said.given or said.text == said.field.default


def test_what_a_table_tells_is_in_no_field() -> None:
    trip, stated = stated_trip("winter_day")
    assert trip.weather.table is not None
    keys = {one.key for one in stated}
    assert "weather.temperature" not in keys
    assert "weather.cloud" in keys
    assert "sun.direct" not in keys
