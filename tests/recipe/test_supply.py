"""Current, drop and warm-up against closed forms and published tables."""

import math

import pytest

from assistant.recipe.not_computable import NotComputable
from assistant.recipe.supply import (
    current,
    drop,
    drop_by_annex_g,
    resistance_per_m,
    smallest_section_mm2,
    supply,
)
from assistant.recipe.warmup import warm_up

ROOM_K = 293.15


def test_an_adiabatic_platen_warms_in_proportion() -> None:
    # class: analytic -- C dT / P
    assert warm_up(
        8748, 2400, 0, start_K=ROOM_K, end_K=ROOM_K + 160, around_K=ROOM_K
    ).time_s == pytest.approx(583.2, abs=0.05)


def test_losses_slow_the_warm_up() -> None:
    lossy = warm_up(8748, 2400, 1.44, start_K=ROOM_K, end_K=ROOM_K + 160, around_K=ROOM_K)
    assert lossy.time_s == pytest.approx(613.1, abs=0.05)  # class: analytic -- lumped platen
    assert lossy.energy_J / 3.6e6 == pytest.approx(0.4087, abs=5e-5)  # class: analytic -- P t
    weak = warm_up(12_000, 1500, 6, start_K=ROOM_K, end_K=ROOM_K + 165, around_K=ROOM_K)
    assert weak.time_s == pytest.approx(2157.6, abs=0.05)  # class: analytic -- lumped platen
    assert weak.holding_W == pytest.approx(990)  # class: analytic -- UA (T1 - Ta)


def test_a_platen_that_loses_all_its_power_is_refused() -> None:
    with pytest.raises(NotComputable, match="never gets there"):
        warm_up(12_000, 990, 6, start_K=ROOM_K, end_K=ROOM_K + 165, around_K=ROOM_K)
    with pytest.raises(NotComputable):
        warm_up(0, 990, 6, start_K=ROOM_K, end_K=ROOM_K + 165, around_K=ROOM_K)


@pytest.mark.parametrize(
    ("watts", "volts", "phases", "cos_phi", "amps"),
    [
        (4800, 230, 1, 1.0, 20.870),  # class: analytic -- P / U
        (4800, 400, 3, 1.0, 6.928),  # class: analytic -- P / (sqrt 3 U)
        (9000, 400, 3, 1.0, 12.990),  # class: analytic -- P / (sqrt 3 U)
        (9000, 400, 3, 0.95, 13.674),  # class: analytic -- P / (sqrt 3 U cos phi)
        (3000, 230, 1, 1.0, 13.043),  # class: analytic -- P / U
        (3000, 230, 1, 0.95, 13.730),  # class: analytic -- P / (U cos phi)
        (3600, 240, 1, 1.0, 15.0),  # class: analytic -- P / U
        (2400, 120, 1, 1.0, 20.0),  # class: analytic -- P / U
    ],
)
def test_current_of_a_press(watts: float, volts: float, phases: int, cos_phi: float, amps: float) -> None:
    assert current(watts, volts, 3 if phases == 3 else 1, cos_phi) == pytest.approx(amps, abs=6e-4)


@pytest.mark.parametrize(
    ("section", "at_20", "at_70"),
    [
        (1.5, 13.3, 15.913),  # class: printed -- IEC 60228 class 5 at 20 °C; 1 + 0.00393 * 50
        (2.5, 7.98, 9.548),  # class: printed -- IEC 60228 class 5
        (4, 4.95, 5.923),  # class: printed -- IEC 60228 class 5
        (6, 3.30, 3.948),  # class: printed -- IEC 60228 class 5
        (10, 1.91, 2.285),  # class: printed -- IEC 60228 class 5
    ],
)
def test_resistance_of_copper_leads(section: float, at_20: float, at_70: float) -> None:
    assert resistance_per_m(section * 1e-6, 293.15) * 1e3 == pytest.approx(at_20, rel=1e-9)
    assert resistance_per_m(section * 1e-6) * 1e3 == pytest.approx(at_70, abs=6e-4)


@pytest.mark.parametrize(
    "row",
    [
        # class: analytic -- 2 I l R and sqrt 3 I l R with printed resistances; annex G from its printed formula
        (3000, 230, 1, 25, 1.5, 10.378, 4.512, 3.771, 4.253),
        (3000, 230, 1, 25, 2.5, 6.227, 2.707, 2.263, 2.552),
        (4800, 230, 1, 25, 2.5, 9.963, 4.332, 3.620, 4.083),
        (4800, 230, 1, 50, 4, 12.360, 5.374, 4.491, 5.104),
        (9000, 400, 3, 50, 2.5, 10.742, 2.685, 2.244, 2.531),
        (9000, 400, 3, 50, 1.5, 17.903, 4.476, 3.741, 4.219),
    ],
)
def test_drop_in_a_lead(row) -> None:  # type: ignore[no-untyped-def]
    watts, volts, phases, length, section, dropped, hot, cold, annex = row
    amps = current(watts, volts, phases)
    lost = drop(amps, volts, length, section * 1e-6, phases=phases)
    assert lost.volts_V == pytest.approx(dropped, abs=2e-3)
    assert lost.ratio * 100 == pytest.approx(hot, abs=1e-3)
    at_20 = drop(amps, volts, length, section * 1e-6, phases=phases, temperature_K=293.15)
    assert at_20.ratio * 100 == pytest.approx(cold, abs=1e-3)
    by_annex = drop_by_annex_g(amps, volts, length, section * 1e-6, phases=phases)
    assert by_annex.ratio * 100 == pytest.approx(annex, abs=1e-3)


