"""Every parser, fed with bent and random bytes: taken or refused in a sentence, never a fault. `fuzz.py` goes on longer."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from parsers import PARSERS

HEAVY = {
    "phrasebook": 15,
    "procedure": 20,
    "words": 20,
    "log": 15,
    "events": 50,
    "index": 20,
    "best": 20,
    "heat": 20,
}
"""Inputs for parsers that take long over each."""

bends = st.lists(
    st.tuples(st.floats(0, 1), st.integers(0, 4), st.binary(max_size=12)), min_size=1, max_size=6
)


def bent(seed: bytes, how: list[tuple[float, int, bytes]]) -> bytes:
    """A seed with bytes put in, written over, taken out, said twice, or its end cut off."""
    raw = seed
    for where, act, told in how:
        at = int(where * len(raw))
        match act:
            case 0:
                raw = raw[:at] + told + raw[at:]
            case 1:
                raw = raw[:at] + told + raw[at + len(told) :]
            case 2:
                raw = raw[:at] + raw[at + len(told) :]
            case 3:
                raw = raw[:at] + raw[max(0, at - 40) :]
            case _:
                raw = raw[:at] + told
    return raw


@pytest.mark.parametrize("name", list(PARSERS))
def test_bent_and_random_bytes_are_taken_or_refused_in_a_sentence(name: str) -> None:
    parser = PARSERS[name]
    seeds = list(parser.seeds())
    for seed in (b"", *seeds):
        parser.feed(seed)

    @settings(
        max_examples=HEAVY.get(name, 60),
        derandomize=True,
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(st.one_of(st.binary(max_size=300), st.builds(bent, st.sampled_from(seeds), bends)))
    def fed(raw: bytes) -> None:
        parser.feed(raw)

    fed()


def test_a_zip_member_without_a_name_and_a_long_complaint_are_refused_in_a_sentence() -> None:
    """What fuzzing found: an empty name was a fault, and the library quoted half the archive."""
    import io
    import zipfile

    from hostile_texts import check_sentence
    from parsers import unpack, written

    from speech.errors import SpeechError

    for name, message in (("", "unsafe name"), ("m/model.bin", "no whole archive")):
        held = io.BytesIO()
        with zipfile.ZipFile(held, "w") as out:
            for member in ("m/model.bin", "m/config.json", "m/tokenizer.json", "m/vocabulary.txt"):
                out.writestr(member, b"x" * 4000)
            if not name:
                out.writestr(zipfile.ZipInfo("q"), b"")
        raw = held.getvalue()
        if name:  # the length of the first name, in the member's own header only
            raw = raw[:26] + b"\xa0\x0f" + raw[28:]
        else:
            at = raw.rindex(b"PK\x01\x02")
            raw = raw[: at + 28] + b"\0\0" + raw[at + 30 : at + 46] + raw[at + 47 :]
            end = raw.rindex(b"PK\x05\x06")
            size = int.from_bytes(raw[end + 12 : end + 16], "little") - 1
            raw = raw[: end + 12] + size.to_bytes(4, "little") + raw[end + 16 :]
        path = written(raw, "archive.zip")
        with pytest.raises(SpeechError, match=message) as refused:
            unpack(path)
        check_sentence(refused.value)
        assert len(str(refused.value)) < 400
