"""Fit the inside bodies of a cabin to published parked soaks and warm-ups at once, on the march itself.

    python -m tools.fit_soak            measure the rows with the defaults
    python -m tools.fit_soak --fit      find the parameters by least squares (a minute or two) and print them

The rows stand in `tools/soak_rows.py`.  What is found belongs into the defaults of `zone` by hand, rounded.
"""

from __future__ import annotations

import argparse
import sys

import numpy as np
from numpy.typing import NDArray

from tools.soak_rows import ROWS, readings

# name, unit, start, least, most
FREE = (
    ("skin", "kJ/K", 20.0, 10.0, 60.0),
    ("skin_to_air", "W/K", 60.0, 15.0, 150.0),
    ("skin_still", "%", 60.0, 20.0, 100.0),
    ("trim", "kJ/K", 100.0, 60.0, 160.0),
    ("trim_to_air", "W/K", 70.0, 30.0, 150.0),
    ("trim_still", "%", 20.0, 12.0, 60.0),
    ("skin_to_trim", "W/K", 10.0, 0.5, 40.0),
    ("sun_on_skin", "%", 70.0, 40.0, 90.0),
    ("film_still", "%", 50.0, 30.0, 90.0),
)
PULL = 0.1
"""How strongly a parameter is held near its start: a full range away counts as a tenth of a row's tolerance."""


def changes(values: NDArray[np.float64]) -> dict[str, str]:
    """The changes to a plant that a set of parameters means."""
    pairs = zip(FREE, values.tolist(), strict=True)
    return {f"zone.cabin.{name}": _text(name, value, unit) for (name, unit, *_), value in pairs}


def _text(name: str, value: float, unit: str) -> str:
    return f"{value:.6g} {unit}" + (" at 300 kg/h" if name == "trim_to_air" else "")


def misfits(found: dict[str, float]) -> NDArray[np.float64]:
    """Distance of every fitted row from its published value or band, over its tolerance."""
    return np.array([row.miss(found[row.name]) / row.close for row in ROWS if row.fitted])


def fit() -> NDArray[np.float64]:
    """The parameters that fit all rows best, within their bounds."""
    from scipy.optimize import least_squares

    start, low, high = (np.array([one[k] for one in FREE]) for k in (2, 3, 4))

    def distance(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.concatenate([misfits(readings(changes(low + x * (high - low)))), PULL * (x - x0)])

    x0 = (start - low) / (high - low)
    return low + least_squares(distance, x0, bounds=(0.0, 1.0), diff_step=0.02, max_nfev=25).x * (high - low)


def main() -> int:
    """Print the rows, published and found, with the parameters used."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    reader.add_argument("--fit", action="store_true", help="look for the parameters instead of taking the defaults")
    use: dict[str, str] = {}
    if reader.parse_args().fit:
        use = changes(fit())
        for name, text in use.items():
            print(f"{name} = {text}")
    found = readings(use)
    for row in ROWS:
        print(
            f"{row.name:42} {row.said:>14} {found[row.name]:8.2f}  miss {row.miss(found[row.name]):+6.2f} {row.unit}"
            + ("" if row.fitted else "  (not fitted)")
        )
    print(f"root mean square of miss over tolerance: {np.sqrt(np.mean(misfits(found) ** 2)):.3f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
