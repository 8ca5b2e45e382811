"""What flows: blocks, rings, meshes, check valves, and directions that hang on sizes."""

from heatwright.modes.flow import drive
from heatwright.modes.graph import Edge, Edges, blocks, connected, ring_order


def edges(*texts: str) -> Edges:
    """Edges named by their ends: "a-b", with ">" for a check valve."""
    found = set()
    for text in texts:
        start, end = text.replace(">", "-").split("-")
        found.add(Edge(text, start, end, ">" in text))
    return frozenset(found)


def signs(block: Edges, **heads: int) -> dict[str, int]:
    named = {name.replace("_", "-"): number for name, number in heads.items()}
    return {flow.edge.branch: flow.sign for flow in drive(block, named).flows}


def test_blocks_leave_out_bridges_and_dead_legs() -> None:
    """Two rings that touch in c, a bridge from d, a leg, and a branch onto itself."""
    found = blocks(edges("a-b", "b-c", "c-a", "c-d", "d-c", "d-e", "e-f", "f-f"))
    assert set(found) == {edges("a-b", "b-c", "c-a"), edges("c-d", "d-c"), edges("f-f")}


def test_a_mesh_is_one_block() -> None:
    mesh = edges("a-b", "b-c", "c-d", "d-a", "a-c")
    assert blocks(mesh) == [mesh]
    assert ring_order(mesh) is None


def test_connected_groups() -> None:
    assert [len(group) for group in connected(sorted(edges("a-b", "b-c", "x-y")))] == [2, 1]


def test_a_ring_goes_the_way_its_pump_pushes() -> None:
    ring = edges("a-b", "c-b", "c-a")
    assert signs(ring, a_b=1) == {"a-b": 1, "c-b": -1, "c-a": 1}
    assert signs(ring, c_b=1) == {"a-b": -1, "c-b": 1, "c-a": -1}


def test_pumps_that_oppose_each_other_and_check_valves_stop_a_ring() -> None:
    ring = edges("a-b", "c-b", "c-a")
    assert signs(ring, a_b=1, c_b=1) == {}
    assert signs(ring) == {}
    against = edges("a-b", "c>b", "c-a")
    assert signs(against, a_b=1) == {}
    assert len(signs(against, c_a=1)) == 0
    along = edges("a-b", "b>c", "c-a")
    assert len(signs(along, a_b=1)) == 3


def test_a_branch_onto_itself_is_a_ring() -> None:
    assert signs(edges("a-a"), a_a=1) == {"a-a": 1}


def test_parallel_legs_share_and_a_check_valve_shuts_one() -> None:
    assert signs(edges("a-b", "b-a", "b-c", "c-a"), a_b=1) == {"a-b": 1, "b-a": 1, "b-c": 1, "c-a": 1}
    assert signs(edges("a-b", "b-a", "c>b", "c-a"), a_b=1) == {"a-b": 1, "b-a": 1}


def test_the_cross_leg_of_a_bridge_depends_on_sizing() -> None:
    bridge = drive(edges("s-t", "t-a", "t-b", "a-b", "a-s", "b-s"), {"s-t": 1})
    assert bridge.unsure == {"a-b"}
    assert len(bridge.flows) == 6


def test_a_pump_beside_another_may_be_pushed_back() -> None:
    """Two pumps side by side on a common leg: the weaker gives way, unless a check valve holds."""
    both = drive(edges("a-b", "b-a", "c-a", "b-c"), {"a-b": 1, "c-a": 1})
    assert "a-b" not in both.unsure or both.sign("a-b")
    beside = frozenset({Edge("one", "a", "b"), Edge("two", "a", "b"), Edge("leg", "b", "a")})
    assert {"one", "two"} & drive(beside, {"one": 1, "two": 1}).unsure
    held = frozenset(edge._replace(check=edge.branch != "leg") for edge in beside)
    assert all(flow.sign > 0 for flow in drive(held, {"one": 1, "two": 1}).flows)


def test_a_pump_between_shut_check_valves_moves_nothing() -> None:
    """The way home is shut both ways round: what leaks back through the valves must not count as flow."""
    dead = edges("a-c", "c-m", "c>m", "m>h", "a>h")
    assert signs(dead, a_c=1) == {}
