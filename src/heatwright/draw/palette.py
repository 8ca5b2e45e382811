"""Colours of every picture and page, by day and by night, and the CSS variables that carry them.

Colour stands for temperature on a plant sheet and for the use or the series elsewhere; words and line forms
always stand beside it, so that nothing is told by colour alone.
"""

from __future__ import annotations

KELVIN = 273.15

RAMP_AT_C = (-20.0, -8.0, 2.0, 12.0, 22.5, 35.0, 50.0, 70.0, 90.0)
RAMP_DAY = (
    "#23257c", "#2b55b5", "#2f86d0", "#6db4d8", "#a9b8b0", "#d9ae52", "#e5822b", "#cf4a23", "#8c1d2e",
)  # fmt: skip
RAMP_NIGHT = (
    "#6f7bf2", "#5b93f0", "#5fb0f2", "#8fcdee", "#bcc8c0", "#e3bd62", "#f29a48", "#f5754f", "#ff7f98",
)  # fmt: skip

TRACE_DAY = ("#2a86c8", "#c4501e", "#8d3b8a", "#0b5d52", "#b08a00", "#1f2a52")
TRACE_NIGHT = ("#67b9f7", "#c76a47", "#9974b5", "#9ffceb", "#f0d96b", "#b2b09b")
DASHES = ("", "7 4", "2 3")

GROUNDS: dict[str, tuple[str, str]] = {
    "paper": ("#fbfaf7", "#12181d"),
    "desk": ("#edeae3", "#0b1013"),
    "ink": ("#1c2930", "#e8ecec"),
    "soft": ("#56636b", "#a3b0b5"),
    "rule": ("#d5d0c4", "#33404a"),
    "accent": ("#14545e", "#7cc4c6"),
    "on-dark": ("#fbfaf7", "#0b1013"),
    "on-light": ("#1c2930", "#0b1013"),
    "warn": ("#a33a12", "#f29a48"),
    "leg-drive": ("#fbfaf7", "#12181d"),
    "leg-park": ("#eeebe2", "#1b242b"),
    "leg-preheat": ("#dcebea", "#16302f"),
    "leg-charge": ("#f4e8c4", "#302a15"),
}

# The hue and strength that a use of energy keeps in every picture: the first word found in its name wins.
USE_HUES: tuple[tuple[str, int, bool], ...] = (
    ("traction", 5, True), ("low_voltage", 5, False), ("compressor", 0, True), ("air_heater", 4, True),
    ("heater", 1, True), ("pad", 4, False), ("seat", 4, False), ("blower", 3, True), ("fan", 2, False),
    ("pump", 3, False), ("pack", 0, False), ("charg", 2, True), ("aux", 2, True), ("drive", 1, False),
)  # fmt: skip


def variables() -> dict[str, tuple[str, str]]:
    """Every CSS variable without its `--hw-` prefix: (day, night)."""
    table = dict(GROUNDS)
    table |= {f"ramp-{k}": pair for k, pair in enumerate(zip(RAMP_DAY, RAMP_NIGHT, strict=True))}
    table |= {f"trace-{k}": pair for k, pair in enumerate(zip(TRACE_DAY, TRACE_NIGHT, strict=True))}
    return table


def css_variables(*, night: bool = False) -> str:
    """Day values for paper and print, night values for a screen that asks for dark; `night` gives those alone."""
    day = "".join(f"--hw-{name}:{pair[0]};" for name, pair in variables().items())
    dark = "".join(f"--hw-{name}:{pair[1]};" for name, pair in variables().items())
    if night:
        return f":root{{{dark}}}\n"
    return f":root{{{day}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"


def ink(name: str) -> str:
    """CSS colour that follows the theme, with the day value for a picture that stands alone."""
    return f"var(--hw-{name},{variables()[name][0]})"


def trace(index: int) -> str:
    """Hue of the series at `index`; hues come round again, see `dash`."""
    return ink(f"trace-{index % len(TRACE_DAY)}")


def dash(index: int) -> str:
    """Dash pattern that keeps series of one hue apart: solid, dashed, dotted."""
    return DASHES[(index // len(TRACE_DAY)) % len(DASHES)]


def use_colour(use: str) -> str:
    """Colour of a use of energy, the same in every picture."""
    hue, strong = _use_hue(use)
    return trace(hue) if strong else f"color-mix(in srgb,{trace(hue)} 55%,{ink('paper')})"


def on_use_colour(use: str) -> str:
    """Colour of words that stand on the colour of a use."""
    hue, strong = _use_hue(use)
    if not strong:
        return ink("ink")
    return ink("on-light" if hue == 4 else "on-dark")


def _use_hue(use: str) -> tuple[int, bool]:
    low = use.lower()
    for word, hue, strong in USE_HUES:
        if word in low:
            return hue, strong
    return sum(low.encode()) % len(TRACE_DAY), False


def temperature_colour(t_k: float, night: bool = False) -> str:
    """Hex colour of a temperature on the ramp, clamped to its ends at -20 and 90 degC."""
    stops = RAMP_NIGHT if night else RAMP_DAY
    t_c = min(max(t_k - KELVIN, RAMP_AT_C[0]), RAMP_AT_C[-1])
    above = next(k for k in range(1, len(stops)) if t_c <= RAMP_AT_C[k])
    share = (t_c - RAMP_AT_C[above - 1]) / (RAMP_AT_C[above] - RAMP_AT_C[above - 1])
    low, high = _channels(stops[above - 1]), _channels(stops[above])
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in zip(low, high, strict=True))


def temperature_ink(t_k: float) -> str:
    """CSS colour of a temperature that follows the theme, on the same ramp."""
    t_c = min(max(t_k - KELVIN, RAMP_AT_C[0]), RAMP_AT_C[-1])
    above = next(k for k in range(1, len(RAMP_AT_C)) if t_c <= RAMP_AT_C[k])
    share = (t_c - RAMP_AT_C[above - 1]) / (RAMP_AT_C[above] - RAMP_AT_C[above - 1])
    return f"color-mix(in srgb,{ink(f'ramp-{above}')} {100.0 * share:.0f}%,{ink(f'ramp-{above - 1}')})"


def _channels(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
