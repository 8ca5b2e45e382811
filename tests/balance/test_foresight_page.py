"""The pages that long searches and many days write say what they say now; if not: `make docs`."""

import pytest

from tools import foresight_page, sensors_page, thirty_days_page


@pytest.mark.long
def test_the_page_of_foresight_agrees() -> None:
    assert foresight_page.fresh() == foresight_page.PAGE.read_text(encoding="utf-8")
    assert foresight_page.picture() == foresight_page.PICTURE.read_text(encoding="utf-8")


@pytest.mark.long
def test_the_figures_of_sensors_agree() -> None:
    text = sensors_page.PAGE.read_text(encoding="utf-8")
    assert sensors_page.fresh(text) == text


@pytest.mark.long
def test_the_figures_of_thirty_days_agree() -> None:
    text = thirty_days_page.PAGE.read_text(encoding="utf-8")
    assert thirty_days_page.fresh(text) == text
