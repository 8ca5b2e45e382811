"""Places of keys in a TOML text: checked against the lines a person would point at."""

from __future__ import annotations

import tomllib

import pytest

from heatwright.toml_lines import line_near, lines_of

TEXT = '''format = "x"            # [not.a.header]
about = """first [no]
# not a comment { either
last \\""" still inside"""
"odd key" . 'b.c' = { d = "a # } ]", e = [1, 2] }

[pack . main]
limit = "[{#"
list = [
  "one",  # ] here
  { two = 2 },
]
[[segment]]
kind = 'a\\'
[segment.sun]
diffuse = 1979-05-27 07:32:00
[[segment]]
kind = "b"
[[segment.stop]]
n = 1
[[segment.stop]]
n.deep = 2
'''

EXPECTED = {
    ("format",): 1,
    ("about",): 2,
    ("odd key",): 5,
    ("odd key", "b.c", "d"): 5,
    ("odd key", "b.c", "e", 1): 5,
    ("pack",): 7,
    ("pack", "main"): 7,
    ("pack", "main", "limit"): 8,
    ("pack", "main", "list"): 9,
    ("pack", "main", "list", 0): 10,
    ("pack", "main", "list", 1, "two"): 11,
    ("segment", 0): 13,
    ("segment", 0, "kind"): 14,
    ("segment", 0, "sun"): 15,
    ("segment", 0, "sun", "diffuse"): 16,
    ("segment", 1): 17,
    ("segment", 1, "kind"): 18,
    ("segment", 1, "stop", 0, "n"): 20,
    ("segment", 1, "stop", 1, "n", "deep"): 22,
}


@pytest.mark.parametrize(("path", "line"), EXPECTED.items(), ids=[".".join(map(str, p)) for p in EXPECTED])
def test_every_key_has_its_line(path: tuple[str | int, ...], line: int) -> None:
    assert lines_of(TEXT)[path] == line


def test_paths_are_exactly_those_of_the_standard_reader() -> None:
    def walk(value: object, path: tuple[str | int, ...]) -> set[tuple[str | int, ...]]:
        pairs = dict(enumerate(value)) if isinstance(value, list) else value
        if not isinstance(pairs, dict):
            return {path}
        return {path}.union(*(walk(inner, (*path, key)) for key, inner in pairs.items()))

    assert set(lines_of(TEXT)) == walk(tomllib.loads(TEXT), ()) - {()}


def test_a_missing_key_is_placed_at_its_parent() -> None:
    lines = lines_of(TEXT)
    assert line_near(lines, ("pack", "main", "nothing")) == 7
    assert line_near(lines, ("nothing",)) == 1


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ('a = """x""""\nb = 1', ("b",)),
        ("a = '''it's'''\nb = 1", ("b",)),
        ('a = ""\nb = 1', ("b",)),
        ("a = [[1, 2],\n [3]]\nb = 1", ("b",)),
        ("a = []\r\nb = {}", ("b",)),
        ('"t\\u0041b" = 1\nb = 1', ("tAb",)),
    ],
)
def test_awkward_values_do_not_lose_the_place(text: str, path: tuple[str, ...]) -> None:
    lines = lines_of(text)
    assert set(tomllib.loads(text)) == {key[0] for key in lines if len(key) == 1}
    assert lines[path] == (1 if path == ("tAb",) else text.count("\n", 0, text.index("b =")) + 1)
