"""Documents hold together: links, verbs, code, cautions."""

import re
import tomllib
from pathlib import Path

import click
import pytest

from heatwright.plant.catalogue import list_shipped
from tools.sources import ROOT

PAGES = sorted(
    [
        *ROOT.glob("*.md"),
        *(ROOT / "docs").rglob("*.md"),
        *ROOT.glob("benchmarks/*.md"),
        *ROOT.glob("examples/**/*.md"),
    ]
)
HAND = [page for page in PAGES if "reference" not in page.parts]
LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
BLOCK = re.compile(r"^```(\w*)(?: ([\w./]+))?\n(.*?)^```$", re.M | re.S)  # language, file it belongs to, code


def named(page: Path) -> str:
    return str(page.relative_to(ROOT))


def prose(page: Path) -> str:
    """The page without its code blocks."""
    return BLOCK.sub("", page.read_text(encoding="utf-8"))


def anchors(page: Path) -> set[str]:
    """The anchors that the headings of a page make."""
    heads = re.findall(r"^#+ (.+)$", prose(page), re.M)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


def targets(page: Path) -> list[tuple[Path, str]]:
    """The files and anchors that a page links to; addresses elsewhere are left out."""
    links = [link for link in LINK.findall(prose(page)) if "://" not in link]
    split = [link.partition("#") for link in links]
    return [((page.parent / file).resolve() if file else page, anchor) for file, _, anchor in split]


def blocks(*languages: str, whole: bool = False) -> list[tuple[str, str]]:
    """Every code block of the given languages: (page, code); `whole` leaves out those that add to a named file."""
    return [
        (named(page), code)
        for page in HAND
        for language, file, code in BLOCK.findall(page.read_text(encoding="utf-8"))
        if language in languages and not (whole and file)
    ]


@pytest.mark.parametrize("page", PAGES, ids=named)
def test_links_lead_somewhere(page: Path) -> None:
    for file, anchor in targets(page):
        assert file.exists(), f"{named(page)} links to {file}"
        if anchor:
            assert anchor in anchors(file), f"{named(page)} links to #{anchor} of {file.name}"


def test_every_page_is_reached_from_the_readme() -> None:
    reached, open_ = set(), [ROOT / "README.md"]
    while open_:
        page = open_.pop()
        if page not in reached and page.suffix == ".md" and page.exists():
            reached.add(page)
            open_ += [file for file, _ in targets(page)]
    lost = [named(page) for page in PAGES if page not in reached and "examples" not in page.parts]
    assert not lost


@pytest.mark.parametrize("plant", [one.name for one in list_shipped()])
def test_every_shipped_plant_stands_on_its_page(plant: str) -> None:
    page = (ROOT / "docs" / "guide" / "shipped-plants.md").read_text(encoding="utf-8")
    assert page.count(f"`{plant}`") >= 2, "run make docs, or python -m tools.shipped_page"


def test_make_verbs_exist() -> None:
    verbs = set(re.findall(r"^([a-z-]+):.*##", (ROOT / "Makefile").read_text(), re.M))
    assert {"setup", "demo", "test", "test-long", "check", "docs", "bench", "clean"} <= verbs
    spoken = {verb for page in HAND for verb in re.findall(r"`make ([a-z-]+)", page.read_text(encoding="utf-8"))}
    spoken |= {verb for _, code in blocks("sh") for verb in re.findall(r"^make ([a-z-]+)", code, re.M)}
    assert spoken <= verbs


def test_commands_and_options_exist() -> None:
    """Each `heatwright VERB --option` of a shell block is one that the command line knows."""
    from heatwright.cli import main

    seen = 0
    for page, code in blocks("sh"):
        for line in re.findall(r"^(?:\.venv/bin/)?heatwright +(.+)$", code, re.M):
            words = line.partition("#")[0].split()
            seen += 1
            command = main.commands.get(words[0]) if not words[0].startswith("-") else main
            assert command is not None, f"{page}: heatwright {line}"
            if isinstance(command, click.Group) and command is not main:
                command = command.commands.get(words[1])
                assert command is not None, f"{page}: heatwright {line}"
            known = {opt for parameter in command.params for opt in (*parameter.opts, *parameter.secondary_opts)} | {
                "--help",
                "--version",
            }
            used = {word.partition("=")[0] for word in words if word.startswith("-")}
            assert used <= known, f"{page}: heatwright {line}"
    assert seen


@pytest.mark.parametrize(("page", "code"), blocks("python"))
def test_python_blocks_are_python(page: str, code: str) -> None:
    compile(code, page, "exec")


@pytest.mark.parametrize(("page", "code"), blocks("toml"))
def test_toml_blocks_are_toml(page: str, code: str) -> None:
    assert tomllib.loads(code), page


@pytest.mark.parametrize(("page", "code"), [one for one in blocks("toml", whole=True) if "format " in one[1]])
def test_whole_files_load(page: str, code: str, tmp_path: Path) -> None:
    """A block that begins like a plant, a trip or a sheet of needs is one, without a mistake."""
    from heatwright.plant.load import load_plant
    from heatwright.study.needs.sheet import load_sheet
    from heatwright.trip.load import load_trip

    loaders = {"plant": load_plant, "needs": load_sheet, "trip": load_trip}
    kind = next(one for one in loaders if f'"heatwright {one}' in code)
    file = tmp_path / f"shown.{kind}.toml"
    file.write_text(code, encoding="utf-8")
    assert loaders[kind](file).name


@pytest.mark.parametrize("page", ["README.md", "docs/start/cautions.md"])
@pytest.mark.parametrize(
    "caution",
    [
        "high voltage",
        "under pressure",
        "mildly flammable",
        r"flammable \(class a3\)|class a3 flammable",
        "carbon dioxide",
        r"coolant\W.*hot.*toxic",
        "lithium-ion pack outside its limits",
        "fogged or iced glass while driving",
        "engineering estimate, not a release for the road",
        "local codes, the maker's instructions and licensed practice",
    ],
)
def test_cautions_stand(page: str, caution: str) -> None:
    text = re.sub(r"\s+", " ", (ROOT / page).read_text(encoding="utf-8").lower())
    assert re.search(caution, text)


def test_changelog_has_its_heading() -> None:
    assert "results-that-move" in anchors(ROOT / "CHANGELOG.md")


def test_every_dependency_has_its_decision() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    names = {re.split(r"[<>=!~ \[]", need)[0].lower() for need in project["dependencies"]}
    pages = {page.stem for page in (ROOT / "docs" / "develop" / "decisions").glob("*.md")}
    assert names <= pages
