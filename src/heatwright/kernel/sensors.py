"""What a sensor makes of what is there: it lags, reads off, flickers; the car averages what it reads.

Noise comes from a hash of the sensor's key and the count of its readings: the same run reads the same, in whatever
pieces it is marched.
"""

from __future__ import annotations

import numpy as np

from heatwright.kernel.plan import Floats
from heatwright.physics.jit import inner_jit

PARAMETERS = np.uint64(5)
"""Numbers a signal: lag [s], offset, noise, both in the signal's unit, smoothing [s], key of the noise."""
LAG, OFFSET, NOISE, SMOOTHING, KEY = (np.uint64(k) for k in range(5))
STRIDE, FIRST, SECOND = (np.uint64(k) for k in (0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB))
MASK, S16, S27, S30, S31, S32, S48 = (np.uint64(k) for k in (0xFFFF, 16, 27, 30, 31, 32, 48))
SCALE = 3.0**0.5 / 65536.0


@inner_jit
def noise(key: float, count: float) -> float:
    """Return the flicker of one reading: mean 0, standard deviation 1, never beyond 2 sqrt(3) [-].

    Four 16-bit pieces of a mixed 64-bit counter, added: nearly a normal distribution.
    Parameters: `key`, `count` : whole numbers, 0 to 2^52.
    Source: multiply-and-shift mixing of a counter, common practice.
    """
    h = np.uint64(key) * FIRST + np.uint64(count) * STRIDE
    h = (h ^ (h >> S30)) * FIRST
    h = (h ^ (h >> S27)) * SECOND
    h ^= h >> S31
    pieces = (h & MASK) + ((h >> S16) & MASK) + ((h >> S32) & MASK) + (h >> S48)
    return SCALE * (float(pieces) - 131070.0)


@inner_jit
def sensed(x: float, par: Floats, o: int, seen: Floats, element: int, mean: int, dt: float) -> float:
    """Return the reading of one sensor after a step in which `x` was there, and keep its element and its average.

    element += (x - element) dt / (lag + dt);  reading = element + offset + noise;  the average follows the reading
    likewise. The first reading (`seen[0]` is 0) finds element and average settled.
    """
    lag = par[o + LAG]
    count = seen[0]
    if lag > 0.0 and count > 0.0:
        x = seen[element] + (x - seen[element]) * dt / (lag + dt)
    seen[element] = x
    x += par[o + OFFSET]
    smoothing = par[o + SMOOTHING]
    if par[o + NOISE] > 0.0 and (count > 0.0 or smoothing <= 0.0):
        x += par[o + NOISE] * noise(par[o + KEY], count)
    if smoothing > 0.0 and count > 0.0:
        x = seen[mean] + (x - seen[mean]) * dt / (smoothing + dt)
    seen[mean] = x
    return x
