"""The small computations as a machine asks for them: random values through --json against closed forms and pint."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pint
import pytest
from scipy.integrate import quad

from assistant.bench.catalogue import PACKAGED
from tui.main import run

FLAT = PACKAGED / "jobs" / "flat_in_the_shop.toml"
unit = pint.UnitRegistry()
Ask = Callable[..., dict[str, Any]]


@pytest.fixture
def told(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Any]:
    """Exit code and output."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))

    def play(*arguments: object) -> tuple[int, str]:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        shown = capsys.readouterr()
        return int(left.value.code or 0), shown.out + shown.err

    return play


@pytest.fixture
def ask(told: Callable[..., Any]) -> Ask:
    """The JSON answer to a command and its options."""

    def play(command: str, **options: object) -> dict[str, Any]:
        given = [f"--{name.replace('_', '-')}={value}" for name, value in options.items()]
        answer: dict[str, Any] = json.loads(told(command, *given, "--json")[1])
        return answer

    return play


@pytest.mark.parametrize("seed", range(8))
def test_supply(ask: Ask, seed: int) -> None:
    draw = random.Random(seed)
    power, volts, phases = draw.uniform(500, 9000), draw.uniform(110, 415), draw.choice((1, 3))
    length, cosine = draw.uniform(1, 60), draw.uniform(0.8, 1.0)
    section, at_20 = draw.choice(((1.5, 13.3), (2.5, 7.98), (4, 4.95), (6, 3.30), (10, 1.91)))
    copper = draw.uniform(20, 70)
    found = ask(
        "supply", power=power, voltage=volts, fuse=200, length=length, section=section, phases=phases,
        cos_phi=cosine, copper=copper,
    )  # fmt: skip
    nominal = (power * unit.watt / (volts * unit.volt) / cosine / (math.sqrt(3) if phases == 3 else 1)).to(
        "ampere"
    )
    # class: peer library -- pint, P / (U cos phi), with sqrt 3 for three phases
    assert found["nominal_A"] == pytest.approx(nominal.magnitude)
    sine, ways = math.sqrt(1 - cosine**2), 2 if phases == 1 else math.sqrt(3)
    ohms = (at_20 * unit.ohm / unit.km * (1 + 0.00393 * (copper - 20))).to("ohm/m")
    lost = (nominal * length * unit.m * (ohms * cosine + 0.08 * unit.milliohm / unit.m * sine) * ways).to(
        "volt"
    )
    # class: peer library -- pint, class 5 copper at its temperature
    assert found["drop_V"] == pytest.approx(lost.magnitude)
    by_g = (
        nominal * length * unit.m
        * (0.0225 * unit.ohm * unit.mm**2 / unit.m / (section * unit.mm**2) * cosine + 0.08 * unit.milliohm / unit.m * sine)
    ).to("volt")  # fmt: skip
    # class: peer library -- pint, IEC 60364-5-52 annex G between lines
    assert found["annex_g_drop_V"] == pytest.approx(ways * by_g.magnitude)
    assert found["feasible"] == (found["drop_ratio"] <= 0.05)
    if found["feasible"]:
        # One phase of a star: press and lead in series; what the heaters take is what their resistance takes.
        size, wires = volts**2 * cosine / power, 2 if phases == 1 else 1
        lead = complex(ohms.magnitude, 0.08e-3) * length * wires
        amps = volts / (1 if phases == 1 else math.sqrt(3)) / abs(complex(size * cosine, size * sine) + lead)
        assert found["current_A"] == pytest.approx(amps)  # class: analytic -- two impedances in series
        # class: analytic -- heat in the resistance of each phase
        assert found["power_W"] == pytest.approx(amps**2 * size * cosine * phases)


