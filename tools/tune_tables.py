"""Tune the decision table of a shipped plant on eight drawn days: python -m tools.tune_tables PLANT... [--apply].

Budget: 25 settings of the numbers in [control], the first as shipped, each driven through the eight days: 200 runs a
plant. A setting moves some numbers of the best one so far, drawn at random, each by a step of its kind and never far
from where it was shipped; what got better is tried once more in the same direction, what got worse once in the other.
It is taken if the mean over the days of its score over that of the table as shipped falls and no day has more vetoes
than it had. The days are 1001 to 1008; no others are looked at. A fast charge is laid with its longest stay in all
settings, so that every setting is one run a day.

The result goes to tools/tuned/PLANT.json after every setting; stopped, the work goes on from there. --apply writes the
numbers into the plant file, comments kept.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import re
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tools.sources import ROOT

PLANTS = ROOT / "src" / "heatwright" / "data" / "plants"
HOME = ROOT / "tools" / "tuned"
ENDING = ".plant.toml"
SEEDS = tuple(range(1001, 1009))
SETTINGS = 25
MOVED = 0.15
"""Share of the numbers that a fresh setting moves [-]."""
LEAST_MOVED = 4
NUMBER = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) ?(K|degC|%|rpm|kW|W|s|g|bar)(?![\w/])")
TEXT = re.compile(r'"[^"]*"')
KEY = re.compile(r"(\w+)\s*=\s*$")
FIXED_KEYS = {"min_on", "min_off", "dwell"}
"""Least times guard the machine; they are not tuned."""
GUARDS = re.compile(r"drive\.(?!loss)|circuit\.|compressor\.")
"""A line that follows these guards drive unit or circuit, of which the score sees nothing; it is not tuned."""
MOST_RECIRCULATED = 90.0
"""Share of cabin air taken in again up to which an inlet may be tuned [%]: the score does not count stale air."""


@dataclass(frozen=True)
class Kind:
    """How far one step moves a number of a unit, and how far it may come from where it was shipped.

    A share of the number as shipped, but at least `least` in its own unit.
    """

    step: float
    reach: float
    least: float


KINDS = {
    "K": Kind(0.2, 0.5, 0.5), "degC": Kind(0.0, 0.0, 1.5), "%": Kind(0.0, 0.0, 8.0), "rpm": Kind(0.15, 0.3, 0.0),
    "kW": Kind(0.15, 0.3, 0.0), "W": Kind(0.15, 0.3, 0.0), "s": Kind(0.3, 0.6, 0.0), "g": Kind(0.2, 0.4, 0.0),
    "bar": Kind(0.1, 0.2, 0.0),
}  # fmt: skip
REACH_OF_LEAST = 3.0
"""A number may come three least steps from where it was shipped."""


@dataclass(frozen=True)
class Number:
    """One number of a control table: where it stands in the text, what it is, and how far it may go."""

    start: int
    end: int
    line: int
    name: str
    key: str
    unit: str
    shipped: float

    @property
    def step(self) -> float:
        """Return the size of one step, in its unit."""
        kind = KINDS[self.unit]
        return max(kind.step * self.shipped, kind.least)

    def held(self, value: float) -> float:
        """Return the value within its bounds, as it would be written."""
        kind = KINDS[self.unit]
        reach = max(kind.reach * self.shipped, REACH_OF_LEAST * kind.least)
        low = max(self.shipped - reach, 0.0 if self.unit != "K" else min(self.shipped, 0.2))
        high = self.shipped + reach
        if self.unit == "%":
            high = min(high, max(MOST_RECIRCULATED, self.shipped) if self.name.startswith("inlet") else 100.0)
        return float(f"{min(max(value, low), high):.3g}") if value >= 1.0 else round(min(max(value, low), high), 2)


@dataclass(frozen=True)
class Outcome:
    """A setting's scores [kWh] and numbers of vetoes, by day."""

    score_kwh: tuple[float, ...]
    vetoes: tuple[int, ...]

    def ratio(self, base: Outcome) -> float:
        """Return the mean over the days of its score over another's [-]."""
        pairs = zip(self.score_kwh, base.score_kwh, strict=True)
        return sum(own / other for own, other in pairs) / len(self.score_kwh)

    def no_worse_vetoed(self, base: Outcome) -> bool:
        """Return whether no day has more vetoes than another's."""
        return all(own <= other for own, other in zip(self.vetoes, base.vetoes, strict=True))


