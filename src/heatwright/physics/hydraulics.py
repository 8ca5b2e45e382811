"""Friction, films, and the pressure laws of a channel, a throat and a pump.

Every pressure law is odd in the flow where the part is passive, never falls with it, and keeps a slope above
zero at rest, so that a Newton solver on flows (`physics.network`) has exactly one answer to find.
"""

from __future__ import annotations

import math

from heatwright.physics.jit import kernel_jit

LAMINAR_RE = 2300.0  # laminar heat transfer below [-]
TURBULENT_RE = 4000.0  # turbulent heat transfer above [-]
LAMINAR_NU = 3.66  # Nusselt number, round tube, constant wall temperature [-]
SLOW_M_PER_S = 1.0e-3  # below this speed a loss coefficient acts in proportion to the speed
STOPPED = 0.05  # pump speed fraction under which the rotor fades into a plain resistance [-]
_EXACT_LAMINAR_RE = 1000.0  # Churchill's form equals 64/Re below this to 1e-13
_EXACT_TURBULENT_RE = 1.0e4  # its laminar term is below 1e-9 above this


@kernel_jit
def reynolds(mdot_kg_per_s: float, d_h_m: float, area_m2: float, mu_pa_s: float) -> float:
    """Return the Reynolds number of a channel, always positive [-].

    Equation: Re = |m| d_h / (a mu).

    Parameters
    ----------
    mdot_kg_per_s : float
        Mass flow, either sign [kg/s].
    d_h_m : float
        Hydraulic diameter, above 0 [m].
    area_m2 : float
        Flow area, above 0 [m2].
    mu_pa_s : float
        Dynamic viscosity, above 0 [Pa s].

    Returns
    -------
    float
        Reynolds number [-]; 0 at rest.  No limit is applied.

    Source: definition.

    >>> round(reynolds(0.18035, 0.016, math.pi / 4 * 0.016**2, 22.18e-3))
    647
    """
    return abs(mdot_kg_per_s) * d_h_m / (area_m2 * mu_pa_s)


@kernel_jit
def friction_churchill(re: float, roughness: float) -> tuple[float, float]:
    """Return the Darcy friction factor and its log slope, laminar to turbulent [-].

    Equation: f = 8 [(8/Re)^12 + (A + B)^-1.5]^(1/12), A = (2.457 ln 1/((7/Re)^0.9 + 0.27 e))^16,
    B = (37530/Re)^16; the second value is d ln f / d ln Re from the same expression.

    Parameters
    ----------
    re : float
        Reynolds number, above 0 [-].
    roughness : float
        Roughness over diameter e, 0 to 0.05 [-].

    Returns
    -------
    tuple of float
        f [-], d ln f / d ln Re [-].  Below Re = 1000 it is 64/Re and -1 (the form agrees to 1e-13); Re is
        held above 1e-12, so that rest gives a finite number.

    Source: Churchill, "Friction-factor equation spans all fluid-flow regimes", Chemical Engineering, 1977.

    >>> f, n = friction_churchill(1.0e5, 1.0e-4)
    >>> round(f, 6), round(n, 3)
    (0.018463, -0.185)
    """
    if re < _EXACT_LAMINAR_RE:
        return 64.0 / max(re, 1.0e-12), -1.0
    log_inner = 0.9 * math.log(re / 7.0)
    smooth_share = 1.0
    if roughness > 0.0:
        seven = math.exp(-log_inner)
        smooth_share = seven / (seven + 0.27 * roughness)
        log_inner = -math.log(seven + 0.27 * roughness)
    a = 2.457 * log_inner
    a *= a
    a *= a
    a *= a
    a *= a
    b = 37530.0 / re
    b *= b
    b *= b
    b *= b
    b *= b
    both = a + b
    turbulent_slope = (1.8 * a * smooth_share / log_inner - 2.0 * b) / both
    if re > _EXACT_TURBULENT_RE:
        return 8.0 / math.sqrt(math.sqrt(math.sqrt(both))), -turbulent_slope
    laminar = 8.0 / re
    laminar *= laminar
    laminar *= laminar
    laminar *= laminar * laminar
    turbulent = 1.0 / (both * math.sqrt(both))
    total = laminar + turbulent
    return 8.0 * total ** (1.0 / 12.0), -(turbulent * turbulent_slope + laminar) / total