def test_heaters_are_resistances_so_power_falls_with_the_drop() -> None:
    fed = supply(3000, 230, 16, 25, 1.5e-6)
    assert fed.current_A == pytest.approx(12.480, abs=6e-4)  # class: analytic -- divider
    assert 230 - fed.current_A * 230**2 / 3000 == pytest.approx(9.930, abs=2e-3)  # class: analytic -- divider
    assert fed.power_W == pytest.approx(2746.5, abs=0.05)  # class: analytic -- divider
    assert fed.power_ratio == pytest.approx(2746.5 / 3000, abs=1e-4)  # class: analytic -- divider
    assert any("drops 4.5 %" in note for note in fed.notes)


def test_three_phases_see_the_lead_once() -> None:
    fed = supply(9000, 400, 16, 50, 2.5e-6, phases=3)
    ohms = 9.5478e-3 * 50
    star = 400**2 / 9000
    # class: analytic -- star of three resistances behind three leads
    assert fed.current_A == pytest.approx(400 / 3**0.5 / (star + ohms), rel=1e-4)
    # class: analytic -- 3 I^2 R
    assert fed.power_W == pytest.approx(3 * fed.current_A**2 * star, rel=1e-9)


def test_a_power_factor_below_one_divides_as_impedances_do() -> None:
    fed = supply(5200, 400, 10, 35, 1.5e-6, phases=3, cos_phi=0.93, temperature_K=333.15)
    size = 400**2 / (5200 / 0.93)  # ohm of one phase in star
    ohms = 13.3e-3 * (1 + 0.00393 * 40) * 35
    whole = math.hypot(size * 0.93 + ohms, size * math.sqrt(1 - 0.93**2) + 0.08e-3 * 35)
    # class: analytic -- series of two impedances in each phase
    assert fed.current_A == pytest.approx(400 / math.sqrt(3) / whole, rel=1e-9)
    # class: analytic -- heat in the resistive part alone
    assert fed.power_W == pytest.approx(3 * fed.current_A**2 * size * 0.93, rel=1e-9)
    assert fed.power_ratio == pytest.approx(fed.power_W / 5200)  # class: analytic -- definition


def test_a_low_supply_weakens_the_press_by_its_square() -> None:
    low = supply(3000, 230, 16, 0, 2.5e-6, measured_V=207)
    assert low.power_W == pytest.approx(3000 * 0.81)  # class: analytic -- (207 / 230) squared
    assert low.power_ratio == pytest.approx(0.81)  # class: analytic -- (207 / 230) squared


@pytest.mark.parametrize(
    ("arguments", "options", "words"),
    [
        ((4800, 230, 32, 50, 4e-6), {}, "drop by 5.4 %"),
        ((3000, 230, 13, 25, 2.5e-6), {}, "fuse is 13 A"),
        ((3000, 230, 16, 25, 2e-6), {}, "not in the table"),
        ((3000, 230, 16, 25, 2.5e-6), {"coiled": True}, "coiled"),
        ((0, 230, 16, 25, 2.5e-6), {}, "power"),
        ((3000, 0, 16, 25, 2.5e-6), {}, "voltage"),
        ((3000, 230, 16, -1, 2.5e-6), {}, "length"),
        ((3000, 230, 16, 25, 2.5e-6), {"measured_V": 0.0}, "voltage"),
        ((3000, 230, 16, 25, 2.5e-6), {"cos_phi": 0.0}, "power factor"),
    ],
)
def test_a_supply_that_cannot_feed_the_press_is_refused(arguments, options, words) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NotComputable, match=words):
        supply(*arguments, **options)


def test_a_fuse_that_is_nearly_full_is_said() -> None:
    notes = supply(3000, 230, 16, 5, 2.5e-6).notes
    # class: common practice, no published source -- 80 % of the fuse for hours
    assert any("80 %" in note for note in notes)
    assert supply(3000, 230, 20, 5, 2.5e-6).notes == ()


@pytest.mark.parametrize(
    ("power_W", "length_m", "most_drop", "section_mm2"),
    [
        (
            3000,
            25,
            0.03,
            2.5,
        ),  # class: printed -- IEC 60228 class 5 at 70 °C: 2.707 %, and 4.512 % in 1.5 mm2
        (3000, 25, 0.05, 1.5),  # class: printed -- IEC 60228 class 5 at 70 °C: 4.512 %
        (4800, 50, 0.05, 6.0),  # class: printed -- IEC 60228 class 5 at 70 °C: 5.374 % in 4 mm2
        (4800, 200, 0.03, None),  # class: analytic -- 8.6 % in 10 mm2, the largest of the table
        (3000, 0, 0.03, 1.5),  # class: analytic -- nothing is lost where there is no lead
    ],
)
def test_the_smallest_section_keeps_the_drop(
    power_W: float, length_m: float, most_drop: float, section_mm2: float | None
) -> None:
    assert smallest_section_mm2(power_W, 230, 25, length_m, most_drop=most_drop) == section_mm2


def test_no_section_helps_a_fuse_that_is_too_small() -> None:
    with pytest.raises(NotComputable, match="the fuse is 10 A"):
        smallest_section_mm2(3000, 230, 10, 25)
