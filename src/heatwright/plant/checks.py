"""What must be true of the plumbing as a whole, once every line has been read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from heatwright.plant.circuits import check_circuit, check_compressors, connected
from heatwright.plant.declare import LAID
from heatwright.plant.kinds_comfort import COMFORT_HEATERS
from heatwright.plant.lines import Plumbing
from heatwright.plant.mistakes import Mistakes, listed, near
from heatwright.plant.model import FLUIDS, Branch, Part
from heatwright.plant.parts import kinds

MOVERS = {"coolant": ("pump",), "refrigerant": ("compressor",), "air": ("blower",)}
EXCHANGER = "an exchanger stands in a line of each fluid it touches"
LONELY = "let a second line begin or end there, or go on to the next part"
MOVED = {
    "coolant": "write [pump.name] and put it in",
    "refrigerant": "write [compressor.name] and put it in",
    "air": "write [blower.name] and put it in",
}
NEEDED = {"pack": "[pack.pack]", "drive_unit": "[drive_unit.drive]", "zone": "[zone.cabin]"}
IN_NO_LINE = ("pack", "fan", "pad", *COMFORT_HEATERS)


def check_plumbing(plumbing: Plumbing) -> None:
    """Check sides, ports, dead ends, movers; a fluid whose lines had mistakes is left out."""
    sound: list[str] = [fluid for fluid in FLUIDS if fluid not in plumbing.faulty]
    _check_placed(plumbing, sound)
    closed = []
    for fluid in sound:
        branches, before = plumbing.branches[fluid], len(plumbing.mistakes.problems)
        _check_dead_ends(plumbing.mistakes, fluid, branches)
        _check_movers(plumbing, fluid, branches)
        closed += [fluid] if len(plumbing.mistakes.problems) == before else []
    if "air" in sound:
        _check_blown(plumbing)
    circuits = (plumbing.branches["refrigerant"], plumbing.parts, plumbing.mistakes)
    strange = "refrigerant" in sound and check_compressors(*circuits)
    if "refrigerant" in closed and not strange:
        check_circuit(*circuits)
    if len(sound) == len(FLUIDS):
        _check_ports(plumbing)


def check_required(parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    """A car needs a pack (one), a drive unit and a cabin."""
    if mistakes.broken:
        return
    for kind, sample in NEEDED.items():
        named = [part for part in parts.values() if part.kind == kind]
        if not named:
            hint = f"write {sample} (its keys have defaults), or extend a plant that has one"
            mistakes.add((), f"the plant has no {kind}", f"a table such as {sample}", hint)
        elif kind == "pack" and len(named) > 1:
            mistakes.add_at(
                named[1].where,
                f"'{named[1].name}' is a second pack",
                "one pack",
                "its cell groups are its nodes: nodes = 4",
            )


def check_laid(parts: Mapping[str, Part], mistakes: Mistakes) -> None:
    """A pad or a plate lies on a pack that exists."""
    for part in parts.values():
        body = part.values.get("on")
        if part.kind not in LAID or not isinstance(body, str) or not body or body in mistakes.broken:
            continue
        packs = [one.name for one in parts.values() if one.kind == "pack"]
        if body not in packs:
            hint = near(body, packs)
            found = f"{part.kind} '{part.name}' lies on '{body}'"
            mistakes.add((part.kind, part.name, "on"), found, "the name of a pack", hint)


def check_fluids(parts: Mapping[str, Part], circuits: Iterable[str], mistakes: Mistakes) -> None:
    """A table [fluid.NAME] is named after a compressor."""
    compressors = [part.name for part in parts.values() if part.kind == "compressor"]
    for name in circuits:
        if name not in compressors and name not in mistakes.broken:
            found = f"[fluid.{name}] is the fluid of no circuit: '{name}' is no compressor"
            mistakes.add(("fluid", name), found, "the name of a compressor", near(name, compressors))


def check_carbon_dioxide(parts: Mapping[str, Part], fluid: Mapping[str, Any], mistakes: Mistakes) -> None:
    """The gas cooler of R744 has no one temperature, and no map has its outlet's: zones and our own forms only."""
    for part in parts.values():
        own = fluid["circuits"].get(part.name, fluid)
        if part.kind != "compressor" or part.name in mistakes.broken or own["refrigerant"] != "R744":
            continue
        if part.values.get("exchangers") == "lumps":
            found = f"'{part.name}' takes exchangers as lumps, with R744"
            mistakes.add(
                ("compressor", part.name, "exchangers"),
                found,
                'exchangers = "zones": a gas cooler has a glide',
                "take the key out",
            )
        if part.values.get("map") is not None:
            found = f"'{part.name}' has a map over condensing temperatures, with R744"
            mistakes.add(
                ("compressor", part.name, "map"),
                found,
                "no map: above 31 degC R744 does not condense",
                "take the map out",
            )


