"""What the reader makes of lines: nets, choices, blends that share ports, pumps that block, trim doors, sizes."""

from pathlib import Path

from atlas_plants import changed, kept

from heatwright.modes.atlas import build_atlas
from heatwright.modes.nets import ConnectedNet
from heatwright.modes.read_nets import nets_of
from heatwright.plant.model import Plant


def net_of(plant: Plant, mover: str) -> ConnectedNet:
    return next(net for net in nets_of(plant) if mover in net.movers)


def test_nets_by_fluid() -> None:
    nets = nets_of(kept("a"))
    assert [net.name for net in nets] == [
        "coolant (drive_pump)",
        "coolant (core_pump)",
        "refrigerant (compressor)",
        "air (blower)",
    ]


def test_groups_of_a_blend_that_share_a_port_merge(tmp_path: Path) -> None:
    """Half between two positions of a router the ways into pack and drive unit run together; the rest stays."""
    blend = ('stroke = "4 s"', 'stroke = "4 s"\nblend = "summer ~ mild"')
    plant = changed(tmp_path, "e", blend)
    choices = net_of(plant, "pack_pump").valves["router"]
    between = next(choice for choice in choices if choice.setting == (("router", "summer ~ mild"),))
    groups: dict[str, set[str]] = {}
    for port, merged in between.joins.items():
        groups.setdefault(merged, set()).add(port.removeprefix("router."))
    assert sorted(map(sorted, groups.values())) == [
        ["from_cold", "from_front", "to_drive", "to_pack"],
        ["from_drive", "to_hot"],
        ["from_hot", "to_front"],
        ["from_pack", "to_cold"],
    ]
    atlas = build_atlas(plant)
    assert atlas.combinations == 322560 // 7 * 8
    assert {mode.id for mode in build_atlas(kept("e")).modes} <= {mode.id for mode in atlas.modes}


def test_positions_that_join_the_same_are_one_choice(tmp_path: Path) -> None:
    twin = changed(tmp_path, "d", ('drive_out-drive_in" }', 'drive_out-drive_in", again = "drive_in-drive_out" }'))
    assert [choice.count for choice in net_of(kept("d"), "pack_pump").valves["join"]] == [1, 1]
    assert len(net_of(twin, "pack_pump").valves["join"]) == 3
    same = changed(tmp_path, "d", ("apart =", 'also = "pack_out-pack_in, drive_out-drive_in", apart ='))
    assert [choice.count for choice in net_of(same, "pack_pump").valves["join"]] == [1, 2]


def test_doors_that_only_choose_an_outlet_are_trim() -> None:
    air = net_of(kept("e"), "blower")
    assert air.trim == {"outlets": ("screen", "face", "foot", "screen ~ foot", "face ~ foot")}
    assert set(air.valves) == {"inlet", "temper", "inner"}
    assert (air.size, air.times) == (3 * 3 * 2 * 2, 5)


def test_a_pump_that_blocks_shuts_its_loop(tmp_path: Path) -> None:
    """Joined, the pack's pump alone drives both loops; not where the drive unit's pump blocks while it stands."""
    pump = '{ flow = "13 L/min", head = "48 kPa", power = "65 W"'
    plant = changed(tmp_path, "d", (pump, f'{pump}, off = "blocks"'))
    atlas = build_atlas(plant)
    assert atlas.combinations == 9216
    assert atlas.legal < 3366
    assert {mode.id for mode in atlas.modes} == {mode.id for mode in build_atlas(kept("d")).modes}
    assert "pack_pump runs and nothing moves" in atlas.illegal


def test_heaters_and_losses_are_actuators_fans_are_not() -> None:
    states = {name for net in nets_of(kept("d")) for name in net.states}
    assert {"drive.loss", "heater_left", "heater_right"} <= states
    assert "fan" not in states


def test_a_line_may_be_named_like_a_valve(tmp_path: Path) -> None:
    """A shut-off in a line called `bypass`, beside the valve `bypass`: twice the combinations, the same modes."""
    tap = [
        ("[tank.tank]", "[shutoff.tap]\n[tank.tank]"),
        ("drive_home = ", "bypass = "),
        ("@back > join.drive_out", "@back > tap > join.drive_out"),
    ]
    atlas = build_atlas(changed(tmp_path, "d", *tap))
    assert atlas.combinations == 2 * 9216
    assert {mode.id for mode in atlas.modes} == {mode.id for mode in build_atlas(kept("d")).modes}
