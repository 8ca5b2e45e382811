"""Set two result files of run.py side by side: `python benchmarks/compare.py before.json after.json`."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

NOISE = 1.5  # a ratio of times smaller than this between two sittings says nothing
TIMES = ("s", "us")


def values(whole: dict[str, Any]) -> dict[str, tuple[float, str]]:
    """Return every number of a result file with its unit, by name."""
    found = {}
    for row in whole["methods"]:
        found[f"{row['name']}: time"] = (row["elapsed_s"], "s")
        found[f"{row['name']}: rms error"] = (row["rms_k"], "K")
    for readings in whole["readings"].values():
        for one in readings:
            found[one["name"]] = (one["value"], one["unit"])
    return found


def differences(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """Return a line for every number in either file; only changes of times beyond the noise are marked."""
    a, b = values(before), values(after)
    lines = []
    for name in [*a, *(n for n in b if n not in a)]:
        if name not in a or name not in b:
            only = "before" if name in a else "after"
            value, unit = (a if name in a else b)[name]
            lines.append(f"  {name:<68} only {only}: {value:.4g} {unit}")
            continue
        (old, unit), (new, _) = a[name], b[name]
        ratio = new / old if old else float("nan")
        mark = ""
        if unit in TIMES and (ratio > NOISE or ratio < 1.0 / NOISE):
            mark = "slower" if ratio > 1.0 else "faster"
        lines.append(f"  {name:<68} {old:>11.4g} {new:>11.4g} {unit:<4} {ratio:>7.3f} {mark}")
    return lines


def cautions(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """Return why the two files may not be comparable."""
    a, b = before["machine"], after["machine"]
    out = [f"{key} differs: {a[key]} / {b[key]}" for key in ("cpu", "cores", "python", "versions") if a[key] != b[key]]
    out += [f"{which}: load average was {m['load_average'][0]:.2f}"
            for which, m in (("before", a), ("after", b)) if m["load_average"][0] > 0.5]  # fmt: skip
    return out


def main() -> None:
    """Read two files and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("before", type=Path)
    parser.add_argument("after", type=Path)
    given = parser.parse_args()
    before, after = (json.loads(f.read_text(encoding="utf-8")) for f in (given.before, given.after))
    for line in cautions(before, after):
        print(f"caution: {line}")
    print(f"  {'':<68} {'before':>11} {'after':>11}      ratio")
    print("\n".join(differences(before, after)))


if __name__ == "__main__":
    main()
