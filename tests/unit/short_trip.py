"""A trip short enough for tests: warmed from the plug, driven at one speed, in the cold. Invented."""

SHORT_TRIP = """
format    = "heatwright trip 1"
name      = "Round the block"
about     = "Invented: ten minutes of warming from the plug, fifteen of driving."
set_point = "21 degC"

[start]
charge = "80 %"

[weather]
temperature = "-7 degC"
humidity    = "80 %"

[[segment]]
kind     = "precondition"
name     = "warm the cabin"
duration = "10 min"
station  = "11 kW"

[[segment]]
kind      = "drive"
name      = "round the block"
speed     = "50 km/h"
duration  = "15 min"
occupants = 1
"""
