"""A user's own strategy: read from a Python file, asked once a control period, and held to what it may answer."""

from __future__ import annotations

import hashlib
import math
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
from numba.core.dispatcher import Dispatcher

from heatwright.compiler.program import Program
from heatwright.dispatch.candidates import Candidate, Knob
from heatwright.errors import InputError, Problem, RunError
from heatwright.kernel import desk as kd
from heatwright.kernel import dispatch_names as dn
from heatwright.plant.model import Plant

NEEDED = "a class with a method `choose`, or a function compiled by numba"


@dataclass(frozen=True)
class Car:
    """What a strategy is built with: the plant, what may be chosen, signals that may be read, knobs that may be set.

    knobs : name -> (least, most). Numbers are SI, temperatures in K.
    """

    plant: Plant
    candidates: tuple[Candidate, ...]
    signals: tuple[str, ...]
    knobs: Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class Seen:
    """What a strategy is shown once a control period.

    t_s : time since the start [s]. signals : those it named, as sensed. needs : `dispatch_names.NEEDS` by name, 1 or 0
    or W. running : id of the candidate that ran last. held_s : how long it has run [s].
    """

    t_s: float
    signals: Mapping[str, float]
    needs: Mapping[str, float]
    running: str
    held_s: float


@dataclass(frozen=True)
class Own:
    """A strategy as read from a file: its name, the file and its hash, and the class or compiled function."""

    name: str
    file: str
    sha256: str
    made: Any
    module: ModuleType

    @property
    def compiled(self) -> bool:
        """Whether it is a compiled function rather than a class."""
        return isinstance(self.made, Dispatcher)

    @property
    def told(self) -> dict[str, str]:
        """Return what a run's provenance tells of it."""
        return {"strategy_file": self.file, "strategy_sha256": self.sha256}

    def candidates(self, plant: Plant) -> None:
        """Return no candidates of its own: it chooses among those of the atlas."""
        return

    def begin(
        self, plant: Plant, program: Program, known: Sequence[Candidate], knobs: Sequence[Knob], car: Any
    ) -> Chooser:
        """Return the strategy as one that chooses for this plant; InputError where it names what the plant lacks."""
        signals = tuple(program.index.signals)
        asked = _names(self, "SIGNALS" if self.compiled else "signals")
        problems = [_unknown(self.file, "signal", one, signals) for one in asked if one not in signals]
        if self.compiled:
            problems += [
                _unknown(self.file, "candidate", one, [c.id for c in known])
                for one in _names(self, "CANDIDATES")
                if number_of(one, known) is None
            ]
        if problems:
            raise InputError(problems, f"strategy {self.name}")
        places = np.array([signals.index(one) for one in asked], int)
        if self.compiled:
            return _Compiled(self, known, places)
        car = Car(plant, tuple(known), signals, {one.at: (one.least, one.most) for one in knobs})
        try:
            built = self.made(car)
        except (Exception, SystemExit) as failure:
            raise _mistake(_line(self.file, failure), f"{self.name} cannot be built: {_said(failure)}", "") from failure
        return _Slow(self, known, knobs, asked, places, built.choose)


class Chooser:
    """Who says, once a control period, which candidate runs."""

    def choose(
        self, t_s: float, sig: Any, desk: kd.Desk, current: int, held_s: float
    ) -> tuple[int, Mapping[int, float]]:
        """Return the number of a candidate, and values of knobs that are to stand; RunError on nonsense."""
        raise NotImplementedError

    def instead(self) -> Any:
        """Return the actuators for a choice whose knobs cannot be solved now; None: air alone runs."""
        return None


class _Asked(Chooser):
    """A user's strategy, and how its failures are told."""

    def __init__(self, own: Own, known: Sequence[Candidate], places: Any) -> None:
        self.own, self.known, self.places = own, known, places

    def fail(self, t_s: float, where: str, said: str, hint: str = "") -> RunError:
        """Return the one report of a strategy that failed at a time."""
        tried = f"\n    try: {hint}" if hint else ""
        return RunError(
            f"{where}: strategy {self.own.name} at {t_s:.0f} s of the trip: {said}; "
            f"the run stopped with the state of {t_s:.0f} s, and nothing was written{tried}",
            t_s,
        )


class _Compiled(_Asked):
    """The fast path: arrays in, the place in the file's CANDIDATES out."""

    def __init__(self, own: Own, known: Sequence[Candidate], places: Any) -> None:
        super().__init__(own, known, places)
        named = _names(own, "CANDIDATES")
        self.numbers = [n for one in named if (n := number_of(one, known)) is not None]

    def choose(
        self, t_s: float, sig: Any, desk: kd.Desk, current: int, held_s: float
    ) -> tuple[int, Mapping[int, float]]:
        running = self.numbers.index(current) if current in self.numbers else -1
        try:
            found = self.own.made(t_s, sig[self.places], desk.need.copy(), running, held_s)
        except (Exception, SystemExit) as failure:
            raise self.fail(t_s, _line(self.own.file, failure), _said(failure)) from failure
        if not isinstance(found, int) or isinstance(found, bool) or not 0 <= found < len(self.numbers):
            hint = f"return a whole number from 0 to {len(self.numbers) - 1}, a place in CANDIDATES"
            raise self.fail(t_s, self.own.file, f"it returned {found!r}", hint)
        return self.numbers[found], {}


