"""Members in groups that merge, against a walk from each member to all it can reach."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from heatwright.plant.groups import Groups, joined

LINKS = st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=15)


def reach(start: int, links: list[tuple[int, int]]) -> set[int]:
    """All that hangs together with `start`."""
    found = {start}
    while more := {end for link in links if found & {*link} for end in link} - found:
        found |= more
    return found


def test_a_member_stands_for_itself_until_it_is_merged() -> None:
    groups: Groups[str] = Groups()
    assert groups.head("a") == "a"
    groups.merge("a", "b")
    groups.merge("c", "d")
    assert groups.head("a") == groups.head("b") != groups.head("c") == groups.head("d")
    groups.merge("d", "a")
    assert len({groups.head(member) for member in "abcd"}) == 1
    assert groups.head("e") == "e"


@given(LINKS)
def test_two_members_have_one_head_if_a_walk_leads_from_one_to_the_other(links: list[tuple[int, int]]) -> None:
    groups: Groups[int] = Groups()
    for one, other in links:
        groups.merge(one, other)
    for one in range(10):
        assert {other for other in range(10) if groups.head(other) == groups.head(one)} == reach(one, links)


@given(LINKS)
def test_links_come_in_groups_in_the_order_first_met(links: list[tuple[int, int]]) -> None:
    found = joined(links, lambda link: link)
    assert sorted(link for group in found for link in group) == sorted(links)
    for group in found:
        assert group == [link for link in links if link[0] in reach(group[0][0], links)]
    firsts = [links.index(group[0]) for group in found]
    assert firsts == sorted(firsts)
    assert joined([], lambda link: link) == []
