"""The picture of capacities: every need a panel, what falls short shaded, words where nothing can be drawn."""

from dataclasses import replace

import numpy as np

from heatwright.draw.capacity import capacity_picture, within
from heatwright.study.capacity.cells import Amount, Cell
from heatwright.study.capacity.sweep import Capacities
from heatwright.study.capacity.tasks import TASKS
from heatwright.study.capacity.text import best_modes, capacities_as_text, electricity, outside, verdict

OUTSIDE_C = (-30.0, 0.0, 30.0)
HEATER = "heater at its 5 kW"


def cell(task: str, k: int, load_w: float, capacity_w: float, mode: str = "abc123") -> Cell:
    share = capacity_w / load_w if load_w > 0.0 else None
    bound = HEATER if mode else "no mode of this plant does it"
    sides = next(one.sides for one in TASKS if one.key == task)
    amounts = tuple(Amount(side, load_w, capacity_w) for side, _ in sides)
    return Cell(task, OUTSIDE_C[k] + 273.15, amounts, share, mode, "Heater warms cabin", 5.2e3, bound)


def found() -> Capacities:
    cells = []
    for task in TASKS:
        if task.key == "warm_cabin":
            cells += [cell(task.key, 0, 7e3, 5e3), cell(task.key, 1, 3e3, 5e3), cell(task.key, 2, 0.0, 0.0)]
        elif task.key == "warm_pack":
            cells += [cell(task.key, k, 2e3, 0.0, "") for k in range(3)]
        else:
            cells += [cell(task.key, k, 0.0, 0.0) for k in range(3)]
    return Capacities("Test car", tuple(t + 273.15 for t in OUTSIDE_C), tuple(cells), {})


def test_sentences_say_where_it_falls_short_and_why() -> None:
    one = found()
    assert verdict(one.of("warm_cabin")) == f"short at −30 °C, most at −30 °C (5.0 of 7.0 kW): {HEATER}"
    assert verdict(one.of("warm_pack")) == "short −30 to 30 °C: no mode of this plant does it"
    assert verdict(one.of("cool_cabin")) == "nothing to do at any of these temperatures"
    served = verdict(one.of("warm_cabin")[1:])
    assert served == f"served at 0 °C, least at 0 °C (5.0 of 3.0 kW): {HEATER}"
    assert best_modes(one.of("warm_cabin")) == [("−30 to 0 °C", "Heater warms cabin [abc123]")]
    assert best_modes(one.of("warm_pack")) == []


def test_the_table_has_a_dash_where_nothing_is_asked() -> None:
    text = capacities_as_text(found())
    row = next(line for line in text.splitlines() if line.startswith("  load, kW"))
    assert row.split()[-3:] == ["7.0", "3.0", "–"]


def test_every_need_is_a_panel_and_the_shortfall_is_shaded_up_to_the_crossing() -> None:
    drawing = capacity_picture(found())
    for task in TASKS:
        assert f">{task.words}<" in drawing
    assert drawing.count("<polygon") >= 3  # one in the cold of warm_cabin, two under warm_pack
    assert "no mode of this plant does it" in drawing
    assert 'viewBox="0 0 960' in drawing


def test_an_air_outside_shows_the_digit_it_needs() -> None:
    assert [outside(t + 273.15) for t in (-17.5, -20.0, 0.0)] == ["−17.5", "−20", "0"]


def test_electricity_is_told_once_where_it_is_alike() -> None:
    one = cell("warm_cabin", 1, 3e3, 5e3)
    cells = [replace(one, p_least_w=power, t_ambient_k=t) for power, t in ((410.0, 253.15), (440.0, 263.15))]
    assert electricity(cells) == "served with 0.4 kW of electricity"
    assert electricity([one]) == ""
    more = [cells[0], replace(one, p_least_w=2.2e3)]
    assert electricity(more) == "served with 0.4 kW at −20 °C to 2.2 kW at 0 °C of electricity"


def test_a_line_is_left_out_above_the_scale() -> None:
    t = np.array([0.0, 10.0, 20.0, 30.0])
    assert within(t, np.array([2.0, 6.0, 6.0, 2.0]), 4.0) == [[(0.0, 2.0), (5.0, 4.0)], [(25.0, 4.0), (30.0, 2.0)]]
    assert within(t, np.array([9.0, 9.0, 9.0, 9.0]), 4.0) == []
    assert within(t, np.array([1.0, 4.0, 2.0, 3.0]), 4.0) == [[(0.0, 1.0), (10.0, 4.0), (20.0, 2.0), (30.0, 3.0)]]


def test_words_tell_how_far_above_the_scale_a_capacity_lies() -> None:
    cells = [cell("cool_drive", k, 2e3, (20e3, 18e3, 25e3)[k]) for k in range(3)]
    one = found()
    kept = tuple(c for c in one.cells if c.task != "cool_drive")
    assert "above the scale: 18 to 25 kW" in capacity_picture(replace(one, cells=(*kept, *cells)))
