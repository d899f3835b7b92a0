"""Every entry is told in plain words; nothing from the log can steer the terminal."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.procedure import events
from assistant.record.plain import plain
from assistant.record.read import read_log
from assistant.review.values import duration, label, shown
from assistant.review.words import retell, tell


def test_a_session_is_retold_entry_by_entry_with_its_times(sealed: Path) -> None:
    lines = read_log(sealed)
    told = retell(lines)
    put = sum(line.kind == "question_put" for line in lines)
    assert put > 0
    assert len(told) == len(lines) - put + 1  # and one line for the day
    assert told[0] == "--- 2026-11-25 (times UTC+01:00) ---"
    assert told[1].startswith("14:00:00  +0:00:00  Session 2026-11-25-1400-a1b2 opened")
    assert not [line for line in told if "Unknown entry" in line]


def test_who_confirmed_what_and_how_is_told(sealed: Path) -> None:
    text = "\n".join(retell(read_log(sealed)))
    assert "CONFIRMED 'closed': Ilse typed 'everything is fastened and my hands are clear'." in text
    assert "REFUSED: 'yes' does not confirm 'workplace fit'. A yes alone is not the sentence." in text
    assert "REFUSED: belt width 4500 mm. No belt is 4500 mm wide." in text
    assert "Dwell is 5 min (by voice, said as 'five minutes')." in text


def test_every_kind_of_entry_has_words_of_its_own() -> None:
    kinds = {event.model_fields["kind"].default for event in get_args(events.Event)}
    assert len(kinds) > 30
    empty = {kind: tell({"kind": kind}) for kind in kinds}  # most lack fields: told as unknown, never failing
    assert all(text for text in empty.values())
    from assistant.review.words import _TELLERS

    assert kinds <= set(_TELLERS)


def test_what_its_giver_took_back_is_not_told_as_refused() -> None:
    event = {"kind": "value_refused", "slot": "belt_width", "value": 0.05, "said": "", "reason": "taken back"}
    assert tell(event) == "Belt width 50 mm was taken back before it counted."


def test_a_new_day_is_said() -> None:
    from assistant.record.chain import Line

    lines = [
        Line(1, k, 60.0 * k, wall, 0.0, "", 0, "", {"kind": "released"})
        for k, wall in enumerate(["2026-03-28T23:59:00.000+01:00", "2026-03-29T03:01:00.000+02:00"])
    ]
    assert [t for t in retell(lines) if t.startswith("---")] == [
        "--- 2026-03-28 (times UTC+01:00) ---",
        "--- 2026-03-29 (times UTC+02:00) ---",
    ]


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=5,
)
KINDS = sorted(event.model_fields["kind"].default for event in get_args(events.Event))
FIELDS = sorted({name for event in get_args(events.Event) for name in event.model_fields} - {"kind"})


@given(st.sampled_from([*KINDS, "never heard of", ""]), st.dictionaries(st.sampled_from(FIELDS), anything))
def test_no_entry_however_odd_fails_or_steers_the_terminal(kind: str, rest: dict[str, Any]) -> None:
    text = tell({"kind": kind, **rest})
    assert text
    assert text == plain(text)


@pytest.mark.parametrize(
    ("hostile", "harmless"),
    [
        ("\x1b[2J", "\\x1b[2J"), ("a\nb", "a\\x0ab"), ("\x9b31m", "\\x9b31m"), ("\u202eexe", "\\u202eexe"), ("\x7f", "\\x7f"),
        ("\u2066x", "\\u2066x"), ("\ud800", "\\ud800"), ("\u2028", "\\u2028"),
        ("Söhne \U0001f469\u200d\U0001f33e עברית", "Söhne \U0001f469\u200d\U0001f33e עברית"),
    ],
)  # fmt: skip
def test_control_characters_are_written_out_and_letters_left_alone(hostile: str, harmless: str) -> None:
    assert plain(hostile) == harmless


@pytest.mark.parametrize(
    ("slot", "value", "text"),
    [  # class: analytic -- units: 273.15 K is 0 °C, 1 bar is 100 kPa
        ("upper_temperature", 458.15, "185 °C"), ("dwell", 270.0, "4 min 30 s"), ("pressure", 1.85e5, "1.85 bar"),
        ("belt_thickness", 0.0018, "1.8 mm"), ("elongation", 0.004, "0.4 %"), ("supply_voltage", 230.0, "230 V"),
        ("lead_section", 2.5e-6, "2.5 mm²"), ("belt_plies", 2, "2"), ("shop_temperature", 273.15, "0 °C"),
        ("shown_dwell", 40, "40 s"), ("job_kind", "shop", "in the shop"), ("belt", "orchard_flat", "orchard flat"), ("endless_length", 6.42, "6420 mm"),
        ("lead_length", 25.0, "25 m"), ("of_another_version", 3.25, "3.25"),
        ("technician", "A\x1bna", "A\\x1bna"),
    ],
)  # fmt: skip
def test_values_are_shown_in_the_units_of_the_trade(slot: str, value: Any, text: str) -> None:
    assert shown(slot, value) == text


def test_labels_come_from_the_procedure_and_fall_back_to_the_slot() -> None:
    assert label("upper_temperature") == "upper platen"
    assert label("shown_dwell") == "dwell on the display"
    assert label("of_another_version") == "of another version"


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0 s"), (59.6, "1 min"), (3661, "1 h 1 min 1 s"), (-5, "-5 s")]
)  # class: analytic -- arithmetic
def test_durations(seconds: float, text: str) -> None:
    assert duration(seconds) == text
