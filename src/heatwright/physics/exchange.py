"""Two streams exchanging heat: effectiveness by number of transfer units, and conductances made of it.

All functions are safe at no flow and without area, have no jump where the capacity rates swap (Cr = 1) or
one of them vanishes (Cr = 0), and never fall with NTU.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit

COUNTER = 0
PARALLEL = 1
CROSS_UNMIXED = 2  # both streams unmixed, exact
CROSS_MIXED_A = 3  # stream a mixed, b unmixed; in `effectiveness` a is the stream of the smaller capacity rate
CROSS_MIXED_B = 4  # stream b mixed, a unmixed; in `effectiveness` b is the stream of the larger capacity rate
PHASE_CHANGE = 5  # one stream condenses or evaporates at constant temperature
CROSS_APPROXIMATE = 6  # both unmixed by the NTU^0.22 form, up to 4 % off the exact one

_NO_RATIO = 1.0e-9  # below this ratio of capacity rates every arrangement is the phase change
_MOST_NTU = 60.0  # larger numbers are held here by the series
_MOST_TERMS = 200
_NO_FLOW_W_PER_K = 1.0e-9


@kernel_jit
def effectiveness_counter(ntu: float, cr: float) -> float:
    """Return the effectiveness of counterflow [-].

    Equation: e = (1 - E)/(1 - Cr E), E = exp[-NTU (1 - Cr)]; NTU/(1 + NTU) at Cr = 1.

    Parameters
    ----------
    ntu : float
        UA over the smaller capacity rate, 0 or more [-].
    cr : float
        Smaller over larger capacity rate, 0..1 [-].

    Returns
    -------
    float
        Effectiveness, 0..1 [-].

    Source: Kays and London, "Compact Heat Exchangers"; Incropera et al., table 11.3.

    >>> round(effectiveness_counter(3.0, 0.5), 6)
    0.874425
    """
    gap = 1.0 - cr
    if gap < 1.0e-10:
        return ntu / (1.0 + ntu)
    rise = -math.expm1(-ntu * gap)
    return rise / (gap + cr * rise)


@kernel_jit
def effectiveness_parallel(ntu: float, cr: float) -> float:
    """Return the effectiveness of parallel flow [-].

    Equation: e = [1 - exp(-NTU (1 + Cr))] / (1 + Cr).

    Parameters
    ----------
    ntu : float
        UA over the smaller capacity rate, 0 or more [-].
    cr : float
        Smaller over larger capacity rate, 0..1 [-].

    Returns
    -------
    float
        Effectiveness, 0..1/(1 + Cr) [-].

    Source: Kays and London; Incropera et al., table 11.3.

    >>> round(effectiveness_parallel(1.0, 0.5), 6)
    0.517913
    """
    return -math.expm1(-ntu * (1.0 + cr)) / (1.0 + cr)


@kernel_jit
def _first_of_series(x: float) -> tuple[float, float]:
    """Return exp(-x) and 1 - exp(-x), both exact, with one call."""
    if x > 0.7:
        term = math.exp(-x)
        return term, 1.0 - term
    rest = -math.expm1(-x)
    return 1.0 - rest, rest


@kernel_jit
def effectiveness_cross_unmixed(ntu: float, cr: float) -> float:
    """Return the effectiveness of crossflow with both streams unmixed, exact [-].

    Equation: e = 1/(Cr NTU) sum over n of P_n(NTU) P_n(Cr NTU), P_n(x) = 1 - exp(-x) sum_{m<=n} x^m/m!.
    The sum is ended when its next term is below 1e-9 of it (about NTU + 15 terms).

    Parameters
    ----------
    ntu : float
        UA over the smaller capacity rate, 0 or more [-]; held to 60 (the last 5 % or less are lost beyond).
    cr : float
        Smaller over larger capacity rate, 0..1 [-].

    Returns
    -------
    float
        Effectiveness, 0..1 [-], to 1e-8 for NTU up to 10.

    Source: Mason, "Heat transfer in crossflow", Proc. 2nd U.S. National Congress of Applied Mechanics, 1955.

    >>> round(effectiveness_cross_unmixed(2.0, 0.75), 5)
    0.67108
    """
    x = min(ntu, _MOST_NTU)
    y = cr * x
    if y < 1.0e-12:
        return -math.expm1(-x)
    term_x, rest_x = _first_of_series(x)
    term_y, rest_y = _first_of_series(y)
    total = rest_x * rest_y
    n = 0.0
    for _ in range(_MOST_TERMS):
        n += 1.0
        inverse = 1.0 / n
        term_x *= x * inverse
        term_y *= y * inverse
        rest_x -= term_x
        rest_y -= term_y
        product = rest_x * rest_y
        total += product
        if product < 1.0e-10 * total:
            break
    return min(total / y, 1.0)


@kernel_jit
def effectiveness_cross_approximate(ntu: float, cr: float) -> float:
    """Return the effectiveness of crossflow with both streams unmixed, by the NTU^0.22 form [-].

    Equation: e = 1 - exp{NTU^0.22 [exp(-Cr NTU^0.78) - 1] / Cr}.

    Parameters
    ----------
    ntu : float
        UA over the smaller capacity rate, 0 or more [-].
    cr : float
        Smaller over larger capacity rate, 0..1 [-].

    Returns
    -------
    float
        Effectiveness, 0..1 [-]; 3.8 % below to 1.1 % above the exact value.

    Source: Incropera et al., table 11.3.

    >>> round(effectiveness_cross_approximate(2.0, 1.0), 6)
    0.615407
    """
    if cr < _NO_RATIO or ntu < 1.0e-12:
        return -math.expm1(-ntu)
    root = ntu**0.22
    return -math.expm1(root * math.expm1(-cr * ntu / root) / cr)


@kernel_jit
def effectiveness_cross_mixed(ntu: float, cr: float, small_is_mixed: bool) -> float:
    """Return the effectiveness of crossflow with one stream mixed [-].

    Equation: smaller rate mixed: e = 1 - exp{-[1 - exp(-Cr NTU)]/Cr};
    larger rate mixed: e = [1 - exp{-Cr [1 - exp(-NTU)]}]/Cr.

    Parameters
    ----------
    ntu : float
        UA over the smaller capacity rate, 0 or more [-].
    cr : float
        Smaller over larger capacity rate, 0..1 [-].
    small_is_mixed : bool
        Whether the stream of the smaller capacity rate is the mixed one.

    Returns
    -------
    float
        Effectiveness, 0..1 [-]; both forms agree at Cr = 1.

    Source: Kays and London; Incropera et al., table 11.3.

    >>> [round(effectiveness_cross_mixed(2.0, 0.5, small), 6) for small in (True, False)]
    [0.717546, 0.702013]
    """
    if cr < _NO_RATIO:
        return -math.expm1(-ntu)
    if small_is_mixed:
        return -math.expm1(math.expm1(-cr * ntu) / cr)
    return -math.expm1(cr * math.expm1(-ntu)) / cr


@kernel_jit
def effectiveness(kind: int, ntu: float, cr: float) -> float:
    """Return the effectiveness of an arrangement [-].

    Equation: that of the function named after the arrangement; 1 - exp(-NTU) for a phase change.

    Parameters
    ----------
    kind : int
        One of the constants of this module; anything else counts as a phase change.
    ntu : float
        UA over the smaller capacity rate [-]; below 0 counts as 0.
    cr : float
        Smaller over larger capacity rate [-]; held to 0..1.

    Returns
    -------
    float
        Effectiveness, 0..1 [-].

    Source: Kays and London; Incropera et al., table 11.3; Mason 1955.

    >>> round(effectiveness(COUNTER, 1.0, 1.0), 6), round(effectiveness(PHASE_CHANGE, 1.0, 0.0), 6)
    (0.5, 0.632121)
    """
    n = max(ntu, 0.0)
    c = min(max(cr, 0.0), 1.0)
    if kind == COUNTER:
        return effectiveness_counter(n, c)
    if kind == PARALLEL:
        return effectiveness_parallel(n, c)
    if kind == CROSS_UNMIXED:
        return effectiveness_cross_unmixed(n, c)
    if kind in (CROSS_MIXED_A, CROSS_MIXED_B):
        return effectiveness_cross_mixed(n, c, kind == CROSS_MIXED_A)
    if kind == CROSS_APPROXIMATE:
        return effectiveness_cross_approximate(n, c)
    return -math.expm1(-n)


@kernel_jit
def exchange_conductance(kind: int, ua_w_per_k: float, c_a_w_per_k: float, c_b_w_per_k: float) -> float:
    """Return the heat exchanged per difference of the inlet temperatures [W/K].

    Equation: G = e(UA/Cmin, Cmin/Cmax) Cmin; the heat from a to b is G (T_a,in - T_b,in).

    Parameters
    ----------
    kind : int
        Arrangement; with CROSS_MIXED_A stream a is mixed, with CROSS_MIXED_B stream b, whichever is larger.
        With PHASE_CHANGE the larger rate counts as endless.
    ua_w_per_k : float
        Conductance of the surface [W/K]; below 0 counts as 0.
    c_a_w_per_k, c_b_w_per_k : float
        Capacity rates m cp, either sign [W/K].

    Returns
    -------
    float
        Conductance between the inlets [W/K]; 0 if either stream stands still.

    Source: definition of effectiveness, Kays and London.

    >>> round(exchange_conductance(COUNTER, 600.0, 510.0, 804.8), 2)
    303.58
    """
    c_a = abs(c_a_w_per_k)
    c_b = abs(c_b_w_per_k)
    small = min(c_a, c_b)
    if small < _NO_FLOW_W_PER_K or ua_w_per_k <= 0.0:
        return 0.0
    mixed = kind
    if c_a > c_b:
        if kind == CROSS_MIXED_A:
            mixed = CROSS_MIXED_B
        elif kind == CROSS_MIXED_B:
            mixed = CROSS_MIXED_A
    return small * effectiveness(mixed, ua_w_per_k / small, small / max(c_a, c_b))


@kernel_jit
def wall_to_stream(ha_w_per_k: float, c_w_per_k: float) -> float:
    """Return the conductance from a wall of one temperature to the inlet of a stream passing it [W/K].

    Equation: G = C [1 - exp(-hA/C)].

    Parameters
    ----------
    ha_w_per_k : float
        Film conductance times area [W/K]; below 0 counts as 0.
    c_w_per_k : float
        Capacity rate of the stream, either sign [W/K].

    Returns
    -------
    float
        Conductance [W/K], up to the smaller of hA and C; 0 if the stream stands still.

    Source: Incropera et al., external flow at constant surface temperature.

    >>> round(wall_to_stream(400.0, 510.0), 2)
    277.22
    """
    c = abs(c_w_per_k)
    if c < _NO_FLOW_W_PER_K or ha_w_per_k <= 0.0:
        return 0.0
    return -c * math.expm1(-ha_w_per_k / c)
