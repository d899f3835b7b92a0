"""A session's log as a stranger could have made it: real lines, some of them bent, linked anew; read in every way."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from at_the_press import recorded
from hostile_texts import TEXTS, check_sentence
from page_check import check_page

from assistant.bench.catalogue import Catalogue, load_catalogue
from assistant.record.chain import BadLog
from assistant.record.index import rows
from assistant.record.read import stream_log
from assistant.review.deviations import departures
from assistant.review.over_sessions import over_sessions
from assistant.review.past_runs import run_of
from assistant.review.report import report_html
from assistant.review.statistics import RULES
from assistant.review.story import story_of
from assistant.review.verify import verify
from assistant.review.words import retell

Lines = list[dict[str, Any]]
LONGEST_PAGE = 3_000_000

ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1e308, -1e308, 1e-320, 2**53, 1e9, -300.0, [], {}, [[]], [None] * 5, {"a": {}}, "", "voice",
    [1e308] * 5, [[1e308] * 5], [[0.0, -5.0, -5.0, -5.0, -5.0]], [0, "x", 1], "9999-12-31T23:59:59+14:00", "0001-01-01T00:00:00+00:00",
    {"values": 3}, {"values": {"dwell": []}}, {"said": 1}, "opened", "closed", "sealed", 3.5, "\n", *TEXTS.values(),
)  # fmt: skip


@cache
def _whole() -> tuple[dict[str, Any], ...]:
    """Of a typed job two lines of each kind, which is more than any reader tells apart."""
    seen: dict[str, int] = {}
    kept = []
    for raw, kind, _ in recorded("demo"):
        line = json.loads(raw)
        told = f"{kind} {line['event'].get('topic') or line['event'].get('way') or line['event'].get('mark') or ''}"
        seen[told] = seen.get(told, 0) + 1
        if seen[told] <= 2:
            kept.append(line)
    return tuple(kept)


def events() -> Lines:
    """Lines as they were written, theirs to change."""
    return copy.deepcopy(list(_whole()))


def log_bytes(lines: Sequence[dict[str, Any]]) -> bytes:
    """Numbered and linked anew, as anybody can who has no key."""
    out, prev = bytearray(), "0" * 64
    for n, line in enumerate(lines):
        text = json.dumps(line | {"n": n, "prev": prev, "left": 0}, sort_keys=True, separators=(",", ":"))
        prev = hashlib.sha256(text.encode()).hexdigest()
        out += text.encode() + b"\n"
    return bytes(out)


def mutated(choices: bytes) -> Lines:
    """Lines bent as `choices` say, three bytes for each bend: which line, which value in it, what in its place."""
    lines = events()
    for at in range(0, len(choices) - 2, 3):
        where, which, what = choices[at : at + 3]
        line = lines[where % len(lines)]
        if what == 255:  # the line twice
            lines.insert(where % len(lines), copy.deepcopy(line))
            continue
        places = list(_places(line["event"]))
        if which % 16 == 0:
            line[("t", "wall", "mono", "boot")[which // 16 % 4]] = ODD[what % len(ODD)]
        elif places:
            holder, key = places[which % len(places)]
            if what == 254:
                del holder[key]
            else:
                holder[key] = copy.deepcopy(ODD[what % len(ODD)])
    return lines


def _places(held: Any) -> Any:
    """Everywhere in an event that something stands."""
    keys = (
        list(held) if isinstance(held, dict) else range(min(len(held), 8)) if isinstance(held, list) else ()
    )
    for key in keys:
        yield held, key
        yield from _places(held[key])


@cache
def _catalogue() -> Catalogue:
    return load_catalogue(planning=True)


def read_in_every_way(path: Path) -> None:
    """As verify, review, report, statistics, learn and the index read it. Raises only what is a fault."""
    verdict = verify(path)
    lines = []
    try:
        lines.extend(stream_log(path))
    except BadLog as bad:
        check_sentence(bad)
    for row in retell(lines):
        assert len(row) < 1_100_000
    assert all(found.sentence for found in departures(lines))
    page = report_html(lines, verdict)
    assert len(page) < LONGEST_PAGE + 3 * path.stat().st_size, f"a page of {len(page)} signs"
    check_page(page)
    story = story_of(lines)
    over_sessions([story], tuple(RULES))
    run_of(story, _catalogue(), lines)
    rows(path.with_name("of_log.sqlite"), {"one": path})
