"""The seal: the bench's signature on a closed log, and a code short enough to say and to write on the belt.

The signature is over the whole sealing line, which carries the digest of the line before it, the number
of lines, the time and whether the press was a simulated one. What is signed begins with the kind of
thing that it is, so that a signature on a simulated log can never be shown as one on a joint.

A supervisor may seal the closed log once more, with a key of their own and their name: a line after the
bench's seal, under which lie all lines before it, that seal among them.

The code is made from the signature by a function that is slow on purpose (scrypt): somebody who rewrites
a log with a key of their own cannot try codes until one fits.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from assistant.record.canonical import canonical
from assistant.record.chain import EntryRefused, Line, RecordError, digest, encode, fields
from assistant.record.keys import public_hex
from assistant.record.log import LogWriter
from assistant.record.plain import plain
from assistant.record.read import cannot, check_is_log_file, lines_with_lengths
from assistant.record.stamp import Stamp, SystemClock

By = Literal["bench", "supervisor"]
_DIGITS = (
    12  # about 40 bits; digits because they are said, heard and written without mistaking one for another
)


LONGEST_NAME = 80


class NotSealed(RecordError):  # noqa: N818 - says what happened
    """The log cannot be sealed by a supervisor as it is; nothing was written."""


def seal(writer: LogWriter, key: Ed25519PrivateKey, stamp: Stamp, *, simulated: bool) -> dict[str, Any]:
    """Signs the log as it stands and appends the sealing line; returns its event.

    Call it after the closing line. Raises: RecordFailed as `LogWriter.append`.
    """
    event = seal_event(writer.count, writer.head, stamp, key, simulated=simulated)
    writer.append([event], stamp)
    return event


def counter_seal(path: Path, key: Ed25519PrivateKey, name: str, check: Callable[[], None]) -> Line:
    """A supervisor's seal on a closed and sealed log, appended to it; returns its line.

    name: as told; the key is what tells who it was. check: verifies the file, called while nobody else can
    write to it; whatever it raises, nothing is sealed.
    Raises: NotSealed, and as `LogWriter.open_existing` and `append`.
    """
    if not name.strip() or not name.isprintable() or len(name) > LONGEST_NAME:
        raise NotSealed(
            f"A name is plain words, at most {LONGEST_NAME} characters; {plain(name)[:40]!r} is none."
        )
    _check_finished(path, public_hex(key.public_key()), name)
    with LogWriter.open_existing(path) as writer:
        stamp = SystemClock(writer.lines[-1].stamp).now()
        check()
        simulated, events = bool(writer.lines[0].event["simulated"]), list[dict[str, Any]]()
        count, head = writer.count, writer.head
        if writer.torn:  # of a seal that was cut short; told together with this one, never without it
            events.append({"kind": "torn_tail", "cut_bytes": writer.torn.cut_bytes})
            count, head = count + 1, digest(encode(fields(count, head, 1, stamp, events[0])))
        event = seal_event(count, head, stamp, key, simulated=simulated, by="supervisor", name=name)
        writer.append([*events, event], stamp)
        return Line(1, writer.count - 1, *stamp, 0, event["head"], event, writer.head)


def _check_finished(path: Path, key_hex: str, name: str) -> None:
    """Reads only: an unfinished log is not touched. Raises: NotSealed, BadLog."""
    check_is_log_file(path)
    closed, seals = False, []
    try:
        with path.open("rb") as file:
            for line, _ in lines_with_lengths(file, stop_at_torn=True):
                closed = closed or line.kind == "closed"
                if line.kind == "sealed":
                    seals.append(line)
    except OSError as error:
        raise NotSealed(cannot("read", path, error)) from error
    bench = next((line for line in seals if line.event.get("by") == "bench"), None)
    if not closed:
        raise NotSealed(f"The session {plain(path)} is not finished; end it first, then seal it.")
    if bench is None:
        raise NotSealed(
            f"The session {plain(path)} was closed without the bench's seal, and yours would stand on nothing; "
            "keep the file as it is, and note why."
        )
    for line in seals:
        if line.event.get("public_key") == key_hex:
            whose = "the bench's own" if line is bench else f"the one of line {line.n + 1}"
            raise NotSealed(f"The session {plain(path)} is sealed with this key already: it is {whose}.")
        if line is not bench and line.event.get("name") == name:
            raise NotSealed(
                f"{plain(name)} has sealed the session {plain(path)} already, in line {line.n + 1}."
            )


def seal_event(
    count: int,
    head: str,
    stamp: Stamp,
    key: Ed25519PrivateKey,
    *,
    simulated: bool,
    by: By = "bench",
    name: str = "",
) -> dict[str, Any]:
    """The sealing event for a log of `count` lines with the digest `head`; must be appended with the same stamp.

    name: of the supervisor; a seal of the bench has none.
    """
    event: dict[str, Any] = {
        "kind": "sealed",
        "by": by,
        "head": head,
        "count": count,
        "simulated": simulated,
        "public_key": public_hex(key.public_key()),
        "signature": "",
        "code": "",
    }
    if by == "supervisor":
        event["name"] = name
    signature = key.sign(_signed_bytes(fields(count, head, 0, stamp, event)))
    return event | {"signature": signature.hex(), "code": seal_code(signature)}


def seal_code(signature: bytes) -> str:
    """Twelve digits in fours: '4821 9305 5271'."""
    raw = Scrypt(salt=b"loopwright seal code 1", length=16, n=2**14, r=8, p=1).derive(signature)
    digits = f"{int.from_bytes(raw) % 10**_DIGITS:0{_DIGITS}d}"
    return " ".join(digits[at : at + 4] for at in range(0, _DIGITS, 4))


def same_code(one: str, other: str) -> bool:
    """Whether two codes are the same, however their digits are grouped."""
    return _digits(one) == _digits(other) and len(_digits(one)) == _DIGITS


def _digits(code: str) -> str:
    return "".join(c for c in code if c in "0123456789")


def seal_fault(line: Line) -> str:
    """Why the sealing line is no seal, as the end of a sentence; '' if it is one.

    Says nothing on whose key it is.
    """
    event = line.event
    try:
        key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(event["public_key"]))
        signature = bytes.fromhex(event["signature"])
        unsigned = event | {"signature": "", "code": ""}
        # Only the one canonical spelling of the line is the one that was signed.
        if digest(encode(fields(line.n, line.prev, line.left, line.stamp, event))) != line.digest:
            return "is not written as the program writes it"
        if event["by"] not in ("bench", "supervisor"):
            return "does not say whose it is"
        if (event["by"] == "supervisor") is not bool(event.get("name")):
            return "names nobody, or somebody who did not make it"
        if event["count"] != line.n or event["head"] != line.prev or type(event["simulated"]) is not bool:
            return "seals another log: its count or head digest is not that of the lines before it"
        key.verify(signature, _signed_bytes(fields(line.n, line.prev, line.left, line.stamp, unsigned)))
    except (KeyError, TypeError, ValueError, EntryRefused):
        return "lacks what a seal must have"
    except InvalidSignature:
        return "carries a signature that does not fit: the log or the seal was changed after sealing"
    if signature.hex() != event["signature"] or public_hex(key) != event["public_key"]:
        return "is not written as the program writes it"
    if event["code"] != seal_code(signature):
        return "carries a seal code that is not the one of its signature"
    return ""


def _signed_bytes(line: dict[str, Any]) -> bytes:
    what = b"SIMULATED session" if line["event"]["simulated"] else b"joint"
    body = canonical(line)
    return b"loopwright seal 1\0" + what + b"\0" + str(len(body)).encode() + b"\0" + body
