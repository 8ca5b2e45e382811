"""The names of the stories and their questions; nothing heavy is imported here."""

from __future__ import annotations

from difflib import get_close_matches

from heatwright.errors import InputError, Problem

QUESTIONS = {
    "sun_in_the_pack": "What is it worth to keep the heat of sun, cabin and drive unit in the pack while the car "
    "stands?",
    "ready_for_the_charge": "What does it cost to make the pack ready for a fast charge, and how many minutes does it "
    "save?",
    "heat_into_the_cabin": "Does it pay to send heat into the cabin on a hot hard climb?",
    "no_heater_in_deep_cold": "How soon is a cabin warm at -20 °C without a heater, and for how much?",
    "mild_rain": "What do drying and rewarming the cabin's air cost in mild rain?",
    "towing_in_the_heat": "What holds a car back that tows for an hour in the heat, and does control help?",
}


def check_name(name: str) -> None:
    """Do nothing if there is a story of that name; else InputError."""
    if name not in QUESTIONS:
        near = get_close_matches(name, QUESTIONS, 1, cutoff=0.4)
        hint = f"write {near[0]!r}" if near else "heatwright story --list names them"
        raise InputError(
            [Problem("NAME", f"there is no story {name!r}", f"one of: {', '.join(QUESTIONS)}", hint)], "story"
        )
