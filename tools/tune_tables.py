"""Tune the decision tables of shipped plants on eight drawn days: python -m tools.tune_tables PLANT... [--apply].

A table is written by hand. Then a few named groups of its thresholds (`tools.tune_groups`) are moved, one group by
one step at a time, and the plant is driven through days 1001 to 1008 by its table, read through the declared sensors
as `heatwright days` does. Budget: 200 runs a plant, the table as written included. A day with a fast charge takes
two, one of them to find when the charge ends. A group goes up by a step; if that is not taken, down; once all had
their turn, those that were taken go on. A setting is taken only if the mean of its scores, each over that of the
table as written, falls by LEAST_GAIN against the best so far, no day is worse than as written by more than MOST_LOSS,
and no day has more vetoes. There is no chance in it.

At the end the tables as written and as tuned are driven through days 2001 to 2008, on which nothing is decided but
this: a tuned table that is worse there on the mean is not shipped. The result goes to tools/tuned/PLANT.json. --apply
writes the table into the plant file, tuned or left as written, with a line that says which. A plant that was tuned
before is tuned again from the table as written. One that extends another is tuned in what its own file says: tune the
other first.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from tools.sources import ROOT
from tools.tune_groups import GROUPS, Group, moved, numbers_of, of_group

PLANTS = ROOT / "src" / "heatwright" / "data" / "plants"
HOME = ROOT / "tools" / "tuned"
ENDING = ".plant.toml"
SEEDS = tuple(range(1001, 1009))
OTHER_SEEDS = tuple(range(2001, 2009))
BUDGET = 200
LEAST_GAIN = 0.002
"""Part of the mean ratio by which a setting must be better than the best so far [-]: less is chance."""
MOST_LOSS = 0.01
"""Part by which a day may be worse than under the table as written [-]."""
IN_ORDER = (
    "plain", "pad_beneath", "three_loops", "joined", "reversing", "plate_in_pack", "reversing_two_coils",
    "carbon_dioxide", "router", "secondary",
)  # fmt: skip
"""Every plant with a table, one that extends another after it."""
LEFT_ALONE = {"plain": {"heating_air", "dry_coil"}, "three_loops": {"pack_heat", "dry_coil"}, "joined": {"pack_heat"}}
"""Groups that a plant's service forbids: `plain` must have its cabin at 20 degC within 25 min on the shipped winter
day and its compressor must not start too often on the rainy one, the others must keep their cells below 36.5 degC on
the summer day with charges."""
MARK = "# tuned:"
CONTROL = "[control"


@dataclass(frozen=True)
class Outcome:
    """What a table came to, by day: score [kWh], glass part [kWh], changes of rule an hour, vetoes; and runs."""

    score_kwh: tuple[float, ...]
    fog_kwh: tuple[float, ...]
    switches_per_h: tuple[float, ...]
    vetoes: tuple[int, ...]
    runs: int

    def ratios(self, base: Outcome) -> tuple[float, ...]:
        """Return each day's score over another's [-]."""
        return tuple(own / other for own, other in zip(self.score_kwh, base.score_kwh, strict=True))

    def ratio(self, base: Outcome) -> float:
        """Return the mean over the days of its score over another's [-]."""
        return sum(self.ratios(base)) / len(self.score_kwh)

    def spares(self, base: Outcome) -> bool:
        """Return whether no day is worse than another's by more than may be, or has more vetoes."""
        vetoed = any(own > other for own, other in zip(self.vetoes, base.vetoes, strict=True))
        return not vetoed and max(self.ratios(base)) <= 1.0 + MOST_LOSS


@dataclass(frozen=True)
class Trial:
    """One setting that was driven: the group moved, by how many steps in all, what it came to, whether it was taken."""

    group: str
    steps: int
    mean_ratio: float
    worst_ratio: float
    is_taken: bool


Drive = Callable[[str], Outcome]


