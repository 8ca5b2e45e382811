"""An edit in a compiled callee reaches the answer, although numba watches the caller's file alone."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tools.sources import PACKAGE

CALLEE = "from heatwright.physics.jit import kernel_jit\n@kernel_jit\ndef factor(x):\n    return {factor} * x\n"
CALLER = (
    "from heatwright.physics.jit import kernel_jit\nfrom heatwright.physics.probe_callee import factor\n"
    "@kernel_jit\ndef answer(x):\n    return factor(x) + 1.0\n"
)
PROBE = (
    "from heatwright.physics.jit import source_hash\nfrom heatwright.kernel.probe_caller import answer\n"
    "print(answer(10.0), source_hash(), sum(answer.stats.cache_hits.values()))"
)


def ask(home: Path) -> tuple[float, str, int]:
    """Run the probe in a new process: its answer, the source hash, and how often the cache served it."""
    answer = subprocess.run(
        [sys.executable, "-c", PROBE],
        env={**os.environ, "PYTHONPATH": str(home), "HEATWRIGHT_CACHE": str(home / "cache")},
        cwd=home,
        capture_output=True,
        text=True,
        check=True,
    )
    value, digest, hits = answer.stdout.split()
    return float(value), digest, int(hits)


@pytest.mark.slow
def test_edit_in_a_callee_moves_the_answer(tmp_path: Path) -> None:
    package = tmp_path / "heatwright"
    shutil.copytree(PACKAGE, package, ignore=shutil.ignore_patterns("__pycache__", "data"))
    callee = package / "physics" / "probe_callee.py"
    callee.write_text(CALLEE.format(factor="2.0"))
    (package / "kernel" / "probe_caller.py").write_text(CALLER)

    first, digest, hits = ask(tmp_path)
    assert (first, hits) == (21.0, 0)
    assert ask(tmp_path) == (21.0, digest, 1), "an untouched source is served from the cache"

    callee.write_text(CALLEE.format(factor="3.0"))
    moved, new_digest, hits = ask(tmp_path)
    assert new_digest != digest
    assert (moved, hits) == (31.0, 0)