@pytest.mark.parametrize("seed", range(6))
def test_warm_up_of_a_platen_as_one_lump(ask: Ask, seed: int) -> None:
    draw = random.Random(seed)
    capacity, loss = draw.uniform(2000, 30_000), draw.choice((0.0, draw.uniform(0.2, 8)))
    start, end, around = draw.uniform(5, 60), draw.uniform(120, 200), draw.uniform(-5, 30)
    power = loss * (end - around) + draw.uniform(100, 3000)
    found = ask("supply", power=power, capacity=capacity, loss=loss, start=start, set=end, around=around)
    time_s = quad(lambda degC: capacity / (power - loss * (degC - around)), start, end, epsrel=1e-11)[0]
    # class: peer library -- scipy.integrate.quad of C dT / (P - UA (T - T_around))
    assert found["warm_up_time_s"] == pytest.approx(time_s, rel=1e-8)
    assert found["warm_up_energy_J"] == pytest.approx(power * time_s, rel=1e-8)
    assert found["warm_up_holding_W"] == pytest.approx(loss * (end - around))


def test_a_platen_that_never_gets_there_and_a_current_alone(told: Callable[..., Any]) -> None:
    platen = ("--capacity=12000", "--loss=6", "--set=185")
    code, out = told("supply", "--power=990", *platen)
    assert (code, out.count("\n")) == (1, 1)
    assert "never gets there" in out
    assert told("supply", "--power=2400", "--capacity=8748", "--loss=1.44", "--set=180")[1].startswith(
        "Warm-up        613.1 s, 0.4087 kWh"  # class: analytic -- lumped platen in closed form
    )
    code, out = told("supply", "--power=9000", "--voltage=400", "--phases=3", "--cos-phi=0.95", "--json")
    assert code == 0
    # class: analytic -- P / (sqrt 3 U cos phi)
    assert json.loads(out)["nominal_A"] == pytest.approx(13.674, abs=5e-4)
    assert told("supply", "--power=9000", "--voltage=400", "--fuse=16")[0] == 2


@pytest.mark.parametrize("seed", range(6))
def test_fingers(ask: Ask, seed: int) -> None:
    draw = random.Random(seed)
    pitch, length, thickness = draw.uniform(5, 50), draw.uniform(20, 150), draw.uniform(0.8, 6)
    width, pull = pitch * draw.uniform(2, 40), draw.uniform(1, 40)
    tip = draw.choice((0.0, draw.uniform(0, 0.4) * pitch))
    found = ask("fingers", pitch=pitch, length=length, width=width, thickness=thickness, tip=tip, pull=pull)
    # The zigzag drawn out, flank by flank, over a width of whole pitches.
    x = [0.0, tip / 2, pitch / 2 - tip / 2, pitch / 2 + tip / 2, pitch - tip / 2, pitch]
    y = [0.0, 0.0, length, length, 0.0, 0.0]
    drawn = sum(math.dist((a, b), (c, d)) for a, b, c, d in zip(x, y, x[1:], y[1:], strict=False))
    # class: analytic -- length of the drawn zigzag
    assert found["weld_line_m"] * 1e3 == pytest.approx(drawn * width / pitch)
    sigma = pull / thickness * 1e6
    angle = math.atan((pitch / 2 - tip) / length)
    # class: analytic -- uniform stress turned onto the flank
    assert found["flank_normal_Pa"] == pytest.approx(sigma * math.sin(angle) ** 2)
    assert found["flank_shear_Pa"] == pytest.approx(sigma * math.sin(2 * angle) / 2)
    if tip == 0:
        along = found["flank_normal_Pa"] * math.sin(angle) + found["flank_shear_Pa"] * math.cos(angle)
        # class: analytic -- balance of forces
        assert along * found["weld_area_m2"] == pytest.approx(pull * width)


