"""Each named lie gets the verdict that it must get, and what cannot find it is known not to."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lies import BY, KNOWN, LIES, OLGA, Lie, evidence, raw, true, verdicts

from assistant.review.verify import verify


def test_the_true_session_verifies_by_everything(tmp_path: Path) -> None:
    found = verdicts(true(), tmp_path / "log.jsonl")
    assert [by for by in BY if not found[by].ok] == []
    together = {key: held for one in evidence().values() for key, held in one.items()}
    verdict = verify(tmp_path / "log.jsonl", **together)
    assert verdict.ok
    assert [one.name for one in verdict.counter_seals] == ["Olga"]


@pytest.mark.parametrize("lie", LIES, ids=lambda lie: lie.name)
def test_a_lie_is_found_by_what_can_find_it(lie: Lie, tmp_path: Path) -> None:
    found = verdicts(lie.spoil(), tmp_path / "log.jsonl")
    assert tuple(by for by in BY if not found[by].ok) == lie.by
    first = found[lie.by[0]]
    assert re.search(lie.words, first.sentences[0]), first.sentences
    if lie.line:
        assert first.first_bad_line == lie.line


@pytest.mark.slow
def test_what_the_bench_says_of_a_lie_it_cannot_find_is_how_to_find_it(tmp_path: Path) -> None:
    """Where the file alone is in order, verifying names what else to compare."""
    for lie in LIES:
        if "file" not in lie.by:
            verdict = verdicts(lie.spoil(), tmp_path / "log.jsonl")["file"]
            told = " ".join(verdict.vouched)
            if not verdict.closed:
                assert "nothing vouches for lines cut off the end" in told, lie.name
            else:
                assert "give the bench's public key, or compare the seal code" in told, lie.name


@pytest.mark.slow
def test_together_key_code_and_supervisors_key_find_every_lie(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    code = evidence()["code"]["code"]
    for lie in LIES:
        told = lie.spoil()
        path.write_bytes(told if isinstance(told, bytes) else raw(told))
        assert not verify(path, KNOWN, code=code, supervisor_key=OLGA.public_key()).ok, lie.name
