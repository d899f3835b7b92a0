"""One line of the log: its bytes, its digest, and what makes it the next line of a chain.

A line is the canonical JSON (RFC 8785) of

    {"v", "n", "t", "wall", "mono", "boot", "left", "prev", "event"}, and "sig" on the last of an append

n: line number from 0. t: session seconds. wall: ISO 8601 with offset. mono: monotonic seconds of the
boot named in `boot`. left: lines of the same append still to follow, so that half an append is known
for what it is. prev: SHA-256 of the line before, over the bytes as written without the newline;
64 zeros on the first. The event is a flat JSON object with a `kind`. sig: the bench's signature, see
`append_signature`; not in logs from before appends were signed, nor on a seal, which is a signature itself.

People and editors count lines from 1, and so do the sentences of the errors here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

import msgspec
import rfc8785

from assistant.record.canonical import canonical
from assistant.record.stamp import Stamp

FORMAT = 1
FIRST_PREV = "0" * 64
LONGEST_LINE = 1_000_000  # bytes; the longest of ours, the recipe with its curve, is about a twentieth
_SIGNED = 137  # bytes that a signature adds to a line
LARGEST_LOG = 200_000_000  # bytes; three days of talk are about a tenth of it


class RecordError(Exception):
    """Base of all trouble with the record; str() is one sentence for people."""


class EntryRefused(RecordError):  # noqa: N818 - says what happened
    """The event cannot be written as it is; nothing was written."""


class BadLog(RecordError):  # noqa: N818 - says what happened
    """The file is not what was written. `line_no`: first bad line, from 1; 0 if the whole file is meant."""

    def __init__(self, line_no: int, sentence: str) -> None:
        super().__init__(sentence)
        self.line_no = line_no


if TYPE_CHECKING:
    _Computed = str
else:

    class _Computed:
        """The type of what no JSON can give: a line that brings a value for it is refused."""


class Line(msgspec.Struct, forbid_unknown_fields=True, gc=False):
    """One whole line as read. Its fields are checked while its JSON is parsed, 50,000 times on a resume.

    t: session seconds. mono: monotonic seconds. digest: of its own bytes; not in the JSON.
    """

    v: int
    n: int
    t: float
    wall: str
    mono: float
    boot: str
    left: int
    prev: str
    event: dict[str, Any]
    digest: _Computed = ""  # type: ignore[assignment, unused-ignore]
    sig: str = ""

    @property
    def stamp(self) -> Stamp:
        return Stamp(self.t, self.wall, self.mono, self.boot)

    @property
    def kind(self) -> str:
        return str(self.event["kind"])


def digest(line: bytes) -> str:
    """SHA-256 of a line's bytes without its newline, 64 hex digits."""
    return hashlib.sha256(line).hexdigest()


def fields(n: int, prev: str, left: int, stamp: Stamp, event: Mapping[str, Any]) -> dict[str, Any]:
    """The object a line is the canonical JSON of."""
    return {
        "v": FORMAT,
        "n": n,
        "t": stamp.t_s,
        "wall": stamp.wall,
        "mono": stamp.mono_s,
        "boot": stamp.boot,
        "left": left,
        "prev": prev,
        "event": dict(event),
    }


def encode(line: Mapping[str, Any]) -> bytes:
    """Canonical bytes without newline.

    Raises: EntryRefused for what canonical JSON cannot hold (NaN, whole numbers past 2**53, half a
        surrogate pair, keys that are no words) and for lines past LONGEST_LINE.
    """
    try:
        raw = canonical(dict(line))
    except (rfc8785.CanonicalizationError, RecursionError) as error:
        kind = line.get("event", {}).get("kind", "?")
        raise EntryRefused(f"The entry '{kind}' cannot be recorded: {error}; nothing was written.") from error
    if len(raw) > LONGEST_LINE - _SIGNED:
        raise EntryRefused(
            f"The entry '{line['event'].get('kind', '?')}' is {len(raw)} bytes long and the record takes "
            f"{LONGEST_LINE - _SIGNED} at most; nothing was written."
        )
    return raw


def with_signature(raw: bytes, signature: str) -> bytes:
    """The canonical bytes of the same line with its `sig`, from those without: keys stand in their order."""
    at = raw.rindex(b',"t":')  # behind the event, and no text holds a quote as it is
    return b'%b,"sig":"%b"%b' % (raw[:at], signature.encode("ascii"), raw[at:])


_parse = msgspec.json.Decoder(Line).decode
_sha256, _wall_time = hashlib.sha256, datetime.fromisoformat


def decode(raw: bytes, line_no: int) -> Line:
    """A line from its bytes, without looking at its neighbours. `line_no` from 1, for the sentence.

    Raises: BadLog.
    """
    try:
        line = _parse(raw)
        zoned = _wall_time(line.wall).tzinfo is not None
    except (ValueError, RecursionError) as error:  # msgspec's own errors are ValueErrors
        raise BadLog(line_no, _why_no_line(raw, line_no)) from error
    if (
        line.v != FORMAT
        or line.n < 0
        or line.left < 0
        or type(line.event.get("kind")) is not str
        or not zoned
    ):
        raise BadLog(line_no, _why_no_line(raw, line_no))
    line.digest = _sha256(raw).hexdigest()
    return line


def _why_no_line(raw: bytes, line_no: int) -> str:
    """The sentence for bytes that are not the JSON of a line: slowly, since it is wanted once."""
    try:
        data = msgspec.json.decode(raw)
    except (ValueError, RecursionError) as error:
        return f"Line {line_no} is not a whole JSON object ({error})."
    if not isinstance(data, dict) or data.keys() - {"sig"} != set(Line.__struct_fields__) - {"digest", "sig"}:
        return f"Line {line_no} does not have the fields of a log line."
    if data["v"] != FORMAT:
        return f"Line {line_no} is of log format {data['v']!r:.20}; this program reads format {FORMAT}."
    return f"Line {line_no}: a field does not hold what belongs there."


def number_fault(line: Line, expected: int) -> str:
    """What a line that carries another number than the expected one tells, as the end of a sentence."""
    what = "lines are missing" if line.n > expected else "lines are repeated, moved or put in"
    return f"carries the number {line.n} where {expected} belongs: {what}"


def order_fault(before: Line | None, line: Line) -> str:
    """Why `line`, rightly numbered and linked, still cannot follow `before`; '' if it can."""
    opens = line.event["kind"] == "opened"
    if before is None:
        return "" if opens else "is not an opening line, with which every log begins"
    if opens:
        return "opens a session in the middle of one"
    if line.t < before.t:
        return "is earlier in the session than the line before it"
    if before.left and line.left != before.left - 1:
        return "does not belong to the entries written together before it"
    return ""