@dataclass
class Search:
    """A search from a text as written, within a budget of runs."""

    text: str
    fits: Callable[[str], bool]
    drive: Drive
    budget: int = BUDGET
    left_alone: Set[str] = frozenset()
    steps: dict[str, int] = field(default_factory=dict)
    trials: list[Trial] = field(default_factory=list)
    runs: int = 0

    def run(self, each: Callable[[], None] = lambda: None) -> None:
        """Drive the table as written, then setting after setting while the budget lasts."""
        self.base = self.outcome = self._driven(self.text)
        self.best = self.text
        each()
        numbers = numbers_of(self.text)
        groups = [one for one in GROUPS if one.name not in self.left_alone and of_group(one, numbers)]
        for group in groups:
            if not self._taken(group, 1, each):
                self._taken(group, -1, each)
        going = True
        while going:
            on = [(one, 1 if self.steps[one.name] > 0 else -1) for one in groups if self.steps.get(one.name)]
            taken = [self._taken(one, way, each) for one, way in on]
            going = any(taken)

    def written(self, steps: Mapping[str, int]) -> str:
        """Return the text with its groups so many steps from where they were written."""
        text = self.text
        for group in GROUPS:
            if steps.get(group.name):
                text = moved(text, group, steps[group.name])
        return text

    def _driven(self, text: str) -> Outcome:
        found = self.drive(text)
        self.runs += found.runs
        return found

    def _taken(self, group: Group, way: int, each: Callable[[], None]) -> bool:
        steps = {**self.steps, group.name: self.steps.get(group.name, 0) + way}
        text = self.written(steps)
        if self.runs + self.base.runs > self.budget or text == self.best or not self.fits(text):
            return False
        found = self._driven(text)
        better = found.ratio(self.base) < (1.0 - LEAST_GAIN) * self.outcome.ratio(self.base)
        taken = better and found.spares(self.base)
        self.trials.append(
            Trial(group.name, steps[group.name], found.ratio(self.base), max(found.ratios(self.base)), taken)
        )
        if taken:
            self.steps, self.best, self.outcome = steps, text, found
        each()
        return taken


def changes(before: str, after: str) -> Iterator[dict[str, Any]]:
    """Yield every number that differs between two texts of the same table."""
    for old, new in zip(numbers_of(before), numbers_of(after), strict=True):
        if old.value != new.value:
            yield {"place": old.place, "unit": old.unit, "before": old.value, "after": new.value}


def undone(text: str, values: Sequence[Mapping[str, Any]]) -> str:
    """Return a plant's text with the numbers that tuning changed as they were written."""
    before = {(one["place"], one["unit"], one["after"]): one["before"] for one in values}
    for one in reversed(numbers_of(text)):
        old = before.get((one.place, one.unit, one.value))
        if old is not None:
            text = f"{text[: one.start]}{one.written(old)}{text[one.end :]}"
    return text


def bare(text: str) -> str:
    """Return a plant's text without the line that says how its table was tuned."""
    return "".join(line for line in text.splitlines(keepends=True) if not line.startswith(MARK))


def digest(text: str) -> str:
    """Return the digest by which a result knows a text, whatever its line on tuning says."""
    return hashlib.sha256(bare(text).encode()).hexdigest()


def marked(text: str, words: str) -> str:
    """Return a plant's text with a line on tuning above its control table."""
    lines = bare(text).splitlines(keepends=True)
    first = next(k for k, line in enumerate(lines) if line.startswith(CONTROL))
    return "".join([*lines[:first], f"{MARK} {words}\n", *lines[first:]])


def words_of(said: Mapping[str, Any]) -> str:
    """Return what the line in the plant file says of a result."""
    budget = f"{said['runs']} runs on drawn days {SEEDS[0]} to {SEEDS[-1]}, tools/tuned/{said['plant']}.json"
    if not said["trials"]:
        return f"its own file has no group to move; {budget}"
    if not said["values"]:
        return f"nothing that was tried bettered it; {budget}"
    if not said["ships_tuned"]:
        return f"not taken, worse on days {OTHER_SEEDS[0]} to {OTHER_SEEDS[-1]}; {budget}"
    return budget


def result(plant: str, search: Search, others: Mapping[str, Outcome]) -> dict[str, Any]:
    """Return all that is kept of a search; others : the outcomes on days that it did not see, before and after."""
    other_ratio = others["after"].ratio(others["before"])
    groups = {one.name: one for one in GROUPS}
    return {
        "plant": plant,
        "digest_as_written": digest(search.text),
        "budget": BUDGET,
        "runs": search.runs,
        "seeds": list(SEEDS),
        "least_gain": LEAST_GAIN,
        "most_loss": MOST_LOSS,
        "steps": {name: {"steps": count, "says": groups[name].says} for name, count in search.steps.items() if count},
        "values": list(changes(search.text, search.best)),
        "ratio": search.outcome.ratio(search.base),
        "before": asdict(search.base),
        "after": asdict(search.outcome),
        "trials": [asdict(one) for one in search.trials],
        "other_days": {"seeds": list(OTHER_SEEDS), "ratio": other_ratio, **{k: asdict(v) for k, v in others.items()}},
        "ships_tuned": bool(search.steps) and other_ratio <= 1.0,
    }