Values = tuple[float, ...]
Drive = Callable[[str], Outcome]


def numbers_of(text: str) -> tuple[Number, ...]:
    """Return every number of a plant's control table that may be tuned, in order."""
    found: list[Number] = []
    place, inside = 0, False
    for number, line in enumerate(text.splitlines(keepends=True), 1):
        if line.startswith("["):
            inside = line.startswith("[control")
        if inside and not GUARDS.search(line.partition("#")[0]):
            found += _of_line(line, place, number)
        place += len(line)
    return tuple(found)


def _of_line(line: str, place: int, number: int) -> list[Number]:
    found = []
    name = line.partition("=")[0].strip()
    for text in TEXT.finditer(line):
        if "#" in TEXT.sub("", line[: text.start()]):
            break
        key = KEY.search(line[: text.start()])
        if key is None or key[1] in FIXED_KEYS:
            continue
        for one in NUMBER.finditer(text[0]):
            value = float(one[1])
            if value > 0.0 or one[2] in ("K", "degC", "%"):
                start = place + text.start() + one.start(1)
                found.append(Number(start, start + len(one[1]), number, name, key[1], one[2], value))
    return found


def written(text: str, numbers: Sequence[Number], values: Sequence[float]) -> str:
    """Return the text with the values in place of its numbers; one that did not move is left as it was written."""
    for one, value in sorted(zip(numbers, values, strict=True), key=lambda pair: -pair[0].start):
        if value != one.shipped:
            text = f"{text[: one.start]}{value:g}{text[one.end :]}"
    return text


def moved(numbers: Sequence[Number], best: Values, steps: Sequence[float]) -> Values:
    """Return the best values moved by so many of their steps, within bounds; a step of 0 leaves a value alone."""
    return tuple(
        one.held(value + step * one.step) if step else value
        for one, value, step in zip(numbers, best, steps, strict=True)
    )


def drawn_steps(draw: random.Random, count: int) -> list[float]:
    """Return steps for all numbers, most of them 0."""
    chosen = set(draw.sample(range(count), min(max(LEAST_MOVED, round(MOVED * count)), count)))
    return [draw.choice((-1.5, -1.0, -0.5, 0.5, 1.0, 1.5)) if k in chosen else 0.0 for k in range(count)]


class Search:
    """A search of so many settings; what was driven before (`known`) is not driven again."""

    def __init__(self, text: str, fits: Callable[[str], bool], drive: Drive, known: Sequence[Outcome] = ()) -> None:
        self.text, self.fits, self.drive = text, fits, drive
        self.numbers = numbers_of(text)
        self.best: Values = tuple(one.shipped for one in self.numbers)
        self.trials: list[Outcome] = []
        self._known = list(known)
        self._draw = random.Random(1)

    def run(self, settings: int, each: Callable[[], None]) -> None:
        """Try the settings; each() is called after every one."""
        self.base = self.outcome = self._tried(self.best)
        each()
        steps, turned = drawn_steps(self._draw, len(self.numbers)), False
        while len(self.trials) < settings:
            values = moved(self.numbers, self.best, steps)
            if values == self.best or not self.fits(written(self.text, self.numbers, values)):
                steps, turned = drawn_steps(self._draw, len(self.numbers)), False
                continue
            found = self._tried(values)
            if found.ratio(self.base) < self.outcome.ratio(self.base) and found.no_worse_vetoed(self.base):
                self.best, self.outcome, turned = values, found, True
            elif not turned:
                steps, turned = [-step for step in steps], True
            else:
                steps, turned = drawn_steps(self._draw, len(self.numbers)), False
            each()

    def _tried(self, values: Values) -> Outcome:
        count = len(self.trials)
        known = self._known[count] if count < len(self._known) else None
        self.trials.append(known or self.drive(written(self.text, self.numbers, values)))
        return self.trials[-1]

    def as_json(self, plant: str) -> dict[str, Any]:
        """Return everything found so far."""
        changes = [
            {
                "line": one.line,
                "name": one.name,
                "key": one.key,
                "unit": one.unit,
                "before": one.shipped,
                "after": value,
            }
            for one, value in zip(self.numbers, self.best, strict=True)
            if value != one.shipped
        ]
        return {
            "plant": plant, "digest": digest(self.text), "seeds": list(SEEDS), "runs": len(self.trials) * len(SEEDS),
            "numbers": len(self.numbers), "ratio": self.outcome.ratio(self.base),
            "before": vars(self.base), "after": vars(self.outcome), "values": changes,
            "trials": [vars(one) for one in self.trials],
        }  # fmt: skip


