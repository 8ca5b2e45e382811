"""A story: one trip driven in two or three ways, which differ in one thing, and what that thing was worth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

import numpy as np

from heatwright.compiler.build import compile_program
from heatwright.compiler.held import HEATERS
from heatwright.dispatch.march import run_dispatch
from heatwright.dispatch.score import score
from heatwright.dispatch.settings import load_settings
from heatwright.kernel.desk import ASLEEP
from heatwright.modes.atlas import build_atlas
from heatwright.modes.model import Atlas, Mode
from heatwright.outcome import J_PER_KWH
from heatwright.plant.load import load_plant
from heatwright.plant.model import Plant
from heatwright.run import Run, plain
from heatwright.simulate import Progress, simulate
from heatwright.study.draws import side_by_side
from heatwright.study.stops import settled_case
from heatwright.study.strategies import DISPATCH, TABLE
from heatwright.study.table import DASH, aligned, number
from heatwright.trip.load import load_trip
from heatwright.trip.story_files import story_file

HELD = "held"
ZERO_K = 273.15

Figures = Mapping[str, float | None]
Left = Callable[[Mode], bool]


@dataclass(frozen=True)
class Way:
    """One way to drive a story's trip: under dispatch, under the plant's decision table, or with actuators held.

    changed : values of the plant that differ ("kind.name.field" -> text). held : actuators that do not rest, of a way
    of the strategy "held" (name -> value). settings : numbers of dispatch that differ from the plant's own (field ->
    value). without : families of the atlas that may not be used, those with a mode of which it is true. masked : parts
    that may not run.
    """

    name: str
    words: str
    plant: str
    strategy: str = DISPATCH
    changed: Mapping[str, str] = field(default_factory=dict)
    held: Mapping[str, float] = field(default_factory=dict)
    settings: Mapping[str, Any] = field(default_factory=dict)
    without: Left | None = None
    masked: tuple[str, ...] = ()


@dataclass(frozen=True)
class Column:
    """A figure as it is shown: key, words, unit, factor from the figure to that unit, digits; kelvins as degC."""

    key: str
    words: str
    unit: str
    factor: float = 1.0
    digits: int = 2

    @property
    def head(self) -> str:
        """Words and unit."""
        return f"{self.words}, {'°C' if self.unit == 'K' else self.unit}"

    def shown(self, value: float | None) -> str:
        """Return a figure in the column's unit."""
        if value is None:
            return DASH
        return number(value - ZERO_K, 1) if self.unit == "K" else number(value * self.factor, self.digits)


@dataclass(frozen=True)
class Story:
    """A question, the ways that answer it, the figures shown, and the answer as a function of all figures."""

    name: str
    question: str
    ways: tuple[Way, ...]
    columns: tuple[Column, ...]
    answer: Callable[[Mapping[str, Figures]], str]


@dataclass(frozen=True)
class Told:
    """What the runs of a story gave: the figures of each way by its name, and the answer in words."""

    story: Story
    trip: str
    figures: Mapping[str, Figures]
    answer: str

    def as_json(self) -> dict[str, Any]:
        """Return everything as plain JSON values."""
        ways = [
            {
                "way": one.name,
                "plant": one.plant,
                "strategy": one.strategy,
                "words": one.words,
                **self.figures[one.name],
            }
            for one in self.story.ways
        ]
        out: dict[str, Any] = plain(
            {"story": self.story.name, "question": self.story.question, "trip": self.trip, "ways": ways}
            | {"answer": self.answer}
        )
        return out

    def rows(self) -> list[list[str]]:
        """Return the table: a line of heads, then one line a way."""
        heads = ["way", "plant", *(one.head for one in self.story.columns)]
        return [heads, *(self._row(way) for way in self.story.ways)]

    def as_text(self) -> str:
        """Return question, table and answer for a terminal: the table stands on its side, one column a way."""
        sideways = [list(line) for line in zip(*self.rows(), strict=True)]
        return f"{self.story.question}\n\n" + "\n".join(aligned(sideways)) + f"\n\n{self.answer}"

    def _row(self, way: Way) -> list[str]:
        found = self.figures[way.name]
        values = (found.get(one.key) for one in self.story.columns)
        shown = [one.shown(value) for value, one in zip(values, self.story.columns, strict=True)]
        return [way.words, way.plant, *shown]


def tell(story: Story, progress: Progress | None = None) -> Told:
    """Drive a story's trip in all its ways and return what came of it.

    A fast charge lasts until the slowest way has its charge. progress(done, total) is called after each march.
    """
    trip = load_trip(story_file(story.name, "trip"))
    marches = [_march(way) for way in story.ways]
    stops = sum(leg.kind == "fast_charge" for leg in trip.legs)
    total, done = (stops + 1) * len(marches), 0

    def count() -> None:
        nonlocal done
        done += 1
        if progress is not None:
            progress(done, total)

    def counted(march: Callable[[Any], Run]) -> Callable[[Plant, Any], Run]:
        def one(_: Plant, case: Any) -> Run:
            run = march(case)
            count()
            return run

        return one

    case = settled_case([story_plant(story.ways[0].plant)], trip, marches=[counted(march) for march in marches])
    figures: dict[str, Figures] = {}
    for way, run in zip(story.ways, side_by_side(lambda march: march(case), marches), strict=True):
        figures[way.name] = figures_of(run, case, heaters_of(way), way.strategy == DISPATCH)
        count()
    return Told(story, trip.name, figures, story.answer(figures))