@kernel_jit
def friction_blasius(re: float) -> float:
    """Return the Darcy friction factor of a smooth tube by Blasius [-].

    Equation: f = 0.3164 Re^-0.25.

    Parameters
    ----------
    re : float
        Reynolds number, 4e3 to 1e5 [-]; used as it is outside.

    Returns
    -------
    float
        f [-].

    Source: Blasius, 1913, as quoted in handbooks of fluid flow.

    >>> round(friction_blasius(1.0e4), 5)
    0.03164
    """
    return 0.3164 * re**-0.25


@kernel_jit
def friction_haaland(re: float, roughness: float) -> float:
    """Return the Darcy friction factor of turbulent flow by Haaland [-].

    Equation: 1/sqrt(f) = -1.8 log10[(e/3.7)^1.11 + 6.9/Re].

    Parameters
    ----------
    re : float
        Reynolds number, above 4e3 [-]; used as it is below.
    roughness : float
        Roughness over diameter e, 0 to 0.05 [-].

    Returns
    -------
    float
        f [-].

    Source: Haaland, Journal of Fluids Engineering, 1983.

    >>> round(friction_haaland(1.0e5, 1.0e-3), 6)
    0.021966
    """
    root = -1.8 * math.log10((roughness / 3.7) ** 1.11 + 6.9 / re)
    return 1.0 / (root * root)


@kernel_jit
def friction_colebrook(re: float, roughness: float) -> float:
    """Return the Darcy friction factor of turbulent flow by Colebrook, solved by 20 substitutions [-].

    Equation: 1/sqrt(f) = -2 log10[e/3.7 + 2.51/(Re sqrt(f))].

    Parameters
    ----------
    re : float
        Reynolds number, above 4e3 [-]; below it the equation itself has no meaning.
    roughness : float
        Roughness over diameter e, 0 to 0.05 [-].

    Returns
    -------
    float
        f [-].

    Source: Colebrook, Journal of the Institution of Civil Engineers, 1939.

    >>> round(friction_colebrook(1.0e5, 1.0e-3), 6)
    0.022175
    """
    root = 7.0
    for _ in range(20):
        root = -2.0 * math.log10(roughness / 3.7 + 2.51 * root / re)
    return 1.0 / (root * root)


@kernel_jit
def nusselt_gnielinski(re: float, pr: float) -> float:
    """Return the Nusselt number of turbulent tube flow by Gnielinski [-].

    Equation: Nu = (f/8)(Re - 1000) Pr / [1 + 12.7 sqrt(f/8) (Pr^(2/3) - 1)], f = (0.79 ln Re - 1.64)^-2.

    Parameters
    ----------
    re : float
        Reynolds number, 3e3 to 5e6 [-]; used as it is outside.
    pr : float
        Prandtl number, 0.5 to 2000 [-].

    Returns
    -------
    float
        Nu [-].

    Source: Gnielinski, International Chemical Engineering, 1976; friction by Petukhov.

    >>> round(nusselt_gnielinski(1.0e4, 5.0), 2)
    69.91
    """
    root = 0.79 * math.log(re) - 1.64
    f8 = 0.125 / (root * root)
    return f8 * (re - 1000.0) * pr / (1.0 + 12.7 * math.sqrt(f8) * (pr ** (2.0 / 3.0) - 1.0))


@kernel_jit
def nusselt_dittus_boelter(re: float, pr: float, exponent: float) -> float:
    """Return the Nusselt number of turbulent tube flow by Dittus and Boelter [-].

    Equation: Nu = 0.023 Re^0.8 Pr^n, n = 0.4 for a heated fluid, 0.3 for a cooled one.

    Parameters
    ----------
    re : float
        Reynolds number, above 1e4 [-]; used as it is below.
    pr : float
        Prandtl number, 0.7 to 120 [-].
    exponent : float
        0.4 (fluid is heated) or 0.3 (fluid is cooled) [-].

    Returns
    -------
    float
        Nu [-].

    Source: Dittus and Boelter, 1930, as in Incropera et al., "Fundamentals of Heat and Mass Transfer".

    >>> round(nusselt_dittus_boelter(1.0e4, 5.0, 0.4), 2)
    69.39
    """
    return 0.023 * re**0.8 * pr**exponent


