"""Fetching from an address that was given, against a server on this machine: resumed, checked, bounded."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from speech import model_fetch
from speech.errors import SpeechError
from speech.model_fetch import fetch
from speech.models import cache_folder

CONTENT = bytes(range(256)) * 4000
SHA256 = hashlib.sha256(CONTENT).hexdigest()


@dataclass
class Server:
    """What it is to do, and what it was asked. Breaks off after so many bytes of each answer."""

    address: str = ""
    breaks_off_after: int | None = None
    takes_ranges: bool = True
    tells_length: bool = True
    says: tuple[int, str] = (200, "")  # another status, and where to go instead
    ranges: list[str | None] = field(default_factory=list)
    content: bytes = CONTENT
    starts_at: int | None = None


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Server]:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    for name in ("http_proxy", "https_proxy", "all_proxy"):
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.upper(), raising=False)
    state = Server()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked = self.headers.get("Range")
            state.ranges.append(asked)
            status, elsewhere = state.says
            if status != 200 and self.path == "/model.zip":
                self.send_response(status)
                if elsewhere:
                    self.send_header("Location", elsewhere)
                self.send_header("Content-Length", "0")
                self.end_headers()
                return
            start = int(asked.removeprefix("bytes=").rstrip("-")) if asked and state.takes_ranges else 0
            if start and start >= len(state.content):
                self.send_error(416)
                return
            body = state.content[start:]
            self.send_response(206 if start else 200)
            if start:
                told = start if state.starts_at is None else state.starts_at
                self.send_header(
                    "Content-Range", f"bytes {told}-{len(state.content) - 1}/{len(state.content)}"
                )
            if state.tells_length:
                self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body[: state.breaks_off_after])

        def log_message(self, *_: object) -> None:
            """Nothing."""

    class Quiet(ThreadingHTTPServer):
        def handle_error(self, *_: object) -> None:
            """Whoever asked went away: wanted."""

    with Quiet(("127.0.0.1", 0), Handler) as running:
        threading.Thread(target=running.serve_forever, args=(0.02,), daemon=True).start()
        state.address = f"http://127.0.0.1:{running.server_address[1]}/model.zip"
        yield state
        running.shutdown()


def silent(_have: int, _whole: int | None) -> None:
    """Nobody looks."""


def kept() -> list[int]:
    return [p.stat().st_size for p in (cache_folder().parent / "fetched").glob("*")]


@pytest.mark.parametrize("tells_length", [True, False])
def test_what_is_asked_for_comes_whole(server: Server, tells_length: bool) -> None:
    server.tells_length = tells_length
    told: list[tuple[int, int | None]] = []
    file = fetch(server.address, SHA256, lambda have, whole: told.append((have, whole)))
    assert file.read_bytes() == CONTENT
    assert told[-1] == (len(CONTENT), len(CONTENT) if tells_length else None)
    assert fetch(server.address, SHA256, silent) == file  # it is here: nobody is asked again
    assert len(server.ranges) == 1


def test_it_goes_on_where_it_was_cut_off(server: Server) -> None:
    server.breaks_off_after = 300_000
    for part in (300_000, 600_000, 900_000):
        with pytest.raises(SpeechError, match=r"0\.\d MB are kept: the same command goes on"):
            fetch(server.address, SHA256, silent)
        assert kept() == [part]
    assert fetch(server.address, SHA256, silent).read_bytes() == CONTENT
    assert server.ranges == [None, "bytes=300000-", "bytes=600000-", "bytes=900000-"]


def test_a_server_that_cannot_go_on_gives_all_of_it_again(server: Server) -> None:
    server.breaks_off_after = 300_000
    with pytest.raises(SpeechError):
        fetch(server.address, SHA256, silent)
    server.takes_ranges, server.breaks_off_after = False, None
    assert fetch(server.address, SHA256, silent).read_bytes() == CONTENT


def test_a_server_that_goes_on_somewhere_else_is_not_believed(server: Server) -> None:
    server.breaks_off_after = 300_000
    with pytest.raises(SpeechError):
        fetch(server.address, SHA256, silent)
    server.starts_at = 299_999
    with pytest.raises(SpeechError, match="goes on at another place"):
        fetch(server.address, SHA256, silent)
    assert kept() == [300_000]


def test_other_bytes_are_thrown_away_also_when_they_follow_right_ones(server: Server) -> None:
    server.breaks_off_after = 300_000
    with pytest.raises(SpeechError):
        fetch(server.address, SHA256, silent)
    server.breaks_off_after, server.content = None, CONTENT[:300_000] + bytes(724_000)
    with pytest.raises(SpeechError, match="thrown away"):
        fetch(server.address, SHA256, silent)
    assert kept() == []
    server.content = CONTENT + b"more"
    with pytest.raises(SpeechError, match="thrown away"):
        fetch(server.address, SHA256, silent)
    server.content = b""
    with pytest.raises(SpeechError, match="thrown away"):
        fetch(server.address, SHA256, silent)


def test_a_file_that_is_whole_but_wrong_ends_at_the_digest(server: Server) -> None:
    place = cache_folder().parent / "fetched"
    place.mkdir(parents=True)
    (place / f"{SHA256}.part").write_bytes(bytes(len(CONTENT)))  # the server has no more: 416
    with pytest.raises(SpeechError, match="thrown away"):
        fetch(server.address, SHA256, silent)
    assert kept() == []


@pytest.mark.parametrize(
    ("says", "why"),
    [
        ((404, ""), "refuses it .404"),
        ((503, ""), "refuses it .503"),
        ((302, "file:///etc/hostname"), "failed|refuses"),
        ((302, "ftp://127.0.0.1/x"), "failed|refuses"),
        ((302, "/model.zip"), "refuses it"),  # in a circle
    ],
)
def test_a_refusal_or_a_way_to_elsewhere_is_one_sentence(
    server: Server, says: tuple[int, str], why: str
) -> None:
    server.says = says
    with pytest.raises(SpeechError, match=why) as told:
        fetch(server.address, SHA256, silent)
    assert "\n" not in str(told.value)
    assert kept() == []


def test_it_may_be_sent_to_another_page(server: Server) -> None:
    server.says = (302, "/other.zip")
    assert fetch(server.address, SHA256, silent).read_bytes() == CONTENT


def test_what_is_larger_than_a_model_or_than_the_disk_is_not_begun(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(model_fetch, "SPARE_BYTES", 10**18)
        with pytest.raises(SpeechError, match="make room"):
            fetch(server.address, SHA256, silent)
    monkeypatch.setattr(model_fetch, "LARGEST_MODEL_BYTES", 1000)
    for server.tells_length in (True, False):
        with pytest.raises(SpeechError, match="larger than a model can be"):
            fetch(server.address, SHA256, silent)


def test_a_server_that_falls_silent_is_left(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(model_fetch, "PATIENCE_S", 0.2)
    hangs = threading.Event()
    monkeypatch.setattr(BaseHTTPRequestHandler, "end_headers", lambda _: hangs.wait(2.0))
    with pytest.raises(SpeechError, match=r"connection to 127\.0\.0\.1 failed"):
        fetch(server.address, SHA256, silent)
    hangs.set()


@pytest.mark.parametrize(
    "url", ["", "file:///etc/hostname", "ftp://x/y", "model.zip", "http://", "http:///x"]
)
def test_what_is_no_address_is_one_sentence(url: str) -> None:
    with pytest.raises(SpeechError, match="no address of http"):
        fetch(url, SHA256, silent)
