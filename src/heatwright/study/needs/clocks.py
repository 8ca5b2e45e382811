"""A plant against a sheet of needs: every trip and test marched once, every line judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from heatwright.compiler.build import compile_program
from heatwright.errors import InputError, RunError
from heatwright.outcome import first_time_s
from heatwright.plant.model import Plant
from heatwright.run import Run, plain
from heatwright.simulate import simulate
from heatwright.study import glass
from heatwright.study.draws import side_by_side
from heatwright.study.needs.figures import FIGURES, Window
from heatwright.study.needs.sheet import Need, Sheet
from heatwright.study.needs.why import bound, why
from heatwright.study.stops import settled_case

Progress = Callable[[float, float], Any]
SLACK = 1e-9


@dataclass(frozen=True)
class Answer:
    """One line of the sheet as a plant answers it.

    `found` is None where the mark was never reached; `margin` is what is left to the limit, below zero for a miss.
    """

    need: Need
    found: float | None
    margin: float | None
    passed: bool
    why: str

    @property
    def limit(self) -> float:
        """The limit, most or least [SI]."""
        return float(self.need.least if self.need.most is None else self.need.most)  # type: ignore[arg-type]


@dataclass(frozen=True)
class Marched:
    """One trip or test as it was marched: how well the solver did, and what went wrong if it could not go on."""

    test: str
    residual_relative: float | None
    not_solved_steps: int
    flow_not_solved: int
    failed: str = ""


@dataclass(frozen=True)
class Clocks:
    """A plant's answers to a sheet, in the sheet's order."""

    plant: str
    sheet: Sheet
    answers: tuple[Answer, ...]
    marched: tuple[Marched, ...]

    @property
    def passed(self) -> int:
        """How many needs are met."""
        return sum(one.passed for one in self.answers)

    def as_json(self) -> dict[str, Any]:
        """Return sheet, answers and solver as plain JSON values, SI."""
        needs = [
            {
                "need": a.need.name, "asks": a.need.asks, "figure": a.need.figure,
                "test": a.need.trip or a.need.glass, "found": a.found, "limit": a.limit,
                "bound": "least" if a.need.most is None else "most", "margin": a.margin, "passed": a.passed,
                "why": a.why, "source": a.need.source,
            }
            for a in self.answers
        ]  # fmt: skip
        found: dict[str, Any] = plain({
            "sheet": self.sheet.name, "passed": self.passed, "of": len(self.answers), "needs": needs,
            "marched": self.marched,
        })  # fmt: skip
        return found


def answer_sheet(plant: Plant, sheet: Sheet, progress: Progress | None = None) -> Clocks:
    """March a plant through every trip and test of a sheet and judge every line.

    A test that cannot be marched fails the lines that hang on it, with the reason; it is no error. Marches run beside
    each other. progress(done, total) counts them.
    """
    tests = list(dict.fromkeys(need.test for need in sheet.needs))
    groups = [[need for need in sheet.needs if need.test == test] for test in tests]
    answers: dict[str, Answer] = {}
    marched = []
    for told, own in side_by_side(lambda group: _answers(plant, sheet, group), groups):
        answers |= {one.need.name: one for one in own}
        marched.append(told)
        if progress is not None:
            progress(len(marched), len(groups))
    return Clocks(plant.name, sheet, tuple(answers[need.name] for need in sheet.needs), tuple(marched))


def _answers(plant: Plant, sheet: Sheet, needs: Sequence[Need]) -> tuple[Marched, list[Answer]]:
    """March one test and judge the needs that hang on it."""
    test = needs[0].trip or needs[0].glass
    try:
        if needs[0].trip:
            case = settled_case([plant], sheet.trips[needs[0].trip])
            run = simulate(compile_program(plant, case), case)
            own = [_on_trip(plant, run, need) for need in needs]
        else:
            found = glass.glass_run(plant, glass.Asked(test, needs[0].test[1], people=_people(test)))
            run = found.run
            own = [_in_chamber(plant, found, need) for need in needs]
    except (InputError, RunError) as failure:
        reason = failure.problems[0].found if isinstance(failure, InputError) else str(failure)
        lost = [Answer(need, None, None, False, f"not marched: {reason}") for need in needs]
        return Marched(test, None, 0, 0, reason), lost
    health = run.health
    told = Marched(
        test, float(run.ledger["residual_relative"]), int(health["circuit_not_solved_steps"]),
        int(health["flow_not_solved"]),
    )  # fmt: skip
    return told, own


def _people(test: str) -> int:
    return 1 if test == "defrost" else 5


def _on_trip(plant: Plant, run: Run, need: Need) -> Answer:
    window = FIGURES[need.figure].find(run, need)
    return judged(need, window, why(plant, run, need, window))


def _in_chamber(plant: Plant, found: glass.Found, need: Need) -> Answer:
    """Judge one vision area of a defrost or demist run."""
    run, share = found.run, found.shares[need.area]
    since = int((run.t_s < found.since_s).sum())
    took = first_time_s(run.t_s, share, need.share or 0.0, since)
    last = len(run.t_s) - 1 if took is None else since + int((run.t_s[since:] < found.since_s + took).sum())
    limits = "; ".join(bound(plant, run, since, last)) or "nothing stood at its limit"
    rule = f"rule {found.rule}: {limits}" if found.rule else limits
    ends = "" if took is not None else f"{100.0 * float(share[-1]):.0f} % clear at the end; "
    return judged(need, Window(took, since, last), ends + rule)


def judged(need: Need, window: Window, sentence: str) -> Answer:
    """Return the answer to one line: a mark that was never reached is a miss without a margin."""
    if window.value is None:
        return Answer(need, None, None, False, sentence)
    limit = float((need.least if need.most is None else need.most) or 0.0)
    margin = (window.value - limit) * (1.0 if need.most is None else -1.0) + 0.0  # no -0.0
    return Answer(need, window.value, margin, margin >= -SLACK * max(abs(limit), 1.0), sentence)
