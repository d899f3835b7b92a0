"""The rule for what may count, at and just beyond each limit."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from speech.verify import Hearing, judge

CLEAR = Hearing(
    "the press is closed", spoken_s=2.0, sureness=-0.2, snr_db=25.0, first_letters=4.0, rest_letters=1.0
)


def test_a_clear_free_hearing_counts_for_a_gate() -> None:
    verdict = judge(CLEAR)
    assert verdict.verified
    assert verdict.gate_grade
    assert verdict.why_not == ""


# Limits: chosen on people's recordings and synthetic voices, see tests/bench/measure_hearing.py.
TABLE = [
    ({"sureness": -0.60}, True, True, ""),
    ({"sureness": -0.61}, True, False, "not clear enough for a safety sentence"),
    ({"sureness": -1.00}, True, False, "not clear enough"),
    ({"sureness": -1.01}, False, False, "unsure"),
    ({"sureness": None}, True, False, "does not say how sure"),
    ({"snr_db": 10.0}, True, True, ""),
    ({"snr_db": 9.9}, True, False, "too much noise (9 dB of speech over noise, 10 needed)"),
    ({"snr_db": 1.0}, True, False, "too much noise"),
    ({"snr_db": 0.9}, False, False, "too much noise (0 dB of speech over noise, 1 needed)"),
    ({"snr_db": None}, True, False, "could not be told"),
    ({"spoken_s": 0.25}, True, True, ""),
    ({"spoken_s": 0.24}, False, False, "too short"),
    ({"spoken_s": 8.0}, True, True, ""),
    ({"spoken_s": 8.01}, False, False, "longer than 8 seconds"),
    ({"cut_short": True}, False, False, "longer than 8 seconds"),
    ({"goes_on": True}, False, False, "the end of something longer"),
    ({"for_gates": False}, True, False, "was not measured with safety sentences"),
    ({"while_deaf": True}, False, False, "while the assistant was speaking"),
    ({"text": ""}, False, False, "no words"),
    ({"first_letters": 9.5}, True, True, ""),
    ({"first_letters": 9.51}, True, False, "said before it"),
    ({"first_letters": None}, True, False, "when its words were said"),
    ({"rest_letters": 6.0}, True, True, ""),
    ({"rest_letters": 6.01}, True, False, "said after it"),
    ({"rest_letters": None}, True, False, "when its words were said"),
    ({"free": False}, False, False, "nothing listened freely"),
    ({"free": False, "second_look": False}, False, False, "heard something else"),
    ({"free": False, "second_look": True}, True, True, ""),
    ({"free": False, "second_look": True, "sureness": None}, True, False, "does not say how sure"),
]


@pytest.mark.parametrize(
    ("change", "verified", "gate_grade", "why"), TABLE, ids=[str(row[0]) for row in TABLE]
)
def test_each_limit_holds_at_its_edge(
    change: dict[str, object], verified: bool, gate_grade: bool, why: str
) -> None:
    verdict = judge(replace(CLEAR, **change))  # type: ignore[arg-type]
    assert (verdict.verified, verdict.gate_grade) == (verified, gate_grade)
    assert why in verdict.why_not
    assert bool(verdict.why_not) != gate_grade


@given(
    st.builds(
        Hearing,
        text=st.sampled_from(["", "yes"]),
        spoken_s=st.floats(0, 12),
        sureness=st.none() | st.floats(-3, 0),
        snr_db=st.none() | st.floats(-10, 60),
        free=st.booleans(),
        second_look=st.sampled_from([None, True, False]),
        while_deaf=st.booleans(),
        cut_short=st.booleans(),
        for_gates=st.booleans(),
        first_letters=st.none() | st.floats(0, 20),
        rest_letters=st.none() | st.floats(-5, 12),
    )
)
def test_nothing_counts_for_a_gate_that_does_not_count_for_a_value(heard: Hearing) -> None:
    verdict = judge(heard)
    assert verdict.verified or not verdict.gate_grade
    if heard.while_deaf or (not heard.free and not heard.second_look):
        assert not verdict.verified
    assert verdict.gate_grade or verdict.why_not
    assert heard.for_gates or not verdict.gate_grade
