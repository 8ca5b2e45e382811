"""An import-linter contract: a room may import the named modules and nothing else.

The standard library is no exception.
"""

from __future__ import annotations

from grimp import ImportGraph
from importlinter import Contract, ContractCheck, fields, output


class OnlyContract(Contract):
    """Every import made inside `room` must stand in `allowed`; the modules in `free` may import anything."""

    type_name = "only"
    room = fields.StringField()
    allowed = fields.SetField(subfield=fields.StringField())
    free = fields.SetField(subfield=fields.StringField(), required=False)

    def check(self, graph: ImportGraph, verbose: bool) -> ContractCheck:
        """Collect the imports of the room that the allowed list does not cover."""
        room = str(self.room)
        stray = []
        for module in sorted({room} | graph.find_descendants(room)):
            if module in (self.free or ()):
                continue
            for imported in sorted(graph.find_modules_directly_imported_by(module)):
                if not any(imported == name or imported.startswith(f"{name}.") for name in self.allowed):
                    details = graph.get_import_details(importer=module, imported=imported)
                    stray.append((module, imported, details[0]["line_number"] if details else 0))
        return ContractCheck(kept=not stray, metadata={"stray": stray})

    def render_broken_contract(self, check: ContractCheck) -> None:
        """Print each stray import with its line."""
        for module, imported, line in check.metadata["stray"]:
            output.print_error(f"{module} may not import {imported} (line {line})", bold=False)