def digest(text: str) -> str:
    """Return the digest by which a result knows the text it began from."""
    return hashlib.sha256(text.encode()).hexdigest()


def known_trials(file: Path, text: str) -> list[Outcome]:
    """Return what an earlier, perhaps stopped, search of the same text on the same days found."""
    if not file.exists():
        return []
    said = json.loads(file.read_text(encoding="utf-8"))
    if said["digest"] != digest(text) or said["seeds"] != list(SEEDS):
        return []
    return [Outcome(tuple(one["score_kwh"]), tuple(one["vetoes"])) for one in said["trials"]]


class Bench:
    """The eight days, ready to be driven by any text of a plant."""

    def __init__(self, folder: Path) -> None:
        from heatwright.dispatch.days import day
        from heatwright.trip.load import build_case

        self.file = folder / f"tuned{ENDING}"
        for shipped in PLANTS.glob(f"*{ENDING}"):
            shutil.copy(shipped, folder)
        self.cases = [build_case(day(seed)) for seed in SEEDS]

    def fits(self, text: str) -> bool:
        """Return whether the text is a plant without a mistake."""
        from heatwright.errors import InputError

        try:
            self._plant(text)
        except InputError:
            return False
        return True

    def drive(self, text: str) -> Outcome:
        """Return the outcome of a plant's text over the days."""
        from heatwright.compiler.build import compile_program
        from heatwright.dispatch.score import score
        from heatwright.simulate import simulate
        from heatwright.study.draws import side_by_side

        plant = self._plant(text)
        found = list(side_by_side(lambda c: score(simulate(compile_program(plant, c), c), c), self.cases))
        return Outcome(tuple(one.score_kwh for one in found), tuple(len(one.vetoes) for one in found))

    def _plant(self, text: str) -> Any:
        from heatwright.plant.load import load_plant

        self.file.write_text(text, encoding="utf-8")
        return load_plant(str(self.file))


def tune(name: str, bench: Bench, settings: int) -> Search:
    """Tune one plant and keep what is found after every setting."""
    from heatwright.progress import Progress

    text = (PLANTS / f"{name}{ENDING}").read_text(encoding="utf-8")
    file = HOME / f"{name}.json"
    search = Search(text, bench.fits, bench.drive, known_trials(file, text))
    with Progress(f"tuning {name}") as progress:

        def each() -> None:
            if len(search.trials) >= len(search._known):
                half = file.with_suffix(".part")
                half.write_text(json.dumps(search.as_json(name), indent=1) + "\n", encoding="utf-8")
                half.replace(file)
            progress(len(search.trials), settings)

        search.run(settings, each)
    return search


def main() -> int:
    """Tune the plants named, or all that ship with a control table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("plants", nargs="*", help="shipped plants; left out, all of them")
    parser.add_argument("--settings", type=int, default=SETTINGS, help="settings tried, the first as shipped")
    parser.add_argument("--apply", action="store_true", help="write the numbers found into the plant files")
    asked = parser.parse_args()
    shipped = sorted(file.name.removesuffix(ENDING) for file in PLANTS.glob(f"*{ENDING}"))
    wrong = [name for name in asked.plants if name not in shipped]
    if wrong:
        parser.error(f"no shipped plant is called {', '.join(wrong)}; there are {', '.join(shipped)}")
    HOME.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        for name in asked.plants or shipped:
            file = PLANTS / f"{name}{ENDING}"
            text = file.read_text(encoding="utf-8")
            if not numbers_of(text):
                continue
            found = tune(name, bench, asked.settings)
            vetoes = f"{sum(found.base.vetoes)} to {sum(found.outcome.vetoes)}"
            print(
                f"{name}: score {found.outcome.ratio(found.base):.3f} of that as shipped, vetoes {vetoes}", flush=True
            )
            if asked.apply:
                file.write_text(written(text, found.numbers, found.best), encoding="utf-8")
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit("interrupted; what was found so far is kept, and the same command goes on from there")
