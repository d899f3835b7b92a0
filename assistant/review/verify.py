"""Is this log as it was written, and what vouches for that?

The chain vouches for every line by the one after it; the closing line for the number of lines; the seal
for all of it, if the key is known to be the bench's or the code is the one that was written down
elsewhere; a supervisor's counter-seal for what stood before it, that seal among it. What nothing vouches for is said as plainly.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.record.chain import BadLog, Line
from assistant.record.read import stream_log
from assistant.review.found import Found, check_counter_seals, check_opening, check_seals, walk
from assistant.review.own import Home, check_own

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    from assistant.record.append_signature import Signatures
    from assistant.record.hand_over import KnownKeys


@dataclass(frozen=True)
class CounterSeal:
    """A supervisor's. name: as it was told; the key tells whose it is. wall: when, ISO 8601. line: from 1."""

    name: str
    key_fingerprint: str
    wall: str
    line: int
    code: str


@dataclass(frozen=True)
class Verdict:
    """What verifying found.

    ok: nothing is wrong; an unclosed or unsealed log can be in order too, see `vouched`.
    lines: whole lines in order. first_bad_line: from 1, None where no line is at fault.
    sentences: what is wrong, or that all is in order. vouched: what is vouched for by what.
    """

    ok: bool
    lines: int
    first_bad_line: int | None
    sentences: tuple[str, ...]
    vouched: tuple[str, ...]
    simulated: bool
    closed: bool
    sealed: bool
    head: str = ""  # digest of the last line
    code: str = ""  # seal code
    key_fingerprint: str = ""
    counter_seals: tuple[CounterSeal, ...] = ()


def verify(
    path: Path,
    public_key: Ed25519PublicKey | KnownKeys | None = None,
    *,
    code: str | None = None,
    head: str | None = None,
    supervisor_key: Ed25519PublicKey | None = None,
    home: Home | None = None,
) -> Verdict:
    """Checks a log from its first byte to its last. Never raises for what is in the file.

    public_key: the bench's, or with those that it was handed over from or to, from a source that the file's
    owner could not change; supervisor_key: likewise, of who must have sealed it too. code: the seal code
    as written down elsewhere. head: a digest of one of its lines as kept elsewhere (report, next session).
    home: where the log lies, if among a bench's records: then it must be that bench's own.
    """
    found, keys = Found(), _known(public_key)
    try:
        signed = _walk_signed(path, found, head, keys, home)
        check_opening(found, keys)
        if home is not None:
            check_own(found, home)
        check_seals(found, keys, code)
        check_counter_seals(found, supervisor_key)
    except BadLog as error:
        # line_no 0: the file as a whole is meant
        return Verdict(
            ok=False,
            lines=found.lines,
            first_bad_line=error.line_no or None,
            sentences=(str(error),),
            vouched=("Nothing vouches for a log that does not verify; keep it as it is and ask who had it.",),
            simulated=found.simulated,
            closed=found.closed_at is not None,
            sealed=False,
            head=found.head,
        )
    return _in_order(found, keys, code, supervisor_key is not None, home is not None, signed)


def _walk_signed(
    path: Path, found: Found, head: str | None, keys: KnownKeys | None, home: Home | None
) -> Signatures | None:
    """Walks the log, and looks at the signatures where a key is known. Raises: BadLog."""
    known = keys or (None if home is None else home.keys)
    if known is None:
        walk(stream_log(path), found, head)
        return None
    from assistant.record.append_signature import Signatures  # late: cryptography is slow to import

    signatures, trouble = Signatures(known), None
    try:
        walk(signatures.over(stream_log(path)), found, head)
    except BadLog as error:
        trouble = error
    signatures.settle(lambda: stream_log(path))
    if signatures.fault is not None and (trouble is None or not 0 < trouble.line_no <= signatures.fault[0]):
        check_opening(found, known)  # its mark comes first: what it says of itself may be changed
        line, fault = signatures.fault
        raise BadLog(line, f"Line {line} {fault}.")
    if trouble is not None:
        raise trouble
    return signatures


def _known(public_key: Ed25519PublicKey | KnownKeys | None) -> KnownKeys | None:
    if public_key is None:
        return None
    from assistant.record.hand_over import KnownKeys  # late: cryptography is slow to import
    from assistant.record.keys import public_hex

    if isinstance(public_key, KnownKeys):
        return public_key
    return KnownKeys(public_hex(public_key))


