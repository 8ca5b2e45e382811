"""The plant sheet as a picture: what it names, how it colours, what it shows of a mode and of a run."""

import re
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner
from svg_reader import faults, tree, words_of

from heatwright.cli_draw import draw_verb
from heatwright.draw.palette import css_variables
from heatwright.draw.sheet import draw_sheet, layout_of
from heatwright.draw.sheet.colour import temperature_ink
from heatwright.draw.sheet.figures import figures_of
from heatwright.draw.sheet.frame import title_block
from heatwright.draw.sheet.graph import graph_of
from heatwright.draw.sheet.instant import line_series, state_of_run
from heatwright.draw.sheet.picture import plant_sheet
from heatwright.draw.sheet.state import State, inside_series, refrigerant_stretches, state_of_mode, way_of
from heatwright.draw.sheet.temperatures import marks_of
from heatwright.draw.svg import picture
from heatwright.errors import InputError
from heatwright.modes.lookup import ModeIndex
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.run import Run

SHIPPED = [one.name for one in list_shipped()]
SVG = "{http://www.w3.org/2000/svg}"


def run_of(plant: Plant) -> Run:
    """Two steps of a cooling run of the plain plant, by hand: gas of 70 degC, saturated at 40 degC over 0 degC."""
    series = {
        "mdot_refrigerant_kg_per_s": (0.0, 0.03),
        "p_discharge_pa": (6e5, 10.183e5),
        "p_suction_pa": (6e5, 3.161e5),
        "t_discharge_k": (np.nan, 343.15),
        "superheat_k": (np.nan, 5.0),
        "subcooling_k": (np.nan, 4.0),
        "t_ambient_k": (308.15, 308.15),
        "t_cabin_air_k": (310.0, 300.0),
        "t_drive_coolant_k": (320.0, 321.0),
        "mdot_coolant_drive_kg_per_s": (0.1, 0.1),
        "mdot_coolant_warmth_kg_per_s": (0.0, 0.001),  # a leak
        "x_compressor": (0.0, 50.0),
        "x_inlet_fresh": (1.0, 1.0),
        "mode": (0.0, 0.0),
    }
    arrays = {name: np.array(values) for name, values in series.items()}
    return Run(plant.name, "by hand", np.array([0.0, 1.0]), arrays, mode_names=("cool",))


@pytest.mark.parametrize("name", SHIPPED)
def test_words_stand_clear_of_each_other_on_the_plain_levels(name: str) -> None:
    plant = load_plant(name)
    for level in ("idea", "loops"):
        assert faults(draw_sheet(plant, level)) == [], level


@pytest.mark.parametrize("name", SHIPPED)
def test_parts_and_pipes_can_be_found_by_name(name: str) -> None:
    plant = load_plant(name)
    graph = graph_of(plant)
    drawing = tree(draw_sheet(plant))
    ids = [node.attrib["id"] for node in drawing.iter() if "id" in node.attrib]
    assert len(ids) == len(set(ids))
    drawn = [p for p in plant.parts.values() if p.kind not in ("refrigerant_plate",) and (p.name in graph.nodes)]
    assert {f"part-{part.name}" for part in drawn} <= set(ids)
    assert {f"pipe-{pipe}" for pipe in graph.pipes} <= set(ids)
    bare = [p.id for p in graph.pipes.values() if p.medium != "refrigerant" and not p.ahead]
    assert bare == []


def test_the_idea_ties_a_body_that_is_reached_through_a_core_in_coolant() -> None:
    """The cabin of the secondary loop has its heat from coolant that the circuit warms and cools."""
    note = draw_sheet(load_plant("secondary"), "idea").partition("<desc>")[2].partition("</desc>")[0]
    assert "cabin: hot and cold" in note
    assert "drive: neither" in note
    assert "cabin: cold" in draw_sheet(load_plant("plain"), "idea")


def test_a_long_mode_is_cut_with_dots() -> None:
    words = "; ".join(f"heat from source {k} to sink {k}" for k in range(12))
    block = title_block(900, 600, [("Mode", words)])
    assert " …<" in block
    assert faults(picture(900, 600, block, "block")) == []