@pytest.mark.parametrize("seed", range(6))
def test_tension(ask: Ask, seed: int) -> None:
    draw = random.Random(seed)
    k1, stretch, width = draw.uniform(2, 40), draw.uniform(0.1, 3), draw.uniform(20, 1500)
    wrap, friction, effective = draw.uniform(60, 300), draw.uniform(0.1, 0.6), draw.uniform(50, 5000)
    tight, slack = draw.uniform(500, 3000), draw.uniform(100, 500)
    diameter, thickness = draw.uniform(20, 300), draw.uniform(1, 6)
    found = ask(
        "tension", elongation=stretch, k1=k1, width=width, wrap=wrap, friction=friction, effective=effective,
        tight=tight, slack=slack, pulley=diameter, thickness=thickness,
    )  # fmt: skip
    pull = (k1 * unit.newton / unit.mm * stretch * width * unit.mm).to("newton").magnitude
    assert found["pull_N"] == pytest.approx(
        pull
    )  # class: peer library -- pint, k1 times per cent times width
    beta = math.radians(wrap)
    # class: analytic -- two equal strands at an angle
    assert found["shaft_load_N"] == pytest.approx(2 * pull * math.sin(beta / 2))
    load = abs(complex(tight, 0) + slack * complex(math.cos(math.pi - beta), math.sin(math.pi - beta)))
    assert found["running_shaft_load_N"] == pytest.approx(load)  # class: analytic -- sum of two vectors
    assert found["tight_N"] - found["slack_N"] == pytest.approx(effective)
    # class: analytic -- Euler-Eytelwein at the limit of slip
    assert math.log(found["tight_N"] / found["slack_N"]) == pytest.approx(friction * beta)
    assert found["rest_N"] * 2 == pytest.approx(found["tight_N"] + found["slack_N"])
    assert found["needed_elongation"] * 100 * k1 * width == pytest.approx(found["rest_N"])
    # class: analytic -- outer fibre over the neutral one
    outer, neutral = diameter / 2 + thickness, diameter / 2 + thickness / 2
    assert found["bending_strain"] == pytest.approx(outer / neutral - 1)


@pytest.mark.parametrize("seed", range(5))
def test_pressure_both_ways(ask: Ask, seed: int) -> None:
    draw = random.Random(seed)
    gauge, bag, belt, weight = (
        draw.uniform(0.5, 4),
        draw.uniform(0.005, 0.2),
        draw.uniform(0.004, 0.1),
        draw.uniform(0, 200),
    )
    found = ask("pressure", gauge=gauge, bag=bag, belt=belt, weight=weight)
    force = (gauge * unit.bar * bag * unit.m**2).to("newton").magnitude + weight
    # class: peer library -- pint, pressure times area
    assert (found["force_N"], found["on_belt_Pa"]) == pytest.approx((force, force / belt))
    back = ask("pressure", on_belt=found["on_belt_Pa"] / 1e5, bag=bag, belt=belt, weight=weight)
    assert back["gauge_Pa"] == pytest.approx(gauge * 1e5)


def test_a_limit_passed_is_no_with_the_numbers_all_the_same(told: Callable[..., Any]) -> None:
    code, out = told("pressure", "--gauge=3", "--bag=0.02", "--belt=0.01", "--belt-limit=4", "--json")
    found = json.loads(out)
    assert (code, found["feasible"]) == (1, False)
    assert found["on_belt_Pa"] == pytest.approx(6e5)  # class: analytic -- 3 bar times two
    assert "data sheet" in found["reason"]


def test_pressure_of_a_job_is_that_of_its_recipe(told: Callable[..., Any]) -> None:
    gauge = json.loads(told("pressure", FLAT, "--json")[1])["gauge_Pa"]
    assert gauge == json.loads(told("recipe", FLAT, "--json")[1])["values"]["pressure"]["value_Pa"]


PATH = """thickness_mm = 2.0
elongation_percent = 0.5
notch_pitch_mm = 25.0
finger_mm = 80.0
tolerance_mm = 2.0
[[pulleys]]
x_mm = 1500.0
y_mm = 0.0
diameter_mm = 60.0
[[pulleys]]
x_mm = 0.0
y_mm = 0.0
diameter_mm = 60.0
"""


