"""Read the package's source as text and syntax, without importing it.

Used by the house tests and by the reference pages.
"""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src" / "heatwright"
FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Function:
    """One function of a module; `owner` is the class that holds it, or empty."""

    module: str
    file: Path
    owner: str
    node: FunctionNode

    @property
    def label(self) -> str:
        owner = f"{self.owner}." if self.owner else ""
        return f"{self.module}:{owner}{self.node.name}"

    @property
    def lines(self) -> int:
        return (self.node.end_lineno or self.node.lineno) - self.node.lineno

    @property
    def docstring(self) -> str:
        return ast.get_docstring(self.node) or ""

    @property
    def public(self) -> bool:
        return not self.node.name.startswith("_") and not self.owner.startswith("_")

    @property
    def arguments(self) -> list[ast.arg]:
        """Every argument but `self` and `cls`."""
        spec = self.node.args
        named = [*spec.posonlyargs, *spec.args, *spec.kwonlyargs, spec.vararg, spec.kwarg]
        return [arg for arg in named if arg is not None and arg.arg not in ("self", "cls")]


def modules(package: Path = PACKAGE, room: str = "") -> list[Path]:
    """Return the Python files of the package, or of one room of it, in order."""
    return sorted((package / room).rglob("*.py"))


def module_name(file: Path, package: Path = PACKAGE) -> str:
    """Return `physics.coolant` for `.../heatwright/physics/coolant.py`."""
    parts = file.relative_to(package).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 1 else parts)


def parse(file: Path) -> ast.Module:
    """Return the syntax tree of one file."""
    return ast.parse(file.read_text(encoding="utf-8"), filename=str(file))


def functions(file: Path, package: Path = PACKAGE, nested: bool = False) -> Iterator[Function]:
    """Yield functions and methods of a module; `nested` adds the functions inside functions."""
    module = module_name(file, package)

    def walk(body: list[ast.stmt], owner: str) -> Iterator[Function]:
        for node in body:
            if isinstance(node, FunctionNode):
                yield Function(module, file, owner, node)
                if nested:
                    yield from walk(node.body, owner)
            elif isinstance(node, ast.ClassDef):
                yield from walk(node.body, node.name)

    yield from walk(parse(file).body, "")


def tracked_files(root: Path = ROOT) -> list[Path]:
    """Return the files that git tracks or would take in; empty outside a checkout."""
    answer = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=root,
        capture_output=True,
        text=True,
        check=False,
    )
    names = answer.stdout.splitlines() if answer.returncode == 0 else []
    return [root / name for name in names if (root / name).is_file()]
