"""From named nodes, conductances, streams and sources to the index lists of a plan.

A `Builder` is what every part is lowered to: it knows the primitives of the kernel and no kind of part.
Nodes, flows, driver columns and ledger terms are named; `finish` turns names into places.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from heatwright.compiler.elimination import plan_elimination
from heatwright.kernel import names

CP_AIR = 1006.0
OUTSIDE = "outside"


@dataclass
class NodeSpec:
    """A temperature with a heat capacity: [J/K], or a mass [kg] of a fluid whose capacity varies."""

    name: str
    capacity: float
    fluid: str  # "solid" | "coolant" | "air"
    tau0: float | None = None


@dataclass
class Builder:
    """Collects the primitives of one program."""

    nodes: dict[str, NodeSpec] = field(default_factory=dict)
    merged: dict[str, str] = field(default_factory=dict)
    flows: list[str] = field(default_factory=list)
    columns: list[str] = field(default_factory=lambda: list(names.DRIVERS))
    boundaries: list[str] = field(default_factory=list)
    terms: list[str] = field(default_factory=lambda: list(names.TERMS))
    outputs: list[str] = field(default_factory=list)
    actuators: list[str] = field(default_factory=lambda: ["compressor"])  # the first compressor, by its own name
    g_const: list[tuple[int, float]] = field(default_factory=list)
    g_driver: list[tuple[int, str, float, float]] = field(default_factory=list)
    g_film: list[tuple[int, str, str, tuple[float, ...]]] = field(default_factory=list)
    g_wall: list[tuple[int, str, tuple[float, ...]]] = field(default_factory=list)
    g_cross: list[tuple[int, str, str, str, tuple[float, ...]]] = field(default_factory=list)
    g_linear: list[tuple[int, str, float, float]] = field(default_factory=list)
    g_paired: list[tuple[int, list[str], list[str], tuple[float, ...]]] = field(default_factory=list)
    n_g: int = 0
    transfers: list[tuple[str, str, str, str, int]] = field(default_factory=list)
    outside_links: list[tuple[str, str, int, str]] = field(default_factory=list)
    streams: list[tuple[str, str, str]] = field(default_factory=list)
    outside_streams: list[tuple[str, str, str, bool, str]] = field(default_factory=list)
    sources: list[tuple[str, str, float, str]] = field(default_factory=list)
    driver_sources: list[tuple[str, str, float, str]] = field(default_factory=list)
    circuits: list[tuple[list[str], list[tuple[str, str]]]] = field(default_factory=list)

    wall_sections: list[dict[str, list[int]]] = field(default_factory=list)

    # ---- names -----------------------------------------------------------------------------------------
    def node(self, name: str, capacity: float, fluid: str = "solid", tau0: float | None = None) -> str:
        """Declare a node of `capacity` [J/K] (solid), or mass [kg] (coolant, air); declared twice it adds up."""
        if name in self.nodes:
            self.nodes[name].capacity += capacity
        else:
            self.nodes[name] = NodeSpec(name, capacity, fluid, tau0)
        return name

    def real(self, name: str) -> str:
        """Follow merges to the node that carries the temperature."""
        while name in self.merged:
            name = self.merged[name]
        return name

    def place(self, items: list[str], name: str) -> int:
        """Return the index of a name in a list, adding it if new."""
        if name not in items:
            items.append(name)
        return items.index(name)

    def column(self, name: str) -> str:
        """Declare a driver column of the plant's own."""
        self.place(self.columns, name)
        return name

    # ---- conductances ------------------------------------------------------------------------------------
    def _new_g(self) -> int:
        self.n_g += 1
        return self.n_g - 1

    def constant(self, value: float) -> int:
        """A conductance [W/K] that never changes."""
        g = self._new_g()
        self.g_const.append((g, value))
        return g

    def driven(self, column: str, c0: float = 0.0, c1: float = 1.0) -> int:
        """A conductance c0 + c1 x driver column."""
        g = self._new_g()
        self.g_driver.append((g, column, c0, c1))
        return g

    def film(self, flow: str, fluid_node: str, d_h: float, area: float, surface: float, series: float) -> int:
        """A coolant film of `surface` [m2] in a channel, in series with `series` [W/K] (inf: none)."""
        g = self._new_g()
        inverse = 0.0 if np.isinf(series) else 1.0 / series
        self.g_film.append((g, flow, fluid_node, (d_h, area, surface, inverse)))
        return g

    def wall_air(self, flow: str, ua: float, mdot_ref: float, exponent: float) -> int:
        """Wall to air stream: C (1 - exp(-hA/C)), hA = ua (m / m_ref)^exponent."""
        g = self._new_g()
        self.g_wall.append((g, flow, (ua, mdot_ref, exponent)))
        return g

    def cross(self, coolant: str, node: str, air: str, par: tuple[float, ...]) -> int:
        """Coolant to air through a cross-flow core; par = (d_h, area, surface, hA_air, m_ref, exponent, kind)."""
        g = self._new_g()
        self.g_cross.append((g, coolant, node, air, par))
        return g

    def flow_linear(self, flow: str, c0: float, c1: float) -> int:
        """A conductance c0 + c1 |mass flow|."""
        g = self._new_g()
        self.g_linear.append((g, flow, c0, c1))
        return g

    def paired(self, flows: list[str], nodes: list[str], par: tuple[float, ...]) -> int:
        """Coolant a to coolant b: the first of four conductances between inlets, for a and b as written (a, b),
        (a, back), (back, b) and (back, back); par = (d_h, area, surface a, surface b)."""
        first = self.n_g
        self.n_g += 4
        self.g_paired.append((first, flows, nodes, par))
        return first

    # ---- couplings ---------------------------------------------------------------------------------------
    def link(self, a: str, b: str, g: int) -> None:
        """Heat between two nodes in proportion to their difference."""
        self.transfers.append((a, b, b, a, g))

    def transfer(self, p: str, q: str, into: str, out_of: str, g: int) -> None:
        """Heat g (t_p - t_q) into one node and out of another (an exchanger with its inlets p and q)."""
        self.transfers.append((p, q, into, out_of, g))

    def to_boundary(self, node: str, boundary: str, g: int, term: str) -> None:
        """Heat between a node and a boundary temperature (a driver column), booked under `term`."""
        self.place(self.boundaries, boundary)
        self.place(self.terms, term)
        self.outside_links.append((node, boundary, g, term))

    def stream(self, a: str, b: str, flow: str) -> None:
        """Fluid carried from node a to node b (flow may reverse)."""
        self.streams.append((a, b, flow))

    def boundary_stream(self, node: str, boundary: str, flow: str, inward: bool, term: str) -> None:
        """Air between a node and a boundary; positive flow enters the node if `inward`."""
        self.place(self.boundaries, boundary)
        self.place(self.terms, term)
        self.outside_streams.append((node, boundary, flow, inward, term))

    def source(self, node: str, output: str, share: float, term: str) -> None:
        """A share of a heat computed inside the step."""
        self.place(self.outputs, output)
        self.place(self.terms, term)
        self.sources.append((node, output, share, term))

    def driver_source(self, node: str, column: str, coefficient: float, term: str) -> None:
        """Heat in proportion to a driver column."""
        self.place(self.terms, term)
        self.driver_sources.append((node, column, coefficient, term))

    # ---- finish ------------------------------------------------------------------------------------------
    def order_nodes(self) -> dict[str, int]:
        """Return the place of every node: fluids of varying heat capacity first."""
        live = [n for n in self.nodes.values() if n.name not in self.merged]
        ordered = sorted(live, key=lambda n: 0 if n.fluid == "coolant" else 1)
        place = {n.name: k for k, n in enumerate(ordered)}
        for name in self.merged:
            place[name] = place[self.real(name)]
        return place

    def heat_sections(self, coolant: NDArray[np.float64]) -> tuple[dict, dict, dict[str, int]]:
        """Return the integer and float sections of the heat network and the place of every node."""
        place = self.order_nodes()
        live = sorted({place[n]: self.nodes[n] for n in self.nodes if n not in self.merged}.items())
        specs = [spec for _, spec in live]
        n = len(specs)
        transfers = [t for t in self._placed_transfers(place) if t[0] != t[1] and t[2] != t[3]]
        streams = [(place[a], place[b], self.flows.index(f)) for a, b, f in self.streams if place[a] != place[b]]
        rooms = [[place[w] for w in walls] for walls, _ in self.circuits]
        pairs = [(r, c) for p, q, r, s, _ in transfers for r in (r, s) for c in (p, q)]
        pairs += [(a, b) for a, b, _ in streams] + [(a, b) for walls in rooms for a in walls for b in walls]
        elim = plan_elimination(n, pairs)
        slot = elim.slot
        ints: dict[str, list[int]] = {"elim": elim.programme}
        for key, k in (("tr_p", 0), ("tr_q", 1), ("tr_r", 2), ("tr_s", 3), ("tr_g", 4)):
            ints[key] = [t[k] for t in transfers]
        for key, row, col in (("tr_rp", 2, 0), ("tr_rq", 2, 1), ("tr_sp", 3, 0), ("tr_sq", 3, 1)):
            ints[key] = [slot[t[row], t[col]] for t in transfers]
        links = self.outside_links
        ints["bt_q"] = [place[node] for node, *_ in links]
        ints["bt_b"] = [self.boundaries.index(b) for _, b, _, _ in links]
        ints["bt_g"] = [g for *_, g, _ in links]
        ints["bt_acc"] = [self.terms.index(term) for *_, term in links]
        ints["st_a"], ints["st_b"], ints["st_m"] = ([s[k] for s in streams] for k in range(3))
        ints["st_ab"] = [slot[a, b] for a, b, _ in streams]
        ints["st_ba"] = [slot[b, a] for a, b, _ in streams]
        outer = self.outside_streams
        ints["bs_n"] = [place[node] for node, *_ in outer]
        ints["bs_b"] = [self.boundaries.index(b) for _, b, *_ in outer]
        ints["bs_m"] = [self.flows.index(f) for _, _, f, _, _ in outer]
        ints["bs_d"] = [int(inward) for *_, inward, _ in outer]
        ints["bs_acc"] = [self.terms.index(term) for *_, term in outer]
        ints["so_n"] = [place[node] for node, *_ in self.sources]
        ints["so_y"] = [self.outputs.index(y) for _, y, *_ in self.sources]
        ints["so_acc"] = [self.terms.index(term) for *_, term in self.sources]
        ints["sd_n"] = [place[node] for node, *_ in self.driver_sources]
        ints["sd_col"] = [self.columns.index(c) for _, c, *_ in self.driver_sources]
        ints["sd_acc"] = [self.terms.index(term) for *_, term in self.driver_sources]
        ints["tb_col"] = [self.columns.index(b) for b in self.boundaries]
        self.wall_sections = [
            {"rp_wall": walls, "rp_slot": [slot[a, b] for a in walls for b in walls],
             "rp_in": [place[pair[0]] for pair in passed], "rp_out": [place[pair[1]] for pair in passed]}
            for walls, (_, passed) in zip(rooms, self.circuits, strict=True)
        ]  # fmt: skip
        self._conductance_sections(ints, floats := {}, place)
        floats["so_c"] = [share for _, _, share, _ in self.sources]
        floats["sd_c"] = [c for _, _, c, _ in self.driver_sources]
        cp = {"solid": (0.0,) * 4, "air": (CP_AIR, 0.0, 0.0, 0.0), "coolant": tuple(coolant)}
        floats["mass"] = [1.0 if s.fluid == "solid" else s.capacity for s in specs]
        for k in range(4):
            floats[f"c{k + 1}"] = [
                (s.capacity if k == 0 else 0.0) if s.fluid == "solid" else cp[s.fluid][k] for s in specs
            ]
        n_cool = sum(s.fluid == "coolant" for s in specs)
        ints["dim"] = [n, n_cool, len(slot)]
        return ints, floats, place

    def _placed_transfers(self, place: dict[str, int]) -> list[tuple[int, int, int, int, int]]:
        return [(place[p], place[q], place[r], place[s], g) for p, q, r, s, g in self.transfers]

    def _conductance_sections(self, ints: dict, floats: dict, place: dict[str, int]) -> None:
        """Fill the sections of constant, driven, film, wall, cross and flow-linear conductances."""
        const = np.zeros(self.n_g)
        for g, value in self.g_const:
            const[g] = value
        floats["gc"] = const
        ints["gd_g"] = [g for g, *_ in self.g_driver]
        ints["gd_col"] = [self.columns.index(c) for _, c, *_ in self.g_driver]
        floats["g_c0"] = [c0 for *_, c0, _ in self.g_driver]
        floats["g_c1"] = [c1 for *_, c1 in self.g_driver]
        ints["gf_g"] = [g for g, *_ in self.g_film]
        ints["gf_m"] = [self.flows.index(f) for _, f, *_ in self.g_film]
        ints["gf_n"] = [place[node] for _, _, node, _ in self.g_film]
        floats["gf_par"] = [x for *_, par in self.g_film for x in par]
        ints["ga_g"] = [g for g, *_ in self.g_wall]
        ints["ga_m"] = [self.flows.index(f) for _, f, _ in self.g_wall]
        floats["ga_par"] = [x for *_, par in self.g_wall for x in par]
        ints["gx_g"] = [g for g, *_ in self.g_cross]
        ints["gx_m"] = [self.flows.index(c) for _, c, *_ in self.g_cross]
        ints["gx_n"] = [place[node] for _, _, node, *_ in self.g_cross]
        ints["gx_a"] = [self.flows.index(a) for _, _, _, a, _ in self.g_cross]
        floats["gx_par"] = [x for *_, par in self.g_cross for x in par]
        ints["gl_g"] = [g for g, *_ in self.g_linear]
        ints["gl_m"] = [self.flows.index(f) for _, f, *_ in self.g_linear]
        floats["gl_par"] = [x for _, _, c0, c1 in self.g_linear for x in (c0, c1)]
        ints["gp_g"] = [g for g, *_ in self.g_paired]
        for key, k in (("a", 0), ("b", 1)):
            ints[f"gp_m{key}"] = [self.flows.index(flows[k]) for _, flows, *_ in self.g_paired]
            ints[f"gp_n{key}"] = [place[nodes[k]] for _, _, nodes, _ in self.g_paired]
        floats["gp_par"] = [x for *_, par in self.g_paired for x in par]