def test_a_path_from_a_file(told: Callable[..., Any], tmp_path: Path) -> None:
    file = tmp_path / "path.toml"
    file.write_text(PATH)
    found = json.loads(told("length", "--pulleys", file, "--json")[1])
    # class: analytic -- 3000 + pi (60 + 2), neutral plane in the middle
    assert found["path_m"] * 1e3 == pytest.approx(3194.77874, abs=1e-4)
    assert found["wraps_rad"] == pytest.approx([math.pi] * 2)
    assert found["notches"] == round(found["relaxed_m"] / 0.025)
    fewer = math.floor(found["relaxed_m"] / 0.025)
    assert [n["notches"] for n in found["nearest"]] == [fewer, fewer + 1]
    assert found["cut_m"] == pytest.approx(found["endless_m"] + 0.08)
    assert found["elongation_low"] < found["elongation"] < found["elongation_high"]
    at_surface = json.loads(told("length", "--pulleys", file, "--neutral", "0", "--json")[1])
    # class: analytic -- pi t between surface and middle
    assert (found["path_m"] - at_surface["path_m"]) * 1e3 == pytest.approx(math.pi * 2.0)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("x_mm = 1500.0", "x_mm = 'far'", "line 7"),
        ("diameter_mm = 60.0", "diameter_mm = 0.0", "greater than 0"),
        ("x_mm = 1500.0", "x_mm = 30.0", "overlap"),
        ("finger_mm", "fingers_mm", "not known"),
        ("[[pulleys]]\nx_mm = 0.0\ny_mm = 0.0\ndiameter_mm = 60.0\n", "", "at least 2"),
    ],
)
def test_a_path_that_cannot_be_is_refused(
    told: Callable[..., Any], tmp_path: Path, old: str, new: str, words: str
) -> None:
    file = tmp_path / "path.toml"
    file.write_text(PATH.replace(old, new, 1))
    code, out = told("length", "--pulleys", file)
    assert code == 2
    assert words in out
    assert out.count("\n") == 1


def test_touch_and_fit(told: Callable[..., Any]) -> None:
    found = json.loads(told("touch", "70", "--effusivity", "20325", "--json")[1])
    assert found["touch"] == "burns at a touch"
    # class: analytic -- two half spaces, skin 1181 at 33 degC
    assert found["skin_K"] - 273.15 == pytest.approx((1181 * 33 + 20325 * 70) / (1181 + 20325))
    chosen = ("--belt", "packing_line", "--press", "hinged", "--punch", "long")
    assert told("fit", *chosen, "--template", "green", "--cloth", "silicone")[0] == 0
    code, out = told("fit", *chosen, "--template", "green", "--width", "60")
    assert code == 1
    assert "does not go in" in out
    assert told("fit", *chosen, "--template", "mauve")[0] == 2
    for size, words in ((("--thickness", "3"), "50 % off"), (("--width", "60"), "does not go with")):
        code, out = told("fit", *chosen, *size)  # a belt of that size is another belt
        assert code == 1
        assert words in out


READINGS = """heat_on_s = 0.0
[[readings]]
sensor = "upper"
t_s = 300.0
value_degC = 25.0
[[readings]]
sensor = "edge"
t_s = 300.0
"""


def test_readings_from_a_file_are_judged_and_explained(told: Callable[..., Any], tmp_path: Path) -> None:
    file = tmp_path / "readings.toml"
    file.write_text(READINGS)
    code, out = told("readings", FLAT, file, "--json")
    found = json.loads(out)
    assert (code, found["all_within"]) == (1, False)
    assert [row["within"] for row in found["readings"]] == [False, None]
    assert found["weighed_causes"][0]["share"] > 0.2
    assert "OUTSIDE" in told("readings", FLAT, file)[1]
    file.write_text(READINGS.replace("300.0", "-3.0"))
    assert told("readings", FLAT, file)[0] == 2


