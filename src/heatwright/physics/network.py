"""Flows of one hydraulic network: mass flow of every branch, pressure of every junction.

A branch runs from one junction to another (or back to the same one) through a chain of elements; its law is
L(m) = sum of element drops less pump heads, which never falls with m.  Sought are m and p with
p_from - p_to = L(m) in every branch and no net flow into any junction.  Both follow from one Newton step
(the global gradient form: eliminate the flows, solve a symmetric matrix for the pressures, recover the
flows), so that junctions balance to round-off after every step.  Because every law rises with its flow, the
step is the descent of a convex function, and shortening it until the slope along it is no longer steep
uphill makes the method converge from anywhere.

The arrays of one network, all one-dimensional:

bf, bt      uint32   from and to junction of every branch; equal for a ring closed on one junction
one_way     uint32   1 where a check valve bars reverse flow; a closed one leaks |dp| / 1e15 kg/s
eptr        uint32   elements of branch b are eptr[b] .. eptr[b+1]-1
ekind       uint32   CHANNEL, PUMP (or blower) or THROAT of every element
epar        float    STRIDE parameters an element, listed beside the kinds below
rho, mu     float    density [kg/m3] and viscosity [Pa s] of every element, above 0
drive       float    pump speed or throat opening of every element, 0..1
mdot        float    branch flows [kg/s]: the start on entry (zeros do), the solution on return
p           float    junction pressures over junction 0 [Pa], likewise; its length counts the junctions
scratch     float    `scratch_size(junctions, branches)` or more

Junctions balance within 5e-10 kg/s, commonly to round-off.  A part of the graph that has no path to
junction 0 is solved as well, its pressures over its own lowest junction.

Source: Todini and Pilati, "A gradient algorithm for the analysis of pipe networks", 1988 (the step);
shortening by the slope along the step, common practice in convex minimisation.
"""

from __future__ import annotations

import numpy as np

from heatwright.physics.hydraulics import channel_drop, loss_drop, pump_head, throat_coefficient
from heatwright.physics.jit import inner_jit, kernel_jit

CHANNEL = 0  # epar: d_h_m, area_m2, l_over_d, k_minor, roughness
PUMP = 1  # epar: h0_pa, q0_m3_per_s, exponent, k_off; drive = speed 0..1
THROAT = 2  # epar: area_m2, k_open, k_leak; drive = opening 0..1
STRIDE = 6  # parameters kept for one element

SHUT_SLOPE = 1.0e15  # resistance of a closed check valve [Pa s/kg]
MAX_ITERATIONS = 40
_MAX_SHORTENINGS = 8
_LEAST_SLOPE = 1.0e-2  # keeps the matrix definite where a branch has no resistance at rest [Pa s/kg]
_LEAST_SHARE = 1.0e-5  # likewise, per pressure in the branch, against round-off of the flow [s/kg]
_BALANCE = 5.0e-10  # net flow into a junction that counts as none [kg/s]
_ROUND_OFF = 1.0e-14  # relative
_ZERO_FLOW = 1.0e-10  # flows are never sought more exactly than this [kg/s]

_U0 = np.uint64(0)
_U1 = np.uint64(1)
_U2 = np.uint64(2)
_U3 = np.uint64(3)
_U4 = np.uint64(4)
_STRIDE = np.uint64(STRIDE)
_CHANNEL = np.uint32(CHANNEL)
_PUMP = np.uint32(PUMP)


def scratch_size(junctions: int, branches: int) -> int:
    """Return the number of floats `solve_network` needs as scratch [-].

    Equation: junctions^2 + junctions + 4 branches.

    Source: the layout in `solve_network`.

    >>> scratch_size(4, 6)
    44
    """
    return junctions * junctions + junctions + 4 * branches


