"""Write docs/reference from the code, or with --check say which page no longer agrees with it."""

from __future__ import annotations

import argparse
import sys
import tomllib
from collections.abc import Callable
from itertools import groupby
from pathlib import Path
from typing import Any

from tools.sources import ROOT, functions, modules, parse

HOME = ROOT / "docs" / "reference"
HEAD = "<!-- Written by `make docs` from the code; edits here are lost. -->\n\n"


def physics_page() -> str:
    """Every public physics function with its whole docstring: equation, range, source, worked number."""
    import ast
    import inspect

    out = ["# Physics", "", "SI units throughout. Each example is run as a test.", ""]
    cards = [f for file in modules(room="physics") for f in functions(file)]
    shown = [f for f in cards if f.public and not f.owner and f.module != "physics.jit"]
    for module, group in groupby(shown, key=lambda f: f.module):
        own = list(group)
        subject = (ast.get_docstring(parse(own[0].file)) or "").split("\n\n")[0]
        out += [f"## {module.removeprefix('physics.')}", "", subject.replace("\n", " "), ""]
        for f in own:
            arguments = ", ".join(a.arg for a in f.arguments)
            out += [
                f"### {f.node.name}({arguments})",
                "",
                "```text",
                inspect.cleandoc(f.docstring),
                "```",
                "",
            ]
    return "\n".join(out)


def commands_page() -> str:
    """The help of every command, as it is printed."""
    import click

    from heatwright.cli import main

    out = ["# Commands", ""]

    def show(command: click.Command, name: str, parent: click.Context | None) -> None:
        settings = {**command.context_settings, "terminal_width": 96, "max_content_width": 96}
        context = click.Context(command, info_name=name, parent=parent, **settings)
        out.extend([f"## {context.command_path}", "", "```text", command.get_help(context).rstrip(), "```", ""])
        if isinstance(command, click.Group):
            for child in command.list_commands(context):
                found = command.get_command(context, child)
                if found is not None and not found.hidden:
                    show(found, child, context)

    show(main, "heatwright", None)
    return "\n".join(out)


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _span(one: Any) -> str:
    unit = "" if one.unit == "1" else one.unit
    return f"{one.low:g} to {one.high:g} {unit}".strip()


def _field_row(one: Any) -> str:
    span = "" if one.low is None and one.high is None else _span(one)
    default = one.default or ("must be given" if one.required else "-")
    if one.at:
        default += f" at {one.at}"
    if one.choices:
        span = ", ".join(one.choices)
    cells = [f"`{one.name}`", one.meaning, default, span, one.source or "-"]
    return "| " + " | ".join(_cell(cell) for cell in cells) + " |"


def parts_page() -> str:
    """Every kind of part with its keys, defaults, ranges and the sources of the defaults."""
    from heatwright.plant import tables
    from heatwright.plant.parts import kinds

    head = ["| key | meaning | default | range | source of the default |", "| --- | --- | --- | --- | --- |"]
    out = [
        "# Kinds of part",
        "",
        "Write a part as `[kind.name]` with keys from its table. Every key may be left out unless the table",
        "says that it must be given; the run then lists the defaults it used. Every table may also have `grade`",
        "(`measured`, `data sheet`, `estimated`), the evidence for its numbers that do not name one themselves.",
        "",
    ]
    for kind in kinds().values():
        says = kind.says[0].upper() + kind.says[1:].rstrip(".")
        out += [f"## {kind.name}", "", f"{says}. Fluids: {', '.join(kind.fluids) or 'none'}.", ""]
        out += [*head, *(_field_row(one) for one in kind.fields), ""]
    out += ["# Tables that are no parts", ""]
    for name, fields in (
        ("fluid", tables.FLUID),
        ("body", tables.BODY),
        ("glass.NAME", tables.GLASS),
        ("hoses", tables.HOSES),
        ("front", tables.FRONT),
    ):
        out += [f"## [{name}]", "", *head, *(_field_row(one) for one in fields), ""]
    return "\n".join(out)


