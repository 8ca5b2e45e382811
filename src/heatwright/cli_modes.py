"""`heatwright modes`: every way a plant can run, at the level asked for."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from heatwright.cli_common import json_option, load, print_json, reporting
from heatwright.errors import InputError, Problem

if TYPE_CHECKING:
    from heatwright.modes.model import Atlas, Family, Mode
    from heatwright.plant.model import Plant

TITLE = "modes"
EXAMPLE = 'Example:  heatwright modes three_loops --need "pack cooled below air" --need "cabin warmed"'
WIDEST = 110


@click.command("modes", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("plant")
@click.option("--need", "needs", multiple=True, metavar="NEED", help="Only modes that serve it; repeatable.")
@click.option("--family", metavar="ID", help="The modes of one family.")
@click.option("--mode", "mode", metavar="ID", help="One mode with its setting.")
@click.option("--from", "start", metavar="ID", help="With --to: what it takes to change from this mode.")
@click.option("--to", "end", metavar="ID", help="The mode to change to.")
@click.option("--all", "everything", is_flag=True, help="Every family with every mode.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="New file for a picture of it all.")
@json_option
@reporting
def modes_verb(plant: str, svg: Path | None, as_json: bool, **asked: Any) -> None:
    """List the modes that PLANT's parts allow: by need, by family, one by one.

    A mode is a way to run that differs in what heat it moves or in what flows past what. It says where heat can go,
    not how much.
    """
    from heatwright.run import check_new_file, write_file

    if svg is not None:
        check_new_file(svg)
    cars, _ = load([plant], None)
    from heatwright.modes.atlas import build_atlas

    atlas = build_atlas(cars[0])
    _show(cars[0], atlas, as_json, **asked)
    if svg is not None:
        from heatwright.draw.modes import mode_picture
        from heatwright.draw.svg import standalone

        write_file(svg, standalone(mode_picture(cars[0], atlas)))
        if not as_json:
            click.echo(f"\nwritten to {svg}")


def _show(
    plant: Plant,
    atlas: Atlas,
    as_json: bool,
    needs: tuple[str, ...],
    family: str | None,
    mode: str | None,
    start: str | None,
    end: str | None,
    everything: bool,
) -> None:
    chosen = _Chosen(atlas)
    wanted = {chosen.need(text) for text in needs}
    one_family = chosen.family(family) if family else None
    one_mode = chosen.mode("--mode", mode) if mode else None
    ends = [chosen.mode(option, id_) for option, id_ in (("--from", start), ("--to", end)) if id_]
    if len(ends) == 1 or (start is None) != (end is None):
        chosen.problems.append(Problem("--from and --to", "only one of the two", "both, or neither"))
    chosen.check()
    if len(ends) == 2:
        _show_transition(plant, ends, as_json)
        return
    modes = [
        one
        for one in atlas.modes
        if wanted <= one.needs
        and (one_family is None or one.family == one_family.id)
        and (one_mode is None or one is one_mode)
    ]
    held = {one.family for one in modes}
    families = [one for one in atlas.families if one.id in held or not (wanted or one_family or one_mode)]
    if as_json:
        from heatwright.study.modes_json import atlas_as_json

        print_json(atlas_as_json(atlas, modes, families))
        return
    click.echo(_as_text(atlas, modes, families, wanted, one_family, one_mode, everything))


def _as_text(
    atlas: Atlas,
    modes: Sequence[Mode],
    families: Sequence[Family],
    wanted: set[str],
    family: Family | None,
    mode: Mode | None,
    everything: bool,
) -> str:
    from heatwright.report import modes_text as text

    width = min(shutil.get_terminal_size((100, 24)).columns, WIDEST)
    if mode is not None:
        return text.mode_text(atlas, mode, width) if mode in modes else "it does not serve the needs asked for"
    if family is not None or everything:
        return "\n\n".join(
            text.family_text(one, [found for found in modes if found.family == one.id], width) for one in families
        )
    if wanted:
        useful = [one for one in modes if one.useful]
        held = {one.family for one in useful}
        return text.families_text(atlas, [one for one in families if one.id in held], useful, width)
    return text.overview_text(atlas, width)


def _show_transition(plant: Plant, ends: Sequence[Mode], as_json: bool) -> None:
    from heatwright.modes.transitions import between
    from heatwright.report.modes_text import transition_text

    found = between(plant, ends[0], ends[1])
    if as_json:
        from heatwright.study.modes_json import transition_as_json

        print_json(transition_as_json(found))
        return
    click.echo(transition_text(found, ends[0], ends[1], min(shutil.get_terminal_size((100, 24)).columns, WIDEST)))


class _Chosen:
    """Finds what the options name in an atlas, and gathers what it does not know."""

    def __init__(self, atlas: Atlas) -> None:
        self.atlas = atlas
        self.problems: list[Problem] = []

    def need(self, text: str) -> str:
        from heatwright.modes.needs import NEEDS

        word = text.strip().lower().replace("-", " ").replace("_", " ")
        if word not in NEEDS:
            self._unknown("--need", text, "need", NEEDS, "needs: " + ", ".join(NEEDS))
        return word

    def family(self, id_: str) -> Family | None:
        return self._find("--family", id_, "family", self.atlas.families, lambda one: one.id)

    def mode(self, option: str, id_: str) -> Mode:
        return self._find(option, id_, "mode", self.atlas.modes, lambda one: one.id)

    def check(self) -> None:
        """Raise InputError if anything was not known."""
        if self.problems:
            raise InputError(self.problems, TITLE)

    def _find(self, option: str, id_: str, word: str, options: Iterable[Any], key: Callable[[Any], str]) -> Any:
        found = {key(one): one for one in options}
        if id_.strip().lower() not in found:
            verb = "heatwright modes PLANT --all"
            self._unknown(option, id_, word, found, f"`{verb}` lists every {word}")
        return found.get(id_.strip().lower())

    def _unknown(self, option: str, text: str, word: str, options: Iterable[str], otherwise: str) -> None:
        from heatwright.plant.mistakes import near

        self.problems.append(
            Problem(option, f"this plant has no {word} {text!r}", f"a {word} of it", near(text, options, otherwise))
        )
