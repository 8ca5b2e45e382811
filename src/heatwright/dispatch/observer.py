"""What dispatch knows of a car it sees through sensors: the plant's own model, drawn towards what the sensors read.

The observer marches a work array of its own beside the car: same actuators, weather and sun as the car's sensors read
them, the pack's charge and frost as the car estimates them. At every decision each place with a sensor moves by a share
of what its reading differs from the reading that the model expects, lag and average included; places without one in the
same part move by a part of that. Everything else comes from the model.

Known as they are: set-point and wishes, who sits in the car, the plug, what the road asks of the drive unit and its
losses, the car's actuators and the clocks of its compressors, and for how long braking put too much into the pack.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.program import Program
from heatwright.kernel import control, heat, names, plan
from heatwright.kernel import march as kernel
from heatwright.kernel.frost import ICE, PLACES
from heatwright.physics.moist_air import saturation_humidity_ratio
from heatwright.sensors import Sensors

Floats = NDArray[np.float64]
SUN_LEAST = 20.0
"""Sun below which its sensor says nothing of what falls on each pane [W/m2]."""
SUN_MOST = 1.5
"""The most by which a reading of the sun scales it."""
SUN_COLUMNS = ("sun_w_per_m2", "sun_cabin_w")
LEAST_W = 1e-5
NO_COLUMNS, NOTHING = np.zeros(0, np.uint32), np.zeros((0, 0), np.float32)


class Observer:
    """The car as dispatch sees it: `work` is the work array it decides by, `known` the driver rows it knows."""

    def __init__(
        self,
        program: Program,
        sensors: Sensors,
        model_error: Mapping[str, float] | None = None,
        rain: Floats | None = None,
    ) -> None:
        """Start from a car whose every part has the temperature of the start, and sensors not yet read.

        rain : (steps,) share of each step in which it rains, as the wipers know it; left out, it never does.
        model_error : factor on the conductances to outside (panes, shell, leaks; hoses, drive unit) that the observer
        and the candidates reckon with, by zone or part. ValueError where a name has none.
        """
        self.program, self.sensors = program, sensors
        dry, wet = sensors.outside_humidity, sensors.humidity_in_rain
        self._outside = dry + (wet - dry) * (np.zeros(program.rows.shape[0]) if rain is None else rain)
        pi, index = program.pi, program.index
        self._scaled = _scaled(program, model_error or {})
        self._sun = [k for k, c in enumerate(index.columns) if c.startswith("q_sun_") or c in SUN_COLUMNS]
        self._taus = [k for k, c in enumerate(index.columns) if c.startswith("tau_")]
        self._at = {name: k for k, name in enumerate(index.signals)}
        self._reach, self._body = _reach(program, sensors.spread), plan.section(pi, program.pf, "body").reshape(-1, 5)
        self._compressors = [index.actuators.index(name) for name in index.circuits]
        self._fronts = [(self._at[f"{name}.frost"], PLACES * k + ICE) for k, name in enumerate(index.front)]
        self._charge = next((k for name, k in self._at.items() if name.endswith(".charge")), None)
        self._humid = next((k for name, k in self._at.items() if name.endswith(".rh")), None)
        self._pf = program.pf.copy()
        par = plan.section(pi, self._pf, "sg_par").reshape(-1, 5)
        par[:, 1:3] = 0.0
        self.work = program.start()
        kernel.prepare(pi, program.pf, self.work, program.rows[0])

    def begin(self, car: Floats) -> None:
        """Read the car for the first time, as it stands: all sensors settled."""
        row, dt = self.program.rows[0], self.program.dt_s
        control.read_signals(self.program.pi, self.program.pf, car, row, dt)
        control.read_signals(self.program.pi, self._pf, self.work, row, dt)
        self._draw(car, 1.0)
        kernel.derive(self.program.pi, self.work, self.known(self.program.rows[:1], car)[0])

    def known(self, rows: Floats, car: Floats, at: int = 0) -> Floats:
        """Return driver rows as the car knows them: air, sun and speed as read last, humidity assumed for step `at`."""
        read = plan.section(self.program.pi, car, "sig")
        out = rows * self._scaled
        last = rows[-1]
        off_k = read[self._at["outside.air"]] - last[names.D_TAU] - 273.15
        out[:, self._taus] += off_k
        out[:, names.D_W] = self._outside[at] * saturation_humidity_ratio(
            out[-1, names.D_TAU] + 273.15, last[names.D_P]
        )
        if last[names.D_SUN] > SUN_LEAST:
            share = max(read[self._at["sun"]], 0.0) / last[names.D_SUN]
            out[:, self._sun] *= min(share, SUN_MOST)
        moving = rows[:, names.D_SPEED] > 0.0
        off = read[self._at["speed"]] - last[names.D_SPEED] if last[names.D_SPEED] > 0.0 else 0.0
        for column in (names.D_SPEED, names.D_RAM):
            out[moving, column] = np.maximum(out[moving, column] + off, 0.0)
        return out

    def follow(self, car: Floats, rows: Floats, acts: Floats, dt_s: float, at: int) -> None:
        """March over the period that the car has just driven and draw the model towards what the sensors read now.

        rows : driver rows of the period. acts : (steps, actuators) as they were. dt_s : length of a row [s].
        at : the step that the last row ends.
        """
        pi = self.program.pi
        span = rows.shape[0] * dt_s
        moved = acts.mean(axis=0)
        moved[self._compressors] = acts[-1, self._compressors]
        for own in plan.circuits(pi) if self.program.index.circuits else []:
            plan.section(own, self.work, "ext")[names.X_CLOCK_S] = plan.section(own, car, "ext")[names.X_CLOCK_S]
        known = self.known(rows, car, at).mean(axis=0)
        kernel.march(pi, self._pf, self.work, known[None, :], span, False, True, moved[None, :], NO_COLUMNS, NOTHING)
        plan.section(pi, self.work, "ext")[names.X_PULSE] = plan.section(pi, car, "ext")[names.X_PULSE]
        control.read_signals(pi, self._pf, self.work, known, span)
        self._draw(car, span / (self.sensors.settle_s + span))
        kernel.derive(pi, self.work, known)

    def _draw(self, car: Floats, gain: float) -> None:
        """Move temperatures, humidity, frost and charge of the model by a share of what the readings differ."""
        pi, w = self.program.pi, self.work
        expected = plan.section(pi, w, "sig")
        error = plan.section(pi, car, "sig") - expected
        shift = gain * (self._reach @ error)
        tau, mass = plan.section(pi, w, "tau"), self._body[:, 0]
        middle = tau + 0.5 * shift
        c = self._body[:, 1:]
        cp = c[:, 0] + middle * (c[:, 1] + middle * (c[:, 2] + middle * c[:, 3]))
        plan.section(pi, w, "u")[:] += mass * cp * shift
        plan.section(pi, w, "taun")[:] = tau + shift
        heat.restore_temperatures(pi, self._pf, w)
        ext, ice = plan.section(pi, w, "ext"), plan.section(pi, w, "frost")
        for signal, place in self._fronts:
            ice[place] = max(ice[place] + gain * error[signal], 0.0)
        if self._charge is not None:
            ext[names.X_SOC] = min(max(ext[names.X_SOC] + error[self._charge], 0.0), 1.0)
        if self._humid is not None:
            self._moisten(gain * error[self._humid])
        seen = plan.section(pi, w, "seen")
        seen[1:] += gain * np.concatenate((error, error))

    def _moisten(self, share: float) -> None:
        """Add so much relative humidity to all cabin air."""
        pi, w = self.program.pi, self.work
        air_k = float(plan.section(pi, w, "tau")[plan.section(pi, pi, "zn_air")[0]]) + 273.15
        more = share * saturation_humidity_ratio(air_k, self.program.rows[0, names.D_P])
        wet, ext = plan.section(pi, w, "wet"), plan.section(pi, w, "ext")
        airs = plan.section(pi, w, "wb").size
        wet[:airs] = np.maximum(wet[:airs] + more, LEAST_W)
        ext[names.X_W] = max(ext[names.X_W] + more, LEAST_W)


def _scaled(program: Program, model_error: Mapping[str, float]) -> Floats:
    """Return a factor for every driver column."""
    factor = np.ones(len(program.index.columns))
    for name, by in model_error.items():
        found = [k for k, column in enumerate(program.index.columns) if column.startswith(f"g_{name}_")]
        if not found:
            able = sorted({c.split("_")[1] for c in program.index.columns if c.startswith("g_")})
            raise ValueError(f"no conductance to outside of {name!r}; there are those of {', '.join(able)}")
        factor[found] = by
    return factor


def _reach(program: Program, spread: float) -> Floats:
    """Return what each node moves for a kelvin that each signal differs: 1 with a sensor, `spread` beside one.

    Cells move by the mean of the hottest and the coldest; panes by the margin to the dew point, nothing beside them.
    """
    index, pi = program.index, program.pi
    reach = np.zeros((len(index.nodes), len(index.signals)))
    cells, panes, places = (plan.section(pi, pi, key).astype(int) for key in ("pk_n", "zn_glass", "sg_idx"))
    kinds = plan.section(pi, pi, "sg_kind")
    owner = [name.split(".")[0] for name in index.nodes]
    of_part: dict[str, list[int]] = {}
    for k, name in enumerate(index.signals):
        if name == "glass.margin":
            reach[panes, k] = 1.0
            continue
        if name.endswith((".hottest", ".coldest")):
            reach[cells, k] = 0.5
        elif kinds[k] == 0:
            reach[places[k], k] = 1.0
        for part in {owner[n] for n in np.flatnonzero(reach[:, k])}:
            of_part.setdefault(part, []).append(k)
    for n in np.flatnonzero(~reach.any(axis=1)):
        own = of_part.get(owner[n], [])
        reach[n, own] = spread / max(len(own), 1)
    return reach
