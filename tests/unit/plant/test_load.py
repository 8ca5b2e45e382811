"""Files become plants: every kept file, the shipped ones, defaults, extending, changes."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from heatwright.errors import InputError
from heatwright.plant.catalogue import list_shipped
from heatwright.plant.load import load_plant
from heatwright.plant.model import End, Plant, Rated

FILES = Path(__file__).parent / "files"


@pytest.mark.parametrize(
    ("file", "parts", "branches"),
    [
        ("a_plain", 20, (2, 1, 10)),
        ("b_reversing", 18, (1, 2, 8)),
        ("c_three_loops", 25, (3, 3, 10)),
        ("d_joined", 22, (6, 3, 8)),
        ("e_router", 25, (6, 5, 13)),
        ("e2_router_two_zones", 28, (6, 5, 22)),
        ("f_secondary", 25, (14, 1, 7)),
    ],
)
def test_kept_plants_load(file: str, parts: int, branches: tuple[int, int, int]) -> None:
    plant = load_plant(FILES / f"{file}.plant.toml")
    assert len(plant.parts) == parts
    assert tuple(len(plant.nets[fluid].branches) for fluid in ("coolant", "refrigerant", "air")) == branches
    assert plant.control is None
    assert any(one.owner == "body" and one.key == "mass" for one in plant.assumed)


def test_values_are_si_and_complete(load: Callable[..., Plant]) -> None:
    plant = load()
    pack = plant.parts["pack"]
    assert pack.values["energy"] == 50 * 3.6e6
    assert pack.given == {"energy", "plate"}
    assert pack.where.endswith("some.plant.toml:4")
    assert pack.values["to_outside_moving"] == pytest.approx(0.12 * 3.6)
    assert pack.values["usable"] == pytest.approx((0.03, 0.97))
    assert plant.parts["drive"].values["heat_capacity"] is None, "optional and without a default"
    assert plant.parts["compressor"].values["speed"] == pytest.approx(8500 / 60)
    asked = {"refrigerant": "R1234yf", "coolant_glycol_fraction": 0.5, "charge_kg": None, "hot_gas_charge": None}
    assert asked.items() <= plant.fluid.items()
    assert plant.front_stack == ("condenser", "radiator", "fan")
    assert set(plant.glass) == {"screen", "left", "right", "rear"}
    assert plant.hoses["length"] == {"main": 1.5, "front": 1.5, "past": 1.5}


def test_rated_values_keep_their_conditions(load: Callable[..., Plant]) -> None:
    plant = load()
    plate = plant.parts["pack"].values["plate"]
    assert plate == Rated(1200.0, {"flow_m3_per_s": pytest.approx(1e-2 / 60), "temperature_k": 298.15}, ())
    radiator = plant.parts["radiator"].values["ua"]
    assert radiator.named == ("flow_m3_per_s", "speed_m_per_s", "temperature_k")
    assert radiator.at["flow_m3_per_s"] == pytest.approx(2e-4)


def test_defaults_follow_what_is_given(load: Callable[..., Plant]) -> None:
    pack = load().parts["pack"].values
    assert pack["heat_capacity"] == pytest.approx(440e3 * 50 / 75)
    assert pack["resistance"] == pytest.approx(0.070 * 75 / 50)
    coil = load(("[outdoor_coil.condenser]", '[outdoor_coil.condenser]\nua = "900 W/K at 3 m/s"')).parts["condenser"]
    assert coil.values["ua_evaporating"].value == pytest.approx(420 * 900 / 600)
    assert coil.values["ua_evaporating"].at == {"speed_m_per_s": 3.0}


def test_defaults_know_the_refrigerant(load: Callable[..., Plant]) -> None:
    plant = load(('name = "Sound"', 'name = "Sound"\nfluid.refrigerant = "R744"'))
    assert plant.parts["compressor"].values["displacement"] == pytest.approx(6.8e-6)
    assert plant.parts["compressor"].values["discharge_most"] == pytest.approx(125e5)


def test_lines_become_branches(load: Callable[..., Plant]) -> None:
    coolant = {branch.name: branch for branch in load().nets["coolant"].branches}
    assert coolant["main"].start == End("tank", "tank")
    assert coolant["main"].parts == ("pump", "pack", "drive")
    assert coolant["main"].end == End("port", "three", "in")
    air = {branch.name: branch for branch in load().nets["air"].branches}
    assert air["exhaust"].check
    assert not air["back"].check
    assert air["box"].end == End("zone", "cabin", "face")
    (ring,) = load().nets["refrigerant"].branches
    assert ring.start == ring.end == End("tee", "ring.ring")
    assert ring.parts == ("compressor", "condenser", "txv", "evaporator")


def test_a_junction_inside_a_line_cuts_it(load: Callable[..., Plant]) -> None:
    plant = load(
        (
            'main = "tank > pump > pack > drive > three.in"',
            'main = "three.by > tank >> pump > pack > drive > three.in"',
        ),
        ('past = "three.by > tank"\n', ""),
    )
    first, second = [branch for branch in plant.nets["coolant"].branches if branch.line == "main"]
    assert (first.name, first.parts, first.check) == ("main/1", (), False)
    assert (second.name, second.start, second.check) == ("main/2", End("tank", "tank"), True)


def test_extending(write: Callable[..., Path]) -> None:
    write(name="base.plant.toml")
    path = write(
        text="""\
