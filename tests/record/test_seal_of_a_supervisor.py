"""A supervisor's own key and seal: after the bench's, once, named, and only on what is finished."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.record.keys import KeyTrouble, load_public_key, public_hex
from assistant.record.log import LogWriter, RecordBusy
from assistant.record.own_key import PassphraseWanted, make_own_key, own_key
from assistant.record.read import read_log
from assistant.record.seal import NotSealed, counter_seal, seal
from assistant.record.stamp import Stamp
from assistant.review.verify import verify

AT = [Stamp(float(n), f"2026-11-25T14:00:{n:02d}.000+01:00", 50.0 + n, "0badcafe") for n in range(9)]
BENCH = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
OWN = Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
OTHER = Ed25519PrivateKey.from_private_bytes(bytes(range(2, 34)))


@pytest.fixture
def finished(tmp_path: Path) -> Path:
    path = tmp_path / "log.jsonl"
    with LogWriter.create(path, {"kind": "opened", "simulated": False}, AT[0]) as writer:
        writer.append([{"kind": "released"}], AT[1])
        writer.append([{"kind": "closed", "outcome": "accepted", "count": 2}], AT[2])
        seal(writer, BENCH, AT[3], simulated=False)
    return path


def nothing() -> None:
    return


def test_verify_tells_who_sealed_and_what_is_vouched_for(finished: Path) -> None:
    before, code = finished.read_bytes(), verify(finished).code
    line = counter_seal(finished, OWN, "Olga", nothing)
    assert finished.read_bytes().startswith(before)
    verdict = verify(finished, BENCH.public_key(), code=code, supervisor_key=OWN.public_key())
    assert verdict.ok
    assert verdict.code == code
    (one,) = verdict.counter_seals
    assert (one.name, one.line) == ("Olga", 5)
    assert read_log(finished)[-1].digest == line.digest == verdict.head
    told = " ".join(verdict.vouched)
    assert "The counter-seal of Olga: lines 1 to 5" in told
    assert "not that what it tells is true" in told
    assert "The supervisor's key that was given has made a counter-seal." in told
    assert "Names are as they were told" in " ".join(verify(finished).vouched)


def test_two_supervisors_may_seal_one_after_the_other(finished: Path) -> None:
    counter_seal(finished, OWN, "Olga", nothing)
    counter_seal(finished, OTHER, "Ida \U0001f34f", nothing)
    assert [one.name for one in verify(finished).counter_seals] == ["Olga", "Ida \U0001f34f"]
    assert verify(finished, supervisor_key=OTHER.public_key()).ok


def test_a_counter_seal_cut_off_or_of_another_key_is_found_by_the_supervisors_key(finished: Path) -> None:
    sealed_once = finished.read_bytes()
    counter_seal(finished, OTHER, "Olga", nothing)
    assert (
        "no counter-seal of the supervisor's key"
        in verify(finished, supervisor_key=OWN.public_key()).sentences[0]
    )
    finished.write_bytes(sealed_once)
    assert verify(finished).ok  # nothing in the file can show that there was one
    assert not verify(finished, supervisor_key=OTHER.public_key()).ok


@pytest.mark.parametrize(
    ("key", "name", "words"),
    [
        (BENCH, "Olga", "the bench's own"),
        (OWN, "Ida", "the one of line 5"),
        (OTHER, "Olga", "has sealed the session"),
        (OTHER, " ", "A name is plain words"),
        (OTHER, "Olga\x1b[2J", "A name is plain words"),
        (OTHER, "\u202eaglO", "A name is plain words"),
        (OTHER, "O" * 81, "A name is plain words"),
    ],
)
def test_what_cannot_be_sealed_again_is_told_in_a_sentence(
    key: Ed25519PrivateKey, name: str, words: str, finished: Path
) -> None:
    counter_seal(finished, OWN, "Olga", nothing)
    before = finished.read_bytes()
    with pytest.raises(NotSealed, match=words):
        counter_seal(finished, key, name, nothing)
    assert finished.read_bytes() == before


@pytest.mark.parametrize(
    ("left", "words"), [(1, "not finished"), (2, "not finished"), (3, "without the bench's seal")]
)
def test_an_unfinished_session_is_not_touched(left: int, words: str, finished: Path) -> None:
    short = b"".join(finished.read_bytes().splitlines(keepends=True)[:left]) + b'{"torn'
    finished.write_bytes(short)
    with pytest.raises(NotSealed, match=words):
        counter_seal(finished, OWN, "Olga", nothing)
    assert finished.read_bytes() == short


def test_a_seal_cut_short_by_a_crash_is_cut_off_noted_and_made_anew(finished: Path) -> None:
    whole = finished.read_bytes()
    counter_seal(finished, OWN, "Olga", nothing)
    finished.write_bytes(finished.read_bytes()[: len(whole) + 40])
    counter_seal(finished, OWN, "Olga", nothing)
    assert [line.kind for line in read_log(finished)[3:]] == ["sealed", "torn_tail", "sealed"]
    assert verify(finished, BENCH.public_key(), supervisor_key=OWN.public_key()).ok


def test_a_check_that_fails_and_a_session_that_is_open_stop_it(finished: Path) -> None:
    before = finished.read_bytes()

    def refuse() -> None:
        raise ValueError("no")

    with pytest.raises(ValueError, match="no"):
        counter_seal(finished, OWN, "Olga", refuse)
    finished.write_bytes(before + b"{")
    with pytest.raises(ValueError, match="no"):
        counter_seal(finished, OWN, "Olga", refuse)
    assert finished.read_bytes() == before, "no line tells of a torn seal without a seal behind it"
    with LogWriter.open_existing(finished), pytest.raises(RecordBusy):
        counter_seal(finished, OWN, "Olga", nothing)
    assert finished.read_bytes() == before


def test_a_supervisors_key_is_made_locked_and_opens_with_its_passphrase_only(tmp_path: Path) -> None:
    key, public_file = make_own_key(tmp_path / "olga", "correct horse")
    assert stat.S_IMODE((tmp_path / "olga").stat().st_mode) == 0o600
    assert public_hex(load_public_key(public_file)) == public_hex(key.public_key())
    assert public_hex(own_key(tmp_path / "olga", "correct horse").public_key()) == public_hex(
        key.public_key()
    )
    with pytest.raises(PassphraseWanted, match="is locked"):
        own_key(tmp_path / "olga")
    with pytest.raises(KeyTrouble, match="passphrase is not the one"):
        own_key(tmp_path / "olga", "another horse")
    make_own_key(tmp_path / "open", None)
    with pytest.raises(KeyTrouble, match="has no passphrase"):
        own_key(tmp_path / "open", "correct horse")
    own_key(tmp_path / "open")


def test_a_key_is_never_written_over_nor_made_with_a_short_passphrase(tmp_path: Path) -> None:
    make_own_key(tmp_path / "olga", None)
    with pytest.raises(KeyTrouble, match="never written over"):
        make_own_key(tmp_path / "olga", None)
    with pytest.raises(KeyTrouble, match="at least 8"):
        make_own_key(tmp_path / "ida", "short")
    with pytest.raises(KeyTrouble, match="cannot be made"):
        make_own_key(tmp_path / "gone" / "ida", None)
    (tmp_path / "olga").chmod(0o640)
    with pytest.raises(KeyTrouble, match="chmod 600"):
        own_key(tmp_path / "olga")
