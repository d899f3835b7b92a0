"""The log told again in plain words, entry by entry, for a supervisor at a terminal.

Never fails on what it does not know: an entry of another version is named as unknown and shown.
Every value from the log is made plain, so that nothing in it can steer a terminal.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from assistant.record.chain import Line
from assistant.record.plain import plain
from assistant.review.values import duration, label, shown
from assistant.review.when import day_of, offset_of

_WAYS = {
    "voice": "by voice",
    "typed": "typed",
    "key": "by key",
    "file": "from the file",
    "known": "nothing to ask",
    "timer": "by the timer",
}
_MARKS = {
    "heat_on": "Heat on",
    "at_set": "Both platens at set temperature",
    "cool_on": "Cooling on",
    "vented": "Pressure let out",
}
_SEVERITY = {"pass": "passed", "cosmetic": "passed with a mark to note", "fail": "FAILED"}
_LONGEST_UNKNOWN = 300  # characters of an unknown entry that are shown


def retell(lines: Iterable[Line]) -> list[str]:
    """One line of text an entry: wall time, session time, what happened.

    That a question had been put to its end is left out: it stands in the log beside every question, as proof
    that the answer came after it.
    """
    told, day = [], ("", "")
    for line in lines:
        if line.kind == "question_put":
            continue
        wall = line.stamp.wall
        clock = wall.partition("T")[2]
        # A new offset as well: else an hour of a change of time would be told twice, or never have been.
        if (day_of(wall), offset_of(wall)) != day:
            day = day_of(wall), offset_of(wall)
            told.append(f"--- {plain(day[0])} (times UTC{plain(day[1])}) ---")
        told.append(f"{plain(clock[:8])}  {_since(line.stamp.t_s)}  {tell(line.event)}")
    return told


def tell(event: Mapping[str, Any]) -> str:
    """One entry in words."""
    kind = event.get("kind")
    teller = _TELLERS.get(kind) if isinstance(kind, str) else None
    if teller is not None:
        try:
            return teller(event)
        except (KeyError, TypeError, ValueError, AttributeError):
            pass  # an entry of another version: told as unknown, below
    rest = json.dumps({k: v for k, v in event.items() if k != "kind"}, ensure_ascii=False)
    return f"Unknown entry '{plain(kind)}': {plain(rest)[:_LONGEST_UNKNOWN]}"


def _since(t_s: float) -> str:
    minutes, seconds = divmod(int(t_s), 60)
    return f"+{minutes // 60}:{minutes % 60:02d}:{seconds:02d}"


def _q(text: object) -> str:
    return f"'{plain(text)}'"


def _way(way: object) -> str:
    return _WAYS.get(str(way), plain(way))


def _names(items: Iterable[object]) -> str:
    return ", ".join(plain(item).replace("_", " ") for item in items)


def _opened(e: Mapping[str, Any]) -> str:
    simulated = "SIMULATED. " if e["simulated"] else ""
    after = (
        f" The session before it ended with digest {plain(e['previous_head'])}."
        if e.get("previous_head")
        else ""
    )
    return (
        f"{simulated}Session {plain(e['session'])} opened with {plain(e['program'])} {plain(e['version'])}, "
        f"procedure {_q(e['procedure'])}.{after}"
    )


def _heard(e: Mapping[str, Any]) -> str:
    if e["way"] != "voice":
        return f"{_way(e['way']).capitalize()}: {_q(e['text'])}, taken as {_q(_names([e['understood']]))}."
    grade = (
        "clear enough for a safety sentence"
        if e["gate_grade"]
        else "verified"
        if e["verified"]
        else "not verified"
    )
    why = f" ({plain(e['why_not'])})" if e.get("why_not") else ""
    sure = f", sureness {e['sureness']:.2f}" if isinstance(e.get("sureness"), int | float) else ""
    others = (
        f"; could also have been {', '.join(map(_q, e['alternatives']))}" if e.get("alternatives") else ""
    )
    return f"Heard {_q(e['text'])}, {grade}{why}{sure}{others}, taken as {_q(_names([e['understood']]))}."


def _said(e: Mapping[str, Any]) -> str:
    return f"{'Alarm' if e['rank'] == 'alarm' else 'Bench'}: {plain(e['text'])}"


def _value(e: Mapping[str, Any], middle: str, end: str) -> str:
    said = f", said as {_q(e['said'])}" if e.get("said") else ""
    return f"{label(e['slot']).capitalize()} {middle} {shown(e['slot'], e['value'])} ({_way(e['way'])}{said}){end}"


def _value_refused(e: Mapping[str, Any]) -> str:
    if e["reason"] == "taken back":  # not by us
        return f"{label(e['slot']).capitalize()} {shown(e['slot'], e['value'])} was taken back before it counted."
    value = _q(e["said"]) if e.get("value") is None else shown(e["slot"], e["value"])
    return f"REFUSED: {label(e['slot'])} {value}. {plain(e['reason'])}"


def _gate_asked(e: Mapping[str, Any]) -> str:
    return f"Safety question {_q(_names([e['gate']]))}: {plain(e['hazard']).rstrip('.')}. The sentence for it: {_q(e['sentence'])}."


def _gate_closed(e: Mapping[str, Any]) -> str:
    sure = f", sureness {e['sureness']:.2f}" if isinstance(e.get("sureness"), int | float) else ""
    facts = f" On: {'; '.join(map(plain, e['facts']))}." if e.get("facts") else ""
    who = plain(e["person"]) or "nobody named"
    return f"CONFIRMED {_q(_names([e['gate']]))}: {who} {'said' if e['way'] == 'voice' else 'typed'} {_q(e['heard'])}{sure}.{facts}"


def _gate_refused(e: Mapping[str, Any]) -> str:
    next_ = f" Asked in other words: {_q(e['ask_next'])}." if e.get("ask_next") else ""
    return (
        f"REFUSED: {_q(e['heard'])} does not confirm {_q(_names([e['gate']]))}. {plain(e['reason'])}{next_}"
    )


def _skip_refused(e: Mapping[str, Any]) -> str:
    return f"REFUSED to skip {_q(_names([e['at']]))} on {_q(e['words'])}, number {e['count']}."


def _computed(e: Mapping[str, Any]) -> str:
    results = e["results"]
    if e["topic"] == "what_if":
        return f"Asked what if, and nothing was changed by it. {' '.join(map(plain, results['said']))}"
    if results.get("refused"):
        return f"Computed {plain(e['topic'])}: REFUSED. {' '.join(map(plain, results['refused']))}"
    values = results.get("values") or {}
    listed = "; ".join(f"{label(slot)} {shown(slot, value)}" for slot, value in values.items())
    said = " ".join(map(plain, results.get("said") or ()))
    return f"Computed {plain(e['topic'])}{': ' if listed or said else '.'}{listed or said}"


def _timer_started(e: Mapping[str, Any]) -> str:
    total = e.get("total_s")
    return f"Timer {plain(e['name'])} started" + ("." if total is None else f" for {duration(total)}.")


def _timer_called(e: Mapping[str, Any]) -> str:
    left = f"{duration(e['mark_s'])} left" if e["mark_s"] else "done"
    return f"Timer {plain(e['name'])}: {left}, called out."


def _reading(e: Mapping[str, Any]) -> str:
    since = e.get("since_heat_s")
    when = "" if since is None else f", {duration(since)} after heat on"
    doubt = "" if e["plausible"] else " NOT PLAUSIBLE."
    return f"Reading: {label(e['slot'])} {shown(e['slot'], e['value'])}{when}.{doubt} {plain(e['sentence'])}".rstrip()


def _inspected(e: Mapping[str, Any]) -> str:
    defect = "" if e.get("found", "nothing") == "nothing" else f" ({_names([e['found']])})"
    return (
        f"Inspected {label(e['item'])}: {shown(e['item'], e['finding'])}{defect}, {_SEVERITY[e['severity']]}. "
        f"{plain(e['sentence'])}"
    ).rstrip()


def _decided(e: Mapping[str, Any]) -> str:
    note = f" Note: {plain(e['note'])}." if e.get("note") else ""
    causes = f" Likely causes: {'; '.join(map(plain, e['causes']))}." if e.get("causes") else ""
    return f"DECIDED: {plain(e['outcome'])}.{note}{causes}"


def _resumed(e: Mapping[str, Any]) -> str:
    return f"Session taken up again after {duration(e['gap_s'])}. {plain(e.get('note', ''))}".rstrip()


def _closed(e: Mapping[str, Any]) -> str:
    return f"Session closed: {plain(e['outcome'])}, {e['count']} entries before this one."


def _sealed(e: Mapping[str, Any]) -> str:
    what = "SIMULATED session sealed" if e["simulated"] else "Sealed"
    whose = f"{plain(e['by'])}{' ' + plain(e['name']) if e.get('name') else ''}"
    return f"{what} by the {whose}: {e['count']} entries. Seal code {plain(e['code'])}."


_HAPPENED = {
    "power": "the power was off",
    "pressure": "the pressure was lost",
    "opened": "the press was opened",
    "unknown": "nobody knows what happened",
    "went_on": "it went on as it was",
}
_WHY_BACK = {"back": "asked for", "change": "a value changed", "interrupted": "the cycle was broken off"}


def _inquired(e: Mapping[str, Any]) -> str:
    if not e["cause"]:
        return "Asked what happened at the press meanwhile."
    when = "" if e.get("at_s") is None else f", from {duration(e['at_s'])} of the session on"
    return f"Told of the press: {_HAPPENED[e['cause']]}{when}."


def _interrupted(e: Mapping[str, Any]) -> str:
    at = f"at {duration(e['at_s'])} of the session"
    back = "not right yet" if e.get("back_s") is None else f"right again at {duration(e['back_s'])}"
    again = " Heated again; the dwell begins anew." if e.get("heat_again") else ""
    return f"CYCLE BROKEN OFF {at}: {_HAPPENED[e['cause']]}; {back}.{again}"


_TELLERS = {
    "opened": _opened,
    "heard": _heard,
    "said": _said,
    "question_put": lambda _: "The question had been put to its end; answers count from here.",
    "value_offered": lambda e: _value(e, "given as", "; read back, not counted yet."),
    "value_taken": lambda e: _value(e, "is", "."),
    "value_refused": _value_refused,
    "value_dropped": lambda e: f"{label(e['slot']).capitalize()} taken back.",
    "asked_back": lambda e: (
        f"Asked back: {plain(e['question'])}" if e["question"] else "It is settled which was meant."
    ),
    "act_entered": lambda e: f"Now at {_q(_names([e['act']]))}, stage {_q(_names([e['stage']]))}.",
    "act_done": lambda e: f"Done: {_q(_names([e['act']]))} ({_way(e['by'])}).",
    "went_back": lambda e: (
        f"Went back ({_WHY_BACK.get(e['why'], e['why'])}); to do again: {_names(e['acts'])}."
    ),
    "gate_asked": _gate_asked,
    "gate_closed": _gate_closed,
    "gate_refused": _gate_refused,
    "gate_rearmed": lambda e: (
        f"Safety question {_q(_names([e['gate']]))} must be answered again: {plain(e['reason'])}"
    ),
    "skip_refused": _skip_refused,
    "computed": _computed,
    "inquired": _inquired,
    "interrupted": _interrupted,
    "timer_started": _timer_started,
    "timer_called": _timer_called,
    "timer_ended": lambda e: f"Timer {plain(e['name'])} ended.",
    "run_marked": lambda e: f"{_MARKS[e['mark']]}.",
    "reading": _reading,
    "inspected": _inspected,
    "decided": _decided,
    "kept": lambda e: "Recipe not kept." if e["name"] is None else f"Recipe kept as {_q(e['name'])}.",
    "held": lambda e: f"HELD: {plain(e['reason'])}",
    "released": lambda _: "The hold is over.",
    "handed_over": lambda e: f"HANDED OVER by {plain(e['giver'])} to {plain(e['taker'])}.",
    "resumed": _resumed,
    "danger": lambda e: f"DANGER called: {_q(e['words'])}.",
    "false_alarm": lambda _: "The alarm was called false.",
    "deviation": lambda e: (
        f"DEVIATION recorded by {plain(e['person'])}: {plain(e['reason'])} (it opens nothing)."
    ),
    "noted": lambda e: f"Note: {plain(e['text'])}",
    "manner": lambda e: f"Manner of speaking: {plain(e['manner'])}.",
    "clock_noted": lambda e: f"CLOCK: {plain(e['text'])}",
    "torn_tail": lambda e: (
        f"A crash had left {e['cut_bytes']} bytes of an unfinished entry; they were cut off."
    ),
    "closed": _closed,
    "sealed": _sealed,
}