def test_hot_side_and_lines_by_stretch() -> None:
    plant = load_plant("plain")
    stretches = refrigerant_stretches(plant, graph_of(plant), State())
    by_start = {graph_of(plant).pipes[name].start: stretch for name, stretch in stretches.items()}
    assert by_start == {
        "compressor": "t_discharge_k",
        "condenser": "t_liquid_k",
        "receiver": "t_liquid_k",
        "cabin_txv": "t_evaporating_k",
        "evaporator": "t_suction_k",
    }


def test_behind_a_reversing_valve_the_position_decides() -> None:
    plant = load_plant("reversing")
    graph = graph_of(plant)
    blind = refrigerant_stretches(plant, graph, State())
    coils = [pipe.id for pipe in graph.pipes.values() if pipe.lines == ("refrigerant/coils",)]
    assert not set(coils) & set(blind)
    flows = {f"refrigerant/{name}": 1 for name in ("press", "coils")}
    cooling, heating = (
        refrigerant_stretches(plant, graph, State(flows | {"refrigerant/coils": sign}, {"reverser": position}))
        for position, sign in (("cool", 1), ("heat", -1))
    )
    assert cooling[coils[0]] == "t_discharge_k"
    assert cooling[coils[-1]] == "t_suction_k"
    assert heating[coils[0]] == "t_suction_k"
    assert heating[coils[-1]] == "t_discharge_k"


def test_a_run_colours_each_line_by_its_own_temperature() -> None:
    """R1234yf boils at 0 degC under 3.161 bar and at 40 degC under 10.183 bar (published saturation tables)."""
    plant = load_plant("plain")
    run = run_of(plant)
    found = line_series(plant, run)
    assert np.isnan(found["t_liquid_k"][0])
    assert found["t_liquid_k"][1] == pytest.approx(273.15 + 40.0 - 4.0, abs=0.2)
    assert found["t_suction_k"][1] == pytest.approx(273.15 + 0.0 + 5.0, abs=0.2)
    drawing = draw_sheet(plant, run=run, t_s=1.0)
    for t_k in (343.15, found["t_liquid_k"][1], found["t_suction_k"][1]):
        assert temperature_ink(float(t_k)) in drawing
    state = state_of_run(plant, run, 1.0)
    assert state.flows is not None
    assert state.flows["coolant/drive"] == 1
    assert "coolant/warmth" not in state.flows
    assert state.flows["refrigerant/ring"] == 1
    assert "26.9 °C" in [one.text for one in words_of(drawing)]


WARM = {"t_discharge_k": 363.15, "t_condensing_k": 323.15, "t_liquid_k": 316.15, "t_evaporating_k": 263.15,
        "t_suction_k": 268.15}  # fmt: skip
"""A temperature of its own for every stretch of a circuit [K]."""


