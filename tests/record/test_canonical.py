"""The quick way of writing canonical JSON gives the bytes of the slow one, or leaves it to that."""

from __future__ import annotations

from typing import Any

import pytest
import rfc8785
from hypothesis import example, given, settings
from hypothesis import strategies as st

from assistant.record.canonical import canonical

text = st.text(st.characters(exclude_categories=["Cs"]))
numbers = st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(allow_nan=False, allow_infinity=False)
values = st.recursive(
    st.none() | st.booleans() | numbers | text,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(text, inner, max_size=5),
    max_leaves=20,
)


@pytest.mark.slow
@settings(max_examples=400)
@given(values)
@example({"\U0001f600": 1, "\ufb33": 2})
@example([0.0001, 0.00009999, 9007199254740991.0, 9007199254740992.0, -0.0, 1e21, 5e-324, 123456789012345.6])
@example({"a": '\x00\x1f\x7f\u2028"\\/\b\f\n\r\t'})
def test_it_is_byte_for_byte_what_rfc8785_writes(value: Any) -> None:
    assert canonical(value) == rfc8785.dumps(value)  # class: peer library -- rfc8785 0.1.4


@settings(max_examples=400)
@given(st.floats(1e-9, 1e-3) | st.floats(1e14, 1e18) | st.integers(-(10**6), 10**6).map(lambda n: n / 1000))
def test_numbers_about_the_limits_are_written_as_rfc8785_writes_them(number: float) -> None:
    assert canonical([number, -number]) == rfc8785.dumps([number, -number])  # class: peer library -- rfc8785


@pytest.mark.parametrize(
    "value",
    [float("nan"), float("inf"), 2**53, -(2**53), "\ud800", {"\udfff": 1}, {1: 2}, {None: 1}, object()],
)
def test_what_cannot_be_written_is_refused_as_ever(value: Any) -> None:
    with pytest.raises(rfc8785.CanonicalizationError):
        canonical({"held": [value]})
