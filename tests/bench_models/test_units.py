"""Values as the screen shows them."""

import pytest

from assistant.bench.units import duration_text, edge_text


@pytest.mark.parametrize(
    ("what", "value", "text"),
    [
        # class: analytic -- conversions are exact
        ("temperature", 458.15, "185 °C"),
        ("temperature", 338.65, "65.5 °C"),
        ("temperature", 268.15, "−5 °C"),
        ("temperature_difference", 3.0, "3 K"),
        ("belt_thickness", 0.00182, "1.82 mm"),
        ("length", 0.045, "45 mm"),
        ("endless_length", 6.42, "6420 mm"),
        ("lead_length", 25.0, "25 m"),
        ("pressure", 2e5, "2.0 bar"),
        ("pressure", 1.85e5, "1.85 bar"),
        ("duration", 270.0, "4 min 30 s"),
        ("elongation", 0.005, "0.5 %"),
        ("supply_voltage", 230.0, "230 V"),
        ("lead_section", 2.5e-6, "2.5 mm²"),
        ("current", 13.043, "13 A"),
        ("mass", 22.0, "22 kg"),
        ("tension", 8e3, "8 N/mm"),
        ("count", 3.0, "3"),
        ("length", -1e-9, "0 mm"),
    ],
)
def test_a_value_is_shown_in_the_unit_of_the_bench(what: str, value: float, text: str) -> None:
    assert edge_text(what, value) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0 s"),
        (45.4, "45 s"),
        (59.7, "1 min"),
        (240, "4 min"),
        (-30, "−30 s"),
        (3599.7, "1 h"),
        (3900, "1 h 5 min"),
    ],
)
def test_a_time_is_shown_as_it_is_said(seconds: float, text: str) -> None:
    assert duration_text(seconds) == text


def test_a_thing_without_a_unit_is_a_programming_error() -> None:
    with pytest.raises(KeyError):
        edge_text("press", 1.0)
