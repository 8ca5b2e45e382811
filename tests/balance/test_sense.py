"""The pages of checks agree with the runs of today, and a figure outside its band is told as one."""

from __future__ import annotations

import re
from functools import cache

import pytest

from heatwright.study import claims, sense
from tools import claims_page, sense_page

ROW = re.compile(
    r"^\| (?P<asked>.+?) \| `(?P<plant>\w+)` \| (?P<found>\S+).*\| (?P<verdict>inside|\*\*miss\*\*) \|", re.M
)


@cache
def rows() -> tuple[sense.Row, ...]:
    return sense.rows()


def on_page() -> list[re.Match[str]]:
    return list(ROW.finditer(sense_page.PAGE.read_text(encoding="utf-8")))


def test_every_row_stands_on_the_page() -> None:
    assert [m["plant"] for m in on_page()] == [row.plant for row in rows()]
    assert len(rows()) == sense.ROWS


@pytest.mark.parametrize("k", range(sense.ROWS))
def test_a_figure_of_the_page_is_that_of_the_run(k: int) -> None:
    """To 1 % or one last digit: another processor may round otherwise."""
    row, line = rows()[k], on_page()[k]
    written = line["found"].replace("−", "-")
    if row.found is None:
        assert written == "none"
        return
    assert float(written) == pytest.approx(row.found, rel=0.01, abs=1.01 * 10.0**-row.digits)
    edge = min(abs(row.found - row.low), abs(row.found - row.high)) < 10.0**-row.digits
    assert edge or (line["verdict"] == "inside") == row.inside


def test_the_published_bands_are_met_but_for_the_misses_that_the_page_explains() -> None:
    missed = {(row.asked, row.plant) for row in rows() if not row.inside}
    assert missed <= {
        ("more energy at −7 °C", "plain"),
        ("range at 35 °C, nothing conditioned", "plain"),
        ("range at 35 °C, nothing conditioned", "reversing"),
    }


def test_a_row_outside_its_band_or_without_a_figure_is_a_miss() -> None:
    row = rows()[0]
    assert not sense.Row(row.group, "", "", row.high + 1.0, row.low, row.high, "", 0, "").inside
    assert not sense.Row(row.group, "", "", None, row.low, row.high, "", 0, "").inside


def test_the_claims_of_the_page_have_the_verdicts_of_today() -> None:
    text = claims_page.PAGE.read_text(encoding="utf-8")
    found = claims.claims()
    assert len(found) == claims.N_CLAIMS
    for claim in found:
        assert f"## {claim.sentence}\n\n**{claim.verdict.capitalize()}.**" in text
        if claim.verdict in (claims.TRUE, claims.WHEN, claims.FALSE):
            assert claim.figures
