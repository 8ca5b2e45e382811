"""Colours can be told apart by everyone and read on their ground.

Colour-vision deficiency: Machado, Oliveira, Fernandes, "A physiologically-based model for simulation of
color vision deficiency", 2009, severity 1.0 matrices (value from memory). OKLab: Ottosson, "A perceptual
color space for image processing", 2020 (value from memory). Contrast: WCAG 2.1, relative luminance.
"""

import re
from itertools import combinations

import numpy as np
import pytest

from heatwright.draw import palette
from heatwright.draw.decision import LOOKS
from heatwright.draw.ribbons import HUES
from heatwright.draw.sheet import layout_of
from heatwright.draw.sheet.levels import idea_sheet
from heatwright.draw.sheet.picture import plant_sheet
from heatwright.draw.sheet.state import State
from heatwright.plant.load import load_plant

SEEN_AS = {
    "normal": np.eye(3),
    "protan": [
        [0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900],
    ],
}  # fmt: skip
TO_LMS = np.array(
    [[0.412221, 0.536333, 0.051446], [0.211903, 0.680700, 0.107397], [0.088302, 0.281719, 0.629979]]
)  # fmt: skip
TO_LAB = np.array(
    [[0.210454, 0.793618, -0.004072], [1.977998, -2.428592, 0.450594], [0.025904, 0.782772, -0.808676]]
)  # fmt: skip


def linear(colour: str) -> np.ndarray:
    c = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def oklab(colour: str, eyes: str) -> np.ndarray:
    seen = np.clip(np.array(SEEN_AS[eyes]) @ linear(colour), 0, 1)
    return TO_LAB @ np.cbrt(TO_LMS @ seen)


def nearest_pair(colours: tuple[str, ...], eyes: str) -> float:
    seen = [oklab(colour, eyes) for colour in colours]
    return min(100 * float(np.linalg.norm(a - b)) for a, b in combinations(seen, 2))


def contrast(one: str, other: str) -> float:
    low, high = sorted(float(np.dot([0.2126, 0.7152, 0.0722], linear(c))) for c in (one, other))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("eyes", SEEN_AS)
@pytest.mark.parametrize("traces", [palette.TRACE_DAY, palette.TRACE_NIGHT], ids=["day", "night"])
def test_traces_can_be_told_apart(traces: tuple[str, ...], eyes: str) -> None:
    assert nearest_pair(traces, eyes) > 7.0


@pytest.mark.parametrize("eyes", SEEN_AS)
@pytest.mark.parametrize("ramp", [palette.RAMP_DAY, palette.RAMP_NIGHT], ids=["day", "night"])
def test_ramp_stops_can_be_told_apart(ramp: tuple[str, ...], eyes: str) -> None:
    assert nearest_pair(ramp, eyes) > 4.0


@pytest.mark.parametrize("side", [0, 1], ids=["day", "night"])
def test_words_and_lines_can_be_read(side: int) -> None:
    colours = {name: pair[side] for name, pair in palette.variables().items()}
    grounds = [colours["paper"], *(value for name, value in colours.items() if name.startswith("leg-"))]
    for ground in grounds:
        assert contrast(colours["ink"], ground) > 7.0
        assert contrast(colours["soft"], ground) > 4.5
    assert contrast(colours["accent"], colours["paper"]) > 4.5
    assert contrast(colours["warn"], colours["paper"]) > 4.5
    for k in range(len(palette.TRACE_DAY)):
        assert contrast(colours[f"trace-{k}"], colours["paper"]) > 3.0


def test_temperature_colour_meets_its_stops_and_clamps() -> None:
    for t_c, colour in zip(palette.RAMP_AT_C, palette.RAMP_DAY, strict=True):
        assert palette.temperature_colour(t_c + palette.KELVIN) == colour
    assert palette.temperature_colour(100.0) == palette.RAMP_DAY[0]
    assert palette.temperature_colour(900.0, night=True) == palette.RAMP_NIGHT[-1]
    between = palette.temperature_colour(42.5 + palette.KELVIN)
    assert between not in palette.RAMP_DAY


def test_neutral_lies_at_room_temperature() -> None:
    """The stop at 20 to 25 degC has the least colour of all."""
    chroma = [float(np.hypot(*oklab(colour, "normal")[1:])) for colour in palette.RAMP_DAY]
    assert 20.0 <= palette.RAMP_AT_C[int(np.argmin(chroma))] <= 25.0


def test_hues_come_round_in_another_dash() -> None:
    forms = {(palette.trace(k), palette.dash(k)) for k in range(18)}
    assert len(forms) == 18


def test_every_variable_has_both_themes_in_the_css() -> None:
    css = palette.css_variables()
    day, night = css.split("@media screen and (prefers-color-scheme:dark)")
    for name, (by_day, by_night) in palette.variables().items():
        assert f"--hw-{name}:{by_day};" in day
        assert f"--hw-{name}:{by_night};" in night


