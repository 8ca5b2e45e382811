"""`draw` and `report` as a user meets them, on runs of two plants under their tables and one under dispatch."""

from __future__ import annotations

import json
import re
import stat
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result
from short_trip import SHORT_TRIP
from svg_reader import faults

from heatwright.cli import main
from heatwright.cli_draw import draw_verb
from heatwright.report.browser import CHOSEN
from heatwright.run import load_run

PLANTS = ("plain", "reversing")
OF_A_RUN = {
    "traces": (), "ribbons": (), "bodies": ("--at", "0:15:00"), "film": (), "strip": (), "modes": (), "needs": (),
    "bars": (), "ledger": (), "ladder": (),
}  # fmt: skip
OF_A_PLANT = {"coverage", "capacity", "cop", "sheet"}


def call(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    place = tmp_path_factory.mktemp("drawn")
    trip = place / "short.trip.toml"
    trip.write_text(SHORT_TRIP)
    asked = {name: (name, "table") for name in PLANTS} | {"driven": ("reversing", "dispatch")}
    for folder, (plant, strategy) in asked.items():
        answer = call("run", plant, str(trip), "--strategy", strategy, "--out", str(place / folder))
        assert answer.exit_code == 0, answer.output
    return {name: place / name for name in asked}


@pytest.mark.parametrize("kind", OF_A_RUN)
@pytest.mark.parametrize("plant", PLANTS)
def test_every_kind_is_drawn_and_legible(kind: str, plant: str, runs: dict[str, Path], tmp_path: Path) -> None:
    file = tmp_path / "x.svg"
    answer = call("draw", kind, str(runs[plant]), *OF_A_RUN[kind], "-o", str(file), "--json")
    assert answer.exit_code == 0, answer.output
    assert json.loads(answer.stdout)
    svg = file.read_text(encoding="utf-8")
    ElementTree.fromstring(svg)
    assert "nan" not in re.sub(r"<style>.*?</style>", "", svg).lower()
    if kind != "film":  # its words change behind windows one line high
        assert faults(svg) == []


def test_no_kind_is_forgotten() -> None:
    assert {*OF_A_RUN, *OF_A_PLANT, "cycle", "why"} == set(draw_verb.commands)  # type: ignore[attr-defined]


@pytest.mark.parametrize("plant", PLANTS)
def test_ribbons_close_to_the_ledger(plant: str, runs: dict[str, Path]) -> None:
    found = json.loads(call("draw", "ribbons", str(runs[plant]), "--leg", "2", "--json").stdout)
    assert (found["from_s"], found["to_s"]) == (600.0, 1500.0)
    through = load_run(runs[plant]).ledger["throughput_j"]
    assert found["throughput_j"] > 1e5
    assert abs(found["left_over_j"]) < 1e-12 * through
    assert abs(found["ledger_left_over_j"]) < 1e-12 * through


def test_a_loop_of_a_run_and_why_a_mode_ran(runs: dict[str, Path], tmp_path: Path) -> None:
    for kind, folder in (("cycle", "reversing"), ("why", "driven"), ("needs", "driven")):
        file = tmp_path / f"{kind}.svg"
        answer = call("draw", kind, str(runs[folder]), "--at", "20 min", "-o", str(file), "--json")
        assert answer.exit_code == 0, answer.output
        assert faults(file.read_text(encoding="utf-8")) == []
        found = json.loads(answer.stdout)
        if kind == "cycle":
            states = {one["number"]: one for one in found["states"]}
            assert states[1]["p_pa"] == states[4]["p_pa"] < states[2]["p_pa"]
            assert states[3]["h_j_per_kg"] == states[4]["h_j_per_kg"]
            assert states[1]["t_k"] < states[3]["t_k"] < states[2]["t_k"]
        if kind == "why":
            ran = next(one for one in found["candidates"] if one["ran"])
            assert sum(ran["terms_w"].values()) == pytest.approx(ran["score_w"], rel=1e-3)


@pytest.mark.parametrize(
    ("words", "said", "code"),
    [
        (("ribons", "{run}", "-o", "{new}.svg"), "try: draw ribbons", 2),
        (("ribbons", "nowhere", "-o", "{new}.svg"), "nowhere: is not a whole run folder", 2),
        (("ribbons", "{run}"), "expected FILE.svg or FILE.png, or --json", 2),
        (("ribbons", "{run}", "-o", "{new}.gif"), "ends with .svg or .png", 2),
        (("ribbons", "{run}", "--leg", "9", "-o", "{new}.svg"), "expected 1 to 2", 2),
        (("ribbons", "{run}", "--leg", "1", "--to", "60 s", "-o", "{new}.svg"), "one or the other", 2),
        (("ribbons", "{run}", "--from", "9:00:00", "-o", "{new}.svg"), "lies outside the run", 2),
        (("traces", "{run}", "--series", "t_zone_ai_k", "-o", "{new}.svg"), "did you mean t_zone_air_k?", 2),
        (("traces", "{run}", "--series", "soc", "--series", "mode", "-o", "{new}.svg"), "series of one unit", 2),
        (("why", "{run}", "--at", "60 s", "-o", "{new}.svg"), "a run without a why-record", 2),
        (("cycle", "{run}", "--circuit", "second", "-o", "{new}.svg"), "no refrigerant circuit 'second'", 2),
        (("strip", "{run}", "-o", "{new}.png"), "no Chromium on this machine", 1),
    ],
)
def test_mistakes_are_told_and_nothing_is_written(
    words: tuple[str, ...], said: str, code: int, runs: dict[str, Path], tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv(CHOSEN, str(tmp_path / "nothing"))
    given = [word.format(run=runs["plain"], new=tmp_path / "new") for word in words]
    answer = call("draw", *given)
    assert answer.exit_code == code, answer.output
    assert said in answer.output
    assert "Traceback" not in answer.output
    assert list(tmp_path.iterdir()) == []


def test_a_run_without_books_is_told_what_to_do(runs: dict[str, Path], tmp_path: Path) -> None:
    old = tmp_path / "old"
    old.mkdir()
    for file in runs["plain"].iterdir():
        if file.name != "books.parquet":
            (old / file.name).write_bytes(file.read_bytes())
    answer = call("draw", "ribbons", str(old), "-o", str(tmp_path / "x.svg"))
    assert answer.exit_code == 2
    assert "without the marks of its ledger" in answer.output
    assert call("report", str(old), "-o", str(tmp_path / "x.html")).exit_code == 0


@pytest.fixture
def stand_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A program that does as a browser does: it writes the file it is asked for, and what it was asked."""
    program = tmp_path / "browser"
    program.write_text(
        '#!/bin/sh\nprintf "%s\\n" "$@" > "' + str(tmp_path / "asked") + '"\n'
        'for word in "$@"; do case "$word" in --print-to-pdf=*|--screenshot=*) : > "${word#*=}";; esac; done\n'
    )
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv(CHOSEN, str(program))
    return tmp_path / "asked"


def test_a_png_is_made_by_the_browser_in_the_size_of_the_picture(runs: dict[str, Path], stand_in: Path) -> None:
    file = stand_in.parent / "x.png"
    answer = call("draw", "ladder", str(runs["plain"]), "-o", str(file))
    assert answer.exit_code == 0, answer.output
    assert "--window-size=330,300" in stand_in.read_text().splitlines()
    assert file.exists()


def test_the_report_asks_for_nothing_and_prints(runs: dict[str, Path], stand_in: Path) -> None:
    page = stand_in.parent / "r.html"
    answer = call("report", str(runs["driven"]), "-o", str(page), "--pdf")
    assert answer.exit_code == 0, answer.output
    assert page.with_suffix(".pdf").exists()
    text = page.read_text(encoding="utf-8")
    assert set(re.findall(r"(?:https?:)?//[\w.]+[^\s\"'<)]*", text)) == {"http://www.w3.org/2000/svg"}
    assert not re.search(r"@import|<script|<link|\bsrc=|url\((?!#)", text)
    assert len(re.findall(r"<ol class=\"told\">(.*?)</ol>", text)[0].split("<li>")) == 6
    for words in ("The question", "needed", "Why the longest modes began", "R1234yf", "left over: "):
        assert words in text


def test_without_a_browser_the_page_is_kept_and_a_sentence_says_how_to_print(
    runs: dict[str, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(CHOSEN, str(tmp_path / "nothing"))
    page = tmp_path / "r.html"
    answer = call("report", str(runs["plain"]), "-o", str(page), "--pdf")
    assert answer.exit_code == 1
    assert "in any browser and print it there" in answer.output
    assert [file.name for file in tmp_path.iterdir()] == ["r.html"]


def test_several_runs_make_a_comparison(runs: dict[str, Path], tmp_path: Path) -> None:
    page = tmp_path / "c.html"
    answer = call("report", *(str(runs[plant]) for plant in PLANTS), "-o", str(page))
    assert answer.exit_code == 0, answer.output
    assert "Side by side" in page.read_text(encoding="utf-8")
