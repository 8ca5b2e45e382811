"""Read the segments of a trip file: kinds, schedules, profiles, and what must go together."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from heatwright.errors import InputError, Problem
from heatwright.toml_lines import KeyPath
from heatwright.trip import heights, segments
from heatwright.trip.model import Leg, Profile
from heatwright.trip.reading import Page, read_values
from heatwright.trip.schedules import Schedule, read_schedule
from heatwright.trip.schema import KINDS
from heatwright.units import UnitError

Table = Mapping[str, Any]
TIMING = ("duration", "until", "ready_by", "distance", "speed", "schedule", "repeats", "longest", "prepare")
"""Keys without which nothing can be said of when and how fast: their mistakes leave the grid unchecked."""


class LegReader:
    """Reads [profile] and [[segment]].

    `digests` gathers those of the schedule files; `whole` says whether every segment could be read
    so far that it can be laid on the time grid.
    """

    def __init__(self, page: Page, raw: Table, folder: Path) -> None:
        self.page, self.raw, self.folder = page, raw, folder
        self.digests: list[str] = []
        self.whole = False

    def legs(self, set_point: float) -> tuple[Leg, ...]:
        """Every segment that can be read; mistakes go to the page."""
        profiles = self._profiles()
        raw = self.raw.get("segment")
        if not isinstance(raw, list) or not raw:
            expected = 'at least one [[segment]] with `kind = "drive"`'
            self.page.note(("segment",), "the trip has no segments", expected)
            return ()
        legs: list[Leg] = []
        for number, one in enumerate(raw):
            leg = self._leg(number, one, set_point, profiles)
            if leg is None:
                continue
            if any(leg.name == other.name for other in legs):
                found = f"two segments are called {leg.name!r}"
                self.page.note(("segment", number, "name"), found, "names that differ")
            legs.append(leg)
        moving = [leg for leg in legs if leg.kind == "drive"]
        timed = not any(path[:1] == ("segment",) and path[-1] in TIMING for path in self.page.reported)
        self.whole = timed and len(legs) == len(raw) and all(leg.values["schedule"] for leg in moving)
        return tuple(legs)

    def _profiles(self) -> dict[str, Profile]:
        found: dict[str, Profile] = {}
        for name, points in self.page.table(self.raw, ("profile",)).items():
            try:
                if not isinstance(points, list):
                    raise UnitError(f"profile {name!r} is not a list", 'points such as ["0 km 0 m", "9 km 400 m"]')
                found[name] = heights.parse_profile(name, points, self.page.where("profile", name))
            except UnitError as mistake:
                self.page.note(("profile", name), mistake.found, mistake.expected, mistake.hint)
        return found

    def _leg(self, number: int, raw: Any, set_point: float, profiles: Mapping[str, Profile]) -> Leg | None:
        page, path = self.page, ("segment", number)
        kind = self._kind(path, raw)
        if kind is None:
            return None
        values = read_values(page, raw, KINDS[kind][1], path, also=("kind",))
        name = values.pop("name") or f"{kind} {number + 1}"
        if values.get("set_point") is None:
            values["set_point"] = set_point
        if values.get("plugged") and "station" not in raw:
            page.note(path, "plugged in, but nothing says what the plug gives", '`station`, such as "11 kW"')
        for key in ("station", "charge_to"):
            if kind != "fast_charge" and values.get(key) is not None and not values.get("plugged"):
                page.note((*path, key), f"`{key}` without a plug", "plugged = true")
        leg = Leg(name, kind, values, frozenset(raw), page.where(*path))
        return self._drive(leg, path, raw, profiles) if kind == "drive" else leg

    def _kind(self, path: KeyPath, raw: Any) -> str | None:
        kind = raw.get("kind") if isinstance(raw, Mapping) else None
        if kind in KINDS:
            return str(kind)
        expected, where = f"one of: {', '.join(KINDS)}", (*path, "kind")
        near = get_close_matches(str(kind), KINDS, 1)
        found = "the segment has no kind" if kind is None else f"kind = {kind!r}"
        self.page.note(where, found, expected, f"write {near[0]!r}" if near else "")
        return None

    def _drive(self, leg: Leg, path: KeyPath, raw: Table, profiles: Mapping[str, Profile]) -> Leg:
        values = dict(leg.values)
        values["schedule"] = self._schedule(leg, path, raw)
        values["profile"] = self._way(path, raw, values, profiles)
        return Leg(leg.name, leg.kind, values, leg.given, leg.where)

    def _schedule(self, leg: Leg, path: KeyPath, raw: Table) -> Schedule | None:
        page = self.page
        given = [name for name in ("schedule", "speed") if name in raw]
        if len(given) != 1:
            found = "both schedule and speed" if given else "neither schedule nor speed"
            page.note(path, f"the drive has {found}", "one of them")
            return None
        if given == ["schedule"]:
            for name in {"duration", "distance", "rolling"} & set(raw):
                page.note((*path, name), f"`{name}` goes with `speed`, not with a schedule", "`repeats`")
            return self._read_schedule(leg, path)
        if ("duration" in raw) == ("distance" in raw):
            page.note(path, "a drive at one speed", "either `duration` or `distance`")
        elif leg.values["speed"] is not None and {leg.values["duration"], leg.values["distance"]} != {None}:
            try:
                return segments.steady(leg)
            except ValueError as mistake:
                page.note(path, str(mistake), "a longer drive, or rolling = true")
        return None

    def _read_schedule(self, leg: Leg, path: KeyPath) -> Schedule | None:
        name = leg.values["schedule"]
        if name is None:
            return None
        try:
            schedule = read_schedule(name, self.folder)
        except InputError as mistake:
            here = self.page.where(*path, "schedule")
            missing = len(mistake.problems) == 1 and ":" not in Path(mistake.problems[0].where).name
            for one in mistake.problems:
                where = here if missing else one.where
                found = f"{one.found} ({name!r})" if missing else one.found
                self.page.problems.append(Problem(where, found, one.expected, one.hint))
            return None
        self.digests.append(schedule.digest)
        ends = abs(schedule.speed_m_per_s[-1] - schedule.speed_m_per_s[0])
        if leg.values["repeats"] > 1 and ends > 0.1:
            found = f"the schedule {name!r} ends at another speed than it begins with"
            self.page.note((*path, "repeats"), found, "a schedule that can follow itself")
        return schedule

    def _way(self, path: KeyPath, raw: Table, values: Table, profiles: Mapping[str, Profile]) -> Profile | None:
        name, climb = values["profile"], values["climb"]
        if name is None:
            if "reverse" in raw and climb is None:
                self.page.note((*path, "reverse"), "`reverse` without a climb or a profile", "one of them")
            return None if climb is None else heights.fit(heights.even(climb), None, values["reverse"])
        if name not in profiles:
            expected = f"one of [profile]: {', '.join(profiles) or 'there is none'}"
            if name not in self.page.table(self.raw, ("profile",)):
                self.page.note((*path, "profile"), f"there is no profile {name!r}", expected)
            return None
        if climb is not None and abs(profiles[name].h_m[-1]) < 1e-9:
            found = f"profile {name!r} ends as high as it begins and cannot be scaled to a climb"
            self.page.note((*path, "climb"), found, "no `climb`")
            return None
        return heights.fit(profiles[name], climb, values["reverse"])
