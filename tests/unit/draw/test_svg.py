"""The small helpers: text that fits, labels that keep apart, well-formed elements."""

import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from heatwright.draw import svg


def test_names_are_escaped() -> None:
    drawing = svg.picture(100, 20, svg.text(1, 12, '<pack> & "drive"'), "a < b", "c & d")
    root = ET.fromstring(drawing)
    assert root[0].text == "a < b"
    assert root[2].text == '<pack> & "drive"'


@pytest.mark.parametrize("words", ["Cabin and pack heated from outside air", "x", "Thermomanagementsystemwarm", ""])
@pytest.mark.parametrize("width", [60.0, 140.0])
def test_wrapped_words_fit_and_nothing_is_lost(words: str, width: float) -> None:
    lines = svg.wrapped(words, width)
    assert all(svg.text_width(line) <= width for line in lines)
    assert "".join(lines).replace("-", "").replace(" ", "") == words.replace(" ", "")


@pytest.mark.parametrize(
    "wanted",
    [
        [(50.0, 15.0)] * 5,
        [(0.0, 15.0), (2.0, 30.0), (100.0, 15.0)],
        [(100.0, 15.0), (99.0, 15.0), (98.0, 15.0)],
        [],
    ],
)
def test_spread_labels_never_overlap_and_stay_inside(wanted: list[tuple[float, float]]) -> None:
    centres = svg.spread(wanted, 0.0, 100.0)
    spans = sorted((c - h / 2, c + h / 2) for c, (_, h) in zip(centres, wanted, strict=True))
    assert all(a[1] <= b[0] + 1e-9 for a, b in pairwise(spans))
    assert not spans or (spans[0][0] >= -1e-9 and spans[-1][1] <= 100.0 + 1e-9)


def test_spread_leaves_free_labels_where_they_want_to_be() -> None:
    assert svg.spread([(20.0, 10.0), (60.0, 10.0)], 0.0, 100.0) == [20.0, 60.0]


def test_numbers_are_short() -> None:
    assert [svg.num(v) for v in (1.0, 1.04, -0.04, 12.349)] == ["1", "1", "0", "12.3"]


def test_a_standalone_picture_brings_its_colours() -> None:
    drawing = svg.standalone(svg.picture(10, 10, "", "t"))
    ET.fromstring(drawing)
    assert "--hw-paper" in drawing
    assert "prefers-color-scheme:dark" in drawing
