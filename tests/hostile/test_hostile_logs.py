"""A stranger's log, every text in it hostile: told, judged, counted and reported, and nothing of it acts or steers."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from hostile_texts import MARK, TEXTS, steering
from log_of import Lines, events, log_bytes
from page_check import check_page

Outcome = tuple[int, str, str]
Play = Callable[..., Outcome]
KEPT = frozenset({"kind", "way", "topic", "mark", "rank", "by", "severity", "cause", "hash", "prev"})
"""What chooses how an entry is told; another text there makes it an unknown entry, which is tried as well."""


def bent(held: Any, text: str, keys: frozenset[str], at: str = "") -> Any:
    """Each text of an event in the place of which nothing hangs replaced."""
    if isinstance(held, dict):
        return {key: bent(value, text, keys, key) for key, value in held.items()}
    if isinstance(held, list):
        return [bent(value, text, keys, at) for value in held]
    return text if isinstance(held, str) and at not in keys else held


def hostile_log(path: Path, text: str, *, keys: bool = False) -> Path:
    """keys: names of fields too, of a few entries, and kinds."""
    kept = KEPT | {"slot", "gate", "item", "name", "act", "stage", "finding"}
    lines: Lines = events()
    for number, line in enumerate(lines):
        if line["event"]["kind"] == "sealed":
            continue
        line["event"] = bent(line["event"], text, kept if number % 2 else KEPT)
    if keys:
        lines[5]["event"] = {"kind": text, text: text, "a": {text: [text]}}
        lines[6]["event"] = {"kind": "noted", "text": text, "more": text}
        lines[7]["boot"] = text
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(log_bytes(lines))
    return path


class _Shape(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: set[tuple[str, ...]] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add((tag, *(name for name, _ in attrs)))


def shape(page: str) -> set[tuple[str, ...]]:
    parser = _Shape()
    parser.feed(page)
    return parser.seen


@pytest.mark.parametrize("name", list(TEXTS))
def test_a_hostile_log_is_told_and_reported_as_text(loopwright: Play, tmp_path: Path, name: str) -> None:
    text = TEXTS[name]
    log = hostile_log(tmp_path / "log.jsonl", text, keys=True)
    for command in ("verify", "review"):
        code, out, err = loopwright(command, log)
        assert code in (1, 2)  # a half pair is no JSON; the rest is no seal of ours
        assert not steering(out + err)
        assert "Traceback" not in out + err
        assert command == "verify" or code == 2 or MARK in out or name == "zero_width"
    as_json = loopwright("verify", log, "--json")[1]
    assert not steering(as_json)
    assert name == "surrogate" or isinstance(json.loads(as_json)["ok"], bool)
    page = tmp_path / "page.html"
    loopwright("report", log, "-o", page)
    if name == "surrogate":
        return
    check_page(page.read_text())
    assert MARK in page.read_text() or name == "zero_width"
    plain = tmp_path / "plain.html"
    loopwright("report", hostile_log(tmp_path / "plain.jsonl", "plain words"), "-o", plain)
    assert shape(page.read_text()) <= shape(plain.read_text())


def test_many_hostile_logs_are_counted_and_learned_from_without_steering(
    loopwright: Play, tmp_path: Path
) -> None:
    for number, text in enumerate(TEXTS.values()):
        log = hostile_log(tmp_path / "sessions" / f"s-{number:02}" / "log.jsonl", text)
        lines = [json.loads(line) for line in log.read_bytes().splitlines()]
        lines[0]["event"]["simulated"] = False
        log.write_bytes(log_bytes(lines))
    for arguments in (["statistics"], ["learn", "hinged", "--dry"], ["statistics", "--json"]):
        code, out, err = loopwright(*arguments, "--folder", tmp_path)
        assert code in (0, 1, 2)  # 2: no bench's key lies there to tell whose logs they are
        assert not steering(out + err)
        assert len(out + err) > 100
        if "--json" in arguments:
            assert isinstance(json.loads(out), dict)


def test_a_strangers_session_is_not_taken_up_and_its_id_goes_nowhere(
    loopwright: Play, tmp_path: Path
) -> None:
    for text in (TEXTS["escape"], TEXTS["nul"], "../../outside", "/etc/passwd", "x" * 300):
        log = hostile_log(tmp_path / "sessions" / "one" / "log.jsonl", text)
        lines = [json.loads(line) for line in log.read_bytes().splitlines()]
        lines[0]["event"]["session"] = text
        log.write_bytes(log_bytes(lines))
        before = log.read_bytes()
        code, out, err = loopwright("talk", "--typed", "--folder", tmp_path, "--resume", "one")
        assert (code, out) == (2, "")
        assert not steering(err)
        assert log.read_bytes() == before
        assert {path.name for path in (tmp_path / "sessions").iterdir()} == {"one"}
        shutil.rmtree(tmp_path / "sessions" / "one")
