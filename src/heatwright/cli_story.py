"""`heatwright story`: a question about heat in a car, one trip driven in the ways that answer it."""

from __future__ import annotations

import click

from heatwright.cli_common import get_ready, json_option, marching, print_json, reporting, tell

EXAMPLE = "Example:  heatwright story mild_rain"


@click.command("story", epilog=EXAMPLE, context_settings={"help_option_names": ["-h", "--help"]})
@click.argument("name", required=False)
@click.option("--list", "listed", is_flag=True, help="Name the stories and their questions.")
@json_option
@reporting
def story_verb(name: str | None, listed: bool, as_json: bool) -> None:
    """Drive the trip of the story NAME in two or more ways that differ in one thing, and say what that was worth.

    All but the ways marked "table" run under dispatch. Each story is explained in the folder of its name in examples.
    """
    from heatwright.study.story_names import QUESTIONS, check_name

    if listed or name is None:
        if as_json:
            print_json({"stories": [{"name": one, "question": asked} for one, asked in QUESTIONS.items()]})
            return
        wide = max(map(len, QUESTIONS))
        click.echo("\n".join(f"{one.ljust(wide)}  {asked}" for one, asked in QUESTIONS.items()))
        return
    check_name(name)
    with marching() as progress:
        from heatwright.study.stories import STORIES
        from heatwright.study.story import tell as tell_story

        get_ready(progress, dispatch=True)
        found = tell_story(STORIES[name], progress)
    tell(found, as_json)