class Bench:
    """Drawn days, ready to be driven by any text of a plant."""

    def __init__(self, folder: Path) -> None:
        self.file = folder / f"tuned{ENDING}"
        for shipped in PLANTS.glob(f"*{ENDING}"):
            shutil.copy(shipped, folder)

    def fits(self, text: str) -> bool:
        """Return whether the text is a plant without a mistake."""
        from heatwright.errors import InputError

        try:
            self._plant(text)
        except InputError:
            return False
        return True

    def drive(self, text: str, seeds: Sequence[int] = SEEDS) -> Outcome:
        """Return the outcome of a plant's text over the days, as `heatwright days` scores them."""
        from heatwright.dispatch.days import day
        from heatwright.study.days import TABLE, many_days
        from heatwright.study.stops import KIND

        days = many_days(self._plant(text), seeds, (TABLE,)).days
        scores = [one.scores[TABLE] for one in days]
        return Outcome(
            tuple(one.score_kwh for one in scores),
            tuple(one.fog_kwh for one in scores),
            tuple(one.switches_per_h or 0.0 for one in scores),
            tuple(len(one.vetoes) for one in scores),
            sum(1 + sum(leg.kind == KIND for leg in day(seed).legs) for seed in seeds),
        )

    def _plant(self, text: str) -> Any:
        from heatwright.plant.load import load_plant

        self.file.write_text(text, encoding="utf-8")
        return load_plant(str(self.file))


def written_by_hand(name: str) -> str:
    """Return the text of a plant with its table as written, before any tuning."""
    text = bare((PLANTS / f"{name}{ENDING}").read_text(encoding="utf-8"))
    file = HOME / f"{name}.json"
    if not file.exists():
        return text
    said = json.loads(file.read_text(encoding="utf-8"))
    before = undone(text, said["values"])
    return before if digest(before) == said["digest_as_written"] else text


def tune(name: str, apply: bool) -> dict[str, Any]:
    """Tune one plant, judge it on other days and keep the result; with apply write what ships into the plant file."""
    from heatwright.progress import Progress

    text = written_by_hand(name)
    with tempfile.TemporaryDirectory() as folder, Progress(f"tuning {name}") as progress:
        bench = Bench(Path(folder))
        search = Search(text, bench.fits, bench.drive, left_alone=LEFT_ALONE.get(name, frozenset()))
        search.run(lambda: progress(search.runs, BUDGET))
        before = bench.drive(text, OTHER_SEEDS)
        after = bench.drive(search.best, OTHER_SEEDS) if search.steps else before
    said = result(name, search, {"before": before, "after": after})
    replaced(HOME / f"{name}.json", json.dumps(said, indent=1) + "\n")
    if apply:
        replaced(PLANTS / f"{name}{ENDING}", marked(search.best if said["ships_tuned"] else text, words_of(said)))
    return said


def replaced(file: Path, text: str) -> None:
    """Write a file whole or not at all."""
    half = file.with_suffix(".part")
    half.write_text(text, encoding="utf-8")
    half.replace(file)


def main() -> int:
    """Tune the plants named, or all that ship with a control table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n\n")[0])
    parser.add_argument("plants", nargs="*", help="shipped plants, in this order; left out, all of them")
    parser.add_argument("--apply", action="store_true", help="write what ships into the plant files")
    asked = parser.parse_args()
    wrong = [name for name in asked.plants if name not in IN_ORDER]
    if wrong:
        parser.error(f"no shipped plant with a table is called {', '.join(wrong)}; there are {', '.join(IN_ORDER)}")
    HOME.mkdir(exist_ok=True)
    for name in asked.plants or IN_ORDER:
        said = tune(name, asked.apply)
        other = said["other_days"]["ratio"]
        print(
            f"{name}: score {said['ratio']:.3f} of that as written on {len(SEEDS)} days, {other:.3f} on "
            f"{len(OTHER_SEEDS)} others; {said['runs']} runs; {'tuned' if said['ships_tuned'] else 'as written'} ships",
            flush=True,
        )
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit("interrupted; plants that were done are kept")
