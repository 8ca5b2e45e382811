"""A Program from a Builder alone, without car, pack or circuit: for studies of the march itself.

Everything a Builder can hold works (nodes, conductances, streams with given flows, sources); nothing is
controlled. Used by the tests of numerics and by anyone who wants a small network.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.builder import Builder
from heatwright.compiler.program import Index, Program
from heatwright.kernel import names, plan
from heatwright.physics.coolant import coolant_fit
from heatwright.physics.road import SEA_LEVEL_PA


def bare_program(
    b: Builder,
    n: int,
    dt_s: float,
    tau0: Mapping[str, float],
    drivers: Mapping[str, NDArray[np.float64] | float],
    flows: Mapping[str, float] | None = None,
    glycol: float = 0.5,
) -> Program:
    """Return a Program of `n` steps of `dt_s`.

    tau0 : start temperature of every node [degC]. drivers : driver columns by name (arrays of n, or constants).
    flows : mass flow of every flow the builder names [kg/s], held constant. glycol : coolant's mass fraction.
    Raises KeyError for a name the builder does not have.
    """
    given = dict(flows or {})
    b.flows = list(given)
    fit = coolant_fit(glycol)
    ints, floats, place = b.heat_sections(fit[3:7])
    ints["dim"] += [0, len(b.actuators), 1]
    acts = len(b.actuators)
    ints |= {
        "rl_yes": [0],
        "rl_no": [0],
        "ac_kind": [0] * acts,
        "ac_sig": [0] * (4 * acts),
        "ac_stop": [0] * acts,
    }
    floats |= {
        "ac_c": [0.0] * (5 * acts),
        "ac_par": [0.0] * (8 * acts),
        "ac_slew": [1e9] * acts,
        "fluid": list(fit),
    }
    size = len(place)
    state = size + names.N_EXTRA + len(b.terms)
    work = {
        "u": size, "ext": names.N_EXTRA, "acc": len(b.terms), "tau": size, "taun": size, "cap": size, "cps": size,
        "hof": size, "a": ints["dim"][2], "b": size, "g": b.n_g, "mdot": len(b.flows), "tb": len(b.boundaries),
        "y": max(len(b.outputs), 1), "pdev": 3, "act": acts, "actx": acts, "z": names.N_DERIVED, "cs": 4 + 3 * acts,
        "misc": names.N_COUNTERS, "sig": 1, "mlast": len(b.flows), "moved": len(b.flows),
        "hfilm": len(ints["gx_g"]), "save": 2 * state + size, "gfilm": b.n_g,
    }  # fmt: skip
    pi, pf, total = plan.pack(ints, floats, work)
    rows = np.zeros((n, len(b.columns)))
    for name, values in {"one": 1.0, "rho_air": 1.2, "p_ambient": SEA_LEVEL_PA, **drivers}.items():
        rows[:, b.columns.index(name)] = values
    start = np.zeros(size)
    for name, value in tau0.items():
        start[place[name]] = value
    order = tuple(name for name, _ in sorted(place.items(), key=lambda item: item[1]) if name not in b.merged)
    stores = {name: (place[name],) for name in order}
    index = Index(
        order, place, tuple(b.flows), tuple(b.columns), tuple(b.terms), tuple(b.outputs), tuple(b.actuators), (),
        ("rest",), (), stores,
    )  # fmt: skip
    return Program(
        "bare", "bare", pi, pf, total, rows, dt_s, start, np.zeros(names.N_EXTRA), np.zeros(acts), 0.0, index, {},
        {}, order[0], order[0], given_flows=tuple(given.values()),
    )  # fmt: skip
