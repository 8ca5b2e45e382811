"""What every verb of the command line shares: reading, reporting, progress. Heavy imports stay inside."""

from __future__ import annotations

import _thread
import functools
import json
import os
import sys
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

import click

from heatwright.errors import HeatwrightError, InputError, OutputError, Problem, RunError, ToolError

if TYPE_CHECKING:
    from pathlib import Path

    from heatwright.plant.model import Plant
    from heatwright.progress import Progress
    from heatwright.trip.model import Trip

INTERRUPTED = 130
COMPILING = "compiling the solver, once after each change of its source or of numba: 20 to 35 s"
COMPILING_DISPATCH = "compiling the dispatch, once after each change of its source: a few minutes"

Verb = TypeVar("Verb", bound=Callable[..., Any])


def reporting(verb: Verb) -> Verb:
    """Turn the package's errors and Ctrl-C into one report and an exit code."""

    @functools.wraps(verb)
    def wrapped(*args: Any, **options: Any) -> Any:
        before, sys.unraisablehook = sys.unraisablehook, _hear_again
        try:
            return verb(*args, **options)
        except HeatwrightError as failure:
            report(failure, bool(options.get("as_json")))
            raise click.exceptions.Exit(1 if isinstance(failure, (RunError, ToolError)) else 2) from None
        except KeyboardInterrupt:
            click.echo("\ninterrupted; nothing was left behind", err=True)
            raise click.exceptions.Exit(INTERRUPTED) from None
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise click.exceptions.Exit(0) from None
        except OSError as failure:
            if failure.filename is None:
                raise
            unfit = Problem(str(failure.filename), f"{failure.strerror}", "a path that can be read or written")
            report(InputError([unfit]), bool(options.get("as_json")))
            raise click.exceptions.Exit(2) from None
        finally:
            sys.unraisablehook = before

    return wrapped  # type: ignore[return-value]


def _hear_again(lost: sys.UnraisableHookArgs) -> None:
    """Ctrl-C that falls into a call-back of the compiler is lost there: send it once more, a moment later."""
    if issubclass(lost.exc_type, KeyboardInterrupt):
        threading.Timer(0.05, _thread.interrupt_main).start()
    else:
        sys.__unraisablehook__(lost)


json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of tables.")


def load(plants: list[str], trip: str | None) -> tuple[list[Plant], Any]:
    """Plants and trip; the mistakes of all of them are reported together."""
    from heatwright.dispatch.settings import load_settings
    from heatwright.plant.load import load_plant
    from heatwright.trip.load import load_trip

    problems: list[Problem] = []
    cars: list[Plant] = []
    way: Trip | None = None
    for name in dict.fromkeys(plants):
        try:
            cars.append(load_plant(name))
        except InputError as failure:
            problems += failure.problems
    if trip is not None:
        try:
            way = load_trip(trip)
            for car in cars:
                load_settings(car.dispatch, way.dispatch)
        except InputError as failure:
            problems += [one for one in failure.problems if one not in problems]
    if problems:
        raise InputError(problems, " and ".join([*dict.fromkeys(plants), *([trip] if trip else [])]))
    return cars, way


def read_quantity(option: str, text: str, unit: str, problems: list[Problem]) -> float:
    """Return a text's value in SI, a plain number being in `unit`; what is wrong with it is added to `problems`."""
    from heatwright.units import UnitError, parse

    text = text.replace("−", "-")
    try:
        float(text)
        text = f"{text} {unit}"
    except ValueError:
        pass
    try:
        return parse(text, unit)
    except UnitError as failure:
        problems.append(Problem(option, str(failure)))
        return 1.0


def read_held(texts: tuple[str, ...], problems: list[Problem]) -> dict[str, float]:
    """Return the actuators held by name, from texts such as `blower=40%`, `heater=2kW` or `inlet=fresh`."""
    held: dict[str, float] = {}
    for text in texts:
        name, equals, value = text.partition("=")
        if equals and value.strip()[:1].isalpha():
            held[f"{name.strip()}:{value.strip()}"] = 1.0
        elif equals:
            unit = next((unit for unit in ("W", "rpm") if value.strip().endswith(unit)), "%")
            held[name.strip()] = read_quantity("--hold", value, unit, problems)
        else:
            problems.append(Problem("--hold", f"{text!r}", "a name and a value, such as blower=40%"))
    return held


def read_time(option: str, text: str, end_s: float) -> float:
    """Return a time of a run [s], from h:mm:ss, min:s or a number with a unit; InputError outside 0 to `end_s`."""
    from heatwright.units import UnitError, parse

    pieces = text.strip().split(":")
    try:
        if 1 < len(pieces) <= 3:
            t_s = 0.0
            for piece in pieces:
                t_s = 60.0 * t_s + float(piece)
        else:
            t_s = parse(text, "s")
    except (ValueError, UnitError) as failure:
        raise InputError([Problem(option, f"{text!r} is no time", '0:14:30 or "870 s"')], "time") from failure
    if not 0.0 <= t_s <= end_s:
        raise InputError([Problem(option, f"{text} lies outside the run", f"0 to {end_s:.0f} s")], "time")
    return t_s


def marching() -> Progress:
    """Return the progress line of a march."""
    from heatwright.progress import Progress

    return Progress("marching")


def get_ready(progress: Progress, dispatch: bool = False) -> None:
    """Load the compiled march; where none lies in the cache yet, compile it on both cores and say why it takes long.

    dispatch : say as well that the dispatch is compiled at its first decision, if it is not in the cache.
    """
    from heatwright.compiler.warm import is_cold, wake, warm

    if is_cold():
        progress.say(COMPILING)
        warm()
    else:
        wake()
    if dispatch and is_cold("dispatch.decide"):
        progress.say(COMPILING_DISPATCH)


def report(failure: HeatwrightError, as_json: bool) -> None:
    """Print a failure as the one report of a verb."""
    problems = failure.problems if isinstance(failure, InputError) else (_as_problem(failure),)
    if as_json:
        print_json({"problems": [one.as_json() for one in problems]})
        return
    click.echo(failure.report() if isinstance(failure, InputError) else str(failure), err=True)


def _as_problem(failure: HeatwrightError) -> Problem:
    text = str(failure)
    if isinstance(failure, RunError):
        return Problem(f"t = {failure.t_s:g} s", text)
    where, colon, found = text.partition(": ")
    return Problem(where, found) if isinstance(failure, OutputError) and colon else Problem("", text)


class Tellable(Protocol):
    """What a verb found."""

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        ...

    def as_text(self) -> str:
        """Return it for a terminal."""
        ...


def tell(found: Tellable, as_json: bool, written: Path | None = None) -> None:
    """Print what was found, as JSON or as text with the file or folder it was written to."""
    if as_json:
        from heatwright.run import plain

        print_json(plain(found.as_json()))
        return
    click.echo(found.as_text())
    if written is not None:
        click.echo(f"\nwritten to {written}")


def print_json(value: Any) -> None:
    """Print a value as JSON."""
    click.echo(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False))
