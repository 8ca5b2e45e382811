"""Run the stories and write docs/guide/stories.md and the folders of the stories afresh, or with --check compare."""

from __future__ import annotations

import sys
from textwrap import fill
from typing import NamedTuple

from heatwright.study.stories import STORIES
from heatwright.study.story import Told, tell
from tools.sources import ROOT
from tools.written import write_page

PAGE = ROOT / "docs" / "guide" / "stories.md"
WIDTH = 118
DIGITS = 5
HEAD = """# Stories

Six questions about heat in a car, each answered by one trip driven in ways that differ in one thing. Nothing is tuned
to give an answer: where a run says that something does not pay, it stands here. `heatwright story --list` names them,
`heatwright story NAME` drives one, with `--json` for every figure. All ways run under dispatch, but for those marked
*table* and those that hold pump, fan and blower at full speed. This page and the folders behind its links are written
by `make docs` from runs of invented cars; see the [cautions](../start/cautions.md).
"""


class Words(NamedTuple):
    """What is told of a story beside its runs: what differs between the ways, and how to read the table."""

    ways: str
    reading: str
    caution: str


PACK_CAUTION = "a lithium-ion pack must not be charged or heated outside its limits; "
TOLD = {
    "sun_in_the_pack": Words(
        "A bright day at the end of winter: up to a terrace, five hours with the glass towards the sun, two in shade, "
        "home in "
        "the frost. The plants can bring cabin heat into the pack and use heat of the pack for the cabin; `joined` and "
        "`plate_in_pack` can warm their packs, but cannot give that heat to the cabin. One way may not move heat into "
        "the "
        "pack, one leaves the pack alone altogether, so that outside air is the source; in one, heat in the pack is "
        "priced "
        "higher, and in one a car that is awake draws no 12 V load.",
        "A car that is awake draws 200 W more than one asleep, before pumps and blower. Most of what the pack gains "
        "while it stands comes by itself, through floor and air, asleep. Heat left in the pack at the end is not "
        "counted in the score. A high price makes dispatch lift heat into the pack as well, from the cabin or from "
        "outside, driving and standing.",
        PACK_CAUTION,
    ),
    "ready_for_the_charge": Words(
        "An hour at −6 °C to a station of direct current, half an hour on. One way prices heat in the pack by the "
        "charge that "
        "comes; one has a price of nothing, so that the pack is warmed only where it must be; one is the plant's own "
        "table, "
        "which warms on the flag `prepare`.",
        "All ways stay as long as the slowest of them, and who waits is kept warm: part of what is drawn in all is "
        "that. The "
        "score counts 6 kW while people wait for the charge.",
        PACK_CAUTION,
    ),
    "heat_into_the_cabin": Words(
        "A trailer of two tonnes up a gorge at 44 °C. No shipped plant can send its drive unit's heat into the cabin "
        "without a "
        "compressor, so the story has a plant of its own, whose heater core stands in the drive unit's loop. Two ways "
        "hold pump, "
        "fan and blower at full speed and lead fresh air past that core or through it; one cools the cabin, under "
        "dispatch, "
        "which runs pump and fan no faster than needed, so that its drive unit is warmer. Two more ways have a "
        "radiator a fifth as good, clogged or far too small.",
        "What the core takes is bounded: air of the cabin's blower, warmed from outside to the coolant's temperature. "
        "The "
        "radiator in front has many times as much wind. People in a cabin as hot as this come to harm: nobody should "
        "drive so.",
        "heat stroke in a cabin that hot; ",
    ),
    "no_heater_in_deep_cold": Words(
        "Ninety minutes from −20 °C. `reversing` has a heat pump and an air heater, `plain` a coolant heater; `router` "
        "has "
        "neither, but a drive unit that runs badly on purpose and a ring of air round its coils that is opened by "
        "degrees. Its "
        "table uses both. Two ways take one of them from dispatch.",
        "*Closed ring* means the states in which air reaches nobody; states that let part of the air out stay. What "
        "such a ring "
        "can do alone: [heat without a heater](../heat_without_a_heater/README.md). The control decides more than the "
        "part here: a ring that reaches nobody serves no need of the cabin, so dispatch never has a reason to close "
        "it, while the table does so for minutes.",
        "fogged glass while driving is dangerous; ",
    ),
    "mild_rain": Words(
        "Four people in wet coats, an hour in rain at 13 °C. One coil dries the air and the next rewarms it with what "
        "the first "
        "took out; one way forbids that; `plain` has a heater for the rewarming, `router` has no heater.",
        "The table keeps the cabin at once at its set-point and above, dispatch lets it warm slowly: part of the "
        "difference is "
        "that. The water carried in evaporates either way.",
        "fogged glass while driving is dangerous; ",
    ),
    "towing_in_the_heat": Words(
        "A boat on a trailer for an hour at 38 °C, with a long grade in the middle. One way gives heat in the pack no "
        "price, so "
        "that the pack is cooled only at its limit.",
        "Wear of warm cells is counted by a rule of thumb with an invented weight: it decides how much cooling of the "
        "pack is "
        "worth. The table cools earlier and harder than that weight asks for.",
        PACK_CAUTION,
    ),
}
CAUTIONS = (
    "Cautions: {}high voltage; refrigerant under pressure, mildly flammable; hot and toxic coolant. The result is an "
    "engineering estimate, not a release for the road; local codes, the maker's instructions and licensed practice "
    "come first."
)


