"""Verifying finds every change, names the first bad line, and says what is vouched for by what."""

from __future__ import annotations

import hashlib
import json
import random
from pathlib import Path
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.record.keys import public_hex
from assistant.record.log import LogWriter
from assistant.record.read import read_log
from assistant.record.seal import seal
from assistant.record.stamp import Stamp
from assistant.review.verify import verify

OTHER_KEY = Ed25519PrivateKey.from_private_bytes(bytes(reversed(range(32))))


def lines_of(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines(keepends=True)


def chained(objects: list[dict[str, Any]]) -> bytes:
    """Objects numbered and linked anew, as a forger without a key would: an independent few lines."""
    out, prev = b"", "0" * 64
    for n, line in enumerate(objects):
        text = json.dumps(
            line | {"n": n, "prev": prev}, sort_keys=True, separators=(",", ":"), ensure_ascii=False
        )
        prev = hashlib.sha256(text.encode()).hexdigest()
        out += text.encode() + b"\n"
    return out


def test_a_sealed_log_is_in_order_and_says_who_vouches(sealed: Path, key: Ed25519PrivateKey) -> None:
    verdict = verify(sealed, key.public_key())
    assert (verdict.ok, verdict.first_bad_line, verdict.closed, verdict.sealed, verdict.simulated) == (
        True,
        None,
        True,
        True,
        False,
    )
    assert verdict.lines == len(lines_of(sealed))
    told = " ".join(verdict.vouched)
    assert "The key is the one that was given." in told
    assert "none is missing" in told
    assert "Whose key that is" not in told


def test_without_a_key_or_code_it_says_that_the_key_is_unknown(sealed: Path) -> None:
    verdict = verify(sealed)
    assert verdict.ok
    assert "Whose key that is, nothing in the file can show" in verdict.vouched[-1]
    assert verdict.code in verdict.vouched[-1]


def test_an_unclosed_log_says_that_nothing_vouches_for_its_end(sealed: Path) -> None:
    lines = lines_of(sealed)
    sealed.write_bytes(b"".join(lines[:-2]))
    verdict = verify(sealed)
    assert (verdict.ok, verdict.closed, verdict.sealed) == (True, False, False)
    assert "nothing vouches for lines cut off the end" in " ".join(verdict.vouched)


def test_a_closed_log_without_a_seal_says_so(write: Any, tmp_path: Path) -> None:
    verdict = verify(write(tmp_path / "a.jsonl", sealed=False))
    assert (verdict.ok, verdict.closed, verdict.sealed) == (True, True, False)
    assert "nothing shows that the whole chain was not written anew" in " ".join(verdict.vouched)


def test_the_seal_is_an_ed25519_signature_that_others_can_check(sealed: Path, key: Ed25519PrivateKey) -> None:
    raw = lines_of(sealed)
    line = json.loads(raw[-1])
    assert line["prev"] == line["event"]["head"] == hashlib.sha256(raw[-2][:-1]).hexdigest()
    signature = bytes.fromhex(line["event"]["signature"])
    line["event"] |= {"signature": "", "code": ""}
    body = json.dumps(line, sort_keys=True, separators=(",", ":")).replace(".0,", ",").encode()
    message = b"loopwright seal 1\0joint\0" + str(len(body)).encode() + b"\0" + body
    Ed25519PublicKey.from_public_bytes(bytes.fromhex(public_hex(key.public_key()))).verify(signature, message)


def small_log(path: Path, key: Ed25519PrivateKey) -> Path:
    """A dozen short lines, sealed: small enough to try every byte of it with several values."""
    at = [Stamp(float(k), "2026-11-25T14:00:00+01:00", 50.0 + k, "0badcafe") for k in range(12)]
    with LogWriter.create(path, {"kind": "opened", "simulated": False}, at[0]) as writer:
        for k in range(1, 5):
            writer.append([{"kind": "noted", "text": f"é{k}"}, {"kind": "released"}], at[k])
        writer.append([{"kind": "closed", "outcome": "accepted", "count": writer.count}], at[10])
        seal(writer, key, at[11], simulated=False)
    return path


@pytest.mark.slow
def test_every_changed_byte_is_found_and_its_line_named(key: Ed25519PrivateKey, tmp_path: Path) -> None:
    path = small_log(tmp_path / "log.jsonl", key)
    whole = path.read_bytes()
    dice = random.Random(7)
    line_no, tried = 1, 0
    for at, byte in enumerate(whole):
        for changed in {byte ^ 1, dice.randrange(256)} - {byte}:
            path.write_bytes(whole[:at] + bytes([changed]) + whole[at + 1 :])
            verdict = verify(path)
            assert (verdict.ok, verdict.first_bad_line) == (False, line_no), (at, chr(byte), changed, verdict)
            tried += 1
        line_no += byte == ord("\n")
    assert tried > 1.9 * len(whole)


@pytest.mark.slow
def test_every_byte_of_a_whole_session_is_found(sealed: Path) -> None:
    whole = sealed.read_bytes()
    line_no = 1
    for at, byte in enumerate(whole):
        sealed.write_bytes(whole[:at] + bytes([byte ^ 1]) + whole[at + 1 :])
        verdict = verify(sealed)
        assert (verdict.ok, verdict.first_bad_line) == (False, line_no), (at, verdict)
        line_no += byte == ord("\n")


def test_every_sampled_byte_of_a_whole_session_is_found(sealed: Path) -> None:
    whole = sealed.read_bytes()
    for at in range(3, len(whole), 37):
        sealed.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
        verdict = verify(sealed)
        assert (verdict.ok, verdict.first_bad_line) == (False, whole[:at].count(b"\n") + 1), at


def test_a_line_taken_out_is_found_where_it_is_missing(sealed: Path) -> None:
    lines = lines_of(sealed)
    for k in range(len(lines) - 2):
        sealed.write_bytes(b"".join(lines[:k] + lines[k + 1 :]))
        verdict = verify(sealed)
        assert (verdict.ok, verdict.first_bad_line) == (False, k + 1)
        assert "lines are missing" in verdict.sentences[0]


def test_the_closing_line_cannot_be_taken_out(sealed: Path) -> None:
    lines = lines_of(sealed)
    sealed.write_bytes(b"".join([*lines[:-2], lines[-1]]))
    assert verify(sealed).first_bad_line == len(lines) - 1


def test_a_line_given_twice_is_found(sealed: Path) -> None:
    lines = lines_of(sealed)
    for k in range(len(lines)):
        sealed.write_bytes(b"".join(lines[: k + 1] + lines[k:]))
        assert (verify(sealed).ok, verify(sealed).first_bad_line) == (False, k + 2)


def test_swapped_lines_are_found_at_the_first(sealed: Path) -> None:
    lines = lines_of(sealed)
    for k in range(len(lines) - 1):
        sealed.write_bytes(b"".join([*lines[:k], lines[k + 1], lines[k], *lines[k + 2 :]]))
        assert (verify(sealed).ok, verify(sealed).first_bad_line) == (False, k + 1)


def test_a_tail_of_another_session_is_found_where_it_begins(sealed: Path, write: Any, tmp_path: Path) -> None:
    other = lines_of(write(tmp_path / "other.jsonl", simulated=True))
    lines = lines_of(sealed)
    for k in range(1, len(lines)):
        sealed.write_bytes(b"".join(lines[:k] + other[k:]))
        verdict = verify(sealed)
        assert not verdict.ok
        # Which side of the joint is the foreign one, the lines themselves cannot show: both are named.
        assert verdict.first_bad_line in (k, k + 1), k
        assert str(k + 1) in verdict.sentences[0], k


def test_a_chain_written_anew_is_found_by_its_seal(sealed: Path) -> None:
    objects = [json.loads(line) for line in lines_of(sealed)]
    objects[5]["event"]["said"] = "something else"
    sealed.write_bytes(chained(objects))
    verdict = verify(sealed)
    assert (verdict.ok, verdict.first_bad_line) == (False, len(objects))
    assert "seals another log" in verdict.sentences[0]
    objects[-1]["event"]["head"] = json.loads(lines_of(sealed)[-1])["prev"]
    sealed.write_bytes(chained(objects))
    assert "signature that does not fit" in verify(sealed).sentences[0]


def test_a_log_sealed_anew_with_another_key_is_found_by_key_by_code_and_by_head(
    sealed: Path, key: Ed25519PrivateKey, appends: Any, tmp_path: Path
) -> None:
    true = verify(sealed)
    forged = tmp_path / "forged.jsonl"
    with LogWriter.create(forged, appends[0][1][0], Stamp(0.0, "2026-11-25T14:00:00+01:00", 1.0)) as writer:
        stamp = Stamp(9.0, "2026-11-25T15:00:00+01:00", 10.0)
        writer.append([{"kind": "closed", "outcome": "accepted", "count": 1}], stamp)
        seal(writer, OTHER_KEY, stamp, simulated=False)
    assert verify(forged).ok  # as it says itself, nothing in the file can show whose key it is
    assert "another key" in verify(forged, key.public_key()).sentences[0]
    assert "not the log that was sealed then" in verify(forged, code=true.code).sentences[0]
    assert "rewritten or cut short" in verify(forged, head=true.head).sentences[0]
    assert verify(sealed, key.public_key(), code=true.code.replace(" ", "-"), head=true.head).ok


def test_lines_cut_off_the_end_are_found_by_key_code_or_head(sealed: Path, key: Ed25519PrivateKey) -> None:
    true = verify(sealed)
    lines = lines_of(sealed)
    for cut in (1, 2, 10):
        sealed.write_bytes(b"".join(lines[:-cut]))
        assert not verify(sealed, key.public_key()).ok
        assert not verify(sealed, code=true.code).ok
        assert not verify(sealed, head=true.head).ok


def test_a_simulated_log_says_so_first_and_cannot_be_passed_off(write: Any, tmp_path: Path) -> None:
    path = write(tmp_path / "sim.jsonl", simulated=True)
    verdict = verify(path)
    assert (verdict.ok, verdict.simulated) == (True, True)
    assert verdict.sentences[0].startswith("SIMULATED")
    objects = [json.loads(line) for line in lines_of(path)]
    objects[0]["event"]["simulated"] = False
    path.write_bytes(chained(objects))
    assert not verify(path).ok
    objects[-1]["event"] |= {"simulated": False, "head": json.loads(lines_of(path)[-1])["prev"]}
    path.write_bytes(chained(objects))
    assert "signature that does not fit" in verify(path).sentences[0]


def test_a_seal_that_contradicts_the_opening_is_refused(
    tmp_path: Path, appends: Any, key: Ed25519PrivateKey
) -> None:
    path = tmp_path / "a.jsonl"
    stamp = Stamp(0.0, "2026-11-25T14:00:00+01:00", 1.0)
    with LogWriter.create(path, appends[0][1][0] | {"simulated": True}, stamp) as writer:
        writer.append([{"kind": "closed", "outcome": "accepted", "count": 1}], stamp)
        seal(writer, key, stamp, simulated=False)
    assert "differ on whether this is SIMULATED" in verify(path).sentences[0]


@pytest.mark.parametrize(
    ("events", "words"),
    [
        ([{"kind": "closed", "outcome": "accepted", "count": 2}], "closes a log of 2 lines, but 1 stand"),
        ([{"kind": "closed", "outcome": "accepted", "count": True}], "closes a log of True lines"),
        ([{"kind": "closed", "outcome": "accepted"}], "without saying how many"),
        ([{"kind": "closed", "outcome": "accepted", "count": 1}, {"kind": "noted", "text": "x"}], "after the closing line"),
        ([{"kind": "closed", "outcome": "accepted", "count": 1}, {"kind": "closed", "outcome": "accepted", "count": 2}], "closed already"),
        ([{"kind": "sealed"}], "not closed"),
        ([{"kind": "closed", "outcome": "accepted", "count": 1}, {"kind": "sealed"}], "lacks what a seal must have"),
        ([{"kind": "opened", "simulated": False}], "opens a session in the middle"),
    ],
)  # fmt: skip
def test_lines_that_do_not_belong_there_are_named(
    events: list[dict[str, Any]], words: str, tmp_path: Path
) -> None:
    path = tmp_path / "a.jsonl"
    stamp = Stamp(0.0, "2026-11-25T14:00:00+01:00", 1.0)
    with LogWriter.create(path, {"kind": "opened", "simulated": False}, stamp) as writer:
        for event in events:
            writer.append([event], stamp)
    verdict = verify(path)
    assert not verdict.ok
    assert verdict.first_bad_line == len(events) + 1
    assert words in verdict.sentences[0]


def test_time_that_runs_backwards_is_found(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with LogWriter.create(
        path, {"kind": "opened", "simulated": False}, Stamp(5.0, "2026-11-25T14:00:00+01:00", 1.0)
    ) as writer:
        writer.append([{"kind": "released"}], Stamp(4.0, "2026-11-25T14:00:00+01:00", 1.0))
    assert verify(path).first_bad_line == 2
    assert "earlier in the session" in verify(path).sentences[0]


@pytest.mark.parametrize(
    "content", [b"", b"\n", b"{}\n", b"\x00" * 100, b"PK\x03\x04 junk\n" * 50, b'{"v":1}', b"[" * 10_000]
)
def test_what_is_no_log_gets_one_sentence(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "x"
    path.write_bytes(content)
    verdict = verify(path)
    assert not verdict.ok
    assert len(verdict.sentences) == 1
    assert "\n" not in verdict.sentences[0]
    assert verdict.sentences[0].endswith(".")


def test_a_missing_file_or_a_folder_is_told(tmp_path: Path) -> None:
    assert "no file" in verify(tmp_path / "gone").sentences[0]
    assert "is a folder" in verify(tmp_path).sentences[0]


def test_reading_gives_the_same_lines_that_were_verified(sealed: Path) -> None:
    lines = read_log(sealed)
    verdict = verify(sealed)
    assert (lines[-1].digest, len(lines)) == (verdict.head, verdict.lines)
