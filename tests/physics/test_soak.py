"""Parked soak and warm-up of the shipped cars on the march itself, against the rows the defaults were fitted to.

`tools/soak_rows.py` states the rows, their sources' gaps and what is assumed; `tools/fit_soak.py` fitted the defaults.
"""

from __future__ import annotations

import numpy as np
import pytest

from tools.soak_rows import ROWS, SOAK, Row, readings, soak, standing


@pytest.fixture(scope="module")
def found() -> dict[str, float]:
    return readings({})


FITTED = [pytest.param(row, id=row.name) for row in ROWS if row.fitted]


@pytest.mark.parametrize("row", FITTED)
def test_fitted_row(found: dict[str, float], row: Row) -> None:
    """Sources: SK-01, SK-02 Null 2003, with McLaren, Null & Quinn 2005 (mean of 12 sunny trials, dark closed car);
    SK-05 Parker, FSEC-PF-198-90, 1990; SK-07 a load-calculation paper; warm-ups: table of another model, one mass.

    Each within the tolerance that the fit weighed it with: a fifth of the spread of SK-01, 4 and 5 K for SK-05.
    """
    assert abs(row.miss(found[row.name])) <= row.close


@pytest.mark.parametrize("minutes", [pytest.param(60, id="SK-01 spread at 60 min")])
def test_other_headings_stay_within_the_spread(minutes: int) -> None:
    """Source: Null 2003: 17.8 to 28.3 K after 60 min over 12 days; here the car is turned, the hour another."""
    for heading in ("0 deg", "270 deg"):
        for clock in ("10:00", "13:00"):
            air, _ = soak({}, standing(37.0, "2031-07-05", clock, 27.0, minutes / 60.0, heading))
            assert 17.8 - 3.0 < air[-1] - air[0] < 28.3 + 3.0


@pytest.mark.parametrize("hours", [pytest.param(2.0, id="SK-06")])
def test_settled_excess(hours: float) -> None:
    """Source: balance with assumed inputs: 20 to 35 K above the outside air in full sun."""
    air, _ = soak({}, standing(37.0, "2031-07-05", "11:00", 27.0, hours))
    assert 20.0 < air[-1] - 27.0 < 35.0


def test_the_rows_tell_a_wrong_cabin_from_a_right_one() -> None:
    """One slow inside mass without a skin misses the first ten minutes by more than the rows allow."""
    lumped = {"zone.cabin.skin": "120 kJ/K", "zone.cabin.trim": "5 kJ/K"}
    air, _ = soak(lumped, standing(37.0, "2031-07-05", "12:00", 27.0, 0.2))
    first = SOAK[0]
    assert first.miss(float(np.interp(600.0, np.arange(air.size) * 5.0, air - air[0]))) < -first.close