def _march(way: Way) -> Callable[[Any], Run]:
    """Return how a way marches its plant over a case."""
    plant = story_plant(way.plant, way.changed)

    def march(case: Any) -> Run:
        program = compile_program(plant, case)
        if way.strategy == TABLE:
            return simulate(program, case)
        if way.strategy == HELD:
            row = np.array([way.held.get(name, 0.0) for name in program.index.actuators])
            return simulate(program, case, replay=np.tile(row, (case.n, 1)))
        settings = replace(load_settings(plant.dispatch, case.dispatch), **way.settings)
        atlas = _atlas(way.plant)
        return run_dispatch(plant, program, case, atlas, settings, masked=left_out(way, atlas)).run

    return march


@cache
def _atlas(name: str) -> Atlas:
    return build_atlas(story_plant(name))


def story_plant(name: str, changed: Mapping[str, str] | None = None) -> Plant:
    """Return a shipped plant, or one that belongs to a story, with some values changed."""
    own = story_file(name, "plant")
    return load_plant(own if own.is_file() else name, changed or None)


def left_out(way: Way, atlas: Atlas) -> frozenset[str]:
    """Return the ids of the families and the names of the parts that a way may not use."""
    families = {mode.family for mode in atlas.modes if way.without is not None and way.without(mode)}
    return frozenset(families).union(way.masked)


def heaters_of(way: Way) -> frozenset[str]:
    """Return the names of the heaters of a way's plant."""
    return frozenset(part.name for part in story_plant(way.plant).of_kind(*HEATERS))


def figures_of(run: Run, case: Any, heaters: frozenset[str], dispatched: bool) -> Figures:
    """Return every figure that stories use: sums of the run, of its score, and of the time the car stood.

    Keys end in their unit; `awake_parked_s` is the time a car that stands alone was not asleep (None under a table),
    `into_pack_parked_kwh` what the pack's heat changed by meanwhile; `before_charge_kwh` what was drawn until the
    first fast charge began, traction included.
    """
    points = score(run, case)
    series = run.series
    known: dict[str, Any] = {**run.summary, **run.comfort, **{f"{k}_kwh": v for k, v in run.energy_kwh.items()}}
    kept = (
        "time_to_10c_s time_to_20c_s short_k_min over_k_min fogged_s compressor_kwh drive_heat_kwh blower_kwh "
        "low_voltage_kwh pack_kwh_per_100km drive_derated_s drive_power_short_j heat_in_pack_end_kwh energy_used_kwh"
    ).split()
    found: dict[str, float | None] = {key: known.get(key) for key in kept}
    heated = [v for k, v in run.energy_kwh.items() if k in heaters]
    found["heater_kwh"] = float(sum(heated)) if heated else None
    found |= {
        "score_kwh": points.score_kwh, "energy_kwh": points.energy_kwh, "charge_min": points.charge_min,
        "switches_per_h": points.switches_per_h, "ageing_kwh": points.ageing_kwh, "fog_kwh": points.fog_kwh,
        "discomfort_kh": points.discomfort_kh, "pack_end_k": float(np.mean(_ends(series, -1))),
        "pack_most_k": float(np.max(series["t_pack_hottest_k"])), "cabin_end_k": float(series["t_zone_air_k"][-1]),
        "cabin_most_k": float(np.max(series["t_zone_air_k"])),
        "winding_most_k": float(np.max(series["t_drive_winding_k"])),
        "drive_coolant_most_k": float(np.max(series["t_drive_coolant_k"])),
    }  # fmt: skip
    found |= _stood(run, case) | _before_charge(run, case)
    if not dispatched:
        found.pop("awake_parked_s", None)
        found["switches_per_h"] = None
    return found


def _ends(series: Mapping[str, Any], at: int) -> list[float]:
    return [float(series[f"t_pack_{which}_k"][at]) for which in ("hottest", "coldest")]


def _stood(run: Run, case: Any) -> dict[str, float | None]:
    """Return the figures of the stops without people aboard."""
    heat = run.series["heat_in_pack_j"]
    legs = [leg for leg in case.segments if leg.kind == "park" and not case.steps["occupied"][leg.first]]
    if not legs:
        return {}
    spans = [slice(leg.first + 1, leg.last_exclusive + 1) for leg in legs]
    gained = sum(float(heat[leg.last_exclusive] - heat[leg.first]) for leg in legs) / J_PER_KWH
    drawn = sum(float(np.sum(run.series["p_pack_w"][span], dtype=float)) for span in spans) * case.dt_s / J_PER_KWH
    awake = sum(int(np.sum(run.series["mode"][span] != ASLEEP)) for span in spans) * case.dt_s
    last = legs[-1].last_exclusive
    return {
        "parked_s": sum(span.stop - span.start for span in spans) * case.dt_s,
        "awake_parked_s": awake, "into_pack_parked_kwh": gained, "drawn_parked_kwh": drawn,
        "pack_after_park_k": float(np.mean(_ends(run.series, last))),
        "cabin_most_parked_k": max(float(np.max(run.series["t_zone_air_k"][span])) for span in spans),
        "after_park_kwh": float(np.sum(run.series["p_pack_w"][last + 1 :], dtype=float)) * case.dt_s / J_PER_KWH,
    }  # fmt: skip


def _before_charge(run: Run, case: Any) -> dict[str, float | None]:
    """Return the figures at the beginning of the first fast charge."""
    leg = next((one for one in case.segments if one.kind == "fast_charge"), None)
    if leg is None:
        return {}
    drawn = float(np.sum(run.series["p_pack_w"][1 : leg.first + 1], dtype=float)) * case.dt_s / J_PER_KWH
    return {"before_charge_kwh": drawn, "pack_at_plug_k": float(np.mean(_ends(run.series, leg.first)))}