@inner_jit
def element_drop(
    kind: int, mdot_kg_per_s: float, epar: np.ndarray, o: int, rho: float, mu: float, drive: float
) -> tuple[float, float]:
    """Return the pressure drop of one element along its branch and its slope [Pa], [Pa s/kg].

    Equation: that of `channel_drop`, `loss_drop` (throat) or minus `pump_head`, by kind.

    Parameters
    ----------
    kind : int
        CHANNEL, PUMP or THROAT.
    mdot_kg_per_s : float
        Mass flow along the branch [kg/s].
    epar : array of float
        Parameters; those of this element start at index o (uint64).
    rho, mu : float
        Density [kg/m3] and viscosity [Pa s] in the element.
    drive : float
        Pump speed or throat opening, 0..1 [-]; a channel ignores it.

    Returns
    -------
    tuple of float
        Drop [Pa], negative where a pump lifts the pressure; slope [Pa s/kg], never below 0.

    Source: see `physics.hydraulics`.

    >>> par = np.array([40e3, 28.28427e-3 / 60, 2.0, 1.0, 0.0, 0.0])
    >>> drop, slope = element_drop(PUMP, 10e-3 / 60 * 1e3, par, np.uint64(0), 1e3, 1e-3, 1.0)
    >>> round(drop)
    -35000
    """
    if kind == _CHANNEL:
        return channel_drop(mdot_kg_per_s, epar[o], epar[o + _U1], epar[o + _U2], epar[o + _U3], epar[o + _U4], rho, mu)
    if kind == _PUMP:
        head, slope = pump_head(mdot_kg_per_s / rho, drive, epar[o], epar[o + _U1], epar[o + _U2], epar[o + _U3])
        return -head, -slope / rho
    k = throat_coefficient(drive, epar[o + _U1], epar[o + _U2])
    return loss_drop(mdot_kg_per_s, epar[o], k, rho)


@inner_jit
def branch_drop(
    first: int,
    last: int,
    mdot_kg_per_s: float,
    ekind: np.ndarray,
    epar: np.ndarray,
    rho: np.ndarray,
    mu: np.ndarray,
    drive: np.ndarray,
) -> tuple[float, float, float]:
    """Return the net drop of a chain of elements, its slope, and the greatest pressure in it.

    Equation: L = sum of element drops; the third value is the sum of their sizes and sets the scale of error.

    Parameters
    ----------
    first, last : int
        Elements first..last-1 (uint64).
    mdot_kg_per_s : float
        Mass flow [kg/s].
    ekind, epar, rho, mu, drive : arrays
        As in `solve_network`.

    Returns
    -------
    tuple of float
        Net drop [Pa], slope [Pa s/kg], sum of sizes [Pa].

    Source: definition.

    >>> one = np.ones(1)
    >>> pipe = np.array([0.01, 1e-4, 0.0, 2.0, 0.0, 0.0])
    >>> kind = np.zeros(1, np.uint32)
    >>> drop, _, _ = branch_drop(np.uint64(0), np.uint64(1), 0.1, kind, pipe, one * 1e3, one * 1e-3, one)
    >>> round(drop)
    1000
    """
    total = 0.0
    slope = 0.0
    size = 0.0
    for e in range(first, last):
        drop, rise = element_drop(ekind[e], mdot_kg_per_s, epar, np.uint64(e) * _STRIDE, rho[e], mu[e], drive[e])
        total += drop
        slope += rise
        size += abs(drop)
    return total, slope, size


@inner_jit
def solve_mesh(g: np.ndarray, x: np.ndarray, n: int) -> None:
    """Solve the potentials of a mesh of conductances in place, junction 0 held at 0.

    Equation: sum over j of g_ij (x_i - x_j) = b_i for i > 0, by removing one junction after the other and
    spreading its conductances over its neighbours (star to mesh): g_ij += g_ki g_kj / sum_j g_kj.  Nothing is
    ever subtracted from a conductance, so that a shut valve beside an open pipe costs no digits.

    Parameters
    ----------
    g : array of float
        Conductances row by row, n wide, only below the diagonal (j < i), 0 or more; overwritten.
    x : array of float
        b on entry, the potentials on return; a junction without a path to junction 0 gets 0.
    n : int
        Junctions, the reference included (uint64).

    Source: star-mesh transform of network theory; Grassmann, Taksar and Heyman, "Regenerative analysis and
    steady state distributions for Markov chains", 1985 (elimination without subtraction).

    >>> g, x = np.array([0.0, 0, 0, 2, 0, 0, 1, 2, 0]), np.array([0.0, 8.0, 7.0])
    >>> solve_mesh(g, x, np.uint64(3))
    >>> x.tolist()
    [0.0, 4.75, 5.5]
    """
    for back in range(_U1, n):
        k = np.uint64(n) - np.uint64(back)
        row = k * n
        total = 0.0
        for j in range(_U0, k):
            total += g[row + j]
        inverse = 1.0 / total if total > 0.0 else 0.0
        for i in range(_U0, k):
            share = g[row + i] * inverse
            if share > 0.0:
                low = np.uint64(i) * n
                x[i] += share * x[k]
                for j in range(_U0, np.uint64(i)):
                    g[low + j] += share * g[row + j]
        for i in range(_U0, k):
            g[row + i] *= inverse
        x[k] *= inverse
    x[_U0] = 0.0
    for i in range(_U1, n):
        row = np.uint64(i) * n
        s = x[i]
        for j in range(_U1, np.uint64(i)):
            s += g[row + j] * x[j]
        x[i] = s