class _Slow(_Asked):
    """The slow path: an object of the user's class, shown names, answering with an id or title."""

    def __init__(
        self, own: Own, known: Sequence[Candidate], knobs: Sequence[Knob], asked: tuple[str, ...], places: Any,
        ask: Callable[[Seen], Any],
    ) -> None:  # fmt: skip
        super().__init__(own, known, places)
        self.knobs = {knob.at: k for k, knob in enumerate(knobs)}
        self.asked, self.ask = asked, ask

    def choose(
        self, t_s: float, sig: Any, desk: kd.Desk, current: int, held_s: float
    ) -> tuple[int, Mapping[int, float]]:
        signals = dict(zip(self.asked, sig[self.places].tolist(), strict=True))
        needs = dict(zip(dn.NEEDS, desk.need.tolist(), strict=False))
        try:
            found = self.ask(Seen(t_s, signals, needs, self.known[current].id, held_s))
        except (Exception, SystemExit) as failure:
            raise self.fail(t_s, _line(self.own.file, failure), _said(failure)) from failure
        name, fixed = found if isinstance(found, tuple) and len(found) == 2 else (found, {})
        if not isinstance(name, str) or not isinstance(fixed, Mapping):
            hint = "return a candidate's id or title, or that and a dict of knobs"
            raise self.fail(t_s, self.own.file, f"it returned {found!r}", hint)
        number = number_of(name, self.known)
        if number is None:
            hint = _near(name, [word for one in self.known for word in (one.id, one.title)])
            raise self.fail(t_s, self.own.file, f"there is no candidate {name!r}", hint)
        return number, {self._knob(t_s, desk, number, *one): float(one[1]) for one in fixed.items()}

    def _knob(self, t_s: float, desk: kd.Desk, number: int, name: Any, value: Any) -> int:
        """Return the place of a knob whose value is in its range; RunError otherwise."""
        k = self.knobs.get(name)
        if k is None or desk.free[number, k] == 0:
            able = [one for one, j in self.knobs.items() if desk.free[number, j] != 0]
            said = f"{self.known[number].title} has no knob {name!r}"
            raise self.fail(t_s, self.own.file, said, _near(str(name), able))
        least, most = float(desk.knob_least[k]), float(desk.knob_most[k])
        number_like = isinstance(value, int | float | np.number) and not isinstance(value, bool)
        if not number_like or not math.isfinite(value) or not least <= value <= most:
            hint = f"a number from {least:g} to {most:g}"
            raise self.fail(t_s, self.own.file, f"knob {name!r} is {value!r}", hint)
        return k


def load_own(given: str) -> Own:
    """Run the user's file and return the strategy in it: FILE.py, or FILE.py:NAME where it holds several.

    InputError where the file is missing, cannot be run, or holds no strategy of that name.
    """
    path, name = given, ""
    if not given.endswith(".py"):
        path, _, name = given.rpartition(":")
    file = Path(path)
    if not file.is_file():
        raise _mistake(path, "there is no such file", "a Python file that holds " + NEEDED)
    source = file.read_bytes()
    module = ModuleType(file.stem)
    module.__file__ = str(file)
    try:
        exec(compile(source, str(file), "exec"), module.__dict__)  # the user's own code, run on purpose
    except (Exception, SystemExit) as failure:
        raise _mistake(_line(str(file), failure), f"it cannot be run: {_said(failure)}", "") from failure
    able = {key: value for key, value in vars(module).items() if not key.startswith("_") and _fits(value, module)}
    if not able:
        raise _mistake(str(file), "it holds no strategy", NEEDED)
    if name and name not in able:
        raise _mistake(str(file), f"it holds no strategy {name!r}", f"one of: {', '.join(able)}", _near(name, able))
    if not name and len(able) > 1:
        hint = f"--strategy {path}:{next(iter(able))}"
        raise _mistake(str(file), f"it holds several strategies: {', '.join(able)}", "the name of one", hint)
    name = name or next(iter(able))
    own = Own(name, str(file), hashlib.sha256(source).hexdigest(), able[name], module)
    if own.compiled and not _names(own, "CANDIDATES"):
        raise _mistake(str(file), "a compiled function without CANDIDATES", "the ids or titles it chooses among")
    return own


def number_of(name: str, known: Sequence[Candidate]) -> int | None:
    """Return the number of the candidate with this id or title; None where there is none."""
    return next((k for k, one in enumerate(known) if name in (one.id, one.title)), None)


def _fits(value: Any, module: ModuleType) -> bool:
    if isinstance(value, Dispatcher):
        return value.py_func.__module__ == module.__name__
    return isinstance(value, type) and value.__module__ == module.__name__ and callable(getattr(value, "choose", None))


def _names(own: Own, key: str) -> tuple[str, ...]:
    """Return the names that a strategy lists; InputError where they are no list of texts."""
    found = getattr(own.module if own.compiled else own.made, key, ())
    if not isinstance(found, tuple | list) or not all(isinstance(one, str) for one in found):
        raise _mistake(own.file, f"{key} is {found!r}", "a tuple of texts")
    return tuple(found)


def _unknown(file: str, what: str, name: str, able: Sequence[str]) -> Problem:
    return Problem(file, f"there is no {what} {name!r}", f"a {what} of this plant", _near(name, able))


def _near(name: str, able: Any) -> str:
    found = get_close_matches(name, list(able), 1)
    return f"write {found[0]!r}" if found else f"one of: {', '.join(able)}"


def _said(failure: BaseException) -> str:
    return f"{type(failure).__name__}: {failure}".splitlines()[0]


def _line(file: str, failure: BaseException) -> str:
    """Return the file with the last line of it that took part in a failure."""
    if isinstance(failure, SyntaxError) and failure.lineno:
        return f"{file}:{failure.lineno}"
    lines = [one.lineno for one in traceback.extract_tb(failure.__traceback__) if one.filename == file]
    return f"{file}:{lines[-1]}" if lines else file


def _mistake(where: str, found: str, expected: str, hint: str = "") -> InputError:
    return InputError([Problem(where, found, expected, hint)], "strategy")
