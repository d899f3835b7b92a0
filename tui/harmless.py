"""Standard output and error, with whatever a terminal would obey written out: the last place before it.

Every command prints through here, so that a value that was forgotten elsewhere still steers nothing. The bench
screen does not: Textual writes to the terminal itself, and `tui/plain.py` is what guards it.
"""

from __future__ import annotations

import codecs
import io
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import IO, Any

from assistant.record.plain import harmless


class HarmlessStream:
    """A text stream in front of another. Its `buffer` leads through it too, so that nothing writes past it."""

    def __init__(self, stream: IO[str]) -> None:
        self.behind = stream
        self.buffer = _Bytes(self)

    def write(self, text: str) -> int:
        self.behind.write(harmless(text))
        return len(text)

    def writelines(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.behind, name)


class _Bytes(io.RawIOBase):
    """Takes UTF-8, as click writes shell completions."""

    def __init__(self, stream: HarmlessStream) -> None:
        super().__init__()
        self._stream = stream
        self._decode = codecs.getincrementaldecoder("utf-8")(
            "replace"
        ).decode  # a sign may come in two writes

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        self._stream.write(self._decode(bytes(data)))
        return len(data)


def write_over(text: str, *, last: bool) -> None:
    """A line of our own on standard error, in place of the one that stands there: for a meter on a terminal."""
    err = sys.stderr
    stream = err.behind if isinstance(err, HarmlessStream) else err
    stream.write("\r" + harmless(text) + ("\n" if last else ""))
    stream.flush()


@contextmanager
def harmless_streams() -> Iterator[None]:
    """Both streams behind a `HarmlessStream`; as they were afterwards."""
    out, err = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = HarmlessStream(out), HarmlessStream(err)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = out, err
