"""States of one net: a chain of loops that cannot be taken apart, and where its time goes."""

import gc
from pathlib import Path

import pytest
from atlas_plants import chain_text, written

from heatwright.modes.facets import faces_of
from heatwright.modes.read_nets import nets_of

FIBONACCI = {1: 5, 2: 13, 3: 34, 4: 89, 5: 233, 8: 4181}
"""Each loop stands, or runs, joined to the running one before it or not: every second Fibonacci number."""


@pytest.mark.parametrize("valves", [1, 2, 3, 4, pytest.param(5), pytest.param(8, marks=pytest.mark.long)])
def test_chain(valves: int, tmp_path: Path) -> None:
    net = nets_of(written(tmp_path, chain_text(valves)))[0]
    faces = faces_of(net)
    assert net.size == 3**valves * 2 ** (valves + 1)
    assert len(faces.facets) == FIBONACCI[valves]
    assert sum(facet.combinations for facet in faces.facets) == net.size
    assert not faces.illegal


def test_progress_is_told_to_the_end(tmp_path: Path) -> None:
    shares: list[float] = []
    faces_of(nets_of(written(tmp_path, chain_text(3)))[0], shares.append)
    assert shares == sorted(shares)
    assert shares[0] < 0.3
    assert shares[-1] == pytest.approx(1.0)


def test_the_collector_is_paused_and_comes_back(tmp_path: Path) -> None:
    net = nets_of(written(tmp_path, chain_text(1)))[0]
    running: list[bool] = []
    faces_of(net, lambda share: running.append(gc.isenabled()))
    assert not any(running)
    assert gc.isenabled()
    with pytest.raises(ZeroDivisionError):
        faces_of(net, lambda share: 1 / 0)
    assert gc.isenabled()