@kernel_jit
def nusselt(re: float, pr: float) -> float:
    """Return the Nusselt number of a channel at any Reynolds number, without a jump [-].

    Equation: 3.66 up to Re 2300, Gnielinski from 4000, between them a straight line in Re from 3.66 to the
    turbulent value at 4000.

    Parameters
    ----------
    re : float
        Reynolds number, 0 or more [-].
    pr : float
        Prandtl number, 0.5 to 2000 [-].

    Returns
    -------
    float
        Nu [-].  Thermal entry of short channels is left out, which is cautious in laminar flow.

    Source: Gnielinski, "On heat transfer in tubes", Int. J. Heat Mass Transfer, 2013 (straight line between
    2300 and 4000); 3.66 from the Graetz problem.

    >>> nusselt(1000.0, 50.0), round(nusselt(5000.0, 10.0), 2)
    (3.66, 45.83)
    """
    if re <= LAMINAR_RE:
        return LAMINAR_NU
    if re >= TURBULENT_RE:
        return nusselt_gnielinski(re, pr)
    share = (re - LAMINAR_RE) / (TURBULENT_RE - LAMINAR_RE)
    return LAMINAR_NU + share * (nusselt_gnielinski(TURBULENT_RE, pr) - LAMINAR_NU)


@kernel_jit
def film(
    mdot_kg_per_s: float,
    d_h_m: float,
    area_m2: float,
    mu_pa_s: float,
    cp_j_per_kg_k: float,
    k_w_per_m_k: float,
) -> float:
    """Return the film conductance per area inside a channel [W/m2K].

    Equation: h = Nu(Re, Pr) k / d_h, Re = |m| d_h / (a mu), Pr = mu cp / k.  A conductance declared at a
    reference state is scaled by the ratio of two calls.

    Parameters
    ----------
    mdot_kg_per_s : float
        Mass flow, either sign [kg/s].
    d_h_m : float
        Hydraulic diameter, above 0 [m].
    area_m2 : float
        Flow area, above 0 [m2].
    mu_pa_s : float
        Dynamic viscosity [Pa s].
    cp_j_per_kg_k : float
        Specific heat capacity [J/kgK].
    k_w_per_m_k : float
        Thermal conductivity [W/mK].

    Returns
    -------
    float
        Film conductance per wetted area [W/m2K]; at rest the laminar value stays.

    Source: see `nusselt`.

    >>> area = math.pi / 4 * 0.008**2
    >>> round(film(0.10, 0.008, area, 2.10e-3, 3413.0, 0.402))  # 40 degC
    4308
    >>> round(film(0.10, 0.008, area, 22.2e-3, 3087.0, 0.365))  # -20 degC, laminar
    167
    """
    re = abs(mdot_kg_per_s) * d_h_m / (area_m2 * mu_pa_s)
    return nusselt(re, mu_pa_s * cp_j_per_kg_k / k_w_per_m_k) * k_w_per_m_k / d_h_m


@kernel_jit
def loss_drop(mdot_kg_per_s: float, area_m2: float, k: float, rho_kg_per_m3: float) -> tuple[float, float]:
    """Return the pressure drop of a loss coefficient, signed, and its slope with mass flow [Pa], [Pa s/kg].

    Equation: dp = k rho/2 v sqrt(v^2 + v0^2), v = m/(rho a), v0 = 1 mm/s: the usual k rho v|v|/2 to 5e-7 at
    1 m/s, proportional to the flow at a creep.

    Parameters
    ----------
    mdot_kg_per_s : float
        Mass flow, either sign [kg/s].
    area_m2 : float
        Area for the speed, above 0 [m2].
    k : float
        Loss coefficient, 0 or more [-].
    rho_kg_per_m3 : float
        Density, above 0 [kg/m3].

    Returns
    -------
    tuple of float
        Drop in the sense of the flow [Pa], slope [Pa s/kg], never below 0.

    Source: definition; the bend at v0 is a numerical choice.

    >>> dp, slope = loss_drop(1.0, 0.001, 2.0, 1000.0)
    >>> round(dp, 2), round(slope, 2)
    (1000.0, 2000.0)
    """
    v = mdot_kg_per_s / (rho_kg_per_m3 * area_m2)
    root = math.sqrt(v * v + SLOW_M_PER_S * SLOW_M_PER_S)
    return 0.5 * k * rho_kg_per_m3 * v * root, 0.5 * k * (root + v * v / root) / area_m2


