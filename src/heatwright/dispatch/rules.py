"""A decision table on the knobs of dispatch: its rules choose, and what the rule in force runs is set for the best.

Latches, dwell and rules are the plant's own, read as the table reads them. The rule's laws say where valves and flaps
stand and which pumps, fans and blowers run at all; speeds of compressors, heaters, heat on purpose, flows and blends
that a law moves are solved as for any candidate of dispatch. Where they cannot be, because the circuit would stand at
a limit of its own, the rule's laws set them. Set beside dispatch, only the choice of mode differs.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from heatwright.compiler.held import HEATERS, resting
from heatwright.compiler.program import Program
from heatwright.dispatch.candidates import AIR, Candidate, Knob
from heatwright.dispatch.own import Chooser
from heatwright.dispatch.switches import ASLEEP
from heatwright.errors import InputError, Problem
from heatwright.kernel import desk as kd
from heatwright.kernel import plan
from heatwright.kernel.control import aim
from heatwright.plant.model import Act, Control, Plant

NAME = "rules"
FIRST = 2
"""Number of the candidate of the first rule; before it stand asleep and air alone."""
VALVES = ("valve", "door", "expansion", "shutoff")


class Rules:
    """The strategy: the plant's own rules choose, the knobs are solved."""

    name = NAME
    told: Mapping[str, str] = {}

    def candidates(self, plant: Plant) -> tuple[Candidate, ...]:
        """Return the car asleep, air alone and a candidate for each rule; InputError without a decision table."""
        control = _control(plant)
        still = resting(plant, {}, {})
        blowers = frozenset(part.name for part in plant.of_kind("blower"))
        found = [
            Candidate("asleep", ASLEEP, still, 0, frozenset(), frozenset()),
            Candidate("air", AIR, still, 0, blowers, blowers),
        ]
        for rule in control.rules:
            acts = control.acts.get(rule.name, {})
            running = frozenset(name for name, act in acts.items() if _may_run(act)) | blowers
            moved = frozenset(name for name, act in acts.items() if act.kind != "fixed")
            found.append(Candidate(rule.name, f"rule {rule.name}", still, 0, running, running | moved))
        return tuple(found)

    def begin(
        self, plant: Plant, program: Program, known: Sequence[Candidate], knobs: Sequence[Knob], car: Any
    ) -> Chooser:
        """Return the rules as what chooses on a march whose work array is `car`."""
        return _Rules(plant, program, known, knobs, car)


class _Rules(Chooser):
    """Follows the latches and rules of the table beside the march, and lays the rule's setting on the desk."""

    def __init__(
        self, plant: Plant, program: Program, known: Sequence[Candidate], knobs: Sequence[Knob], car: Any
    ) -> None:
        self.program, self.known, self.knobs, self.car = program, known, knobs, car
        self.beside = car.copy()
        self.last_s = 0.0
        self.asked = np.zeros(len(program.index.actuators))
        names = program.index.actuators
        kinds = [plant.parts[name.split(":")[0].split(".")[0]].kind for name in names]
        self.devices = np.array([kind not in VALVES for kind in kinds], bool)
        self.places = [(names.index(knob.at), kinds[names.index(knob.at)] in VALVES) for knob in knobs]
        solved = ("compressor", "drive_unit", *HEATERS)
        self.solved = np.array([kind in solved for kind in kinds], bool)
        self.runs = np.zeros((len(known), len(names)), bool)
        for c, one in enumerate(known):
            self.runs[c] = [name in one.running for name in names]

    def choose(
        self, t_s: float, sig: Any, desk: kd.Desk, current: int, held_s: float
    ) -> tuple[int, Mapping[int, float]]:
        """Return the candidate of the rule in force, its setting laid on the desk; asleep where it runs nothing."""
        pi, pf = self.program.pi, self.program.pf
        own = plan.section(pi, self.beside, "cs").copy()
        self.beside[:] = self.car
        state = plan.section(pi, self.beside, "cs")
        state[:] = own
        aim(pi, pf, self.beside, max(t_s - self.last_s, self.program.dt_s))
        self.last_s = t_s
        self.asked = asked = plan.section(pi, self.beside, "actx").copy()
        number = FIRST + int(state[0])
        if not ((asked > 0.0) & self.devices).any() and not (self.runs[number] & self.solved).any():
            return kd.ASLEEP, {}
        setting = np.where(self.solved, 0.0, asked)
        if np.abs(setting - desk.setting[number]).max() > 0.0:
            desk.setting[number] = setting
            desk.supply[number] = kd.UNSEEN
        for k, (at, is_valve) in enumerate(self.places):
            moved = self.knobs[k].at.split(":")[0] in self.known[number].knobs
            desk.free[number, k] = moved if is_valve else asked[at] > 0.0
        return number, {}

    def instead(self) -> Any:
        """Return what the laws of the rule in force ask for: the table runs a machine at its limits, too."""
        return self.asked


def _control(plant: Plant) -> Control:
    """Return the plant's decision table; InputError where it has none."""
    if plant.control is None:
        hint = "write a [control] into the plant, or let dispatch choose"
        raise InputError(
            [Problem(plant.source, "the plant has no decision table", "[control]", hint)], f"strategy {NAME}"
        )
    return plant.control


def _may_run(act: Act) -> bool:
    """Return whether an actuator's law ever asks for more than nothing."""
    return any(isinstance(one, int | float) and one > 0.0 for one in (act.value, act.from_, act.to))