def test_uses_keep_their_colour() -> None:
    uses = (
        "traction",
        "compressor",
        "coolant_heater",
        "air_heater",
        "blower",
        "fan",
        "pumps",
        "auxiliaries",
        "low_voltage",
        "pack_resistance",
    )
    assert len({palette.use_colour(use) for use in uses}) == len(uses)
    assert palette.use_colour("something new") == palette.use_colour("something new")


def mixed(colour: str, share: float, ground: str) -> str:
    """The colour as CSS mixes it with its ground."""
    pairs = [(int(colour[k : k + 2], 16), int(ground[k : k + 2], 16)) for k in (1, 3, 5)]
    return "#" + "".join(f"{round(a * share + b * (1 - share)):02x}" for a, b in pairs)


@pytest.mark.parametrize("eyes", SEEN_AS)
@pytest.mark.parametrize("side", [0, 1], ids=["day", "night"])
def test_terms_of_a_score_can_be_told_apart(eyes: str, side: int) -> None:
    """Nine looks from six hues, three of them mixed with the ground: least distance 4 as of the ramp."""
    hues, ground = (palette.TRACE_DAY, palette.TRACE_NIGHT)[side], palette.GROUNDS["paper"][side]
    looks = tuple(mixed(hues[hue], strong / 100.0, ground) for hue, strong in LOOKS.values())
    assert nearest_pair(looks, eyes) > 4.0


@pytest.mark.parametrize("eyes", SEEN_AS)
@pytest.mark.parametrize("side", [0, 1], ids=["day", "night"])
def test_ribbons_can_be_told_apart(eyes: str, side: int) -> None:
    """The bars at full strength, the ribbons with 38 % of it."""
    hues, ground = (palette.TRACE_DAY, palette.TRACE_NIGHT)[side], palette.GROUNDS["paper"][side]
    bars = tuple(hues[k] for k in sorted({*HUES.values(), 5}))
    assert nearest_pair(bars, eyes) > 7.0
    assert nearest_pair(tuple(mixed(one, 0.38, ground) for one in bars), eyes) > 2.5


def grey(colour: str) -> float:
    """Lightness of a colour printed in grey: L* of CIE 1976 from its luminance (value from memory), 0 to 100."""
    y = float(np.dot([0.2126, 0.7152, 0.0722], linear(colour)))
    return 116.0 * float(np.cbrt(y)) - 16.0 if y > 0.008856 else 903.3 * y


@pytest.mark.parametrize("side", [0, 1], ids=["day", "night"])
def test_pipes_and_bodies_of_a_sheet_can_be_read_without_colour(side: int) -> None:
    """A pipe is seen against its casing or the ground, and words on a tinted body against the tint."""
    ramp = (palette.RAMP_DAY, palette.RAMP_NIGHT)[side]
    paper, dark = (palette.GROUNDS[name][side] for name in ("paper", "ink"))
    for stop in ramp:
        assert max(contrast(stop, paper), contrast(stop, dark)) > 3.0
        assert contrast(dark, mixed(stop, 0.34, paper)) > 4.5
    assert contrast(dark, paper) > 7.0


def test_ramp_tells_far_from_near_in_grey() -> None:
    """By day both ends darken from the neutral stop on, so that a print in grey still shows what is far from it."""
    lights = [grey(stop) for stop in palette.RAMP_DAY]
    neutral = palette.RAMP_AT_C.index(22.5)
    assert lights[: neutral + 1] == sorted(lights[: neutral + 1])
    assert lights[neutral + 1 :] == sorted(lights[neutral + 1 :], reverse=True)
    assert min(lights[neutral] - lights[0], lights[neutral] - lights[-1]) > 30.0


@pytest.mark.parametrize("side", [0, 1], ids=["day", "night"])
def test_lines_and_bars_stand_out_from_their_ground_in_grey(side: int) -> None:
    """Six hues cannot all differ much in grey: labels tell which line is which, lightness that it is there."""
    traces, paper = (palette.TRACE_DAY, palette.TRACE_NIGHT)[side], palette.GROUNDS["paper"][side]
    for one in traces:
        assert abs(grey(one) - grey(paper)) > 35.0
    if side == 0:  # print is by day
        assert min(abs(grey(a) - grey(b)) for a, b in combinations(traces, 2)) > 3.0


def test_no_words_on_a_body_of_a_sheet_are_pale() -> None:
    """The paler ink has less than 4.5 to 1 on a tinted body, so that names and figures there have the full one."""
    state = State(temperatures={"t_ambient_k": 343.15})
    for level in ("idea", "plumbing"):
        bodies = re.findall(r'<g [^>]*(?:body|part)-outside".*?</g>', draw_tinted(level, state))
        assert len(bodies) == 1
        for body in bodies:
            assert "color-mix" in body
            assert not re.findall(r"<text[^>]*--hw-soft", body)


def draw_tinted(level: str, state: State) -> str:
    plant = load_plant("plain")
    return idea_sheet(plant, state, []) if level == "idea" else plant_sheet(plant, layout_of(plant), state)
