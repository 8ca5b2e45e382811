"""The guide's plant grows block by block, and `check` says at each place what the page says."""

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from heatwright.cli import main
from heatwright.plant.load import load_plant
from tests.docs.test_pages import BLOCK
from tools.sources import ROOT

PAGE = (ROOT / "docs" / "guide" / "plants.md").read_text(encoding="utf-8")


def grow(folder: Path) -> list[tuple[str, str]]:
    """Write the files of the page block by block; (what the page shows of check, what check printed) at each place."""
    seen = []
    for language, file, code in BLOCK.findall(PAGE):
        if file and language == "toml":
            with (folder / file).open("a", encoding="utf-8") as out:
                out.write(f"{code}\n")
        elif file:
            answer = CliRunner().invoke(main, ["check", file])
            seen.append((code, answer.output))
    return seen


def test_check_says_what_the_page_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    seen = grow(tmp_path)
    assert len(seen) == 3
    for shown, printed in seen:
        assert printed == shown
    small, warm = load_plant("small.plant.toml"), load_plant("warm.plant.toml")
    assert small.control is not None
    assert "pack" in warm.nets["coolant"].branches[0].parts
    assert "pack" not in small.nets["coolant"].branches[0].parts


@pytest.mark.slow
def test_the_plant_of_the_page_runs(tmp_path: Path) -> None:
    from heatwright.compiler.build import compile_program
    from heatwright.simulate import simulate
    from tests.balance.marches import case_of

    grow(tmp_path)
    case = case_of("winter_day")
    run = simulate(compile_program(load_plant(tmp_path / "small.plant.toml"), case), case)
    assert run.energy_kwh["heater"] > 1.0
    assert abs(run.ledger["residual_relative"]) < 1e-12


def test_every_key_at_the_head_is_in_the_page() -> None:
    from heatwright.plant.declare import RESERVED, TABLES, WORDS
    from heatwright.plant.grades import GRADES

    said = set(re.findall(r"`\[?([a-z_. ]+)", PAGE))
    for word in (*WORDS, *TABLES, *RESERVED, *GRADES):
        assert any(one == word or one.startswith((f"{word}.", f"{word} ")) for one in said), word
