"""What a log holds that verifying goes by, and what is wrong with it: places of lines, signatures, codes.

Each check raises BadLog with the first bad line; what then vouches for what is told in `verify`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from assistant.record.chain import BadLog, Line

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    from assistant.record.hand_over import KnownKeys

_WITH_A_PLACE = frozenset({"opened", "closed", "sealed"})
_BEHIND_THE_SEAL = "stands behind the seal, and no counter-seal follows it directly"


@dataclass
class Found:
    last: Line | None = None  # the last line in order
    simulated: bool = False
    opening: Line | None = None
    closed_at: int | None = None  # lines up to and with the closing line
    seals: list[Line] = field(default_factory=list)
    torn_seals: set[int] = field(
        default_factory=set
    )  # n of what tells, after a seal, of one that was cut short

    @property
    def lines(self) -> int:
        return 0 if self.last is None else self.last.n + 1

    @property
    def head(self) -> str:
        return "" if self.last is None else self.last.digest


def walk(lines: Iterable[Line], found: Found, head: str | None = None) -> None:
    """Takes note of every line. head: a digest that one of them must have. Raises: BadLog."""
    head_seen = head is None
    for line in lines:
        # Nearly all lines may stand anywhere before the closing one.
        if (line.event["kind"] in _WITH_A_PLACE or found.closed_at is not None) and (
            fault := _misplaced(line, found)
        ):
            raise BadLog(line.n + 1, f"Line {line.n + 1} {fault}.")
        found.last = line
        if line.digest == head:
            head_seen = True
    if found.last is not None and found.last.n in found.torn_seals:
        raise BadLog(found.lines, f"Line {found.lines} {_BEHIND_THE_SEAL}.")
    if not head_seen:
        raise BadLog(
            0,
            "No line of the log has the digest that was kept elsewhere: the log was rewritten or cut short.",
        )


def _misplaced(line: Line, found: Found) -> str:
    """Takes note of a line; why it may not stand there, as the end of a sentence, or ''."""
    if found.last is not None and found.last.n in found.torn_seals and not _is_counter_seal(line):
        raise BadLog(line.n, f"Line {line.n} {_BEHIND_THE_SEAL}.")
    if line.event["kind"] not in _WITH_A_PLACE:
        return "" if found.closed_at is None else _late(line, found)
    match line.event:
        case {"kind": "opened", "simulated": bool(simulated)}:
            found.simulated, found.opening = simulated, line
        case {"kind": "opened"}:
            return "does not say whether the press was a simulated one"
        case {"kind": "closed", "count": count}:
            if found.closed_at is not None:
                return "closes a log that is closed already"
            if type(count) is not int or count != line.n:
                return f"closes a log of {count!r:.20} lines, but {line.n} stand before it"
            found.closed_at = line.n + 1
        case {"kind": "closed"}:
            return "closes the log without saying how many lines it has"
        case {"kind": "sealed"}:
            if found.closed_at is None:
                return "seals a log that is not closed"
            match line.event.get("by"), bool(found.seals):
                case "bench", True:
                    return "seals for the bench once more"
                case "supervisor", False:
                    return "is a counter-seal, and the bench's seal does not stand before it"
            found.seals.append(line)
    return ""


def _late(line: Line, found: Found) -> str:
    """Takes note of a line after the closing one. Nothing may stand there but what tells of a torn seal."""
    match line.event:
        case {"kind": "torn_tail", "cut_bytes": int(cut), **rest} if cut > 0 and cut is not True and not rest:
            # Before the bench's seal, that one covers it; behind it only a counter-seal can.
            if found.seals:
                found.torn_seals.add(line.n)
            return ""
    return "stands after the closing line"


def _is_counter_seal(line: Line) -> bool:
    return line.event["kind"] == "sealed" and line.event.get("by") == "supervisor"


def check_opening(found: Found, keys: KnownKeys | None) -> None:
    """Raises: BadLog."""
    opening = found.opening
    if keys is None or opening is None or not opening.event.get("mark"):
        return
    from assistant.record.opening_mark import marked_with  # late, as above

    key = marked_with(opening.event, keys.all())
    fault = keys.fault(key, opening.wall) if key else "was not signed with the key given, or it was changed"
    if fault:
        raise BadLog(1, f"Line 1, the opening line, {fault}.")


def check_seals(found: Found, keys: KnownKeys | None, code: str | None) -> None:
    """Raises: BadLog."""
    if not found.seals:
        if code is not None:
            raise BadLog(0, "The log carries no seal, and a seal code was given for it: its end is missing.")
        if keys is not None:
            raise BadLog(0, "The log carries no seal that the key given could have made.")
        return
    from assistant.record.seal import same_code, seal_fault

    for line in found.seals:
        where, event = f"Line {line.n + 1}, the {_seal_word(line)},", line.event
        fault = seal_fault(line)
        if fault and line.n - 1 in found.torn_seals:
            raise BadLog(line.n, f"Line {line.n} stands behind the seal. {where} which follows it, {fault}.")
        if fault:
            raise BadLog(line.n + 1, f"{where} {fault}.")
        if event["simulated"] is not found.simulated:
            raise BadLog(line.n + 1, f"{where} and the opening line differ on whether this is SIMULATED.")
        if event["by"] != "bench":
            continue
        if keys is not None and (fault := keys.fault(event["public_key"], line.wall)):
            raise BadLog(line.n + 1, f"{where} {fault}.")
        if code is not None and not same_code(code, event["code"]):
            raise BadLog(
                line.n + 1,
                f"{where} has the code {event['code']}, not the one given: this is not the log that was sealed then.",
            )


def check_counter_seals(found: Found, supervisor_key: Ed25519PublicKey | None) -> None:
    """Raises: BadLog."""
    if not found.seals:
        if supervisor_key is not None:
            raise BadLog(0, "The log carries no seal at all, and one of the supervisor's key was looked for.")
        return
    from assistant.record.keys import public_hex

    own = {line.event["public_key"]: line for line in found.seals if line.event["by"] == "bench"}
    counter = [line for line in found.seals if line.event["by"] == "supervisor"]
    for line in counter:
        if line.event["public_key"] in own:
            raise BadLog(
                line.n + 1, f"Line {line.n + 1}, the counter-seal, was made with the bench's own key."
            )
    if supervisor_key is not None and public_hex(supervisor_key) not in {
        line.event["public_key"] for line in counter
    }:
        raise BadLog(0, "The log carries no counter-seal of the supervisor's key that was given.")


def _seal_word(line: Line) -> str:
    return "counter-seal" if line.event.get("by") == "supervisor" else "seal"
