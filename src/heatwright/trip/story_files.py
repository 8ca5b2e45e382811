"""The trips of the stories, and the plants of their own, that come with the package."""

from __future__ import annotations

from pathlib import Path

_FOLDER = Path(__file__).resolve().parent.parent / "data" / "stories"


def story_file(name: str, kind: str) -> Path:
    """Return the file of a story: kind "trip", or "plant" for a plant of its own."""
    return _FOLDER / f"{name}.{kind}.toml"
