"""From stored names to what a reader sees."""

import math

import pytest

from heatwright.draw.quantities import figure, plain_number, shown, words


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("t_pack_end_k", 294.15, "21.0 °C"),
        ("fog_margin_k", 2.5, "2.50 K"),
        ("step_doubling_error_k", 0.0624, "0.06 K"),
        ("p_compressor_w", 1250.0, "1.25 kW"),
        ("p_suction_pa", 2.1e5, "2.10 bar"),
        ("h_suction_j_per_kg", 352_500.0, "352.5 kJ/kg"),
        ("time_to_20c_s", 690.0, "11.5 min"),
        ("time_to_20c_s", 0.0, "0.0 min"),
        ("hold_s", 42.0, "42 s"),
        ("duration_s", 34800.0, "9 h 40 min"),
        ("short_k_min", 124.9, "124.9 K·min"),
        ("energy_kwh_per_100km", 23.614, "23.61 kWh/100 km"),
        ("range_km", 287.04, "287.0 km"),
        ("speed_m_per_s", 25.0, "90.0 km/h"),
        ("soc_end", 0.61, "61.0 %"),
        ("residual_j", -0.21, "−0.2 J"),
        ("throughput_j", 3.6e6, "1.000 kWh"),
        ("residual_relative", 3.1e-9, "3.1 × 10⁻⁹"),
        ("steps_redone", 14, "14"),
        ("reached", True, "yes"),
        ("limit", "discharge temperature", "discharge temperature"),
        ("range_km", None, "–"),
        ("range_km", math.nan, "–"),
        ("change_kwh", -0.0001, "0.00 kWh"),
    ],
)
def test_figure(name: str, value: object, text: str) -> None:
    assert figure(name, value) == text


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("t_pack_end_k", "pack end"),
        ("time_to_20c_s", "time to 20 °C"),
        ("soc_end", "state of charge end"),
        ("p_coolant_heater_w", "coolant heater"),
        ("coolant_heater", "coolant heater"),
        ("residual_relative", "residual, relative"),
        ("t_", "t"),
    ],
)
def test_words(name: str, text: str) -> None:
    assert words(name) == text


def test_plain_number() -> None:
    assert [plain_number(v) for v in (0, 14, 0.0521, -2.5e-7, 123456.0)] == [
        "0", "14", "0.0521", "−2.5 × 10⁻⁷", "123,456",
    ]  # fmt: skip


def test_a_factor_is_offered_for_drawing() -> None:
    how = shown("t_cabin_air_k")
    assert 300.0 * how.factor + how.offset == pytest.approx(26.85)


def test_a_sentence_keeps_its_colon() -> None:
    limit = "pressure at its greatest value: the sink is too hot"
    assert words(limit) == limit
    assert words("use:drive_pump") == "use drive pump"