@inner_jit
def pressures(
    bf: np.ndarray,
    bt: np.ndarray,
    mdot: np.ndarray,
    drop: np.ndarray,
    slope: np.ndarray,
    pull: float,
    p: np.ndarray,
    a: np.ndarray,
) -> None:
    """Set junction pressures such that the linearised flows balance at every junction.

    Equation: m_new = m + (p_from - p_to - pull L) / L'; sum of m_new into each junction 0.  With pull = 0 the
    result is the least change that balances given flows.

    Parameters
    ----------
    bf, bt : array of uint32
        From and to junction of every branch; junction 0 is the reference, p = 0.
    mdot, drop, slope : array of float
        Flow [kg/s], L [Pa] and L' [Pa s/kg] of every branch.
    pull : float
        1 for a Newton step, 0 to balance only [-].
    p : array of float
        Junction pressures, overwritten [Pa].
    a : array of float
        Scratch, junctions squared.

    Source: Todini and Pilati 1988.

    >>> f, t = np.array([0, 1], np.uint32), np.array([1, 0], np.uint32)
    >>> p, m = np.zeros(2), np.zeros(2)
    >>> pressures(f, t, m, np.array([-30.0, 0.0]), np.array([1.0, 2.0]), 1.0, p, np.zeros(4))
    >>> round(float(p[1]), 12)
    20.0
    """
    n = np.uint64(p.shape[0])
    if n < _U2:
        p[_U0] = 0.0
        return
    for i in range(n * n):
        a[i] = 0.0
    for j in range(n):
        p[j] = 0.0
    for b in range(np.uint64(bf.shape[0])):
        start = np.uint64(bf[b])
        end = np.uint64(bt[b])
        if start == end:
            continue
        g = 1.0 / slope[b]
        flow = mdot[b] - pull * drop[b] * g
        a[max(start, end) * n + min(start, end)] += g
        p[start] -= flow
        p[end] += flow
    solve_mesh(a, p, n)


@inner_jit
def imbalance(bf: np.ndarray, bt: np.ndarray, mdot: np.ndarray, net: np.ndarray) -> tuple[float, float]:
    """Return the greatest net flow into any junction, and the greatest branch flow [kg/s].

    Equation: net_j = sum of m in - sum of m out.

    Parameters
    ----------
    bf, bt : array of uint32
        From and to junction of every branch.
    mdot : array of float
        Branch flows [kg/s].
    net : array of float
        Scratch, one value a junction; overwritten [kg/s].

    Source: Kirchhoff's first law.

    >>> imbalance(np.array([0, 1], np.uint32), np.array([1, 0], np.uint32), np.array([0.3, 0.2]), np.zeros(2))
    (0.09999999999999998, 0.3)
    """
    for j in range(np.uint64(net.shape[0])):
        net[j] = 0.0
    most = 0.0
    for b in range(np.uint64(bf.shape[0])):
        net[bf[b]] -= mdot[b]
        net[bt[b]] += mdot[b]
        most = max(most, abs(mdot[b]))
    worst = 0.0
    for j in range(np.uint64(net.shape[0])):
        worst = max(worst, abs(net[j]))
    return worst, most


