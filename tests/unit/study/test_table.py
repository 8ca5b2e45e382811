"""Tables for a terminal keep to a page."""

from __future__ import annotations

from heatwright.study.table import WIDTH, aligned, fitted


def test_a_table_too_wide_for_a_page_goes_on_in_blocks_that_begin_with_its_first_column() -> None:
    rows = [
        ["quantity", *(f"plant {k:02d} of many" for k in range(12))],
        ["  energy", *(str(10**k) for k in range(12))],
    ]
    lines = fitted(rows)
    assert max(map(len, lines)) <= WIDTH
    text = "\n".join(lines)
    assert all(cell in text for row in rows for cell in row)
    heads = [line for line in lines if line.startswith("quantity")]
    assert len(heads) > 1
    assert lines.count("") == len(heads) - 1


def test_a_table_that_fits_is_one_block() -> None:
    rows = [["quantity", "one", "words"], ["  energy", "1.0", "holds"]]
    assert fitted(rows, words=(2,)) == aligned(rows, words=(2,))
