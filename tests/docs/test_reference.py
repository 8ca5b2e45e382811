"""The reference pages are what the code says today."""

from tools.reference import HOME, PAGES, stale


def test_reference_is_up_to_date() -> None:
    assert stale() == [], "run make docs"


def test_no_page_is_left_over() -> None:
    assert {page.name for page in HOME.glob("*.md")} == set(PAGES)


def test_an_edited_page_is_noticed(tmp_path) -> None:
    assert stale(tmp_path) == list(PAGES)