@inner_jit
def evaluate(
    fraction: float,
    mdot: np.ndarray,
    step: np.ndarray,
    shut: np.ndarray,
    eptr: np.ndarray,
    ekind: np.ndarray,
    epar: np.ndarray,
    rho: np.ndarray,
    mu: np.ndarray,
    drive: np.ndarray,
    drop: np.ndarray,
    slope: np.ndarray,
) -> tuple[float, float]:
    """Fill drop and slope of every branch at m + fraction step; return the slope along it and the scale.

    Equation: along = sum of step L(m + fraction step), the derivative of the network's content function;
    scale is the greatest sum of element pressures in a branch.

    Parameters
    ----------
    fraction : float
        Share of the step taken, 0..1 [-].
    mdot, step : array of float
        Branch flows and their change [kg/s].
    shut : array of float
        1 where a check valve is closed: there L = SHUT_SLOPE m, whatever the elements say.
    eptr, ekind, epar, rho, mu, drive : arrays
        As in `solve_network`.
    drop, slope : array of float
        Results [Pa], [Pa s/kg].

    Source: Todini and Pilati 1988 (content function).

    >>> one, kind, end = np.ones(1), np.zeros(1, np.uint32), np.array([0, 1], np.uint32)
    >>> pipe, drop, slope = np.array([0.01, 1e-4, 0.0, 2.0, 0.0, 0.0]), np.zeros(1), np.zeros(1)
    >>> along, scale = evaluate(
    ...     0.5, 0 * one, 0.2 * one, 0 * one, end, kind, pipe, 1e3 * one, 1e-3 * one, one, drop, slope)
    >>> round(along), round(scale)
    (200, 1000)
    """
    along = 0.0
    scale = 0.0
    for b in range(np.uint64(mdot.shape[0])):
        m = mdot[b] + fraction * step[b]
        if shut[b] > 0.5:
            drop[b] = SHUT_SLOPE * m
            slope[b] = SHUT_SLOPE
        else:
            first = np.uint64(eptr[b])
            last = np.uint64(eptr[np.uint64(b) + _U1])
            total, rise, size = branch_drop(first, last, m, ekind, epar, rho, mu, drive)
            drop[b] = total
            slope[b] = max(rise, _LEAST_SLOPE, min(_LEAST_SHARE * size, 2.0))
            scale = max(scale, size)
        along += step[b] * drop[b]
    return along, scale


@inner_jit
def settled(
    bf: np.ndarray,
    bt: np.ndarray,
    p: np.ndarray,
    drop: np.ndarray,
    slope: np.ndarray,
    scale: float,
    most: float,
    tolerance: float,
) -> bool:
    """Return whether every branch closes, in pressure and in the flow error that the pressure error means.

    Equation: |p_from - p_to - L| <= tolerance scale, and <= L' (1e-10 kg/s + tolerance most), each widened by
    the round-off of the sums; or L' times the round-off of the flows (a shut valve's pressure is no better).

    Parameters
    ----------
    bf, bt, p, drop, slope : arrays
        As in `pressures`.
    scale, most : float
        Greatest pressure [Pa] and flow [kg/s] in the network.
    tolerance : float
        Relative error allowed [-].

    Source: common practice.

    >>> f, t = np.array([0], np.uint32), np.array([0], np.uint32)
    >>> settled(f, t, np.zeros(1), np.array([1e-3]), np.ones(1), 1e3, 1.0, 1e-9)
    False
    """
    round_off_pa = 1.0e-9 + 1.0e-13 * scale
    for b in range(np.uint64(bf.shape[0])):
        miss = abs(p[bf[b]] - p[bt[b]] - drop[b])
        if miss <= slope[b] * _ROUND_OFF * most:
            continue
        if not miss <= tolerance * scale + round_off_pa:
            return False
        if miss > slope[b] * (_ZERO_FLOW + tolerance * most) + round_off_pa:
            return False
    return True


@inner_jit
def _aim(
    bf: np.ndarray,
    bt: np.ndarray,
    p: np.ndarray,
    drop: np.ndarray,
    slope: np.ndarray,
    pull: float,
    step: np.ndarray,
) -> tuple[float, float]:
    """Fill the step of every flow; return its descent -sum L' step^2 and the sum of step (p_from - p_to)."""
    descent = 0.0
    given = 0.0
    for b in range(np.uint64(step.shape[0])):
        gap = p[bf[b]] - p[bt[b]]
        step[b] = (gap - pull * drop[b]) / slope[b]
        given += step[b] * gap
        descent -= step[b] * step[b] * slope[b]
    return descent, given


@inner_jit
def _advance(
    descent: float,
    given: float,
    mdot: np.ndarray,
    step: np.ndarray,
    shut: np.ndarray,
    eptr: np.ndarray,
    ekind: np.ndarray,
    epar: np.ndarray,
    rho: np.ndarray,
    mu: np.ndarray,
    drive: np.ndarray,
    drop: np.ndarray,
    slope: np.ndarray,
) -> float:
    """Take the step, shortened until the way on is not steeply uphill; return the scale of pressure."""
    fraction = 1.0
    after, scale = evaluate(fraction, mdot, step, shut, eptr, ekind, epar, rho, mu, drive, drop, slope)
    for _ in range(_MAX_SHORTENINGS):
        uphill = after - given
        if uphill <= -0.5 * descent:
            break
        fraction *= min(max(descent / (descent - uphill), 0.1), 0.7)
        after, scale = evaluate(fraction, mdot, step, shut, eptr, ekind, epar, rho, mu, drive, drop, slope)
    for b in range(np.uint64(mdot.shape[0])):
        mdot[b] += fraction * step[b]
    return scale


