"""Codes the refrigerant circuit answers with, and the plain sentence behind each."""

from __future__ import annotations

# what solve_circuit returns
CIRCUIT_RUNS = 0
CIRCUIT_OFF = 1
CIRCUIT_HELD_OFF = 2
CIRCUIT_NOT_SOLVED = 3

# what bounds the point (out[OUT_LIMIT])
LIMIT_NONE = 0
LIMIT_SUCTION_PRESSURE = 1
LIMIT_DISCHARGE_PRESSURE = 2
LIMIT_DISCHARGE_TEMPERATURE = 3
LIMIT_PRESSURE_RATIO = 4
LIMIT_POWER = 5
LIMIT_LOW_LIFT = 6
LIMIT_NO_SINK = 7
LIMIT_NO_SOURCE = 8
LIMIT_UNSOLVED = 9
LIMIT_START_ALLOWANCE = 10
LIMIT_LEAST_OFF = 11
LIMIT_BOILING = 12
LIMIT_SUCTION_MOST = 13

CIRCUIT_SENTENCES = {
    CIRCUIT_RUNS: "the compressor runs",
    CIRCUIT_OFF: "the compressor is off",
    CIRCUIT_HELD_OFF: "the compressor is held off: even its least speed would break a limit",
    CIRCUIT_NOT_SOLVED: "the refrigerant circuit was not solved; the compressor counts as off for this step",
}

LIMIT_SENTENCES = {
    LIMIT_NONE: "no limit reached",
    LIMIT_SUCTION_PRESSURE: "suction pressure at its least value: the source is too weak or too cold",
    LIMIT_DISCHARGE_PRESSURE: "discharge pressure at its greatest value: the sink is too weak or too hot",
    LIMIT_DISCHARGE_TEMPERATURE: "discharge gas at its greatest temperature",
    LIMIT_PRESSURE_RATIO: "pressure ratio at its greatest value: source and sink are too far apart",
    LIMIT_POWER: "compressor power at its greatest value",
    LIMIT_LOW_LIFT: "source and sink too close or too cold: the valve closes to keep a pressure difference",
    LIMIT_NO_SINK: "no exchanger is open to take the heat",
    LIMIT_NO_SOURCE: "no exchanger is open to give heat and no hot-gas bypass is set",
    LIMIT_UNSOLVED: "no solution at the asked speed; the nearest speed that has one was taken",
    LIMIT_START_ALLOWANCE: "start allowance: suction pressure below its usual least value",
    LIMIT_LEAST_OFF: "least off time: the compressor has not stood long enough",
    LIMIT_BOILING: "boiling off: liquid gathered in the accumulator, the suction gas is saturated",
    LIMIT_SUCTION_MOST: "suction pressure at the greatest the model has: the valve closes to keep it",
}
