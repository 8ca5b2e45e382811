"""What hangs together: members in groups that merge."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import Generic, TypeVar

Member = TypeVar("Member", bound=Hashable)
Link = TypeVar("Link")


class Groups(Generic[Member]):
    """Members that belong together: each in one group, alone until it is merged."""

    def __init__(self) -> None:
        self._above: dict[Member, Member] = {}

    def head(self, member: Member) -> Member:
        """Return the member that stands for the group."""
        above = self._above
        above.setdefault(member, member)
        while above[member] != member:
            above[member] = above[above[member]]
            member = above[member]
        return member

    def merge(self, one: Member, other: Member) -> None:
        """Put two members, and all that goes with them, into one group."""
        self._above[self.head(one)] = self.head(other)


def joined(links: Iterable[Link], ends: Callable[[Link], tuple[Member, Member]]) -> list[list[Link]]:
    """Return the links in groups that hang together by their ends, groups and links in the order first met.

    >>> joined(["ab", "xy", "cb"], lambda link: (link[0], link[1]))
    [['ab', 'cb'], ['xy']]
    """
    links = list(links)
    groups: Groups[Member] = Groups()
    for link in links:
        groups.merge(*ends(link))
    found: dict[Member, list[Link]] = {}
    for link in links:
        found.setdefault(groups.head(ends(link)[0]), []).append(link)
    return list(found.values())