def check_comfort_heaters(parts: Mapping[str, Part], panes: Iterable[str], mistakes: Mistakes) -> None:
    """A heater at the body stands in a zone that exists, one in the glass lies in a pane that exists."""
    places = {"zone": [one.name for one in parts.values() if one.kind == "zone"], "pane": list(panes)}
    for part in parts.values():
        if part.kind not in COMFORT_HEATERS:
            continue
        for key, known in places.items():
            named = part.values.get(key)
            if isinstance(named, str) and named and named not in known and named not in mistakes.broken:
                found = f"{part.kind} '{part.name}' names the {key} '{named}'"
                mistakes.add(
                    (part.kind, part.name, key),
                    found,
                    f"the name of a {key}",
                    near(named, known),
                )


def _placed(plumbing: Plumbing) -> dict[str, set[str]]:
    """For each part, the fluids whose lines reach it."""
    placed: dict[str, set[str]] = {}
    for fluid, item in plumbing.used:
        placed.setdefault(item.partition(".")[0], set()).add(fluid)
    for fluid, branches in plumbing.branches.items():
        for branch in branches:
            for end in (branch.start, branch.end):
                if end.kind in ("port", "tank", "zone"):
                    placed.setdefault(end.name, set()).add(fluid)
    return placed


def _check_placed(plumbing: Plumbing, sound: list[str]) -> None:
    placed = _placed(plumbing)
    mistakes = plumbing.mistakes
    for name, part in plumbing.parts.items():
        kind, fluids = kinds()[part.kind], placed.get(name, set())
        path = (part.kind, name)
        if kind.role == "exchanger":
            for fluid in kind.fluids:
                if fluid not in fluids and fluid in sound:
                    found = f"the {fluid} side of {part.kind} '{name}' is in no line"
                    mistakes.add(path, found, f"'{name}' in a line of [lines.{fluid}]", EXCHANGER)
                for side in kind.sides if fluid in fluids and fluid in sound else ():
                    if (fluid, f"{name}.{side}") not in plumbing.used:
                        found = f"side {side} of {part.kind} '{name}' is in no line"
                        mistakes.add(path, found, f"'{name}.{side}' in a line of [lines.{fluid}]", EXCHANGER)
            continue
        if len(fluids) > 1:
            mistakes.add(
                path,
                f"{part.kind} '{name}' stands in lines of {' and '.join(sorted(fluids))}",
                "one fluid",
                "declare one for each",
            )
        if not fluids and part.kind not in IN_NO_LINE and set(kind.fluids) <= set(sound):
            expected = f"'{name}' in a line of {' or '.join(f'[lines.{fluid}]' for fluid in kind.fluids)}"
            hint = f"write ... > {name} > ..." + ("" if part.kind in NEEDED else ", or take the part out")
            if part.kind == "zone":
                hint = f"write ... > {name}.face for the air that enters, {name} >> outside for the air that leaves"
            mistakes.add(path, f"{part.kind} '{name}' is declared but in no line", expected, hint)
        if part.kind == "pack" and "coolant" in sound:
            _check_plate(part, bool(fluids), mistakes)


