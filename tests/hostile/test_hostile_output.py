"""The last place before the terminal: whatever is written to the standard streams, by any way."""

from __future__ import annotations

import io
import json
import sys

import click
import pytest
from hostile_texts import MARK, TEXTS, steering

from assistant.record.plain import harmless, harmless_json, plain, steering_sign
from tui.harmless import harmless_streams, write_over


@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
@pytest.mark.parametrize("name", list(TEXTS))
def test_no_way_of_writing_leads_past_it(monkeypatch: pytest.MonkeyPatch, name: str, encoding: str) -> None:
    text = TEXTS[name]
    streams = {
        way: io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="replace")
        for way in ("stdout", "stderr")
    }
    for way, stream in streams.items():
        monkeypatch.setattr(sys, way, stream)
    raw = text.encode("utf-8", "replace")
    with harmless_streams():
        for err in (False, True):
            click.echo(text, err=err)
            click.echo(raw, err=err)
        for stream in (sys.stdout, sys.stderr):
            print(text, file=stream)
            stream.writelines([text, "\n"])
            stream.buffer.write(raw[:1])
            stream.buffer.write(raw[1:])
            stream.flush()
    for way, stream in streams.items():
        assert getattr(sys, way) is stream
        stream.flush()
        printed = stream.buffer.getvalue().decode(encoding)
        assert not steering(printed)
        assert printed.count(MARK) >= 5 or name == "zero_width"


def test_a_sign_that_comes_in_two_writes_is_whole() -> None:
    held = io.StringIO()
    streams, sys.stdout = sys.stdout, held
    try:
        with harmless_streams():
            for byte in "°C 漢".encode():
                sys.stdout.buffer.write(bytes([byte]))
    finally:
        sys.stdout = streams
    assert held.getvalue() == "°C 漢"


def test_a_meter_of_our_own_may_go_back_and_what_it_shows_may_not(monkeypatch: pytest.MonkeyPatch) -> None:
    held = io.StringIO()
    monkeypatch.setattr(sys, "stderr", held)
    with harmless_streams():
        write_over("1.0 MB", last=False)
        write_over("2.0 MB\x1b[2J", last=True)
    assert held.getvalue() == "\r1.0 MB\r2.0 MB\\x1b[2J\n"


@pytest.mark.parametrize("name", list(TEXTS))
def test_each_way_of_making_plain_leaves_nothing_that_steers(name: str) -> None:
    text = TEXTS[name]
    assert not steering(plain(text))
    assert "\n" not in plain(text)
    assert not steering(harmless(text))
    assert harmless(text).count("\n") == text.count("\n")
    assert bool(steering_sign(text)) == (plain(text) != text)
    printed = harmless_json(json.dumps({text: text}, ensure_ascii=False))
    assert not steering(printed)
    assert json.loads(printed) == {text: text}