def trips_page() -> str:
    """Every key of a trip file, table by table and segment by segment."""
    from heatwright.trip.schema import FORMAT, KINDS, TABLES, TOP

    out = ["# Keys of a trip file", "", f'The file begins with `format = "{FORMAT}"`.', ""]

    def table(fields: tuple[Any, ...]) -> None:
        out.extend(["| key | meaning | default | range |", "| --- | --- | --- | --- |"])
        for one in fields:
            span = _span(one) if one.low != one.high else ""
            default = one.default or ("must be given" if one.required else "-")
            cells = [f"`{one.name}`", one.meaning, default, span]
            out.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
        out.append("")

    out += ["## The head", ""]
    table(TOP)
    for name, fields in TABLES.items():
        out += [f"## [{name}]", ""]
        table(fields)
    for kind, (says, fields) in KINDS.items():
        out += [f'## [[segment]] of kind "{kind}"', "", says[0].upper() + says[1:] + ".", ""]
        table(fields)
    return "\n".join(out)


def mistakes_page() -> str:
    """Every kind of mistake in a plant file with what is said about it, from the list that the tests go through."""
    listed = tomllib.loads((ROOT / "tests/unit/plant/files/mistakes.toml").read_text(encoding="utf-8"))["mistake"]
    out = [
        "# Mistakes in a plant file",
        "",
        f"{len(listed)} kinds of mistake, each found by `heatwright check` and by every other verb that reads a plant.",
        "A report names file and line, what was found, what was expected, and what to try. An editor that knows the",
        "schema marks those with a dot while you type.",
        "",
    ]
    for group in dict.fromkeys(one["group"] for one in listed):
        out += [
            f"## {group}",
            "",
            "| mistake | seen by an editor | found | expected | try |",
            "| --- | --- | --- | --- | --- |",
        ]
        for one in listed:
            if one["group"] == group:
                cells = [one["id"], "·" if one.get("schema", True) else "", one["found"], one["expected"], one["hint"]]
                out.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
        out.append("")
    return "\n".join(out)


def dispatch_page() -> str:
    """Every setting of dispatch with default, range and source, group by group."""
    from heatwright.dispatch_table import declared, ordered

    out = [
        "# Settings of dispatch",
        "",
        "Every threshold, weight and price of dispatch. A plant or a trip may put other values in a table",
        "`[dispatch]`; what the trip says counts before what the plant says. Every value has a unit, shares and prices",
        "too: `30 %`, `0.3 J/J`, `4 W/W`. A price marked *path* may be a list of `[time, price]` since the start.",
        "",
    ]
    for group, members in groupby(declared().values(), key=lambda one: one.group):
        out += [f"## {group.replace('_', ' ').capitalize()}", ""]
        out += ["| key | meaning | default | range | source of the default |", "| --- | --- | --- | --- | --- |"]
        for one in members:
            path = " (*path*)" if one.path else ""
            cells = [f"`{one.name}`{path}", one.says, one.default or "derived", _span(one), one.source]
            out.append("| " + " | ".join(_cell(cell) for cell in cells) + " |")
        out.append("")
    out += ["## What must not cross", "", "Each of these stays below the one behind it:", ""]
    out += [f"- `{low}` below `{high}`" for low, high in ordered()]
    return "\n".join([*out, ""])


PAGES: dict[str, Callable[[], str]] = {
    "physics.md": physics_page,
    "commands.md": commands_page,
    "parts.md": parts_page,
    "mistakes.md": mistakes_page,
    "trips.md": trips_page,
    "dispatch.md": dispatch_page,
}


def stale(home: Path = HOME) -> list[str]:
    """Return the names of the pages that differ from what the code says."""
    out = []
    for name, write in PAGES.items():
        page = home / name
        if not page.is_file() or page.read_text(encoding="utf-8") != HEAD + write():
            out.append(name)
    return out


def main() -> int:
    """Write the pages, or check them."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--check", action="store_true", help="change nothing; exit 1 if a page is out of date")
    if reader.parse_args().check:
        old = stale()
        for name in old:
            print(f"docs/reference/{name} is out of date: run make docs", file=sys.stderr)
        return 1 if old else 0
    HOME.mkdir(parents=True, exist_ok=True)
    for name, write in PAGES.items():
        (HOME / name).write_text(HEAD + write(), encoding="utf-8")
        print(f"docs/reference/{name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
