"""A method that gives up is a missed target, never a silent one."""

import json
from types import SimpleNamespace

from benchmarks.methods import PAIRS, Row, ratios, side_by_side


def row(name: str, seconds: float) -> Row:
    return Row(name, seconds, seconds, 1, 0.1, "node", 0.1, 0.01, 0.0)


class Bench(SimpleNamespace):
    """All methods answer, but one."""

    def ours(self, high: bool) -> Row:
        return row("ours", 1.0)

    def cvode(self, rtol: float) -> Row:
        return row("cvode", 5.0)

    def engineer(self, method: str, rtol: float) -> Row:
        if method == "LSODA" and rtol == 1e-5:
            raise ArithmeticError("the cycle was not solved")
        return row(method, 1e4)


def test_a_method_that_gives_up_misses_its_target() -> None:
    said: list[str] = []
    found = ratios(side_by_side(Bench(say=said.append)))  # type: ignore[arg-type]
    assert len(found) == len(PAIRS)
    missed = [one for one in found if one.met is False]
    assert [one.name for one in missed] == ["LSODA 1e-05 over high"]
    assert json.loads(json.dumps(missed[0].as_json(), allow_nan=False))["value"] is None
    assert any("gave up" in line for line in said)
