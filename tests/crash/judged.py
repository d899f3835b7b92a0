"""What must hold when a program that was killed is started again: each fault is a sentence. Reads bytes and JSON only."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import groupby, pairwise

from asked_again import must_open_again
from log_bytes import Data, LogBytes

RETOLD = 12  # lines of the conversation that whoever takes a session up is told again
STARTS_s = 60.0  # until a program that was started has written its first line
CLOSE_s = 1.6  # a told time is whole seconds, and a second may pass before it is read


def told_faults(told: Sequence[str], before: LogBytes, now: LogBytes) -> list[str]:
    """Whether all that a run has told, before it was killed, is on disk, in that order and without a gap."""
    said = [line for line in told if line.startswith(("bench: ", "ALARM: ", "you: "))]
    sealed = [event["code"] for event in now.events("sealed")]
    if said and "The session is closed: " in said[-1] and "Seal code" in said[-1]:
        last = said.pop()
        if not any(f"Seal code {code}." in last for code in sealed):
            return [f"the seal code that was told is not on disk: {last!r}"]
    rows = _conversation(now.rows)
    begins = max(0, len(_conversation(before.rows)) - RETOLD)
    must = rows[begins : begins + len(said)]
    if said == must:
        return []
    place = next((n for n, (a, b) in enumerate(zip(said, must, strict=False)) if a != b), len(must))
    return [
        f"told and not on disk: {said[place][:100]!r}; there stands {(must[place:] or ['nothing'])[0][:100]!r}"
    ]


def _conversation(rows: Iterable[Data]) -> list[str]:
    found = []
    for row in rows:
        match row["event"]:
            case {"kind": "heard", "text": text, "way": way} if way != "file":
                found.append(f"you: {text}{' (voice)' if way == 'voice' else ''}")
            case {"kind": "said", "text": text, "rank": rank}:
                found.append(f"{'ALARM' if rank == 'alarm' else 'bench'}: {text}")
    return found


def taken_up_faults(left: LogBytes, now: LogBytes) -> list[str]:
    """A run that took the session up from the file `left`: nothing before is changed, and what must be there is.

    left: the file as it was found, torn or not.
    """
    faults = []
    if not now.raw.startswith(left.whole):
        faults.append("a line before the kill is not as it was")
    new = now.rows[len(left.rows) :]
    if not new:
        return faults
    cut = len(left.raw) - len(left.whole)
    noted = [row["event"]["cut_bytes"] for row in new if row["event"]["kind"] == "torn_tail"]
    if noted != ([cut] if cut else []):
        faults.append(f"{cut} bytes were torn, and noted was {noted}")
    resumed = [n for n, row in enumerate(new) if row["event"]["kind"] == "resumed"]
    if not resumed:
        return faults
    append = new[resumed[0] : resumed[0] + new[resumed[0]]["left"] + 1]
    again = {row["event"]["act"] for row in append if row["event"]["kind"] == "gate_rearmed"}
    must = must_open_again(left.events())
    faults += [f"'{act}' was not asked again" for act in sorted(must - again)]
    faults += [f"'{act}' was asked again although its hazard is gone" for act in sorted(again - must)]
    running = timers(left.rows)
    for name, deadline_s in timers(now.rows[: len(left.rows) + resumed[0] + len(append)]).items():
        if name in running and deadline_s != running[name]:
            faults.append(f"the timer '{name}' ends at {deadline_s}, and before at {running[name]}")
    return faults


def timers(rows: Iterable[Data]) -> dict[str, float]:
    """Running timers with an end: their deadlines in session seconds."""
    found: dict[str, float] = {}
    for row in rows:
        match row["event"]:
            case {"kind": "timer_started", "name": name, "deadline_s": float() | int() as deadline_s}:
                found[name] = float(deadline_s)
            case {"kind": "timer_started", "name": name}:  # its end is not known any more
                found.pop(name, None)
            case {"kind": "timer_ended", "name": name}:
                found.pop(name, None)
    return found


def time_faults(log: LogBytes) -> list[str]:
    """Session seconds must go with the monotonic clock through every taking up, with the wall clock over a restart of
    the computer, never back; and no call of a timer come twice.
    """
    faults = []
    resumes = sum(row["event"]["kind"] == "resumed" for row in log.rows)
    allowed_s = 0.002 + 0.002 * resumes  # each taking up rounds two readings to the millisecond
    for _, boot in groupby(log.rows, key=lambda row: row["boot"]):
        starts = [row["mono"] - row["t"] for row in boot]
        if max(starts) - min(starts) > allowed_s:
            faults.append(f"session seconds slipped by {max(starts) - min(starts):.3f} s against the clock")
    for one, other in pairwise(log.rows):
        if one["boot"] == other["boot"]:
            continue
        wall_s = (datetime.fromisoformat(other["wall"]) - datetime.fromisoformat(one["wall"])).total_seconds()
        went_s = other["t"] - one["t"]
        if not (abs(went_s - wall_s) <= allowed_s or (wall_s < 0 <= went_s < STARTS_s)):
            faults.append(
                f"over a restart of {wall_s:.3f} s by the wall clock the session went on by {went_s:.3f} s"
            )
    called: set[tuple[str, float]] = set()
    for row in log.rows:
        match row["event"]:
            case {"kind": "timer_started", "name": name}:
                called = {call for call in called if call[0] != name}
            case {"kind": "timer_called", "name": name, "mark_s": mark_s}:
                if (name, mark_s) in called:
                    faults.append(f"{mark_s:g} s of '{name}' were called out twice")
                called.add((name, mark_s))
    return faults


def cooling_faults(log: LogBytes) -> list[str]:
    """Pressure may be let out only on readings of both platens since the computer was restarted last."""
    faults, since = [], 0
    for n, row in enumerate(log.rows):
        if n and row["boot"] != log.rows[n - 1]["boot"]:
            since = n
        match row["event"]:
            case {"kind": "gate_closed", "gate": "cold_inside"}:
                read = {r["event"].get("slot") for r in log.rows[since:n] if r["event"]["kind"] == "reading"}
                faults += [
                    f"the pressure could be let out in line {n + 1} without '{slot}' since line {since + 1}"
                    for slot in ("upper_reading", "lower_reading")
                    if slot not in read
                ]
    return faults


def left_faults(log: LogBytes) -> list[str]:
    """Every 'how long left' that was answered: the time told is deadline less now."""
    faults = []
    for n, row in enumerate(log.rows):
        if row["event"].get("understood") != "left":
            continue
        running = timers(log.rows[:n])
        replies = [
            r["event"]["text"] for r in log.rows[n : n + 1 + row["left"]] if r["event"]["kind"] == "said"
        ]
        for name, deadline_s in running.items():
            if deadline_s < row["t"]:
                continue
            told = re.search(rf"{re.escape(name)}: (?:(\d+) min)? ?(?:(\d+) s)?", " ".join(replies).lower())
            if told is None:
                faults.append(f"asked how long left, nothing was told of '{name}': {replies}")
                continue
            told_s = 60 * int(told[1] or 0) + int(told[2] or 0)
            if abs(told_s - (deadline_s - row["t"])) > CLOSE_s:
                faults.append(f"'{name}' has {deadline_s - row['t']:.1f} s left, and told were {told_s}")
    return faults
