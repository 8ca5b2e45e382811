"""What the tools that write pages from code share: a command line with --check, and the writing itself."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path

from tools.sources import ROOT


def write_page(page: Path, fresh: Callable[[str], str], about: str | None) -> int:
    """Write `fresh(old text)` to a page, or with --check say whether it differs; return the exit status."""
    reader = argparse.ArgumentParser(description=about)
    reader.add_argument("--check", action="store_true", help="change nothing; exit 1 if the page is out of date")
    check = reader.parse_args().check
    old = page.read_text(encoding="utf-8") if page.exists() else ""
    new = fresh(old)
    if check:
        if old != new:
            print(f"{page.relative_to(ROOT)} is out of date: run make docs", file=sys.stderr)
        return int(old != new)
    page.write_text(new, encoding="utf-8")
    print(page.relative_to(ROOT))
    return 0