def _in_order(
    found: Found,
    keys: KnownKeys | None,
    code: str | None,
    supervisor_known: bool,
    at_home: bool,
    signatures: Signatures | None,
) -> Verdict:
    n, entries = found.lines, signatures.entries if signatures is not None else 0
    sentences = [f"All {n} lines are in order." if n > 1 else "The one line is in order."]
    vouched = [f"The chain: lines 1 to {n - 1} are as they were when line {n} was written."] if n > 1 else []
    if keys is not None and found.opening is not None:
        signed = (
            "was signed with the key that was given, or one that it was handed over from or to"
            if keys.hand_overs
            else "was signed with the key that was given"
        )
        vouched.append(f"The opening line {signed if found.opening.event.get('mark') else 'is not signed'}.")
    elif at_home and found.opening is not None and found.opening.event.get("mark"):
        vouched.append("The opening line was signed by the bench in whose records the log lies.")
    if signatures is not None and entries:
        vouched.append(_signed(signatures, "with that key" if keys is not None else "by that bench"))
    seal_code, key_name = "", ""
    if found.closed_at is not None:
        vouched.append(f"The closing line: there were {found.closed_at} lines with it, and none is missing.")
    else:
        vouched.append(
            "The session is not closed: nothing vouches for lines cut off the end."
            if entries
            else "The session is not closed: nothing vouches for lines cut off the end, or for the last line."
        )
    counter: tuple[CounterSeal, ...] = ()
    if found.seals:
        seal = found.seals[0]
        from assistant.record.keys import fingerprint

        seal_code, key_name = seal.event["code"], fingerprint(seal.event["public_key"])
        vouched.append(
            f"The seal: lines 1 to {seal.n + 1} are as they were when the key {key_name} signed them."
        )
        if keys is not None:
            vouched.append(_whose(keys, seal.event["public_key"]))
        if code is not None:
            vouched.append("The seal code is the one that was given.")
        if keys is None and code is None:
            vouched.append(
                "Whose key that is, nothing in the file can show: give the bench's public key, or compare the "
                f"seal code {seal_code} with the one written on the belt or told at the time."
            )
        counter = tuple(_counter_seal(line) for line in found.seals[1:])
        vouched += [_vouched_by(one) for one in counter]
        if counter and supervisor_known:
            vouched.append("The supervisor's key that was given has made a counter-seal.")
        elif counter:
            vouched.append(
                "Names are as they were told: give the supervisor's public key to know whose it is."
            )
    elif found.closed_at is not None:
        vouched.append("There is no seal: nothing shows that the whole chain was not written anew.")
    if found.simulated:
        sentences.insert(0, "SIMULATED: the press was a simulated one; this is no record of a joint.")
    return Verdict(
        ok=True,
        lines=n,
        first_bad_line=None,
        sentences=tuple(sentences),
        vouched=tuple(vouched),
        simulated=found.simulated,
        closed=found.closed_at is not None,
        sealed=bool(found.seals),
        head=found.head,
        code=seal_code,
        key_fingerprint=key_name,
        counter_seals=counter,
    )


def _signed(signatures: Signatures, whose: str) -> str:
    if signatures.entries == 1:
        return f"The one entry was signed {whose}."
    if signatures.each:
        return (
            f"The entries: each of the {signatures.entries} that were written was signed {whose}, with all lines "
            "before it."
        )
    return (
        f"The entries: {signatures.entries} were written, each with a signature; the last was signed {whose}, "
        "with all lines before it."
    )


def _whose(keys: KnownKeys, key: str) -> str:
    if key == keys.given:
        return "The key is the one that was given."
    if key in keys.later():
        return "The key is one that the key given was handed over to."
    return f"The key is an earlier one of the bench, handed over at {keys.ended(key)}."


def _counter_seal(line: Line) -> CounterSeal:
    from assistant.record.keys import fingerprint

    event = line.event
    return CounterSeal(event["name"], fingerprint(event["public_key"]), line.wall, line.n + 1, event["code"])


def _vouched_by(one: CounterSeal) -> str:
    return (
        f"The counter-seal of {one.name}: lines 1 to {one.line} are as they were when the key "
        f"{one.key_fingerprint} signed them at {one.wall}, code {one.code}. It says that the record was seen "
        "then, not that what it tells is true."
    )
