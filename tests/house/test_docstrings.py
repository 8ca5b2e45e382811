"""Public functions say what they take, give and rest on."""

import re

import pytest

from tools.sources import functions, modules

PUBLIC = [f for file in modules() for f in functions(file) if f.public]
PHYSICS = [f for f in PUBLIC if f.module.startswith("physics.") and not f.owner and f.module != "physics.jit"]


def test_there_is_something_to_check() -> None:
    assert PUBLIC
    assert PHYSICS


def test_public_functions_are_annotated() -> None:
    bare = [f.label for f in PUBLIC if f.node.returns is None or any(a.annotation is None for a in f.arguments)]
    assert not bare, "\n".join(bare)


def test_public_functions_have_docstrings() -> None:
    mute = [f.label for f in PUBLIC if not f.owner and not f.docstring]
    assert not mute, "\n".join(mute)


@pytest.mark.parametrize(
    ("what", "pattern"),
    [
        ("a source", r"(?im)^\s*sources?\b"),
        ("an example that runs", r">>> "),
        ("a unit in brackets", r"\[[^\]\n]+\]"),
    ],
)
def test_physics_docstring_is_a_model_card(what: str, pattern: str) -> None:
    without = [f.label for f in PHYSICS if not re.search(pattern, f.docstring)]
    assert not without, f"without {what}:\n" + "\n".join(without)


def test_physics_docstring_names_every_parameter() -> None:
    missing = []
    for f in PHYSICS:
        missing += [f"{f.label} {a.arg}" for a in f.arguments if not re.search(rf"\b{re.escape(a.arg)}\b", f.docstring)]
    assert not missing, "\n".join(missing)
