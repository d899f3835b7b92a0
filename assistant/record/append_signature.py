"""The bench's signature on the last line of an append: on which session, how many lines, and all that they hold.

A chain can be written anew by whoever can write the file. With this nobody can add to it, change it or put
another in its stead who has not the bench's key; only a cut at the end of an append leaves no trace in the file,
and that is what the mark in `heads` is for. The same signature stands in both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from assistant.record.chain import EntryRefused, Line, digest, encode, fields, with_signature
from assistant.record.hand_over import KnownKeys


def sign_append(key: Ed25519PrivateKey, session: str, count: int, bare: str) -> str:
    """As hex. count: lines with the last of the append. bare: SHA-256 of that line without its `sig`.

    That line holds the digest of the line before, and so stands for all lines.
    """
    return key.sign(_signed_bytes(session, count, bare)).hex()


def signed_by(keys: Iterable[str], session: str, count: int, bare: str, signature: str) -> str:
    """Which of the public keys, as hex, has signed it; '' for none."""
    signed = _signed_bytes(session, count, bare)
    for key in keys:
        try:
            Ed25519PublicKey.from_public_bytes(bytes.fromhex(key)).verify(bytes.fromhex(signature), signed)
        except (InvalidSignature, ValueError):
            continue
        return key
    return ""


def are_signed(opening: Line) -> bool:
    """Whether the opening line says so; its own mark vouches for that."""
    return opening.event.get("signed_appends") is True


def session_of(opening: Line) -> str:
    return str(opening.event.get("session", ""))


def bare_digest(line: Line) -> str:
    """SHA-256 of the line without its `sig`; '' for one that is not written as the program writes it."""
    try:
        raw = encode(fields(line.n, line.prev, line.left, line.stamp, line.event))
        whole = with_signature(raw, line.sig) if line.sig else raw
    except (EntryRefused, ValueError):
        return ""
    return digest(raw) if digest(whole) == line.digest else ""


def signature_fault(line: Line, session: str, keys: KnownKeys, likeliest: str = "") -> tuple[str, str]:
    """Why the line is not the end of an append of the bench, as the end of a sentence, or ''; and the key found."""
    if not line.sig:
        return "does not carry the bench's signature, and every entry of this session must", ""
    bare = bare_digest(line)
    if not bare:
        return "is not written as the program writes it", ""
    tried = (likeliest, *keys.all()) if likeliest else keys.all()
    key = signed_by(tried, session, line.n + 1, bare, line.sig)
    if not key:
        return "does not carry the bench's signature: it, or a line before it, is from another hand", ""
    return keys.fault(key, line.wall), key


_SIGNATURE = 128  # hex digits


class Signatures:
    """Looks at the signatures of the appends that go by, up to the seal; keeps the first fault.

    One signature stands for all lines before it, since they are chained; so the last is looked at, and each only to
    name the first bad line where that one does not hold. Where keys were handed over each is: an earlier key must
    not have signed after its hand-over, whatever followed.
    """

    def __init__(self, keys: KnownKeys, *, each: bool = False) -> None:
        self.keys, self.entries = keys, 0
        self.each = each or bool(keys.hand_overs)
        self.fault: tuple[int, str] | None = None  # line from 1, and the end of a sentence
        self._last: Line | None = None
        self._session = ""

    def over(self, lines: Iterable[Line]) -> Iterator[Line]:
        """The same lines."""
        key, look = "", False
        for line in lines:
            if line.n == 0:
                self._session, look = session_of(line), are_signed(line)
            if look and not line.left:
                if line.kind == "sealed":  # a signature itself, and what follows is a supervisor's
                    look = False
                else:
                    self.entries += 1
                    self._last = line
                    if self.each or len(line.sig) != _SIGNATURE:
                        fault, key = signature_fault(line, self._session, self.keys, key)
                        if fault:
                            self.fault, look = (line.n + 1, fault), False
            yield line

    def settle(self, again: Callable[[], Iterable[Line]]) -> None:
        """After the lines have gone by, up to the end or to the first that is none.

        again: the same lines once more, looked at only where the last signature does not hold.
        """
        if self.each or self.fault is not None or self._last is None:
            return
        fault, _ = signature_fault(self._last, self._session, self.keys)
        if not fault:
            return
        whole = Signatures(self.keys, each=True)
        last = self._last.n
        for line in whole.over(again()):
            if line.n == last:  # what follows may be no line at all
                break
        self.fault = whole.fault or (last + 1, fault)


def _signed_bytes(session: str, count: int, bare: str) -> bytes:
    return b"loopwright append 1\0" + "\0".join((session, str(count), bare)).encode("utf-8", "surrogatepass")
