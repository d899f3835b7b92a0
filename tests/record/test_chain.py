"""Lines are canonical JSON, and the chain is what a few independent lines say it is."""

from __future__ import annotations

import hashlib
import json
import struct
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.record.chain import LONGEST_LINE, BadLog, EntryRefused, decode, encode, fields
from assistant.record.read import read_log
from assistant.record.stamp import Stamp

STAMP = Stamp(1.5, "2026-11-25T14:00:01.500+01:00", 5001.5, "0badcafe")


def canonical_of(value: object) -> str:
    """The bytes our encoder gives for `value` inside an event."""
    raw = encode(fields(0, "0" * 64, 0, STAMP, {"kind": "k", "zz": value}))
    return raw.split(b'"zz":', 1)[1].split(b'},"left":0', 1)[0].decode()


# IEEE 754 bits in hex and the text that RFC 8785 gives for them.
NUMBERS = [  # class: printed -- RFC 8785, appendix B
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "text"), NUMBERS)
def test_numbers_are_written_as_the_rfc_prints_them(bits: str, text: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_of(number) == text


@pytest.mark.parametrize(
    "bits", ["7fffffffffffffff", "7ff0000000000000"]
)  # class: printed -- RFC 8785, appendix B
def test_what_is_no_number_is_refused(bits: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    with pytest.raises(EntryRefused, match="cannot be recorded"):
        canonical_of(number)


def test_the_rfcs_sample_object_comes_out_byte_for_byte() -> None:
    sample = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": "€$\u000f\u000aA'\u0042\u0022\u005c\\\"/",
        "literals": [None, True, False],
    }
    # class: printed -- RFC 8785, section 3.2.4, the octets of the sample object
    octets = """
    7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d
    62 65 72 73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30 2c 34 2e 35
    2c 30 2e 30 30 32 2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30 30 66
    5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d"""
    assert canonical_of(sample).encode() == bytes.fromhex(octets)


def test_keys_are_sorted_as_the_rfc_sorts_them() -> None:
    # class: printed -- RFC 8785, section 3.2.3, the sorting sample
    order = ["\r", "1", "\x80", "ö", "€", "\U0001f600", "\ufb33"]
    text = canonical_of(dict.fromkeys(reversed(order), 0))
    assert list(json.loads(text)) == order


@pytest.mark.parametrize(
    "event",
    [
        {"kind": "k", "x": float("nan")},
        {"kind": "k", "x": 2**53},
        {"kind": "k", "x": "\ud800"},
        {"kind": "k", "x": {1: 2}},
    ],
)
def test_what_canonical_json_cannot_hold_is_refused_in_a_sentence(event: dict[str, Any]) -> None:
    with pytest.raises(EntryRefused, match=r"^The entry 'k' cannot be recorded: .*; nothing was written\.$"):
        encode(fields(0, "0" * 64, 0, STAMP, event))


def test_a_line_past_the_longest_is_refused() -> None:
    with pytest.raises(EntryRefused, match="bytes long"):
        encode(fields(0, "0" * 64, 0, STAMP, {"kind": "k", "x": "a" * LONGEST_LINE}))


json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(-(2.0**53), 2.0**53)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


@given(json_values)
def test_what_is_written_is_what_is_read(value: Any) -> None:
    raw = encode(fields(7, "ab" * 32, 2, STAMP, {"kind": "k", "x": value}))
    line = decode(raw, 8)
    assert (line.n, line.prev, line.left, line.stamp, line.kind) == (7, "ab" * 32, 2, STAMP, "k")
    assert line.event["x"] == value
    assert b"\n" not in raw


@given(st.binary(max_size=300))
def test_junk_is_a_bad_line_and_nothing_else(junk: bytes) -> None:
    with pytest.raises(BadLog, match=r"^Line 3[ :].*\.$"):
        decode(junk, 3)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("n", -1), ("n", 1.5), ("n", True), ("n", "0"), ("t", "0"), ("t", None), ("t", True), ("mono", []), ("wall", 5),
        ("wall", "yesterday"), ("wall", "2026-11-25T14:00:00"), ("boot", 1), ("left", -1), ("left", None), ("prev", 0),
        ("event", []), ("event", {}), ("event", {"kind": 4}), ("v", 2), ("v", "1"), ("extra", 1), ("digest", "ab" * 32), ("digest", ""), ("digest", None),
    ],
)  # fmt: skip
def test_a_field_of_the_wrong_kind_is_a_bad_line(key: str, value: object) -> None:
    line = fields(0, "0" * 64, 0, STAMP, {"kind": "opened"})
    with pytest.raises(BadLog, match=r"^Line 1[ :].*\.$"):
        decode(json.dumps(line | {key: value}).encode(), 1)


def test_the_chain_is_sha256_over_the_bytes_of_each_line(three_appends: Path) -> None:
    expected = "0" * 64
    for number, raw in enumerate(three_appends.read_bytes().splitlines()):
        line = json.loads(raw)
        assert (line["n"], line["prev"]) == (number, expected)
        expected = hashlib.sha256(raw).hexdigest()
    assert read_log(three_appends)[-1].digest == expected
    assert number == 4
