"""Temperature as a colour that follows the theme: a mixture of two neighbouring steps of the ramp."""

from __future__ import annotations

from heatwright.draw.palette import KELVIN, RAMP_AT_C, ink

UNKNOWN = "rule"


def temperature_ink(t_k: float | None) -> str:
    """CSS colour of a temperature [K], clamped to the ends of the ramp; a pale one where none is known."""
    if t_k is None or t_k != t_k:
        return ink(UNKNOWN)
    t_c = min(max(t_k - KELVIN, RAMP_AT_C[0]), RAMP_AT_C[-1])
    above = next(k for k in range(1, len(RAMP_AT_C)) if t_c <= RAMP_AT_C[k])
    share = (t_c - RAMP_AT_C[above - 1]) / (RAMP_AT_C[above] - RAMP_AT_C[above - 1])
    return f"color-mix(in srgb,{ink(f'ramp-{above}')} {round(100 * share)}%,{ink(f'ramp-{above - 1}')})"


def tinted(colour: str, share: float = 34) -> str:
    """A colour laid thinly over the paper."""
    return f"color-mix(in srgb,{colour} {share:g}%,{ink('paper')})"