def readme(told: Told) -> str:
    """Return the README of a story's folder."""
    name = told.story.name
    words = TOLD[name]
    head = [f"# {told.trip}", f"*{told.story.question}*", fill(words.ways, WIDTH)]
    call = f"```\nheatwright story {name}\n```"
    files = (
        f"Its trip: `src/heatwright/data/stories/{name}.trip.toml`. `expected.toml` holds the figures that the tests "
        f"compare "
        "with. This page is written by `make docs` from the runs."
    )
    rest = (told.answer, words.reading, files, CAUTIONS.format(words.caution))
    return (
        "\n\n".join(
            [*head, call, "\n".join(markdown(told)), *(fill(one, WIDTH, break_on_hyphens=False) for one in rest)]
        )
        + "\n"
    )


def markdown(told: Told) -> list[str]:
    """Return a story's table, a column a way."""
    sideways = [list(line) for line in zip(*told.rows(), strict=True)]
    lines = ["| " + " | ".join(cells) + " |" for cells in sideways]
    return [lines[0], "| --- |" + " ---: |" * len(told.story.ways), *lines[1:]]


def expected(told: Told) -> str:
    """Return the figures of every way that the table shows."""
    lines = []
    for way in told.story.ways:
        lines.append(f"[way.{way.name}]")
        for column in told.story.columns:
            value = told.figures[way.name].get(column.key)
            if value is not None:
                lines.append(f"{column.key} = {float(f'{value:.{DIGITS}g}')}")
        lines.append("")
    return "\n".join(lines[:-1]) + "\n"


def page(all_told: list[Told]) -> str:
    """Return the page of all stories."""
    parts = [HEAD]
    for told in all_told:
        link = f"[the runs](../../examples/{told.story.name}/README.md)"
        parts.append(
            f"\n## {told.story.question}\n\n" + fill(f"{told.answer} See {link}.", WIDTH, break_on_hyphens=False) + "\n"
        )
    return "".join(parts)


def main() -> int:
    """Run every story once and write, or check, all that comes of it."""
    all_told = [tell(story) for story in STORIES.values()]
    worst = write_page(PAGE, lambda _: page(all_told), __doc__)
    for told in all_told:
        folder = ROOT / "examples" / told.story.name
        folder.mkdir(exist_ok=True)
        worst |= write_page(folder / "README.md", lambda _, told=told: readme(told), __doc__)  # type: ignore[misc]
        worst |= write_page(folder / "expected.toml", lambda _, told=told: expected(told), __doc__)  # type: ignore[misc]
    return worst


if __name__ == "__main__":
    sys.exit(main())
