"""From stored SI names to what a reader sees: the unit suffix of a name picks unit, factor and digits."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

MISSING = "–"


@dataclass(frozen=True)
class Shown:
    """How a stored quantity is shown: value * factor + offset in `unit`, with `digits` decimals."""

    unit: str
    factor: float = 1.0
    offset: float = 0.0
    digits: int = 1


# Longest suffix first where one ends another.
SUFFIXES: tuple[tuple[str, Shown], ...] = (
    ("_k_min", Shown("K·min")),
    ("_kwh_per_100km", Shown("kWh/100 km", digits=2)),
    ("_kg_per_s", Shown("kg/min", 60.0, digits=2)),
    ("_m3_per_s", Shown("L/min", 60_000.0)),
    ("_m_per_s", Shown("km/h", 3.6)),
    ("_w_per_m2", Shown("W/m²", digits=0)),
    ("_w_per_k", Shown("W/K", digits=1)),
    ("_rad_per_s", Shown("rpm", 9.549296585513721, digits=0)),
    ("_j_per_kg", Shown("kJ/kg", 1e-3)),
    ("_relative", Shown("", digits=6)),
    ("_fraction", Shown("%", 100.0)),
    ("_share", Shown("%", 100.0)),
    ("_rpm", Shown("rpm", digits=0)),
    ("_kwh", Shown("kWh", digits=2)),
    ("_km", Shown("km")),
    ("_pa", Shown("bar", 1e-5, digits=2)),
    ("_kg", Shown("kg", digits=3)),
    ("_deg", Shown("°", digits=1)),
    ("_m", Shown("m")),
    ("_w", Shown("kW", 1e-3, digits=2)),
    ("_j", Shown("kWh", 1 / 3.6e6, digits=3)),
    ("_s", Shown("min", 1 / 60)),
    ("_k", Shown("°C", 1.0, -273.15)),
    ("_c", Shown("°C")),
    ("_clo", Shown("clo", digits=2)),
)
DIFFERENCES = (
    "fog_margin",
    "error",
    "rms",
    "margin",
    "superheat",
    "subcool",
    "difference",
    "over_",
    "spread",
)


def shown(name: str) -> Shown:
    """How the quantity of this name is shown; state of charge and humidity are shares."""
    if name == "ppd" or name == "soc" or name.startswith(("soc_", "rh_", "x_")):
        return Shown("%", 100.0)
    if name.startswith("w_"):
        return Shown("g/kg", 1000.0)
    if "residual" in name and name.endswith("_j"):
        return Shown("J")
    for suffix, how in SUFFIXES:
        if name.endswith(suffix):
            if suffix == "_k" and any(word in name for word in DIFFERENCES):
                return Shown("K", digits=2)
            return how
    return Shown("", digits=3)


def stem(name: str) -> str:
    """The name without its unit suffix."""
    for suffix, _ in SUFFIXES:
        if name.endswith(suffix):
            return name.removesuffix(suffix)
    return name


def words(name: str) -> str:
    """The name as words for a reader: `t_pack_end_k` is read as 'pack end'."""
    short = stem(name)
    for prefix in ("t_", "p_", "q_", "x_", "mdot_"):
        if short.startswith(prefix) and len(short) > len(prefix):
            short = short.removeprefix(prefix)
            break
    if name.endswith("_relative"):
        short += ", relative"
    text = re.sub(r"\b(\d+)c\b", r"\1 °C", re.sub(r"(?:_|:(?!\s))+", " ", short).strip())
    return re.sub(r"\bsoc\b", "state of charge", text) or name


def figure(name: str, value: Any) -> str:
    """Value and unit as text; a dash where there is none."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return MISSING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, (int, float)):
        return str(value)
    how = shown(name)
    number = value * how.factor + how.offset
    if how.unit == "":
        return plain_number(number)
    if how.unit == "min" and abs(number) < 1.0 and number != 0.0:
        return f"{signed(value, 0 if abs(value) >= 1 else 2)} s"
    if how.unit == "min" and abs(number) >= 120.0:
        hours, minutes = divmod(round(abs(number)), 60)
        return f"{'−' if number < 0 else ''}{hours} h {minutes:02d} min"
    return f"{signed(number, how.digits)} {how.unit}".rstrip()


def signed(number: float, digits: int) -> str:
    """Number with thousands apart and a true minus sign; zero never has a sign."""
    text = f"{number:,.{digits}f}"
    if float(text.replace(",", "")) == 0.0:
        text = text.removeprefix("-")
    return text.replace("-", "−")


def plain_number(number: float) -> str:
    """A bare number: whole ones as they are, small and large ones with an exponent."""
    if number == int(number) and abs(number) < 1e9:
        return signed(number, 0)
    if 1e4 <= abs(number) < 1e9:
        return signed(number, 0)
    if 1e-3 <= abs(number) < 1e4:
        return f"{number:.4g}".replace("-", "−")
    digits, power = f"{number:.1e}".split("e")
    raised = str(int(power)).translate(str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"))
    return f"{digits} × 10{raised}".replace("-", "−")
