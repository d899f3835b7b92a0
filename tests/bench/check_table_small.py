"""Every check value of supply, pressure, fingers, length, tension, statistics, touch and units beside the computed one.

`python tests/bench/check_table_small.py`. Sources stand in the headings; the last column is the error in per cent.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from assistant.recipe.fingers import fingers, flank_stress
from assistant.recipe.length import cut, endless
from assistant.recipe.path import Pulley, crossed_path, open_path, path
from assistant.recipe.pressure import belt_pressure
from assistant.recipe.supply import current, drop, drop_by_annex_g, resistance_per_m, supply
from assistant.recipe.tension import bending_strain, drive, elongation_for, grip, pull, shaft_load
from assistant.recipe.touch import burn_threshold, skin_face
from assistant.recipe.warmup import warm_up
from assistant.review.run_length import mean_run_length
from assistant.review.statistics import D2, D4, PRINTED_D2, PRINTED_D4, chart, cpk, pass_rate
from intents.meaning import QuantityKind
from intents.quantities import Parsed, parse_quantity

ROOM_K = 293.15
Row = tuple[str, float, float]


def supplies() -> Iterator[Row]:
    cold = warm_up(8748, 2400, 0, start_K=ROOM_K, end_K=ROOM_K + 160, around_K=ROOM_K)
    lossy = warm_up(8748, 2400, 1.44, start_K=ROOM_K, end_K=ROOM_K + 160, around_K=ROOM_K)
    weak = warm_up(12000, 1500, 6, start_K=ROOM_K, end_K=ROOM_K + 165, around_K=ROOM_K)
    yield "warm-up without losses, s", 583.2, cold.time_s
    yield "warm-up with losses, s", 613.1, lossy.time_s
    yield "energy of it, kWh", 0.4087, lossy.energy_J / 3.6e6
    yield "warm-up of a weak press, s", 2157.6, weak.time_s
    yield "power to hold it, W", 990, weak.holding_W
    for watts, volts, phases, cosine, amps in (
        (4800, 230, 1, 1.0, 20.870), (4800, 400, 3, 1.0, 6.928), (9000, 400, 3, 1.0, 12.990), (9000, 400, 3, 0.95, 13.674),
        (3000, 230, 1, 1.0, 13.043), (3000, 230, 1, 0.95, 13.730), (3600, 240, 1, 1.0, 15.0), (2400, 120, 1, 1.0, 20.0),
    ):  # fmt: skip
        yield (
            f"current of {watts} W at {volts} V, {phases} ph, cos {cosine}, A",
            amps,
            current(watts, volts, phases, cosine),
        )
    for mm2, ohms in ((1.5, 15.913), (2.5, 9.548), (4.0, 5.923), (6.0, 3.948)):
        yield f"{mm2} mm2 class 5 at 70 degC, ohm/km", ohms, resistance_per_m(mm2 / 1e6) * 1e3
    for amps, volts, metres, mm2, phases, lost, hot, cool, annex in (
        (13.043478, 230, 25, 1.5, 1, 10.378, 4.512, 3.771, 4.253), (13.043478, 230, 25, 2.5, 1, 6.227, 2.707, 2.263, 2.552),
        (20.869565, 230, 25, 2.5, 1, 9.963, 4.332, 3.620, 4.083), (20.869565, 230, 50, 4.0, 1, 12.360, 5.374, 4.491, 5.104),
        (12.990381, 400, 50, 2.5, 3, 10.742, 2.685, 2.244, 2.531), (12.990381, 400, 50, 1.5, 3, 17.903, 4.476, 3.741, 4.219),
    ):  # fmt: skip
        name = f"{amps:.3f} A {volts} V {metres} m {mm2} mm2"
        by_table = drop(amps, volts, metres, mm2 / 1e6, phases=phases)
        yield f"{name}: drop at 70 degC, V", lost, by_table.volts_V
        yield f"{name}: drop at 70 degC, %", hot, by_table.ratio * 100
        at_20 = drop(amps, volts, metres, mm2 / 1e6, phases=phases, temperature_K=ROOM_K)
        yield f"{name}: drop at 20 degC, %", cool, at_20.ratio * 100
        yield (
            f"{name}: by annex G, %",
            annex,
            drop_by_annex_g(amps, volts, metres, mm2 / 1e6, phases=phases).ratio * 100,
        )
    exact = supply(3000, 230, 16, 25, 1.5e-6)
    yield "divider, 3 kW 25 m 1.5 mm2: current, A", 12.480, exact.current_A
    yield "divider: volts lost, V", 9.930, exact.current_A * 2 * 25 * resistance_per_m(1.5e-6)
    yield "divider: power, W", 2746.5, exact.power_W


def pressures() -> Iterator[Row]:
    yield "2 bar, bag 1200x120, force kN", 28.8, belt_pressure(2e5, 0.144, 0.06, 0.06).force_N / 1e3
    yield "on a belt of 600x100, bar", 4.8, belt_pressure(2e5, 0.144, 0.06, 0.06).belt_Pa / 1e5
    yield (
        "800x100 both, 150 N, bar",
        2.01875,
        belt_pressure(2e5, 0.08, 0.08, 0.08, weight_N=150).belt_Pa / 1e5,
    )


def finger_joints() -> Iterator[Row]:
    for p, length, b, t, load, tip, n, s, w, gain, angle, normal, shear in (
        (10, 80, 500, 2.0, 10, 0, 50, 80.1561, 8015.610, 16.0312, 3.5763, 0.019455, 0.311284),
        (11.5, 35, 305, 1.2, 5, 0, 26, 35.4692, 1881.409, 6.16855, 9.3295, 0.109502, 0.666534),
        (20, 80, 1000, 4, 20, 0, 50, 80.6226, 8062.258, 8.06226, 7.1250, 0.076923, 0.615385),
        (50, 100, 600, 5, 25, 0, 12, 103.0776, 2473.863, 4.12311, 14.0362, 0.294118, 1.176471),
        (10, 80, 500, 2, 10, 1, 50, 80.0999, 8109.994, 16.2200, 2.8624, 0.012469, 0.249377),
    ):  # fmt: skip
        joint = fingers(p / 1e3, length / 1e3, b / 1e3, t / 1e3, tip / 1e3)
        stress = flank_stress(joint, load * 1e3)
        name = f"p {p} L {length} b {b} t {t} tip {tip}"
        yield f"{name}: whole pitches", n, joint.whole
        yield f"{name}: flank, mm", s, joint.flank_m * 1e3
        yield f"{name}: weld line, mm", w, joint.weld_line_m * 1e3
        yield f"{name}: over width", gain, joint.gain
        yield f"{name}: angle, degrees", angle, math.degrees(joint.flank_angle_rad)
        yield f"{name}: normal, MPa", normal, stress.normal_Pa / 1e6
        yield f"{name}: shear, MPa", shear, stress.shear_Pa / 1e6


def lengths() -> Iterator[Row]:
    def at(x: float, y: float, r: float, side: int = 1) -> Pulley:
        return Pulley(x / 1e3, y / 1e3, 2 * r / 1e3, 1 if side == 1 else -1)

    for c, large, small, mm in (
        (1000, 100, 100, 2314.15927),
        (500, 700, 100, 2442.73773),
        (1500, 60, 20, 3125.93038),
    ):
        yield f"open, C {c} D {large} d {small}, mm", mm, open_path(c / 1e3, large / 1e3, small / 1e3) * 1e3
    yield "crossed, C 500 D 400 d 200, mm", 2128.57846, crossed_path(0.5, 0.4, 0.2) * 1e3
    triangle = path([at(0, 0, 50), at(1000, 0, 50), at(500, 500 * math.sqrt(3), 50)])
    yield "triangle, mm", 3314.15927, triangle.length_m * 1e3
    box = path([at(0, 0, 50), at(1200, 0, 80), at(1200, 600, 50), at(0, 600, 80)])
    yield "rectangle, mm", 4010.65740, box.length_m * 1e3
    yield "its first wrap, degrees", 85.7015, math.degrees(box.wraps_rad[0])
    yield "its second wrap, degrees", 94.2985, math.degrees(box.wraps_rad[1])
    yield "its long span, mm", 1199.6249, box.spans_m[0] * 1e3
    yield "its short span, mm", 599.2495, box.spans_m[1] * 1e3
    take_up = path(
        [at(0, 0, 50), at(700, -20, 30, -1), at(1000, -150, 50), at(1300, -20, 30, -1), at(2000, 0, 50)]
    )
    yield "take-up, mm", 4458.32004, take_up.length_m * 1e3
    for index, (wrap, span) in enumerate(
        zip((184.9232, 42.5149, 75.1834), (695.7011, 317.0173, 317.0173), strict=True)
    ):
        yield f"its wrap {index + 1}, degrees", wrap, math.degrees(take_up.wraps_rad[index])
        yield f"its span {index + 1}, mm", span, take_up.spans_m[index] * 1e3
    two = [at(0, 0, 30), at(1500, 0, 30)]
    yield "D 60 twice, C 1500, t 2, at the surface, mm", 3188.49556, path(two, 0.002, 0.0).length_m * 1e3
    yield "the same at mid-thickness, mm", 3194.77874, path(two, 0.002).length_m * 1e3
    made = endless(5.0, 0.005, 0.025)
    yield "5 m at 0.5 %: relaxed, mm", 4975.124, made.relaxed_m * 1e3
    yield "notches of 25 mm", 199, made.notches or 0
    yield "elongation then, %", 0.50251, made.elongation * 100
    yield "cut with L 80, trim 5, mm", 5065, cut(made.endless_m, 0.08, 0.005).cut_m * 1e3


def tensions() -> Iterator[Row]:
    yield "k1 8, 0.5 %, 500 mm, N", 2000, pull(8e3, 0.005, 0.5)
    yield "shaft at 180 degrees, N", 4000, shaft_load(2000, 2000, math.pi)
    yield "shaft at 120 degrees, N", 3464.10, shaft_load(2000, 2000, math.radians(120))
    yield "1500 and 500 N at 210 degrees, N", 1949.11, shaft_load(1500, 500, math.radians(210))
    for mu, degrees, ratio in (
        (0.2, 180, 1.87446), (0.3, 180, 2.56633), (0.3, 210, 3.00284), (0.15, 180, 1.60198), (0.25, 200, 2.39328),
    ):  # fmt: skip
        yield f"grip {mu} over {degrees} degrees", ratio, grip(mu, math.radians(degrees))
    least = drive(800, 0.3, math.pi)
    yield "800 N: slack, N", 510.75, least.slack_N
    yield "tight, N", 1310.75, least.tight_N
    yield "at rest, N", 910.75, least.rest_N
    yield "elongation for it, %", 0.22769, elongation_for(least.rest_N, 8e3, 0.5) * 100
    for t, d, percent in ((2.4, 50, 4.580), (1.2, 20, 5.660), (5, 120, 4.000)):
        yield f"bending {t} on {d}, %", percent, bending_strain(t / 1e3, d / 1e3) * 100


def statistics() -> Iterator[Row]:
    made = chart((49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1), PRINTED_D2, PRINTED_D4)
    yield "handbook 6.3.2.2: centre", 50.81, made.centre
    yield "mean moving range", 1.8778, made.mean_range or 0
    yield "upper limit", 55.8041, made.high or 0
    yield "lower limit", 45.8159, made.low or 0
    yield "upper limit of ranges", 6.1347, made.range_high or 0
    yield "d2", 1.128379, D2
    yield "3/d2", 2.658681, 3 / D2
    yield "D4", 3.266532, D4
    for k, n, wilson, exact in (
        (0, 10, (0, 0.277533), (0, 0.308497)), (9, 10, (0.595850, 0.982124), (0.554984, 0.997471)),
        (10, 10, (0.722467, 1), (0.691503, 1)), (29, 30, (0.833296, 0.994091), (0.827831, 0.999156)),
        (48, 50, (0.865399, 0.988961), (0.862862, 0.995119)), (1, 1, (0.206549, 1), (0.025, 1)),
    ):  # fmt: skip
        rate = pass_rate(k, n)
        for name, want, got in (("Wilson", wilson, rate.wilson), ("exact", exact, rate.exact)):
            for end, value, computed in zip(("low", "high"), want, got, strict=True):
                yield f"{k}/{n} {name} {end}", value, computed
    yield "Cpk", 0.83333, cpk(10.1, 0.2, 9.4, 10.6)
    one, two, four, eight = "beyond_3", "two_of_three_beyond_2", "four_of_five_beyond_1", "eight_on_one_side"
    for rules, points in (
        ((one,), 370.40), ((one, two), 225.44), ((one, four), 166.05), ((one, eight), 152.73),
        ((one, two, four, eight), 91.75), ((one, "nine_on_one_side"), 216.70),
    ):  # fmt: skip
        yield f"points to a false alarm: {', '.join(rules)}", points, mean_run_length(rules) or 0


def touches() -> Iterator[Row]:
    yield "skin on aluminium at 70 degC, degC", 68.0, skin_face(343.15, 20325) - 273.15
    yield "skin on PVC at 70 degC, degC", 44.7, skin_face(343.15, 547.7) - 273.15
    for seconds, degC in ((1, 65), (10, 55), (60, 51), (600, 48), (28800, 43)):
        yield f"metal, {seconds} s (from memory), degC", degC, burn_threshold(seconds, "metal") - 273.15


def units() -> Iterator[Row]:
    """As the words are understood."""

    def si(kind: QuantityKind, words: str) -> float:
        found = parse_quantity(words, kind)
        return found.value_si if isinstance(found, Parsed) else math.nan

    yield "375 fahrenheit, degC", 190.5556, si("temperature", "375 fahrenheit") - 273.15
    yield "212 fahrenheit, degC", 100.0, si("temperature", "212 fahrenheit") - 273.15
    yield "minus 40 fahrenheit, degC", -40.0, si("temperature", "minus 40 fahrenheit") - 273.15
    yield "50 fahrenheit warmer, K", 27.7778, si("temperature_difference", "50 fahrenheit warmer")
    yield "a quarter of an inch, mm", 6.35, si("length", "a quarter of an inch") * 1e3
    yield "47 thou, mm", 1.1938, si("length", "47 thou") * 1e3
    yield "29 psi, bar", 1.999480, si("pressure", "29 psi") / 1e5
    yield "200 kilopascals, bar", 2.0, si("pressure", "200 kilopascals") / 1e5
    yield "0.2 megapascals, bar", 2.0, si("pressure", "0.2 megapascals") / 1e5
    yield "1 kilo per square centimetre, bar", 0.980665, si("pressure", "1 kgf cm2") / 1e5
    yield "100 pounds per inch, N/mm", 17.512684, si("tension", "100 pounds per inch") / 1e3


SECTIONS = {
    "5 supply: IEC 60228 class 5, IEC 60364-5-52 annex G; closed forms": supplies,
    "6 pressure: force over area": pressures,
    "7 fingers: geometry, uniform stress": finger_joints,
    "8 length: closed forms": lengths,
    "9 tension: ISO 21181, Euler-Eytelwein": tensions,
    "10 statistics: NIST/SEMATECH handbook 6.3.2.2; scipy and statsmodels": statistics,
    "11 touch: two half spaces; ISO 13732-1 (from memory)": touches,
    "12 units": units,
}


def main() -> None:
    worst = 0.0
    for heading, rows in SECTIONS.items():
        print(f"\n{heading}")
        for what, expected, found in rows():
            error = found - expected if expected == 0 else (found / expected - 1) * 100
            worst = max(worst, abs(error))
            print(f"  {what:<60}{expected:>14.7g}{found:>14.7g}{error:>+11.4f} %")
    print(f"\nLargest error: {worst:.4f} % (of the printed digits).")


if __name__ == "__main__":
    main()
