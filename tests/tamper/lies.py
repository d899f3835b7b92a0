"""Named lies about a session, and what finds each: the file alone, the bench's key, the seal code, a digest kept
elsewhere, the supervisor's key.

    python tests/tamper/lies.py

prints the table, as the real verifier judges. The true session is a whole job with a refusal put in, sealed by
the bench and by its supervisor; our own people, our own words. Forgers link their lines with a few lines of
their own, not with the program's.
"""

from __future__ import annotations

import hashlib
import json
import sys
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey  # noqa: E402
from spoiled_logs import whole_session  # noqa: E402

from assistant.record.hand_over import KnownKeys, hand_over  # noqa: E402
from assistant.record.keys import public_hex  # noqa: E402
from assistant.record.opening_mark import marked  # noqa: E402
from assistant.record.seal import seal_event  # noqa: E402
from assistant.record.stamp import Stamp  # noqa: E402
from assistant.review.verify import Verdict, verify  # noqa: E402

Object = dict[str, Any]
EARLIER, BENCH, OLGA, FORGER = (
    Ed25519PrivateKey.from_private_bytes(bytes(range(n, n + 32))) for n in (0, 1, 2, 3)
)
HANDED_OVER = "2026-11-20T08:00:00.000+01:00"  # before the session
KNOWN = KnownKeys(public_hex(BENCH.public_key()), (hand_over(EARLIER, BENCH, HANDED_OVER),))
BY = ("file", "key", "code", "head", "supervisor")


def chained(objects: Iterable[Object]) -> list[Object]:
    """Numbered and linked anew."""
    out: list[Object] = []
    prev = "0" * 64
    for n, line in enumerate(objects):
        out.append(line | {"n": n, "prev": prev})
        prev = hashlib.sha256(_text(out[-1])).hexdigest()
    return out


def signed(objects: Iterable[Object], key: Ed25519PrivateKey) -> list[Object]:
    """As `chained`, with the end of each append signed anew."""
    out: list[Object] = []
    prev = "0" * 64
    for n, line in enumerate(objects):
        bare = _bare(line) | {"n": n, "prev": prev}
        if not bare["left"] and bare["event"]["kind"] != "sealed":
            digest = hashlib.sha256(_text(bare)).hexdigest()
            told = f"{(out or [bare])[0]['event']['session']}\0{n + 1}\0{digest}"
            bare["sig"] = key.sign(b"loopwright append 1\0" + told.encode()).hex()
        out.append(bare)
        prev = hashlib.sha256(_text(bare)).hexdigest()
    return out


def _bare(line: Object) -> Object:
    return {key: held for key, held in line.items() if key != "sig"}


def sealed(objects: list[Object], key: Ed25519PrivateKey, name: str = "", **more: Any) -> list[Object]:
    """With one more line: a seal of the bench, or of a supervisor if named."""
    last = objects[-1]
    stamp = Stamp(last["t"], last["wall"], last["mono"], last["boot"])
    head = hashlib.sha256(_text(last)).hexdigest()
    given = {"by": "supervisor", "name": name} if name else {}
    event = seal_event(
        len(objects), head, stamp, key, simulated=objects[0]["event"]["simulated"], **(given | more)
    )
    return chained([*objects, _bare(last) | {"left": 0, "event": event}])


@cache
def _told(script: str, simulated: bool) -> str:
    objects = [json.loads(line) for line in whole_session(script).splitlines()][:-1]
    at = next(n for n, line in enumerate(objects) if line["event"]["kind"] == "gate_asked")
    refused = {"kind": "skip_refused", "words": "just do it", "count": 1, "at": "gate_workplace_fit"}
    while objects[at - 1]["left"]:
        at -= 1
    objects.insert(at, objects[at - 1] | {"left": 0, "event": refused})
    objects[-1]["event"]["count"] = len(objects) - 1
    opening = objects[0]["event"] | {"simulated": simulated, "previous_head": "5e" * 32}
    objects[0]["event"] = marked(opening, BENCH)
    return json.dumps(sealed(sealed(signed(objects, BENCH), BENCH), OLGA, "Olga"))


def true(script: str = "demo", simulated: bool = False) -> list[Object]:
    """The session as it was: its lines, the bench's seal, Olga's."""
    objects: list[Object] = json.loads(_told(script, simulated))
    return objects


