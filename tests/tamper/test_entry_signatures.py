"""Entries signed by the bench, forged by whoever has not its key: found by the last signature, and named by each."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.record.append_signature import sign_append
from assistant.record.chain import FIRST_PREV, digest, encode, fields, with_signature
from assistant.record.hand_over import KnownKeys, hand_over
from assistant.record.keys import public_hex
from assistant.record.opening_mark import marked
from assistant.record.stamp import Stamp
from assistant.review.own import Home
from assistant.review.verify import Verdict, verify

OLD, NEW = (Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in (1, 2))
ENTRIES, LINES_EACH = 12, 3
Signer = Ed25519PrivateKey | None


def at(minute: int) -> Stamp:
    return Stamp(60.0 * minute, f"2026-12-01T10:{minute:02d}:00.000+00:00", 60.0 * minute, "boot")


def written(path: Path, signers: Sequence[Signer]) -> Path:
    """A log whose entries, a minute apart, are signed by these; None: not at all. The opening line is the first entry."""
    opening = {"kind": "opened", "simulated": False, "session": "s", "signed_appends": True}
    first = signers[0]
    assert first is not None
    entries: list[list[dict[str, Any]]] = [[marked(opening, first)]]
    entries += [[{"kind": "said", "text": f"{n}"} for _ in range(LINES_EACH)] for n in range(1, len(signers))]
    head, lines = FIRST_PREV, []
    for minute, (events, key) in enumerate(zip(entries, signers, strict=True)):
        for offset, event in enumerate(events):
            left = len(events) - 1 - offset
            raw = encode(fields(len(lines), head, left, at(minute), event))
            if left == 0 and key is not None:
                raw = with_signature(raw, sign_append(key, "s", len(lines) + 1, digest(raw)))
            lines.append(raw)
            head = digest(raw)
    path.write_bytes(b"\n".join(lines) + b"\n")
    return path


def chained_anew(path: Path, place: int, text: str) -> None:
    """Another text in that line, from 0, and the chain made anew from there, the signatures left as they were."""
    lines = [json.loads(raw) for raw in path.read_bytes().splitlines()]
    lines[place]["event"]["text"] = text
    head, raws = FIRST_PREV, []
    for line in lines:
        line["prev"] = head
        raws.append(json.dumps(line, sort_keys=True, separators=(",", ":")).encode())
        head = digest(raws[-1])
    path.write_bytes(b"\n".join(raws) + b"\n")


def end_of_entry(place: int) -> int:
    """The last line, from 1, of the entry that holds the line at `place`, from 0."""
    return 1 + LINES_EACH * -(-place // LINES_EACH)


def known(*overs: tuple[Ed25519PrivateKey, Ed25519PrivateKey, str]) -> KnownKeys:
    given = overs[-1][1] if overs else OLD
    return KnownKeys(public_hex(given.public_key()), [hand_over(*over) for over in overs])


def judged(path: Path, keys: KnownKeys) -> Verdict:
    return verify(path, home=Home("s", keys))


def test_signed_entries_are_vouched_for_by_the_last_and_by_each_where_a_key_was_handed_over(
    tmp_path: Path,
) -> None:
    path = written(tmp_path / "log.jsonl", [OLD] * ENTRIES)
    verdict = judged(path, known())
    assert verdict.ok, verdict.sentences
    assert f"{ENTRIES} were written, each with a signature; the last was signed" in " ".join(verdict.vouched)
    verdict = judged(path, known((OLD, NEW, at(30).wall)))
    assert verdict.ok, verdict.sentences
    assert f"each of the {ENTRIES} that were written was signed" in " ".join(verdict.vouched)


@pytest.mark.parametrize("place", [1, 2, 3, 4, 10, 17, 18, 31, 32, 33])
@pytest.mark.parametrize("keys", [known(), known((OLD, NEW, at(30).wall))], ids=["one key", "handed over"])
def test_a_line_changed_and_the_chain_made_anew_is_found_and_its_entry_named(
    tmp_path: Path, place: int, keys: KnownKeys
) -> None:
    path = written(tmp_path / "log.jsonl", [OLD] * ENTRIES)
    chained_anew(path, place, "another")
    assert verify(path).ok, "without a key the chain alone is in order"
    verdict = judged(path, keys)
    assert not verdict.ok
    assert verdict.first_bad_line == end_of_entry(place), verdict.sentences


@pytest.mark.parametrize("entry", [1, 5, ENTRIES - 1])
def test_an_entry_that_another_key_has_signed_or_none_is_no_entry_of_the_bench(
    tmp_path: Path, entry: int
) -> None:
    signers: list[Signer] = [OLD] * ENTRIES
    signers[entry] = None
    verdict = judged(written(tmp_path / "none.jsonl", signers), known())
    assert (verdict.ok, verdict.first_bad_line) == (False, 1 + LINES_EACH * entry), verdict.sentences
    signers[entry:] = [NEW] * (ENTRIES - entry)
    verdict = judged(written(tmp_path / "other.jsonl", signers), known())
    assert (verdict.ok, verdict.first_bad_line) == (False, 1 + LINES_EACH * entry), verdict.sentences


def test_an_old_key_that_signs_after_its_hand_over_is_found_whatever_the_new_one_signed_later(
    tmp_path: Path,
) -> None:
    handed = known((OLD, NEW, at(5).wall))
    right = written(tmp_path / "right.jsonl", [OLD] * 6 + [NEW] * 6)
    assert judged(right, handed).ok
    wrong = written(tmp_path / "wrong.jsonl", [OLD] * 8 + [NEW] * 4)
    verdict = judged(wrong, handed)
    assert (verdict.ok, verdict.first_bad_line) == (False, 1 + LINES_EACH * 6), verdict.sentences
    assert "was handed over at" in verdict.sentences[0]


@pytest.mark.parametrize("tail", [b'{"event":', b"nothing\n", b"{}\n"], ids=["torn", "no line", "no fields"])
def test_what_is_no_line_behind_a_forged_one_hides_it_not(tmp_path: Path, tail: bytes) -> None:
    path = written(tmp_path / "log.jsonl", [OLD] * ENTRIES)
    chained_anew(path, 10, "another")
    path.write_bytes(path.read_bytes() + tail)
    verdict = judged(path, known())
    assert verdict.first_bad_line == end_of_entry(10), verdict.sentences