def _check_plate(part: Part, in_line: bool, mistakes: Mistakes) -> None:
    has_plate = "plate" in part.given
    if in_line and not has_plate:
        mistakes.add(
            ("pack", part.name),
            f"pack '{part.name}' stands in a coolant line but has no plate",
            'plate = "1200 W/K at 10 L/min"',
            "give it one, or take it out of the line",
        )
    if has_plate and not in_line:
        mistakes.add(
            ("pack", part.name, "plate"),
            f"pack '{part.name}' has a plate that no coolant reaches",
            f"'{part.name}' in a line of [lines.coolant], or no plate",
            "without a plate it meets the air and the cabin floor alone",
        )


def _check_ports(plumbing: Plumbing) -> None:
    for name, part in plumbing.parts.items():
        for port in part.values.get("ports", ()):
            if f"{name}.{port}" not in plumbing.ports:
                path = (part.kind, name, "positions")
                found = f"port '{port}' of '{name}' has no line on it"
                plumbing.mistakes.add(
                    path,
                    found,
                    f"a line that ends at {name}.{port}, or no such port",
                    "a port that is always shut is left out of the positions",
                )


def _check_dead_ends(mistakes: Mistakes, fluid: str, branches: list[Branch]) -> None:
    touching: dict[tuple[str, str], list[Branch]] = {}
    for branch in branches:
        for end in (branch.start, branch.end):
            touching.setdefault((end.kind, end.name), []).append(branch)
    tees = [name for kind, name in touching if kind == "tee"]
    for (kind, name), found in touching.items():
        path = ("lines", fluid, found[0].line)
        if kind in ("tee", "tank") and len(found) == 1:
            shown = f"@{name}" if kind == "tee" else name
            hint = near(name, [tee for tee in tees if tee != name], LONELY) if kind == "tee" else LONELY
            mistakes.add(
                path,
                f"line '{found[0].line}' ends at '{shown}', where nothing else meets it",
                "a second line there",
                hint,
            )
        if kind == "zone":
            leads_in = any(branch.end.kind == "zone" and branch.end.name == name for branch in found)
            leads_out = any(branch.start.kind == "zone" and branch.start.name == name for branch in found)
            if not (leads_in and leads_out):
                way = "out of" if leads_in else "into"
                mistakes.add(
                    path,
                    f"no air line leads {way} '{name}'",
                    "one line into a zone and one out of it",
                    f"write {f'{name} >> outside' if leads_in else f'... > {name}.face'}",
                )


def _check_blown(plumbing: Plumbing) -> None:
    """The first zone is blown into from a tee or a door, where the blown air has a temperature of its own."""
    first = next((part.name for part in plumbing.parts.values() if part.kind == "zone"), "")
    if first not in plumbing.unblown():
        return
    branch = next(one for one in plumbing.branches["air"] if (one.end.kind, one.end.name) == ("zone", first))
    found = f"line '{branch.line}' leads from '{branch.start.name}' to '{first}' in one piece"
    hint = f"put a tee into it: {branch.start.name} > @box > ..."
    plumbing.mistakes.add(("lines", "air", branch.line), found, "a door or a tee (@name) on the way", hint)


def _check_movers(plumbing: Plumbing, fluid: str, branches: list[Branch]) -> None:
    """Every connected piece of plumbing needs something that moves its fluid."""
    for group in connected(branches):
        inside = [name for branch in group for name in branch.parts]
        if any(plumbing.parts[name.partition(".")[0]].kind in MOVERS[fluid] for name in inside):
            continue
        lines = list(dict.fromkeys(branch.line for branch in group))
        found = f"nothing moves the {fluid} in line{'s' * (len(lines) > 1)} {listed(map(repr, lines))}"
        plumbing.mistakes.add(
            ("lines", fluid, lines[0]),
            found,
            f"a {MOVERS[fluid][0]} in one of them",
            f"{MOVED[fluid]}, or take the lines out",
        )
