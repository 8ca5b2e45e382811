"""The page that long searches write says what they say now; if not: `make docs`."""

import pytest

from tools import foresight_page


@pytest.mark.long
def test_the_page_of_foresight_agrees() -> None:
    assert foresight_page.fresh() == foresight_page.PAGE.read_text(encoding="utf-8")
    assert foresight_page.picture() == foresight_page.PICTURE.read_text(encoding="utf-8")