@kernel_jit
def channel_drop(
    mdot_kg_per_s: float,
    d_h_m: float,
    area_m2: float,
    l_over_d: float,
    k_minor: float,
    roughness: float,
    rho_kg_per_m3: float,
    mu_pa_s: float,
) -> tuple[float, float]:
    """Return the pressure drop of a channel, signed, and its slope with mass flow [Pa], [Pa s/kg].

    Equation: dp = f(Re) (L/D) rho v|v|/2 + k rho v|v|/2 with Churchill's friction; laminar flow is thereby
    32 mu (L/D) v / d_h, proportional to viscosity and flow.

    Parameters
    ----------
    mdot_kg_per_s : float
        Mass flow, either sign [kg/s].
    d_h_m, area_m2 : float
        Hydraulic diameter [m] and flow area [m2], above 0.
    l_over_d : float
        Effective length over hydraulic diameter, 0 or more [-].
    k_minor : float
        Loss coefficient of bends and headers, 0 or more [-].
    roughness : float
        Wall roughness over hydraulic diameter, 0 (drawn, moulded or brazed passages) to 0.05 [-].
    rho_kg_per_m3, mu_pa_s : float
        Density [kg/m3] and dynamic viscosity [Pa s], above 0.

    Returns
    -------
    tuple of float
        Drop in the sense of the flow [Pa], slope [Pa s/kg]; at rest 0 and the laminar slope.

    Source: Darcy and Weisbach's definition, Churchill 1977; see `friction_churchill`.

    >>> dp, slope = channel_drop(0.18035, 0.016, math.pi / 4 * 0.016**2, 312.5, 0.0, 0.0, 1082.2, 22.18e-3)
    >>> round(dp / 1e3, 2), round(slope * 0.18035 / dp, 3)
    (11.49, 1.0)
    """
    dp, slope = loss_drop(mdot_kg_per_s, area_m2, k_minor, rho_kg_per_m3)
    laminar_slope = 32.0 * mu_pa_s * l_over_d / (rho_kg_per_m3 * area_m2 * d_h_m)
    re = abs(mdot_kg_per_s) * d_h_m / (area_m2 * mu_pa_s)
    if re < _EXACT_LAMINAR_RE:
        return dp + laminar_slope * mdot_kg_per_s, slope + laminar_slope
    f, f_slope = friction_churchill(re, roughness)
    friction_slope = laminar_slope * f * re / 64.0
    return dp + friction_slope * mdot_kg_per_s, slope + (2.0 + f_slope) * friction_slope


@kernel_jit
def channel_length_ratio(
    dp_ref_pa: float,
    mdot_ref_kg_per_s: float,
    d_h_m: float,
    area_m2: float,
    rho_kg_per_m3: float,
    mu_pa_s: float,
    k_minor: float,
) -> float:
    """Return the effective L/D that gives a smooth channel its declared pressure drop [-].

    Equation: L/D = (dp_ref - dp of k_minor) / (drop per unit L/D at the reference flow).

    Parameters
    ----------
    dp_ref_pa : float
        Declared drop, above 0 [Pa].
    mdot_ref_kg_per_s : float
        Mass flow at which it holds, above 0 [kg/s].
    d_h_m, area_m2 : float
        Hydraulic diameter [m] and flow area [m2].
    rho_kg_per_m3, mu_pa_s : float
        Density [kg/m3] and viscosity [Pa s] at the reference temperature.
    k_minor : float
        Loss coefficient counted beside friction [-].

    Returns
    -------
    float
        L/D [-], held at 0 where the loss coefficient alone exceeds the declared drop.

    Source: common practice.

    >>> area = math.pi / 4 * 0.016**2
    >>> round(channel_length_ratio(11.49e3, 0.18035, 0.016, area, 1082.2, 22.18e-3, 0.0), 1)
    312.5
    """
    minor_pa = loss_drop(mdot_ref_kg_per_s, area_m2, k_minor, rho_kg_per_m3)[0]
    unit_pa = channel_drop(mdot_ref_kg_per_s, d_h_m, area_m2, 1.0, 0.0, 0.0, rho_kg_per_m3, mu_pa_s)[0]
    return max(dp_ref_pa - minor_pa, 0.0) / unit_pa


