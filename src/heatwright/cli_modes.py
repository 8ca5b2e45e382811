"""`heatwright modes`: every way a plant can run, at the level asked for."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Mapping
from dataclasses import replace
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
def modes_verb(plant: str, svg: Path | None, as_json: bool, **options: Any) -> None:
    """List the modes that PLANT's parts allow: by need, by family, one by one.

    A mode is a way to run that differs in what heat it moves or in what flows past what. It says where heat can go,
    not how much.
    """
    from heatwright.run import check_new_file, write_file

    if svg is not None:
        check_new_file(svg)
    cars, _ = load([plant], None)
    atlas = _atlas(cars[0], options["family"])
    if svg is not None and not atlas.whole:
        raise InputError([_too_many("--svg")], TITLE)
    asked = _Asked(atlas, **options)
    if as_json:
        print_json(asked.as_json(cars[0]))
    else:
        click.echo(asked.as_text(cars[0], min(shutil.get_terminal_size((100, 24)).columns, WIDEST)))
    if svg is not None:
        from heatwright.draw.modes import mode_picture
        from heatwright.draw.svg import standalone

        write_file(svg, standalone(mode_picture(cars[0], atlas)))
        if not as_json:
            click.echo(f"\nwritten to {svg}")


def _atlas(plant: Plant, family: str | None) -> Atlas:
    """The atlas; where it is too large to be whole, families and the modes of the one asked for."""
    from heatwright.modes.atlas import build_atlas
    from heatwright.modes.large import modes_of_family
    from heatwright.progress import Progress

    with Progress("looking at modes") as progress:
        atlas = build_atlas(plant, progress=progress)
        if atlas.whole or family not in {one.id for one in atlas.families}:
            return atlas
        return replace(atlas, modes=modes_of_family(plant, family or "", progress))


class _Asked:
    """What the options ask of an atlas; InputError lists every name it does not know."""

    def __init__(
        self,
        atlas: Atlas,
        needs: tuple[str, ...],
        family: str | None,
        mode: str | None,
        start: str | None,
        end: str | None,
        everything: bool,
    ) -> None:
        names = _Names(atlas)
        self.atlas, self.everything = atlas, everything
        self.needs = {names.need(text) for text in needs}
        self.family = names.family(family)
        self.mode = names.mode("--mode", mode)
        self.start, self.end = names.mode("--from", start), names.mode("--to", end)
        if (start is None) != (end is None):
            names.problems.append(Problem("--from and --to", "only one of the two", "both, or neither"))
        given = {"--from and --to": start or end, "--mode": mode, "--family": family, "--all": everything}
        levels = [option for option, value in given.items() if value]
        if len(levels) > 1:
            names.problems.append(Problem(" and ".join(levels), "more than one level asked for", "one of them"))
        if not atlas.whole:
            given["--need"] = bool(needs)
            names.problems = [_too_many(option) for option, value in given.items() if value and option != "--family"]
        if names.problems:
            raise InputError(names.problems, TITLE)
        self.modes = [one for one in atlas.modes if self._wants(one)]
        held = {one.family for one in self.modes}
        narrowed = self.needs or self.family or self.mode
        self.families = [one for one in atlas.families if one.id in held or not narrowed]

    def _wants(self, mode: Mode) -> bool:
        if self.mode is not None:
            return mode is self.mode
        return self.needs <= mode.needs and (self.family is None or mode.family == self.family.id)

    def as_json(self, plant: Plant) -> dict[str, Any]:
        """The atlas narrowed to what is asked for, or a transition."""
        from heatwright.study.modes_json import atlas_as_json, transition_as_json

        if self.mode is not None:
            from heatwright.modes.record import record
            from heatwright.study.modes_json import record_as_json

            known = record_as_json(record(plant, self.mode))
            return atlas_as_json(self.atlas, self.modes, self.families) | {"record": known}
        if self.start is None or self.end is None:
            return atlas_as_json(self.atlas, self.modes, self.families)
        from heatwright.modes.transitions import between

        return transition_as_json(between(plant, self.start, self.end))

    def as_text(self, plant: Plant, width: int) -> str:
        """The level asked for: overview, families that serve needs, modes of families, one mode, or a transition."""
        from heatwright.report import modes_text as text

        if self.start is not None and self.end is not None:
            from heatwright.modes.transitions import between

            return text.transition_text(between(plant, self.start, self.end), self.start, self.end, width)
        if self.mode is not None:
            from heatwright.modes.record import record

            return text.mode_text(self.atlas, self.mode, record(plant, self.mode), width)
        if self.family is not None or self.everything:
            grouped = [(one, [mode for mode in self.modes if mode.family == one.id]) for one in self.families]
            return "\n\n".join(text.family_text(one, found, width) for one, found in grouped)
        if self.needs:
            useful = [mode for mode in self.modes if mode.useful]
            if not useful:
                return text.none_serves(self.atlas, self.needs)
            held = {mode.family for mode in useful}
            return text.families_text(self.atlas, [one for one in self.families if one.id in held], useful, width)
        return text.overview_text(self.atlas, width)


def _too_many(option: str) -> Problem:
    found = "this plant has too many modes to look through"
    return Problem(option, found, "no option, or --family ID", "without options its families are listed")


class _Names:
    """Finds needs, families and modes by name, and gathers what it does not know."""

    def __init__(self, atlas: Atlas) -> None:
        self.atlas = atlas
        self.problems: list[Problem] = []

    def need(self, text: str) -> str:
        """A need by its words; hyphens and underscores count as spaces."""
        from heatwright.modes.needs import NEEDS

        word = text.strip().lower().replace("-", " ").replace("_", " ")
        if word not in NEEDS:
            self._unknown("--need", text, "need", NEEDS, "needs: " + ", ".join(NEEDS))
        return word

    def family(self, id_: str | None) -> Family | None:
        """A family by its id."""
        return self._find("--family", id_, "family", {one.id: one for one in self.atlas.families})

    def mode(self, option: str, id_: str | None) -> Mode | None:
        """A mode by its id."""
        return self._find(option, id_, "mode", {one.id: one for one in self.atlas.modes})

    def _find(self, option: str, id_: str | None, word: str, known: Mapping[str, Any]) -> Any:
        if id_ is not None and id_.strip().lower() not in known:
            self._unknown(option, id_, word, known, f"`heatwright modes PLANT --all` lists every {word}")
        return known.get(id_.strip().lower()) if id_ is not None else None

    def _unknown(self, option: str, text: str, word: str, options: Iterable[str], otherwise: str) -> None:
        from heatwright.plant.mistakes import near

        self.problems.append(
            Problem(option, f"this plant has no {word} {text!r}", f"a {word} of it", near(text, options, otherwise))
        )
