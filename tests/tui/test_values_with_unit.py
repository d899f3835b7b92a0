"""Options take their own unit bare and others written after the number, converted exactly, and never guess."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

import click
import pint
import pytest

from assistant.bench.catalogue import PACKAGED
from tui.commands.with_unit import measured
from tui.main import run

unit: pint.UnitRegistry[Any] = pint.UnitRegistry()


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str]]:
    def play(*arguments: str) -> tuple[int, str]:
        with pytest.raises(SystemExit) as left:
            run(list(arguments))
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out + shown.err

    return play


@pytest.mark.parametrize(
    ("kind", "own", "own_pint", "said", "said_pint"),
    [
        ("length", "mm", "mm", "in", "inch"),
        ("length", "mm", "mm", "thou", "thou"),
        ("length", "mm", "mm", "ft", "foot"),
        ("length", "m", "m", "mm", "mm"),
        ("pressure", "bar", "bar", "psi", "psi"),
        ("pressure", "bar", "bar", "kPa", "kPa"),
        ("pressure", "bar", "bar", "MPa", "MPa"),
        ("pressure", "bar", "bar", "kgf/cm2", "kgf/cm**2"),
        ("tension", "n mm", "N/mm", "lbf/in", "lbf/inch"),
        ("tension", "n mm", "N/mm", "kN/m", "kN/m"),
        ("temperature", "c", "degC", "°F", "degF"),
        ("temperature", "c", "degC", "K", "kelvin"),
    ],
)
def test_other_units_are_converted(kind: str, own: str, own_pint: str, said: str, said_pint: str) -> None:
    draw = random.Random(said)
    take = measured(-1e9, 1e9, kind, own)
    for _ in range(20):
        value = round(draw.uniform(300, 600), 3)
        expected = unit.Quantity(value, said_pint).to(own_pint).magnitude
        for text in (f"{value}{said}", f"{value} {said}"):
            assert take(text) == pytest.approx(expected, rel=1e-9)  # class: peer library -- pint
        assert take(str(value)) == value


def test_fractions_and_the_inch_mark() -> None:
    take = measured(0, 100, "length", "mm")
    # class: analytic -- inch 25.4 mm exactly
    assert (take("1/4 in"), take('1/4"'), take("47 thou")) == (6.35, 6.35, 1.1938)


@pytest.mark.parametrize(
    "text", ["2 bar", "3 mil", "5 mm mm", "mm", "1,5 mm", "1e3mm", "2 2 mm", "1/0 in", "nan mm", "120 in"]
)
def test_what_is_no_length_or_may_be_either_is_refused(text: str) -> None:
    with pytest.raises(click.BadParameter):
        measured(0, 1000, "length", "mm")(text)


def test_a_command_takes_them(told: Callable[..., tuple[int, str]]) -> None:
    found = json.loads(told("pressure", "--gauge=29 psi", "--bag=0.02", "--belt=0.01", "--json")[1])
    assert found["gauge_Pa"] == pytest.approx(
        29 * 6894.757293168361
    )  # class: printed -- NIST SP 811, appendix B
    assert told("touch", "158 °F")[1].startswith("70 °C")  # class: analytic -- (158 - 32) / 1.8
    assert told("touch", "-5") == (0, "-5 °C: cool\n")
    job = str(PACKAGED / "jobs" / "flat_in_the_shop.toml")
    options = ("--upper=374 F", "--shop=50 F", "--dwell=3 min", "--pressure=29 psi", "--voltage=0.21 kV")
    changed = json.loads(told("recipe", job, *options, "--json")[1])["changed"]
    # class: analytic -- (374 - 32) / 1.8 and (50 - 32) / 1.8
    assert changed["upper_temperature_K"] == pytest.approx(190 + 273.15)
    assert changed["shop_temperature_K"] == pytest.approx(10 + 273.15)
    assert changed["dwell_s"] == 180.0
    assert changed["pressure_Pa"] == pytest.approx(
        29 * 6894.757293168361
    )  # class: printed -- NIST SP 811, appendix B
    assert changed["supply_voltage_V"] == pytest.approx(210.0)
    code, out = told("length", "--path=5 bar", "--elongation=0.5", "--finger=80")
    assert (code, out.count("\n")) == (2, 1)
    assert "--path" in out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("pressure", "--gauge=-1", "--bag=0.1", "--belt=0.05"), "read the gauge again"),
        (("pressure", "--gauge=1", "--bag=0.1", "--belt=0"), "no belt under the plate"),
        (("pressure", "--gauge=1", "--bag=0", "--belt=0.1"), "no area"),
        (("tension", "--friction=0", "--wrap=180"), "friction"),
        (("tension", "--elongation=0.5", "--k1=8", "--width=100", "--wrap=361"), "360 degrees"),
        (("tension", "--elongation=0.5", "--k1=8", "--width=100", "--wrap=0"), "above nought"),
        (("fingers", "--pitch=10", "--length=0", "--width=40", "--thickness=2"), "finger length"),
    ],
)
def test_what_cannot_be_is_told_in_the_trade_s_words(
    told: Callable[..., tuple[int, str]], arguments: tuple[str, ...], words: str
) -> None:
    code, out = told(*arguments)
    assert (code, out.count("\n")) == (2, 1)
    assert words in out