@inner_jit
def _turn_check_valves(one_way: np.ndarray, mdot: np.ndarray, shut: np.ndarray, step: np.ndarray) -> bool:
    """Shut check valves against reverse flow, open the others, clear the step; return whether any turned."""
    turned = False
    for b in range(np.uint64(mdot.shape[0])):
        step[b] = 0.0
        closed = 1.0 if one_way[b] != 0 and mdot[b] < 0.0 else 0.0
        turned = turned or closed != shut[b]
        shut[b] = closed
    return turned


@kernel_jit
def solve_network(
    bf: np.ndarray,
    bt: np.ndarray,
    one_way: np.ndarray,
    eptr: np.ndarray,
    ekind: np.ndarray,
    epar: np.ndarray,
    rho: np.ndarray,
    mu: np.ndarray,
    drive: np.ndarray,
    mdot: np.ndarray,
    p: np.ndarray,
    scratch: np.ndarray,
    tolerance: float,
) -> tuple[int, bool]:
    """Solve the flows of one network in place; return the Newton steps taken [-] and whether it converged.

    Equation: p_from - p_to = L(m) in every branch, sum of m = 0 at every junction.  The arrays `bf`, `bt`,
    `one_way`, `eptr`, `ekind`, `epar`, `rho`, `mu`, `drive`, `mdot`, `p` and `scratch` and the relative
    `tolerance` (1e-12 to 1e-4, usually 1e-9) stand at the head of this module.  On return mdot [kg/s] and
    p [Pa] hold the solution.  False means that 40 steps did not suffice: the flows then balance at the
    junctions but not in pressure.

    Source: Todini and Pilati 1988; see the head of this module.

    >>> u = lambda *v: np.array(v, np.uint32)
    >>> par = np.array([40e3, 28.2842712e-3 / 60, 2, 1, 0, 0, 0.01, 1e-4, 0, 7.92, 0, 0])
    >>> m, p, one, work = np.zeros(1), np.zeros(1), np.ones(2), np.zeros(scratch_size(1, 1))
    >>> kinds = u(PUMP, CHANNEL)
    >>> steps, ok = solve_network(
    ...     u(0), u(0), u(0), u(0, 2), kinds, par, 1e3 * one, 1e-3 * one, one, m, p, work, 1e-10)
    >>> ok, round(float(m[0]) * 60, 4)
    (True, 15.8114)
    """
    nj = np.uint64(p.shape[0])
    nb = np.uint64(mdot.shape[0])
    matrix, net, rest = scratch[: nj * nj], scratch[nj * nj : nj * nj + nj], scratch[nj * nj + nj :]
    drop, slope, step, shut = rest[:nb], rest[nb : _U2 * nb], rest[_U2 * nb : _U3 * nb], rest[_U3 * nb :]
    _turn_check_valves(one_way, mdot, shut, step)
    _, scale = evaluate(0.0, mdot, step, shut, eptr, ekind, epar, rho, mu, drive, drop, slope)
    for iteration in range(MAX_ITERATIONS):
        worst, most = imbalance(bf, bt, mdot, net)
        balanced = worst <= _BALANCE + _ROUND_OFF * most
        if balanced and settled(bf, bt, p, drop, slope, scale, most, tolerance):
            return iteration, True
        pull = 1.0 if balanced or iteration > 0 else 0.0
        pressures(bf, bt, mdot, drop, slope, pull, p, matrix)
        descent, given = _aim(bf, bt, p, drop, slope, pull, step)
        if pull == 0.0:
            given = np.inf  # flows that did not balance have no slope to go by: take the whole step
        scale = _advance(descent, given, mdot, step, shut, eptr, ekind, epar, rho, mu, drive, drop, slope)
        if _turn_check_valves(one_way, mdot, shut, step):
            _, scale = evaluate(0.0, mdot, step, shut, eptr, ekind, epar, rho, mu, drive, drop, slope)
    return MAX_ITERATIONS, False
