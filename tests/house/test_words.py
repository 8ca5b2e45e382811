"""Nothing tracked names a machine's own folders, a package host, or how the text came about."""

import re

from tools.sources import ROOT, tracked_files

# Written in pieces, so that this file does not find itself.
FORBIDDEN = [
    "py" + r"pi\.org",
    "python" + "hosted",
    "npm" + r"js\.(org|com)",
    r"\.\./" + "shared",
    r"(?<![\w.\]}])/" + r"(?:work|root|home)/",
    "seed " + "document",
    r"\b" + "sp" + r"ikes/",
    r"\b" + "language " + r"model\b",
    r"\b" + "is" + r"sue [A-Z0-9]\b",
    r"\b" + "L" + r"LM\b",
]
PATTERN = re.compile("|".join(FORBIDDEN))


def stray_words(text: str) -> list[str]:
    """Return each line of `text` that holds a forbidden word."""
    return [line.strip()[:120] for line in text.splitlines() if PATTERN.search(line)]


def test_no_tracked_file_holds_a_forbidden_word() -> None:
    files = tracked_files() or [path for path in ROOT.glob("*.*") if path.is_file()]
    assert ROOT / "pyproject.toml" in files
    found = []
    for file in files:
        try:
            text = file.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        found += [f"{file.relative_to(ROOT)}: {line}" for line in stray_words(text)]
    assert not found, "\n".join(found)


def test_the_words_are_found_where_they_stand() -> None:
    host = "files." + "python" + "hosted"
    for bad in [
        f"see https://{host}.org",
        "open " + "../" + "shared/x",
        "in " + "/" + "work/main",
        "'/" + "root/.cache'",
    ]:
        assert stray_words(bad), bad
    for good in ["heat" + "/work" + "/loss", "docs/home/page.md", "charging session", "a/root/b"]:
        assert not stray_words(good), good
