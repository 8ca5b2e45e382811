"""A small bench for the heat network: the compiler's builder and the kernel's step, without plant or trip."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.builder import Builder
from heatwright.kernel import plan
from heatwright.kernel.heat import account, restore_temperatures, solve_heat


@dataclass
class March:
    """Temperatures [degC] at every step edge, by node, and the ledger terms [J] at the end."""

    t_s: NDArray[np.float64]
    nodes: dict[str, NDArray[np.float64]]
    terms_j: dict[str, float]
    stored_j: float


def march(
    builder: Builder,
    start_c: dict[str, float] | float,
    dt_s: float,
    steps: int,
    drive: Callable[[float], dict[str, float]] = lambda t: {},
    flows: dict[str, float] | None = None,
    cp: float = 1.0,
    each: Callable[[dict[str, float]], dict[int, float]] | None = None,
) -> March:
    """March the builder's heat network `steps` times.

    `drive` gives the driver columns at a step's end (boundary temperatures in degC, heats in W), `flows` the
    mass flows [kg/s], `cp` the coolant's heat capacity [J/kgK], and `each` conductances [W/K] set anew before
    each step from the temperatures at its start.
    """
    ints, floats, place = builder.heat_sections(np.array([cp, 0.0, 0.0, 0.0]))
    n, _, slots = ints["dim"]
    size = dict.fromkeys(("u", "tau", "taun", "cap", "cps", "hof", "b"), n)
    size |= {"a": slots, "g": builder.n_g, "mdot": len(builder.flows), "tb": len(builder.boundaries)}
    size |= {"y": len(builder.outputs), "acc": len(builder.terms)}
    pi, pf, total = plan.pack(ints, floats, size)
    w = np.zeros(total)

    def at(name: str) -> NDArray[np.float64]:
        return plan.section(pi, w, name)

    specific = np.array([floats["c1"]]).ravel()
    at("cps")[:] = specific
    at("cap")[:] = np.array(floats["mass"]) * specific
    at("g")[:] = floats["gc"]
    at("tau")[:] = [
        start_c if isinstance(start_c, float) else start_c[name] for name in sorted(place, key=place.__getitem__)
    ]
    at("u")[:] = at("cap") * at("tau")
    for name, value in (flows or {}).items():
        at("mdot")[builder.flows.index(name)] = value

    row = np.zeros(len(builder.columns))
    history = np.empty((steps + 1, n))
    history[0] = at("tau")
    tau, g = at("tau"), at("g")
    for k in range(steps):
        for column, value in drive((k + 1) * dt_s).items():
            row[builder.columns.index(column)] = value
        if each is not None:
            for index, value in each({name: tau[i] for name, i in place.items()}).items():
                g[index] = value
        solve_heat(pi, pf, w, row, dt_s)
        account(pi, pf, w, row, dt_s)
        restore_temperatures(pi, pf, w)
        history[k + 1] = tau
    return March(
        np.arange(steps + 1) * dt_s,
        {name: history[:, i] for name, i in place.items()},
        dict(zip(builder.terms, at("acc").tolist(), strict=True)),
        float(np.sum(at("u") - at("cap") * history[0])),
    )


def extrapolated(coarse: float, fine: float, order: int = 1) -> float:
    """Return the limit of two results whose step sizes differ by a factor of two (Richardson)."""
    return fine + (fine - coarse) / (2**order - 1)
