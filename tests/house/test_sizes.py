"""Rooms stay liveable: sizes of modules and functions."""

import pytest

from tools.sources import ROOT, functions, modules

MODULE_LINES = 800
FUNCTION_LINES = 60
KERNEL_FUNCTION_LINES = 100
EVERY_FILE = [*modules(), *modules(ROOT, "tests"), *modules(ROOT, "tools"), *modules(ROOT, "benchmarks")]


def test_no_module_is_past_its_size() -> None:
    lengths = {str(file.relative_to(ROOT)): len(file.read_text().splitlines()) for file in EVERY_FILE}
    assert lengths, "no source file found"
    assert not {file: lines for file, lines in lengths.items() if lines > MODULE_LINES}


def test_no_function_is_past_its_size() -> None:
    past = []
    for file in modules():
        limit = KERNEL_FUNCTION_LINES if "kernel" in file.parts else FUNCTION_LINES
        past += [f"{f.label} {f.lines}" for f in functions(file, nested=True) if f.lines > limit]
    assert not past, "\n".join(past)


@pytest.mark.parametrize("folder", sorted({file.parent for file in modules()}), ids=lambda path: path.name)
def test_every_room_is_a_package(folder) -> None:
    """A folder of modules without `__init__.py` would slip past the import law."""
    assert (folder / "__init__.py").is_file()
