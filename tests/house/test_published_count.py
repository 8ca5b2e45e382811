"""Published check values: enough of them, from every field, each with its row id."""

import re
import subprocess
import sys
from collections import Counter
from functools import cache

import pytest

from tools.sources import ROOT, modules

ROW = re.compile(r"\b([A-Z]{2})-(\d+)")
LEAST = 150
FIELDS = "VC HX PS GL FR NU NW TR CO SO SK BA EM RL CY SY".split()


@cache
def collected() -> tuple[str, ...]:
    """Return the node ids of tests/physics and tests/balance, as pytest itself lists them."""
    answer = subprocess.run(
        [
            sys.executable,
            "-m",
            "pytest",
            "--collect-only",
            "-p",
            "no:cacheprovider",
            "-p",
            "no:xdist",
            "tests/physics",
            "tests/balance",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 0, answer.stdout[-2000:]
    return tuple(line for line in answer.stdout.splitlines() if "::" in line)


def rows() -> set[str]:
    """Return the distinct row ids among the collected tests."""
    return {match.group(0) for node in collected() for match in ROW.finditer(node.partition("[")[2])}


def test_enough_published_rows() -> None:
    by_field = Counter(row[:2] for row in rows())
    assert sum(by_field.values()) >= LEAST, dict(by_field)


@pytest.mark.parametrize("field", FIELDS)
def test_every_field_has_rows(field: str) -> None:
    assert any(re.match(field, row) for row in rows())


@pytest.mark.parametrize("file", modules(ROOT, "tests/physics"), ids=lambda path: path.stem)
def test_file_carries_rows_and_their_source(file) -> None:
    """A file under tests/physics holds published values: row ids, and where they were published."""
    name = str(file.relative_to(ROOT))
    assert any(ROW.search(node.partition("[")[2]) for node in collected() if node.startswith(name))
    assert re.search(r"(?i)\bsource|closed form|from memory|common practice", file.read_text())
