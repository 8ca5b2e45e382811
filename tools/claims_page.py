"""Write docs/start/claims.md afresh from runs, or with --check say whether it still agrees."""

from __future__ import annotations

import sys

from heatwright.study.claims import Claim
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "start" / "claims.md"
RING = ROOT / "examples" / "heat_without_a_heater" / "ring.plant.toml"
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
    return "".join(section(one) for one in (*found, closed_loop()))


def closed_loop() -> Claim:
    """A closed air loop heated by compressor and blower gives a coefficient of performance just under one."""
    from heatwright.plant.load import load_plant
    from heatwright.study.claims import FALSE, TRUE
    from heatwright.study.made_heat import made_heat
    from heatwright.study.point import Asked

    held = {"inner:round": 1.0, "inner:out": 0.0}
    found = made_heat(load_plant(RING), Asked(243.15, 243.15, fresh=0.0, held=held)).curves
    return Claim(
        "A closed air loop heated by compressor and blower gives a coefficient of performance just under 1.",
        TRUE if all(0.85 <= one.share < 1.0 for one in found) else FALSE,
        "What inverter, motor and shell lose beside the loop is missing; nothing is lifted. How much it can take is "
        "another question: [heat without a heater](../guide/heat-without-a-heater.md).",
        tuple((f"heat in the loop per electricity, {words}", one.share, "")
              for one, words in zip(found, ("hot gas", "evaporator in the ring"), strict=True)),
    )  # fmt: skip


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
