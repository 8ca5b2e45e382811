"""A stored quantity carries its unit at the end of its name."""

import ast
import re

import pytest

from heatwright.kernel.names import DERIVED
from tools.sources import module_name, modules, parse

QUANTITY = re.compile(r"(t|p|dp|q|u|i|mdot|vdot|energy|mass|flow|power|heat|pressure|temperature|time)_")
UNITS = (
    "k c pa w kw j kwh kg g s h m m2 m3 a v c ohm hz rad nm n usd px "
    "kg_per_s m3_per_s m_per_s w_per_k w_per_m2 j_per_k j_per_kg rad_per_s"
).split()
UNIT_END = re.compile(rf"_({'|'.join(UNITS)})$|_per_[a-z]+\d?$")


def unmarked(name: str) -> bool:
    """Whether a name begins as a quantity and does not end in a unit."""
    return bool(QUANTITY.match(name)) and not UNIT_END.search(name)


def stored_names() -> list[tuple[str, str]]:
    """Return (class, name) of every field that holds a number or an array of numbers."""
    out = []
    for file in modules():
        for node in ast.walk(parse(file)):
            if not isinstance(node, ast.ClassDef):
                continue
            for item in node.body:
                if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name):
                    kind = ast.unparse(item.annotation)
                    if re.match(r"(float|np\.ndarray|NDArray)", kind):
                        out.append((f"{module_name(file)}.{node.name}", item.target.id))
    return out


def test_fields_carry_their_unit() -> None:
    fields = stored_names()
    assert fields
    assert not [f"{owner}.{name}" for owner, name in fields if unmarked(name)]


def test_signals_carry_their_unit() -> None:
    assert DERIVED
    assert not [name for name in DERIVED if unmarked(name)]


@pytest.mark.parametrize(
    ("name", "bad"),
    [("t_pack", True), ("t_pack_k", False), ("p_cond_pa", False), ("mdot_cabin", True), ("u_w_per_k", False)],
)
def test_the_rule_itself(name: str, bad: bool) -> None:
    assert unmarked(name) == bad
