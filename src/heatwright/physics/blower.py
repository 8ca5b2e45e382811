"""The cabin blower: what it draws, all of which ends as heat in the air."""

from __future__ import annotations

from heatwright.physics.jit import kernel_jit


@kernel_jit
def blower_power_w(mdot: float, mdot_full: float, p_full_w: float, idle_w: float) -> float:
    """Return the blower's electric power [W], idle + P_full (m / m_full)^2.6, and 0 at no flow.

    All of it is heat in the air it moves.
    Parameters: `mdot`, `mdot_full` : air flow and full flow, usual 0.15 (540 kg/h) [kg/s];
    `p_full_w` : usual 230 [W]; `idle_w` : usual 12 [W].  Above full flow the same law goes on.
    Source: value from memory (exponent between 2 and the fan law's 3, for the motor's part-load efficiency).

    >>> [round(blower_power_w(m / 3600.0, 0.15, 230.0, 12.0)) for m in (0.0, 270.0, 400.0, 540.0)]
    [0, 50, 117, 242]
    """
    if mdot <= 0.0:
        return 0.0
    return idle_w + p_full_w * (mdot / mdot_full) ** 2.6
