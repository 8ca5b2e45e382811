"""Write docs/start/claims.md afresh from runs, or with --check say whether it still agrees."""

from __future__ import annotations

import sys

from heatwright.study.claims import Claim
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "start" / "claims.md"
HEAD = """# Sentences of the trade, tried

Things people say about heat in electric cars (common practice, without a source), and what runs of the shipped plants
say of them: *true*, *true when*, *false*, or *open* where a model or a control that is not there yet would be needed.
The page is written by `make docs` from runs; the tool is not tuned to agree. One invented car, so the bound counts, not
the third digit.
"""


def claims_text() -> str:
    """Every claim as a section: sentence, verdict, bound, figures."""
    from heatwright.progress import Progress
    from heatwright.study.claims import claims

    with Progress("trying") as step:
        found = claims(step)
    return "".join(section(one) for one in found)


def section(claim: Claim) -> str:
    """One claim as the page shows it."""
    lines = ["", f"## {claim.sentence}", "", f"**{claim.verdict.capitalize()}.** {claim.bound}", ""]
    if claim.figures:
        lines += ["| figure | found |", "| --- | ---: |"]
        for words, value, unit in claim.figures:
            lines.append(f"| {words} | {'none' if value is None else f'{shown(value)} {unit}'.strip()} |")
    return "\n".join(lines) + ("\n" if claim.figures else "")


def shown(value: float) -> str:
    """A figure to two or three digits."""
    from heatwright.study.table import number

    size = abs(value)
    return number(value, 0 if size >= 100 else 1 if size >= 10 else 2)


if __name__ == "__main__":
    sys.exit(write_page(PAGE, lambda _: HEAD + claims_text(), __doc__))