def raw(objects: list[Object]) -> bytes:
    return b"".join(_text(line) + b"\n" for line in objects)


def _text(line: Object) -> bytes:
    """Canonical: whole numbers without a point."""
    return json.dumps(_whole(line), sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def _whole(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _whole(held) for key, held in value.items()}
    if isinstance(value, list):
        return [_whole(held) for held in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _where(objects: list[Object], kind: str) -> int:
    return next(n for n, line in enumerate(objects) if line["event"]["kind"] == kind)


def _dwell(o: list[Object]) -> int:
    return next(
        n for n, line in enumerate(o)
        if (line["event"]["kind"], line["event"].get("name")) == ("timer_started", "dwell")
    )  # fmt: skip


def _dwell_lengthened(o: list[Object]) -> list[Object]:
    o[_dwell(o)]["event"]["total_s"] += 60
    return o


def _later(o: list[Object]) -> list[Object]:
    for line in o[:-2]:
        line["wall"] = (datetime.fromisoformat(line["wall"]) + timedelta(hours=1)).isoformat(
            timespec="milliseconds"
        )
    return chained(o)


def _without(o: list[Object], kind: str) -> list[Object]:
    del o[_where(o, kind)]
    return o


def _put_in(o: list[Object], kind: str) -> list[Object]:
    n = _where(o, kind)
    at = next(k for k in range(n, len(o)) if o[k]["left"] == 0) + 1
    return chained([*o[:at], o[at - 1] | {"event": o[n]["event"]}, *o[at:]])


def _cut(o: list[Object], lines: int) -> list[Object]:
    """About that many are left, as many as end with a whole entry: a liar knows where to cut."""
    while o[lines - 1]["left"]:
        lines -= 1
    return o[:lines]


def _and_the_count(o: list[Object]) -> list[Object]:
    o[-3]["event"]["count"] = len(o) - 3
    return chained(o)


def _head_corrected(o: list[Object]) -> list[Object]:
    """The seal's own digest made to fit, which is all that can be done without the key."""
    bare = chained(o[:-2])
    o[-2]["event"]["head"] = hashlib.sha256(_text(bare[-1])).hexdigest()
    return chained([*bare, o[-2]])


def _rewritten(o: list[Object], key: Ed25519PrivateKey) -> list[Object]:
    _dwell_lengthened(o)
    o[0]["event"] = marked(o[0]["event"], key)
    return sealed(signed(o[:-2], key), key)


def _as_real(o: list[Object]) -> list[Object]:
    o[0]["event"]["simulated"] = False
    for line in o[-2:]:
        line["event"]["simulated"] = False
    return _head_corrected(o)


def _count_changed(o: list[Object]) -> list[Object]:
    del o[next(k for k in range(40, len(o)) if o[k]["left"] == o[k - 1]["left"] == 0)]
    return chained(o)


def _after_closing(o: list[Object]) -> list[Object]:
    note = o[-3] | {"event": {"kind": "noted", "text": "all was well"}}
    return sealed(chained([*o[:-2], note]), BENCH)


def _open(o: list[Object]) -> list[Object]:
    """As it was before it was closed."""
    return o[:_N_OPEN]


def _end_of_append(o: list[Object], n: int) -> int:
    """Of the append that line n, from 0, is in; from 1."""
    return next(k for k in range(n, len(o)) if not o[k]["left"]) + 1


def _unsigned(o: list[Object]) -> list[Object]:
    return chained(_bare(line) for line in _open(o))


def _without_saying(o: list[Object]) -> list[Object]:
    o[0]["event"]["signed_appends"] = False
    return _unsigned(o)


def _with_the_next_ones(o: list[Object]) -> list[Object]:
    """The signature of one append on another."""
    ends = [n for n, line in enumerate(o) if not line["left"]]
    o[ends[40]]["sig"] = o[ends[41]]["sig"]
    return chained(_open(o))


def _torn(o: list[Object], **more: Any) -> Object:
    return _bare(o[-1]) | {"event": {"kind": "torn_tail", "cut_bytes": 7, **more}}


def _marked_by(o: list[Object], other: list[Object]) -> list[Object]:
    """With the opening mark of another session of the same bench; the seal is cut off, which would show it."""
    o[0]["event"]["mark"] = other[0]["event"]["mark"]
    return _cut(chained(o), _N - 4)


def _dated_back(o: list[Object]) -> list[Object]:
    """The thief of the earlier key seals, and is too honest about the date."""
    return sealed(chained(o[:-2]), EARLIER)


@dataclass(frozen=True)
class Lie:
    """spoil: the true session made into the lie. by: what finds it. line: first bad one, from 1; 0: none is named.

    words: in the sentence of the first that finds it.
    """

    name: str
    spoil: Callable[[], list[Object] | bytes]
    by: tuple[str, ...]
    words: str
    line: int = 0


ALL, OUTSIDE = BY, BY[1:]  # what the file shows, every check shows
_N = len(true())
_REFUSED = _where(true(), "skip_refused")
_N_OPEN = next(n for n in range(_N - 8, 0, -1) if not true()[n]["left"]) + 1
_GATE = _where(true(), "gate_closed")

LIES = (
    Lie("the dwell was lengthened", lambda: _dwell_lengthened(true()), ALL, "not as it was written", _dwell(true()) + 1),
    Lie("a refusal taken out", lambda: _without(true(), "skip_refused"), ALL, "lines are missing", _REFUSED + 1),
    Lie("a refusal taken out and the chain mended", lambda: chained(_without(true(), "skip_refused")), ALL, "closes a log of", _N - 3),
    Lie("a refusal taken out, the chain mended, the count corrected",
        lambda: _and_the_count(_without(true(), "skip_refused")), ALL, "seals another log", _N - 2),
    Lie("a safety sentence put in", lambda: _put_in(true(), "gate_closed"), ALL, "closes a log of", _N - 1),
    Lie("the last ten lines cut off", lambda: _cut(true(), _N - 10), OUTSIDE, "no seal"),
    Lie("rolled back to the day before", lambda: _cut(true(), 200), OUTSIDE, "no seal"),
    Lie("rolled back to before the supervisor's seal", lambda: true()[:-1], ("head", "supervisor"), "rewritten or cut short"),
    Lie("the whole chain written anew", lambda: chained(_dwell_lengthened(true())), ALL, "seals another log", _N - 1),
    Lie("the seal's digest corrected too", lambda: _head_corrected(_dwell_lengthened(true())), ALL, "signature that does not fit", _N - 1),
    Lie("sealed anew with another key", lambda: _rewritten(true(), FORGER), OUTSIDE, "another key|not signed with the key"),
    Lie("sealed anew with the bench's own key", lambda: _rewritten(true(), BENCH), ("code", "head", "supervisor"), "not the one given"),
    Lie("another session of the bench in its stead", lambda: true("solid"), ("code", "head"), "not the one given"),
    Lie("a simulated session made real", lambda: _as_real(true(simulated=True)), ALL, "signature that does not fit", _N - 1),
    Lie("a simulated session made real, its end cut off", lambda: _cut(_as_real(true(simulated=True)), _N - 4), OUTSIDE, "not signed with the key"),
    Lie("the tail of another session", lambda: [*true()[:300], *true("solid")[300:]], ALL, "are from elsewhere", 300),
    Lie("every time an hour later", lambda: _later(true()), ALL, "seals another log", _N - 1),
    Lie("a line out, and the closing count as it was", lambda: _count_changed(true()), ALL, "closes a log of", _N - 3),
    Lie("the seal of another session", lambda: chained([*true()[:-2], true("solid")[-2] | {"t": true()[-2]["t"]}]), ALL, "seals another log", _N - 1),
    Lie("a note after the closing line", lambda: _after_closing(true()), ALL, "stands after the closing line", _N - 1),
    Lie("sealed twice by the bench", lambda: sealed(true()[:-1], BENCH), ALL, "once more", _N),
    Lie("a counter-seal of nobody", lambda: sealed(true()[:-1], FORGER, by="supervisor"), ALL, "names nobody", _N),
    Lie("a counter-seal of the supervisor's name, with another key", lambda: sealed(true()[:-1], FORGER, "Olga"),
        ("head", "supervisor"), "rewritten or cut short"),
    Lie("a counter-seal made with the bench's key", lambda: sealed(true()[:-1], BENCH, "Olga"), ALL, "bench's own key", _N),
    Lie("a counter-seal in the seal's place", lambda: sealed(true()[:-2], OLGA, "Olga"), ALL, "does not stand before it", _N - 1),
    Lie("the supervisor's seal of another session", lambda: chained([*true()[:-1], true("solid")[-1] | {"t": true()[-1]["t"]}]), ALL, "seals another log", _N),
    Lie("the opening mark of another session", lambda: _marked_by(true(), true("solid")), OUTSIDE, "not signed with the key"),
    Lie("a simulated session with the opening mark of a real one", lambda: _marked_by(_as_real(true(simulated=True)), true("solid")),
        OUTSIDE, "not signed with the key"),
    Lie("sealed with the key before, after it was handed over", lambda: _dated_back(true()), OUTSIDE, "was handed over at"),
    Lie("a refusal taken out of an open session, the chain mended", lambda: chained(_without(_open(true()), "skip_refused")),
        OUTSIDE, "does not carry the bench's signature", _end_of_append(_without(true(), "skip_refused"), _REFUSED)),
    Lie("a safety sentence put into an open session", lambda: _put_in(_open(true()), "gate_closed"),
        OUTSIDE, "does not carry the bench's signature", _end_of_append(true(), _GATE) + 1),
    Lie("a safety sentence put in behind the end of an open session",
        lambda: chained([*_open(true()), _bare(_open(true())[-1]) | {"event": true()[_GATE]["event"]}]),
        OUTSIDE, "does not carry the bench's signature, and every entry", _N_OPEN + 1),
    Lie("the signatures taken out of an open session", lambda: _unsigned(true()), OUTSIDE, "does not carry the bench's signature", 1),
    Lie("the signatures taken out, and the opening line says so", lambda: _without_saying(true()), OUTSIDE, "not signed with the key", 1),
    Lie("signed with another key", lambda: signed(_open(true()), FORGER), OUTSIDE, "from another hand", 1),
    Lie("one entry's signature on another", lambda: _with_the_next_ones(true()), OUTSIDE, "from another hand",
        [n for n, line in enumerate(true()) if not line["left"]][40] + 1),
    Lie("a torn seal told behind all seals", lambda: chained([*true(), _torn(true())]), ALL, "stands behind the seal", _N + 1),
    Lie("a torn seal told between the seals, and the counter-seal as it was", lambda: chained([*true()[:-1], _torn(true()), true()[-1]]),
        ALL, "stands behind the seal. Line .*, the counter-seal, which follows it, seals another log", _N),
    Lie("a torn seal told with words of a stranger's", lambda: sealed(chained([*true()[:-1], _torn(true(), text="all was well")]), FORGER, "Olga"),
        ALL, "stands after the closing line", _N),
    Lie("half a line at the end", lambda: raw(true()) + b'{"boot":', ALL, "is not whole", _N + 1),
    Lie("an empty line at the end", lambda: raw(true()) + b"\n", ALL, "not a whole JSON object", _N + 1),
    Lie("other line ends", lambda: raw(true()).replace(b"\n", b"\r\n"), ALL, "does not continue", 2),
    Lie("a sign before the first", lambda: b"\xef\xbb\xbf" + raw(true()), ALL, "not a whole JSON object", 1),
)  # fmt: skip


@cache
def evidence() -> dict[str, Any]:
    """What was kept elsewhere of the true session."""
    objects = true()
    return {
        "file": {}, "key": {"public_key": KNOWN}, "code": {"code": objects[-2]["event"]["code"]},
        "head": {"head": hashlib.sha256(_text(objects[-1])).hexdigest()},
        "supervisor": {"supervisor_key": OLGA.public_key()},
    }  # fmt: skip


def verdicts(told: list[Object] | bytes, path: Path) -> dict[str, Verdict]:
    """By each of BY, with `path` written."""
    path.write_bytes(told if isinstance(told, bytes) else raw(told))
    return {by: verify(path, **evidence()[by]) for by in BY}


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        print(f"{'':<62}{'  '.join(BY)}")
        for lie in LIES:
            found = verdicts(lie.spoil(), Path(folder) / "log.jsonl")
            marks = "  ".join(
                f"{'-' if found[by].ok else 'FOUND':<{len(by)}}"[: max(len(by), 5)] for by in BY
            )
            first = next((v for v in found.values() if not v.ok), None)
            print(f"{lie.name:<62}{marks}  {first.sentences[0] if first else 'NOT FOUND'}")
