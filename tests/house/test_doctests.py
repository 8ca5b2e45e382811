"""The worked number in every physics docstring is run."""

import doctest
import importlib
from collections.abc import Iterator

import pytest

from tools.sources import functions, module_name, modules


def examples() -> Iterator[object]:
    """Yield one parameter per public physics function whose docstring has an example."""
    for file in modules(room="physics"):
        for f in functions(file):
            if f.public and not f.owner and ">>> " in f.docstring:
                yield pytest.param(f.module, f.node.name, id=f.label.removeprefix("physics."))


@pytest.mark.slow
@pytest.mark.parametrize(("module", "name"), list(examples()))
def test_example_prints_its_number(module: str, name: str) -> None:
    """Compiled functions are no plain functions to doctest, so the docstring is handed over directly."""
    home = importlib.import_module(f"heatwright.{module}")
    test = doctest.DocTestParser().get_doctest(getattr(home, name).__doc__, vars(home).copy(), name, module, 0)
    output: list[str] = []
    result = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(test, out=output.append)
    assert result.attempted > 0
    assert result.failed == 0, "".join(output)


def test_every_module_of_physics_is_reached() -> None:
    """The walk above finds its functions by syntax: each module must give at least one example."""
    reached = {str(parameter.values[0]) for parameter in examples()}
    expected = {module_name(file) for file in modules(room="physics")} - {"physics", "physics.jit"}
    assert expected <= reached, sorted(expected - reached)