@kernel_jit
def throat_coefficient(opening: float, k_open: float, k_leak: float) -> float:
    """Return the loss coefficient of a valve throat at an opening [-].

    Equation: 1/sqrt(k) = 1/sqrt(k_leak) + opening (1/sqrt(k_open) - 1/sqrt(k_leak)): at a given pressure the
    flow is linear in the opening and its shut share is sqrt(k_open/k_leak).

    Parameters
    ----------
    opening : float
        Share of full opening, held to 0..1 [-].
    k_open, k_leak : float
        Loss coefficient fully open and shut, above 0 [-]; k_leak = 1e4 k_open leaks 1 %, 1e12 k_open seals to
        1e-6 of the flow or less.

    Returns
    -------
    float
        Loss coefficient on the throat's area [-].

    Source: definition of a linear valve characteristic; common practice.

    >>> throat_coefficient(0.5, 4.0, 4.0e12) / 4.0 < 4.00001
    True
    """
    shut = 1.0 / math.sqrt(k_leak)
    pass_ = shut + min(max(opening, 0.0), 1.0) * (1.0 / math.sqrt(k_open) - shut)
    return 1.0 / (pass_ * pass_)


@kernel_jit
def pump_head(
    q_m3_per_s: float, speed: float, h0_pa: float, q0_m3_per_s: float, exponent: float, k_off: float
) -> tuple[float, float]:
    """Return the pressure rise of a pump or blower and its slope with volume flow [Pa], [Pa s/m3].

    Equation: dp = H0 s^2 - r(s) H0 q |q|^(n-1), q = Q/Q0, r = s^(2-n), which is H0 s^2 [1 - (Q/(Q0 s))^n];
    below s = 0.05 the resistance r fades in a straight line to k_off at rest.

    Parameters
    ----------
    q_m3_per_s : float
        Volume flow, either sign [m3/s].
    speed : float
        Speed over full speed, held at 0 from below [-].
    h0_pa, q0_m3_per_s : float
        Pressure rise at no flow [Pa] and flow at no pressure rise [m3/s], at full speed, above 0.
    exponent : float
        Curve exponent n, 1 to 3 [-].
    k_off : float
        Resistance of the stopped machine: its drop at Q0 over H0, 0 or more [-].

    Returns
    -------
    tuple of float
        Pressure rise [Pa], slope [Pa s/m3], never above 0.  Beyond Q0 s the machine is driven by the flow and
        drops pressure; against reverse flow the rise goes on growing by the same law.

    Source: affinity laws (head with speed squared, flow with speed); curve shape common practice.

    >>> head, slope = pump_head(22.5e-3 / 60, 1.0, 65e3, 45e-3 / 60, 1.8, 0.5)
    >>> round(head)
    46334
    """
    s = max(speed, 0.0)
    if s >= STOPPED:
        resistance = s ** (2.0 - exponent)
    else:
        resistance = k_off + (STOPPED ** (2.0 - exponent) - k_off) * s / STOPPED
    q = q_m3_per_s / q0_m3_per_s
    power = abs(q) ** (exponent - 1.0)
    head = h0_pa * (s * s - resistance * q * power)
    return head, -exponent * resistance * power * h0_pa / q0_m3_per_s


@kernel_jit
def pump_power(
    q_m3_per_s: float,
    head_pa: float,
    speed: float,
    idle_w: float,
    efficiency: float,
    droop: float,
    spin_w: float,
) -> float:
    """Return the electric power of a coolant pump [W].

    Equation: P = idle + dp Q / (eta [1 - droop (1 - s)]) + spin s^3 while s > 0, else 0.  An ordinary 50 W
    pump has idle 4 W, eta 0.42, droop 0.35, spin 6 W.

    Parameters
    ----------
    q_m3_per_s, head_pa : float
        Volume flow [m3/s] and pressure rise [Pa]; a negative product (driven by the flow) counts as 0.
    speed : float
        Speed over full speed, 0..1 [-].
    idle_w, spin_w : float
        Electronics, and friction at full speed [W].
    efficiency, droop : float
        Efficiency at full speed, and its relative loss towards standstill, 0..1 [-].

    Returns
    -------
    float
        Electric power [W]; all of it ends as heat in the loop or the motor's surroundings.

    Source: common practice (estimate, +/-25 %).

    >>> round(pump_power(10e-3 / 60, 50e3, 1.0, 0.0, 0.40, 0.35, 0.0), 2)
    20.83
    """
    if speed <= 0.0:
        return 0.0
    hydraulic_w = max(q_m3_per_s * head_pa, 0.0)
    return idle_w + hydraulic_w / (efficiency * (1.0 - droop * (1.0 - speed))) + spin_w * speed**3
