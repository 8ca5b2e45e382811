"""`heatwright estimate`: one of the quick sums, by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from heatwright.cli_common import json_option, print_json, report, reporting
from heatwright.errors import InputError, Problem
from heatwright.study.estimate import catalogue, estimate, find, unknown_option

TITLE = "estimate"
EXAMPLE = (
    'Example:  heatwright estimate pack-heat --energy "80 kWh" --from "10 degC" --to "30 degC"\n\n'
    "heatwright estimate --list names the estimates; with a NAME it also lists that one's inputs and their defaults."
)


class _Command(click.Command):
    """A command whose own mistakes of form are reported like all others."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        asked_json = "--json" in args
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as failure:
            where = str(getattr(failure, "option_name", None) or TITLE)
            hint = next((f'{where} "{default}"' for option, default in _defaults() if option == where), "")
            report(InputError([Problem(where, failure.format_message(), "", hint)], TITLE), asked_json)
            ctx.exit(2)


def _input_options(verb: Callable[..., Any]) -> Callable[..., Any]:
    """Give the verb every input of every estimate as an option that the help leaves out."""
    for option in sorted({option for option, _ in _defaults()}, reverse=True):
        verb = click.option(option, _key(option[2:]), hidden=True)(verb)
    return verb


def _defaults() -> list[tuple[str, str]]:
    """Return (option, default) of every input of every estimate."""
    return [(f"--{one.name}", one.default) for each in catalogue().values() for one in each.inputs]


def _key(name: str) -> str:
    return "in_" + name.replace("-", "_")


@click.command(
    "estimate",
    cls=_Command,
    epilog=EXAMPLE,
    context_settings={"help_option_names": ["-h", "--help"], "ignore_unknown_options": True},
    options_metavar='[--INPUT "QUANTITY"]... [OPTIONS]',
)
@click.argument("words", nargs=-1, type=click.UNPROCESSED, metavar="[NAME]")
@click.option("--list", "as_list", is_flag=True, help="List the estimates with units and inputs.")
@json_option
@_input_options
@reporting
def estimate_verb(words: tuple[str, ...], as_list: bool, as_json: bool, **texts: str | None) -> None:
    """Work out one of the sums that are done on paper, and show its formula.

    Every input is an option of its own with a unit, such as --power "5 kW"; one left out takes its default, and the
    answer says so.
    """
    given = {key.removeprefix("in_").replace("_", "-"): text for key, text in texts.items() if text is not None}
    name, problems = _sorted_out(words)
    if as_list:
        problems += [Problem(f"--{key}", "an input beside --list", "--list alone, or with a NAME") for key in given]
        _list(name, problems, as_json)
        return
    if name is None:
        known = ", ".join(catalogue())
        problems.insert(0, Problem("NAME", "no estimate named", f"one of {known}", "heatwright estimate --list"))
        raise InputError(problems, TITLE)
    try:
        found = estimate(name, given)
    except InputError as failure:
        raise InputError([*problems, *failure.problems], failure.title) from None
    if problems:
        raise InputError(problems, f"{TITLE} {name}")
    if as_json:
        print_json(found.as_json())
        return
    click.echo(found.as_text())


def _sorted_out(words: tuple[str, ...]) -> tuple[str | None, list[Problem]]:
    """Return the estimate's name and what is wrong with the other words."""
    name: str | None = None
    unknown: list[str] = []
    stray: list[str] = []
    rest = list(words)
    while rest:
        word = rest.pop(0)
        if word.startswith("--") and len(word) > 2:
            unknown.append(word[2:].partition("=")[0])
            if "=" not in word and rest and not rest[0].startswith("--") and rest[0] not in catalogue():
                rest.pop(0)
        elif name is None:
            name = word
        else:
            stray.append(word)
    names = [one.name for one in catalogue()[name].inputs] if name in catalogue() else []
    problems = [unknown_option(word, names) for word in unknown] if names or name is None else []
    quoted = 'put a quantity in quotes, as --power "5 kW"'
    problems += [Problem(word, "a word that belongs to no option", "one NAME and options", quoted) for word in stray]
    return name, problems


def _list(name: str | None, problems: list[Problem], as_json: bool) -> None:
    if problems:
        raise InputError(problems, TITLE)
    chosen = [find(name)] if name else list(catalogue().values())
    if as_json:
        print_json([one.listed() for one in chosen])
        return
    if name:
        click.echo(chosen[0].described())
        return
    width = max(len(one.name) for one in chosen)
    click.echo("\n".join(f"{one.name:<{width}}  {one.title}" for one in chosen))
    click.echo("\nheatwright estimate NAME --list shows an estimate's inputs and their defaults")
