"""`loopwright keys` and `loopwright seal` from the command line, on a session that the bench has sealed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from in_process import Play, command_line

from assistant.record.keys import bench_key
from assistant.record.log import LogWriter
from assistant.record.seal import seal
from assistant.record.stamp import SystemClock
from assistant.record.store import Store

NAME = "2026-11-25-1405-a1b2"


@pytest.fixture
def play(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Play:
    return command_line(capsys, monkeypatch)


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A closed and sealed session in the folder 'records'."""
    store, clock = Store(tmp_path / "records"), SystemClock()
    path = store.new_log(NAME)
    with LogWriter.create(
        path, {"kind": "opened", "session": NAME, "simulated": False}, clock.now()
    ) as writer:
        writer.append([{"kind": "closed", "outcome": "accepted", "count": 1}], clock.now())
        seal(writer, bench_key(store.folder), clock.now(), simulated=False)
    return path


def test_a_supervisor_seals_and_verify_review_and_index_tell_it(
    play: Play, log: Path, tmp_path: Path
) -> None:
    records, own, words = tmp_path / "records", tmp_path / "olga", tmp_path / "words"
    words.write_text("correct horse\nsecond line\n")
    code = Store(records).sessions()[0].code
    assert play("keys", "new", own, "--passphrase-file", words)[0] == 0
    assert play("keys", "export", tmp_path / "bench", "--folder", records)[0] == 0
    told = play(
        "seal", NAME, "--as", "Olga", "--key", own, "--passphrase-file", words, "--folder", records,
        "--bench-key", tmp_path / "bench", "--json",
    )  # fmt: skip
    assert told[0] == 0, told
    assert (json.loads(told[1])["name"], json.loads(told[1])["line"]) == ("Olga", 4)
    told = play("verify", log, "--key", tmp_path / "bench", "--supervisor-key", f"{own}.pub", "--json")
    assert told[0] == 0, told
    (one,) = json.loads(told[1])["counter_seals"]
    assert one["name"] == "Olga"
    assert "Sealed by the supervisor Olga" in play("review", log)[1]
    assert Store(records).sessions()[0].code == code
    again = play("seal", NAME, "--as", "Olga", "--key", own, "--passphrase-file", words, "--folder", records)
    assert (again[0], "already" in again[2]) == (2, True)


def test_a_second_copy_in_the_records_is_not_sealed(play: Play, log: Path, tmp_path: Path) -> None:
    records, own = tmp_path / "records", tmp_path / "olga"
    copy = Store(records).new_log("copy")
    copy.write_bytes(log.read_bytes())
    assert play("keys", "new", own, "--no-passphrase")[0] == 0
    told = play("seal", "copy", "--as", "Olga", "--key", own, "--folder", records)
    assert told[0] == 1
    assert "it is a copy" in told[1]
    assert copy.read_bytes() == log.read_bytes()


def test_a_key_that_is_handed_over_still_vouches_for_what_it_sealed(
    play: Play, log: Path, tmp_path: Path
) -> None:
    records = tmp_path / "records"
    assert play("keys", "export", tmp_path / "old", "--folder", records)[0] == 0
    told = play("keys", "rotate", "--folder", records, "--json")
    assert told[0] == 0
    made = json.loads(told[1])
    listed = json.loads(play("keys", "list", "--folder", records, "--json")[1])["keys"]
    assert [(row["key"], row["in_use"]) for row in listed] == [(made["new"], True), (made["old"], False)]
    told = play("verify", log, "--key", records / "bench.pub")
    assert told[0] == 0
    assert f"an earlier one of the bench, handed over at {made['handed_over']}" in told[1]
    # Sealed by the new key, and only the old public key at hand.
    store, clock = Store(records), SystemClock()
    with LogWriter.create(
        store.new_log("later"), {"kind": "opened", "session": "later", "simulated": False}, clock.now()
    ) as writer:
        writer.append([{"kind": "closed", "outcome": "accepted", "count": 1}], clock.now())
        seal(writer, bench_key(records), clock.now(), simulated=False)
    later = store.log_path("later")
    assert play("verify", later, "--key", tmp_path / "old")[0] == 1
    told = play("verify", later, "--key", tmp_path / "old", "--history", records / "bench.pub")
    assert (told[0], "handed over to" in told[1]) == (0, True)


def test_what_is_not_in_order_or_not_the_benchs_is_not_sealed(play: Play, log: Path, tmp_path: Path) -> None:
    own, records = tmp_path / "olga", tmp_path / "records"
    assert play("keys", "new", own, "--no-passphrase")[0] == 0
    told = play("seal", log, "--as", "Olga", "--key", own, "--bench-key", f"{own}.pub")
    assert (told[0], told[2]) == (1, "")
    assert "Not sealed." in told[1]
    whole = log.read_bytes()
    for broken in (
        whole.replace(b'"accepted"', b'"stopped"'),
        whole + b"x\n",
        whole[:-300] + b"y" + whole[-299:],
    ):
        log.write_bytes(broken)
        assert play("seal", NAME, "--as", "Olga", "--key", own, "--folder", records)[0] == 1
        assert log.read_bytes() == broken


def test_a_wrong_word_an_unfinished_session_and_a_locked_key_are_one_sentence(
    play: Play, log: Path, tmp_path: Path
) -> None:
    own, words = tmp_path / "olga", tmp_path / "words"
    words.write_text("correct horse\n")
    assert play("keys", "new", own, "--passphrase-file", words)[0] == 0
    words.write_text("wrong horse\n")
    sealing = ("seal", log, "--as", "Olga", "--key", own)
    for arguments, why in (
        ((*sealing, "--passphrase-file", words), "is not the one of the key"),
        (sealing, "nobody can type it here"),
        (("keys", "new", own), "nobody can type it here"),
        (("keys", "new", own, "--passphrase-file", words), "never written over"),
        (("keys", "new", own, "--passphrase-file", words, "--no-passphrase"), "not both"),
        (("keys", "export", log), "cannot be written"),
        (("seal", "nobody", "--as", "Olga", "--key", own), "There is no session 'nobody'"),
        (("verify", log, "--history", words), "give that too"),
    ):
        if arguments[0] != "verify" and "--folder" not in arguments and arguments[:2] != ("keys", "new"):
            arguments = (*arguments, "--folder", tmp_path / "records")  # noqa: PLW2901
        told = play(*arguments)
        assert (told[0], told[1], told[2].count("\n")) == (2, "", 1), told
        assert why in told[2]
    words.write_text("correct horse\n")
    log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:1]))
    told = play(*sealing, "--passphrase-file", words)
    assert (told[0], "is not finished" in told[2]) == (2, True)