format = "heatwright plant 1"
name = "Child"
extends = "base.plant.toml"
drop = ["heater"]
[pack.pack]
energy = "60 kWh"
[valve.three.positions]
only = "in-out"
past = "in-by"
[valve.three]
blend = "only ~ past"
[lines.air]
box = "inlet.box > blower > evaporator > cabin.face"
[control.rule]
rest = { }
[control.act]
heat = false
air = false
""",
        name="child.plant.toml",
    )
    plant = load_plant(path)
    assert plant.parts["pack"].values["energy"] == 60 * 3.6e6
    assert plant.parts["pack"].values["plate"].value == 1200.0, "kept from the base"
    assert "heater" not in plant.parts
    assert set(plant.parts["three"].values["positions"]) == {"only", "past"}, "positions replace as a whole"
    assert plant.control is not None
    assert [rule.name for rule in plant.control.rules] == ["rest"], "rules replace as a whole"
    assert plant.digest != load_plant(path.with_name("base.plant.toml")).digest


def test_changes_stand_in_for_the_file(write: Callable[..., Path]) -> None:
    path = write()
    plain = load_plant(path)
    plant = load_plant(
        path,
        {
            "pack.energy": "60 kWh",
            "zone.cabin.air": "2 m3",
            "body.mass": "1500 kg",
            "glass.screen.area": "1 m2",
            "control.act.heat.inlet": "fresh",
        },
    )
    assert plant.parts["pack"].values["energy"] == 60 * 3.6e6
    assert plant.parts["cabin"].values["air"] == 2.0
    assert plant.body["mass"] == 1500.0
    assert list(plant.glass) == ["screen"]
    assert plant.control is not None
    assert plant.control.acts["heat"]["inlet"].value == (("fresh", 1.0),)
    assert plant.digest != plain.digest
    with pytest.raises(InputError, match=r"change pack\.energy: pack\.energy: '60 kW' is in 'kW'"):
        load_plant(path, {"pack.energy": "60 kW"})


def test_the_digest_follows_every_file(write: Callable[..., Path]) -> None:
    base = write(name="base.plant.toml")
    child = write(text='format = "heatwright plant 1"\nname = "C"\nextends = "base.plant.toml"\n', name="c.toml")
    before = load_plant(child).digest
    assert load_plant(child).digest == before
    base.write_text(base.read_text().replace("50 kWh", "51 kWh"))
    assert load_plant(child).digest != before


@pytest.mark.parametrize("name", [shipped.name for shipped in list_shipped()])
def test_shipped_plants_load(name: str) -> None:
    plant = load_plant(name)
    assert plant.control is not None
    assert not plant.control.rules[-1].needs
    assert all(plant.control.acts[rule.name] for rule in plant.control.rules)


def test_shipped_cars_share_one_file() -> None:
    """The car's own sizes are written once, so that variants differ in their plumbing alone."""
    plain, reversing = load_plant("plain"), load_plant("reversing")
    assert (plain.body, plain.glass, plain.hoses["diameter"]) == (
        reversing.body,
        reversing.glass,
        reversing.hoses["diameter"],
    )
    for name in ("pack", "drive", "cabin", "blower", "radiator", "drive_pump", "fan"):
        assert plain.parts[name] == reversing.parts[name]
        assert "car.plant.toml" in plain.parts[name].where


def test_shipped_conductances_name_their_conditions() -> None:
    for shipped in list_shipped():
        for part in load_plant(shipped.name).parts.values():
            for key in ("ua", "ua_evaporating", "jacket"):
                if key in part.given and isinstance(part.values[key], Rated):
                    assert part.values[key].named, f"{shipped.name}: {part.name}.{key}"


def test_the_catalogue_leaves_bases_out() -> None:
    names = [shipped.name for shipped in list_shipped()]
    assert {"plain", "reversing"} <= set(names)
    assert "car" not in names
    assert all(shipped.title and shipped.about for shipped in list_shipped())
    with pytest.raises(InputError, match=r"car\.plant\.toml:2: this file is only a base"):
        load_plant("car")


def test_loading_imports_nothing_heavy() -> None:
    code = "import heatwright, sys; heatwright.load_plant('plain'); print(*sys.modules)"
    answer = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    heavy = {"numpy", "numba", "scipy", "pandas", "pvlib", "CoolProp", "pyarrow", "click"}
    assert not heavy & set(answer.stdout.split())


def told(source: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        load_plant(source)
    return [problem.found for problem in caught.value.problems]


def test_a_head_alone_is_no_plant(tmp_path: Path) -> None:
    (tmp_path / "head.plant.toml").write_text('format = "heatwright plant 1"\nname = "x"\n')
    kinds = ("pack", "drive_unit", "zone")
    assert told(tmp_path / "head.plant.toml") == [f"the plant has no {kind}" for kind in kinds]


def test_a_file_of_another_language_and_a_folder_are_one_mistake_each(tmp_path: Path) -> None:
    trip = tmp_path / "x.trip.toml"
    trip.write_text('format = "heatwright trip 1"\nset_point = "22 degC"\n[weather]\n[[segment]]\n')
    assert told(trip) == ["format is 'heatwright trip 1'"]
    (tmp_path / "child.plant.toml").write_text('format = "heatwright plant 1"\nname = "x"\nextends = "x.trip.toml"\n')
    assert told(tmp_path / "child.plant.toml") == ["format is 'heatwright trip 1'"]
    assert told(tmp_path) == ["this is a folder"]
