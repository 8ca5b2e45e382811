"""The comfort of a run, from series made by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from heatwright.compiler.comfort import Surroundings, Warmer
from heatwright.felt import clothing_clo, felt, figures, sampled
from heatwright.physics import comfort
from heatwright.physics.moist_air import humidity_ratio
from heatwright.trip.load import build_case, parse_trip

N = 1200
ROOM = Surroundings((("cabin.skin", 1.0), ("cabin.glass_screen", 3.0)), ())
SEAT = Surroundings(ROOM.surfaces, (Warmer("seat", 0.5, 0.8, 180.0),))


def case_of(outside_c: float = 0.0, clothing: float | None = None) -> Any:
    steps = {"t_ambient_k": np.full(N, outside_c + 273.15), "p_ambient_pa": np.full(N, 101325.0)}
    return SimpleNamespace(dt_s=1.0, t_s=np.arange(N + 1.0), steps=steps, clothing_clo=clothing)


def series_of(air_c: Any = 22.0, skin_c: float = 22.0, glass_c: float = 22.0, seat_w: float = 0.0) -> dict[str, Any]:
    even = np.ones(N + 1)
    return {
        "t_zone_air_k": even * air_c + 273.15,
        "t_cabin_skin_k": even * (skin_c + 273.15),
        "t_cabin_glass_screen_k": even * (glass_c + 273.15),
        "p_seat_w": even * seat_w,
        "w_cabin": even * humidity_ratio(0.6 * 2643.0, 101325.0),
        "occupied": even.copy(),
        "wanted": np.zeros(N + 1),
    }


@pytest.mark.parametrize(("outside_c", "clothes"), [(-10.0, 1.0), (10.0, 1.0), (15.0, 0.75), (30.0, 0.5)])
def test_clothing_follows_the_season(outside_c: float, clothes: float) -> None:
    assert clothing_clo(case_of(outside_c), np.ones(N, bool)) == pytest.approx(clothes)
    assert clothing_clo(case_of(outside_c, 1.4), np.ones(N, bool)) == 1.4


def test_an_even_room_has_the_vote_of_the_standard() -> None:
    found, _ = felt(ROOM, series_of(), case_of(clothing=0.5))
    vote = comfort.pmv(295.15, 295.15, 0.1, 0.6 * 2643.0, 70.0, 0.0, 0.0775)
    assert found["pmv"] == pytest.approx(vote, abs=1e-3)
    assert found["ppd"][-1] == pytest.approx(comfort.ppd(vote), abs=1e-3)


def test_cold_glass_counts_by_its_area() -> None:
    """Three parts of glass at 6 degC and one of skin at 22 degC: 10 degC; with air of 22 degC, 16 degC."""
    found, _ = felt(ROOM, series_of(glass_c=6.0), case_of())
    assert found["t_operative_k"] == pytest.approx(289.15, abs=1e-4)
    assert found["pmv"][-1] < felt(ROOM, series_of(), case_of())[0]["pmv"][-1] - 0.5


def test_a_seat_is_felt_and_leaves_the_room_as_it_is() -> None:
    without, with_seat = (felt(SEAT, series_of(seat_w=watts), case_of())[0] for watts in (0.0, 70.0))
    assert np.array_equal(without["t_operative_k"], with_seat["t_operative_k"])
    gained = with_seat["t_felt_k"] - without["t_felt_k"]
    full = comfort.equivalent_change_k(70.0, 0.5, 0.8, 0.155, 8.0, 1.8)
    assert gained[0] == 0.0
    assert gained[180] == pytest.approx(full * (1.0 - np.exp(-1.0)), rel=1e-6)
    assert gained[-1] == pytest.approx(full, rel=0.002)
    assert with_seat["pmv"][-1] > without["pmv"][-1] + 0.3


def test_time_to_comfort_counts_from_the_first_aboard() -> None:
    """Air rises 1 K a minute from 12 to 24 degC; people come after 2 minutes."""
    series = series_of(air_c=np.minimum(12.0 + np.arange(N + 1.0) / 60.0, 24.0), skin_c=22.0, glass_c=22.0)
    series["occupied"][:120] = 0.0
    found, got = felt(ROOM, series, case_of())
    at = int(np.flatnonzero(np.abs(found["pmv"]) < 0.5)[0])
    assert at > 180
    assert np.all(np.abs(found["pmv"][at:]) < 0.5)
    assert got["time_to_comfort_s"] == at - 120
    assert got["comfortable_s"] == N - at + 1
    assert got["outside_comfort_limits_steps"] == 0


def test_what_the_standard_does_not_cover_is_counted_and_no_comfort() -> None:
    """Air of 8 degC is outside the limits, however warm the vote of a heavily heated body."""
    _, got = felt(SEAT, series_of(air_c=8.0, skin_c=16.0, glass_c=16.0, seat_w=190.0), case_of())
    assert got["outside_comfort_limits_steps"] == N
    assert got["time_to_comfort_s"] is None
    assert got["comfortable_s"] == 0.0


def test_nobody_aboard_has_no_time_to_comfort() -> None:
    nobody = np.zeros(5, bool)
    got = figures(np.arange(5.0), nobody, np.zeros(5), ~nobody, 1.0)
    assert got == {"time_to_comfort_s": None, "comfortable_s": 0.0, "outside_comfort_limits_steps": 0}


def test_a_trip_says_what_is_worn(tmp_path: Any) -> None:
    text = 'format = "heatwright trip 1"\nname = "Clothed"\n{}\n[weather]\ntemperature = "0 degC"\n'
    text += '[[segment]]\nkind = "park"\nduration = "10 s"\n'
    cases = [build_case(parse_trip(text.format(line), tmp_path / "x.toml")) for line in ("", "clothing = 0.8")]
    assert [one.clothing_clo for one in cases] == [None, 0.8]


def test_an_empty_car_is_asked_for_its_vote_once_a_minute() -> None:
    """Aboard from 200 s to 202 s only: the samples about those seconds stay, so nothing that counts moves."""
    minded = np.zeros(601, bool)
    minded[200:203] = True
    assert sampled(minded, 1.0).tolist() == [0, 60, 120, 180, 200, 210, 240, 300, 360, 420, 480, 540, 600]
    assert sampled(np.ones(601, bool), 1.0).tolist() == list(range(0, 601, 10))
    assert sampled(np.zeros(11, bool), 60.0).tolist() == list(range(11))


def test_figures_are_those_of_samples_everywhere() -> None:
    series = series_of(air_c=np.minimum(12.0 + np.arange(N + 1.0) / 60.0, 24.0))
    series["occupied"][:307] = series["occupied"][811:] = 0.0
    often = dict(series, wanted=np.ones(N + 1))
    (few, figures_few), (many, figures_many) = felt(ROOM, series, case_of()), felt(ROOM, often, case_of())
    assert figures_few == figures_many
    assert np.array_equal(few["pmv"][307:811], many["pmv"][307:811])
    assert np.abs(few["pmv"] - many["pmv"]).max() > 0.0
