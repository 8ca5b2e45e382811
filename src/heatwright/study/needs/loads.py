"""The loads that capacities are set against: one state of car and weather a need, written in a sheet's [capacity]."""

from __future__ import annotations

from heatwright.trip.schema import Field, quantity

LOADS = (
    quantity("coldest", "air outside where the table of capacities begins", "degC", -40, 40, "-30 degC"),
    quantity("hottest", "air outside where it ends", "degC", -30, 50, "45 degC"),
    quantity("step", "from one air outside to the next", "K", 1, 60, "5 K"),
    quantity("cabin", "cabin that is held", "degC", 10, 30, "22 degC"),
    Field("people", "count", "people aboard", default="2", low=0, high=9),
    quantity("fresh_warm", "share of outside air while the cabin is warmed or dried", "%", 0, 100, "50 %"),
    quantity("fresh_cool", "share of outside air while it is cooled", "%", 0, 100, "20 %"),
    quantity("humidity", "relative humidity outside", "%", 0, 100, "60 %"),
    quantity(
        "dew_most", "highest dew point of the air outside: it caps `humidity` in the heat", "degC", 0, 35, "18 degC"
    ),
    quantity("damp", "the same while the cabin is dried: rain", "%", 0, 100, "95 %"),
    quantity("blower", "how far the blower is up", "%", 10, 100, "80 %"),
    quantity("sun", "sun on the flat while the cabin is cooled", "W/m2", 0, 1200, "850 W/m2"),
    quantity("speed", "speed of the car, but for the drive unit's", "km/h", 0, 130, "50 km/h"),
    quantity("pack_cold", "cells while the pack is warmed", "degC", -30, 40, "10 degC"),
    quantity("pack_rise", "how fast they are to warm", "K/h", 0, 120, "15 K/h"),
    quantity("pack_hot", "cells while the pack is cooled", "degC", 10, 60, "40 degC"),
    quantity("pack_heat", "heat that arises in them then", "kW", 0, 50, "2.5 kW"),
    quantity("drive_speed", "speed of the point of driving that heats the drive unit", "km/h", 5, 200, "110 km/h"),
    quantity("drive_grade", "its grade", "%", -10, 30, "5 %"),
)