def test_readings_within_all_bands_are_told_when_together_they_suit_no_press_in_order(
    told: Callable[..., Any], tmp_path: Path
) -> None:
    weak = ((120, 35, 44), (240, 55, 71), (360, 76, 98), (480, 97, 123))
    file = tmp_path / "readings.toml"
    file.write_text(
        "".join(
            f'[[readings]]\nsensor = "{sensor}"\nt_s = {t}.0\nvalue_degC = {shown}.0\n'
            for t, *both in weak
            for sensor, shown in zip(("upper", "lower"), both, strict=True)
        )
    )
    code, out = told("readings", FLAT, file, "--json")
    found = json.loads(out)
    assert (code, found["all_within"], found["consistent"]) == (1, True, False)
    assert found["weighed_causes"][0]["key"] == "upper_heater_weak"
    code, out = told("readings", FLAT, file)
    assert code == 1
    assert "do not suit a press in order" in out
    assert "OUTSIDE" not in out


def test_an_interrupted_cycle_is_answered(told: Callable[..., Any]) -> None:
    code, out = told("interrupted", FLAT, "--kind", "opened", "--at", "700", "--at-set", "655", "--json")
    found = json.loads(out)
    assert (code, found["decision"], found["inputs"]["at_s"]) == (1, "cut out and redo", 700)
    code, out = told("interrupted", FLAT, "--kind", "power", "--at", "100")
    assert code == 0
    assert out.startswith("Resume heat.")
    assert told("interrupted", FLAT, "--kind", "power", "--at", "5", "--heat-on", "9")[0] == 2


def test_the_marks_of_a_notched_job_are_those_of_its_whole_notches(told: Callable[..., Any]) -> None:
    job = str(PACKAGED / "jobs" / "guided_on_the_conveyor.toml")
    found = json.loads(told("tension", job, "--json")[1])
    # class: analytic -- a path of 8745 mm over 348 pitches of 25 mm
    assert found["elongation"] == pytest.approx(8745 / (348 * 25) - 1)
    assert found["wanted_elongation"] == pytest.approx(0.005)
    assert found["notches"] == 348
    assert "0.517 % from 348 whole notches" in told("tension", job)[1]
    # class: analytic -- an elongation given counts as it is
    assert json.loads(told("tension", job, "--elongation=0.6", "--json")[1])["elongation"] == pytest.approx(
        0.006
    )


def test_the_smallest_lead_is_told_beside_the_one_asked_about(told: Callable[..., Any]) -> None:
    options = ("--power=3000", "--voltage=230", "--fuse=16", "--length=25", "--section=1.5")
    found = json.loads(told("supply", *options, "--json")[1])
    # class: printed -- IEC 60228 class 5 at 70 °C: 4.512 % in 1.5 mm2, 2.707 % in 2.5 mm2
    assert (found["least_section_mm2"], found["smallest_section_mm2"]) == (1.5, 2.5)
    assert "at least 1.5 mm² for a drop of 5 %, 2.5 mm² for 3 %" in told("supply", *options)[1]


def test_a_pull_beyond_what_goes_in_proportion_is_noted(told: Callable[..., Any]) -> None:
    arguments = ("tension", "--k1=9", "--width=120")
    found = json.loads(told(*arguments, "--elongation=3", "--json")[1])
    # class: analytic -- 9 N/mm at 1 %, three times as much, over 120 mm
    assert found["pull_N"] == pytest.approx(3240.0)
    assert "to about 2 %" in found["notes"][0]
    assert "Note: " in told(*arguments, "--elongation=3")[1]
    assert "Note: " not in told(*arguments, "--elongation=2")[1]
    assert "Note: " not in told("tension", "--elongation=3")[1]


def test_a_whole_number_of_notches_that_the_belt_does_not_allow_is_marked(told: Callable[..., Any]) -> None:
    arguments = ("length", "--path=3600", "--elongation=0.7", "--notch-pitch=19", "--finger=30")
    shown = told(*arguments, "--range", "0.3", "1.0")[1]
    # class: analytic -- 3600 mm over 188 and 189 pitches of 19 mm
    assert "188 (0.78 %) or 189 (0.25 %, not allowed: 0.3 to 1 %)" in shown
    assert "not allowed" not in told(*arguments)[1]