@pytest.mark.parametrize("name", SHIPPED)
def test_every_stretch_has_the_colour_of_its_own_temperature(name: str) -> None:
    """In every mode in which a compressor runs, each live line is a known stretch and drawn in that one's colour."""
    plant = load_plant(name)
    graph, index = graph_of(plant), ModeIndex(plant)
    layout = layout_of(plant)
    modes = [mode for mode in index.atlas.modes if "compressor" in mode.running]
    assert modes
    for mode in modes[:: max(1, len(modes) // 8)]:
        state = replace(state_of_mode(plant, mode, index), temperatures=WARM)
        stretches = refrigerant_stretches(plant, graph, state)
        live = [pipe for pipe in graph.pipes.values() if pipe.medium == "refrigerant" and way_of(pipe, state)]
        assert {stretches[pipe.id] for pipe in live} >= {"t_discharge_k", "t_suction_k"}, mode.id
        drawing = tree(plant_sheet(plant, layout, state))
        groups = {node.attrib["id"]: node for node in drawing.iter(f"{SVG}g") if "data-lines" in node.attrib}
        for pipe in live:
            core = next(one for one in groups[f"pipe-{pipe.id}"] if one.get("class") == "core")
            assert temperature_ink(WARM[stretches[pipe.id]]) in core.attrib["style"], (mode.id, pipe.id)
            sense = way_of(pipe, state)
            start, end = (pipe.start, pipe.end) if sense > 0 else (pipe.end, pipe.start)
            if graph.nodes[start].symbol == "compressor":
                assert stretches[pipe.id] == "t_discharge_k"
            if graph.nodes[end].symbol == "compressor":
                assert stretches[pipe.id] == "t_suction_k"


def test_refrigerant_inside_an_exchanger_has_the_temperature_of_its_change() -> None:
    plant = load_plant("plain")
    graph = graph_of(plant)
    stretches = refrigerant_stretches(plant, graph, State())
    assert inside_series(graph, "condenser", stretches) == ("t_condensing_k",)
    assert inside_series(graph, "evaporator", stretches) == ("t_evaporating_k",)


def test_every_temperature_of_an_instant_is_a_mark() -> None:
    plant = load_plant("plain")
    state = state_of_run(plant, run_of(plant), 1.0)
    marks = {(one.group, one.words): one for one in marks_of(plant, graph_of(plant), state)}
    assert marks["Refrigerant R", "discharge gas"].t_k == pytest.approx(343.15)
    assert marks["Refrigerant R", "condensing"].t_k == pytest.approx(313.15, abs=0.2)
    assert marks["Cabin", "air"].t_k == pytest.approx(300.0)
    assert marks["Outside", "air"].t_k == pytest.approx(308.15)
    drive = [one for (group, _), one in marks.items() if group == "Coolant A"]
    assert any(one.t_k == pytest.approx(321.0) and one.flows for one in drive)
    assert faults(draw_sheet(plant, "temperatures", run=run_of(plant), t_s=1.0)) == []
    with pytest.raises(InputError, match="without a run"):
        draw_sheet(plant, "temperatures")


def test_figures_of_a_part_are_its_own_and_its_streams() -> None:
    plant = load_plant("plain")
    found = {one.part: dict(one.rows) for one in figures_of(plant, run_of(plant), 1.0)}
    assert found["compressor"]["is"] == "on"
    assert found["compressor"]["discharge"] == "10.18 bar"
    assert found["drive"]["coolant in from drive pump"].endswith("6.00 kg/min")
    assert found["pack"] == {}


def test_idle_legs_of_a_mode_are_casing_only() -> None:
    plant = load_plant("plain")
    from heatwright.modes.atlas import build_atlas

    mode = next(one for one in build_atlas(plant).modes if "drive_pump" not in one.running and one.running)
    drawing = tree(draw_sheet(plant, mode=mode.id))
    pipes = {node.attrib["id"]: node for node in drawing.iter(f"{SVG}g") if "data-lines" in node.attrib}
    drive = [node for node in pipes.values() if node.attrib["data-lines"] == "coolant/drive"]
    assert drive
    for node in drive:
        assert "idle" in node.attrib["class"]
        assert not [one for one in node if one.get("class") in ("flow", "core", "arrow")]
    assert any("live" in node.attrib["class"] for node in pipes.values())


def test_every_colour_follows_the_theme() -> None:
    drawing = draw_sheet(load_plant("router"), run=run_of(load_plant("router")), t_s=1.0)
    without = re.sub(r"var\(--hw-[a-z0-9-]+,#[0-9a-f]{6}\)", "", drawing)
    assert "#" not in without.replace("url(#hw-sheet-ladder)", "")
    names = set(re.findall(r"var\((--hw-[a-z0-9-]+)", drawing))
    assert all(f"{name}:" in css_variables() for name in names)


def test_what_cannot_be_drawn_is_said() -> None:
    plant = load_plant("plain")
    with pytest.raises(InputError, match="no level"):
        draw_sheet(plant, "roof")
    with pytest.raises(InputError, match="no mode"):
        draw_sheet(plant, mode="nothing")
    with pytest.raises(InputError, match="both"):
        draw_sheet(plant, mode="a", run=run_of(plant))


def test_the_verb_writes_a_file(tmp_path) -> None:
    out = tmp_path / "sheet.svg"
    done = CliRunner().invoke(draw_verb, ["sheet", "plain", "-o", str(out)])
    assert done.exit_code == 0, done.output
    assert tree(out.read_text())
    again = CliRunner().invoke(draw_verb, ["sheet", "plain", "-o", str(out)])
    assert again.exit_code == 2
