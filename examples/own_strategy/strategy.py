"""Two strategies for the shipped plant `reversing`: a class, and the same thought as a compiled function."""

import numba
from numba import types

SIGNALS = ("cabin.air", "setpoint")
CANDIDATES = ("asleep", "air alone", "vxw4g7", "vpve8b")


class Patient:
    """Heats or cools with the compressor when the cabin is off by 2 K, and stays with it until it is 1 K beyond."""

    signals = SIGNALS

    def __init__(self, car):
        self.able = [one.id for one in car.candidates]

    def choose(self, seen):
        if not seen.needs["wanted"]:
            return "asleep"
        off_k = seen.signals["cabin.air"] - seen.signals["setpoint"]
        if off_k < -2.0 or (seen.running == "vpve8b" and off_k < 1.0):
            return "vpve8b"
        if off_k > 2.0 or (seen.running == "vxw4g7" and off_k > -1.0):
            return "vxw4g7"
        return "air alone", {"inlet:fresh": 0.5}


@numba.njit(types.int64(types.float64, types.float64[::1], types.float64[::1], types.int64, types.float64))
def patient(t_s, signals, needs, running, held_s):
    """Return the place in CANDIDATES; the same thought, without fixed knobs."""
    if needs[0] < 0.5:
        return 0
    off_k = signals[0] - signals[1]
    if off_k < -2.0 or (running == 3 and off_k < 1.0):
        return 3
    if off_k > 2.0 or (running == 2 and off_k > -1.0):
        return 2
    return 1
