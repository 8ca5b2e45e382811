"""Curves over a quantity that is not time."""

import re

from heatwright.draw.curves import curves


def test_curves_are_drawn_where_their_values_lie() -> None:
    drawing = curves(
        [40.0, 0.0, -20.0], [("warm", [10.0, 5.0, 0.0]), ("cold", [0.0, 0.0, 0.0])],
        title="Flow", unit="L/min", x_title="temperature, °C",
    )  # fmt: skip
    lines = [[tuple(map(float, one.split(","))) for one in found.split()]
             for found in re.findall(r'<polyline points="([^"]+)"', drawing)]  # fmt: skip
    assert len(lines) == 2
    warm, cold = lines
    assert [x for x, _ in warm] == sorted(x for x, _ in warm)
    assert warm[0][1] > warm[1][1] > warm[2][1]
    assert len({y for _, y in cold}) == 1
    assert cold[0][1] == warm[0][1]
    assert drawing.count("<circle") == 6
    for words in ("Flow", "L/min", "temperature, °C", "warm", "−20"):
        assert f">{words}</text>" in drawing


def test_a_line_begins_anew_where_it_is_asked_to() -> None:
    drawing = curves(
        [0.0, 1.0, 2.0, 3.0], [("warm", [1.0, 2.0, 6.0, 5.0])], title="Heat", unit="kW", x_title="x", anew=[2.0]
    )
    pieces = [found.split() for found in re.findall(r'<polyline points="([^"]+)"', drawing)]
    assert [len(one) for one in pieces] == [2, 2]
