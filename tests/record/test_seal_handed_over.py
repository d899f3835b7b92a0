"""The bench's key is handed over whole or not at all, and older signatures stand by the hand-over."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.record import keys
from assistant.record.hand_over import KnownKeys, hand_over, read_hand_over
from assistant.record.keys import (
    NEXT_NAME,
    PRIVATE_NAME,
    PUBLIC_NAME,
    KeyTrouble,
    bench_key,
    earlier_keys,
    known_keys,
    load_public_key,
    public_hex,
    public_text,
    rotate,
)

WALLS = ["2026-11-25T14:00:00.000+01:00", "2026-11-26T14:00:00.000+01:00", "2026-11-27T14:00:00.000+01:00"]
KEYS = [Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in range(1, 6)]
HEX = [public_hex(key.public_key()) for key in KEYS]


class Stopped(BaseException):
    """The power went."""


def test_every_older_key_is_vouched_for_by_the_new_one(tmp_path: Path) -> None:
    held = [public_hex(bench_key(tmp_path).public_key())]
    first = tmp_path / "first.pub"
    first.write_bytes((tmp_path / PUBLIC_NAME).read_bytes())
    for wall in WALLS:
        rotate(tmp_path, wall)
        held.append(public_hex(bench_key(tmp_path).public_key()))
    assert len(set(held)) == 4
    known = earlier_keys(tmp_path)
    assert known == known_keys(tmp_path / PUBLIC_NAME)
    assert (known.given, *known.earlier()) == tuple(reversed(held))
    assert known.ended(held[0]) == WALLS[0]
    # Whoever has only the first key finds the way to the last.
    assert known_keys(first, tmp_path / PUBLIC_NAME).later() == tuple(held[1:])
    assert sorted(p.name for p in tmp_path.iterdir()) == [PRIVATE_NAME, PUBLIC_NAME, "first.pub"]
    assert stat.S_IMODE((tmp_path / PRIVATE_NAME).stat().st_mode) == 0o600


@pytest.mark.parametrize("moment", range(1, 7))
def test_a_hand_over_cut_short_leaves_the_old_key_or_the_new_one_whole(
    moment: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench_key(tmp_path)
    rotate(tmp_path, WALLS[0])
    before = public_hex(bench_key(tmp_path).public_key())
    calls = 0

    def counted(act):  # type: ignore[no-untyped-def]
        def then(*given, **more):  # type: ignore[no-untyped-def]
            nonlocal calls
            calls += 1
            if calls == moment:
                raise Stopped
            return act(*given, **more)

        return then

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", counted(Path.replace))
        patch.setattr(keys, "write_new", counted(keys.write_new))
        patch.setattr(keys, "sync_folder", counted(keys.sync_folder))
        try:
            rotate(tmp_path, WALLS[1])
        except Stopped:
            pass
        else:
            assert calls < moment
    after = public_hex(bench_key(tmp_path).public_key())
    assert not (tmp_path / NEXT_NAME).exists()
    known = known_keys(tmp_path / PUBLIC_NAME)
    assert known.given == after
    assert after == before or known.earlier()[0] == before
    rotate(tmp_path, WALLS[2])
    assert before in earlier_keys(tmp_path).earlier()


def test_a_disk_that_fails_leaves_the_old_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = public_hex(bench_key(tmp_path).public_key())

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(keys, "write_new", full)
        with pytest.raises(KeyTrouble, match="No space left"):
            rotate(tmp_path, WALLS[0])
    assert public_hex(bench_key(tmp_path).public_key()) == before


def test_every_byte_of_a_hand_over_is_under_both_signatures() -> None:
    line = hand_over(KEYS[0], KEYS[1], WALLS[0]).line()
    assert read_hand_over(line).new == HEX[1]
    for at, byte in enumerate(line):
        for changed in (byte ^ 1, byte ^ 32):
            with pytest.raises(ValueError):  # noqa: PT011 -- whatever the reason
                read_hand_over(line[:at] + bytes([changed]) + line[at + 1 :])


def test_a_stolen_old_key_signs_nobody_in() -> None:
    """Handed on from 1 to 2 to 3; the thief has 1 and 2, and a key of his own."""
    true = (hand_over(KEYS[0], KEYS[1], WALLS[0]), hand_over(KEYS[1], KEYS[2], WALLS[1]))
    for stolen in (0, 1):
        forged = hand_over(KEYS[stolen], KEYS[4], WALLS[2])
        with pytest.raises(ValueError, match="handed over twice"):
            KnownKeys(HEX[2], (*true, forged))
        assert HEX[4] not in KnownKeys(HEX[2], (true[1 - stolen], forged)).all()
    # Nor is a stranger's key a forerunner because its owner says so.
    line = hand_over(KEYS[4], KEYS[3], WALLS[0])
    assert HEX[4] not in KnownKeys(HEX[2], (*true, line)).all()


def test_a_signature_dated_after_its_key_was_handed_over_is_not_the_benchs() -> None:
    known = KnownKeys(HEX[1], (hand_over(KEYS[0], KEYS[1], WALLS[1]),))
    assert known.fault(HEX[0], WALLS[0]) == ""
    assert "handed over at" in known.fault(HEX[0], WALLS[2])
    assert known.fault(HEX[1], WALLS[2]) == ""
    assert "another key" in known.fault(HEX[3], WALLS[0])


def test_a_damaged_public_file_is_named_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "x.pub"
    good = public_text(KEYS[1].public_key(), (hand_over(KEYS[0], KEYS[1], WALLS[0]),))
    path.write_bytes(good.replace(b"2026", b"2025"))
    with pytest.raises(KeyTrouble, match=r"Line 4 of the key file .* is no hand-over"):
        known_keys(path)
    path.write_bytes(public_text(KEYS[1].public_key()))
    with pytest.raises(KeyTrouble, match="tells of no hand-over"):
        known_keys(path, path)


def test_another_benchs_public_file_stops_a_hand_over(tmp_path: Path) -> None:
    bench_key(tmp_path)
    (tmp_path / PUBLIC_NAME).write_bytes(public_text(KEYS[0].public_key()))
    with pytest.raises(KeyTrouble, match="not the public half"):
        rotate(tmp_path, WALLS[0])


def test_a_key_moved_away_leaves_its_public_half_under_another_name(tmp_path: Path) -> None:
    old = public_hex(bench_key(tmp_path).public_key())
    (tmp_path / PRIVATE_NAME).rename(tmp_path / "away")
    new = public_hex(bench_key(tmp_path).public_key())
    assert public_hex(load_public_key(tmp_path / PUBLIC_NAME)) == new
    (aside,) = tmp_path.glob("bench-*.pub")
    assert public_hex(load_public_key(aside)) == old
