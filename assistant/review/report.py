"""The report of one session: a single HTML file that needs nothing else, for reading, printing and filing.

Everything that comes from the log is escaped, and its control characters are written out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files
from typing import Any

from assistant.record.chain import Line
from assistant.record.plain import plain
from assistant.review.chart import chart_svg
from assistant.review.deviations import Departure, departures
from assistant.review.story import Story, story_of
from assistant.review.values import duration, label, number, shown
from assistant.review.verify import Verdict
from assistant.review.when import When, day_of, offset_of

_SEVERITY = {"pass": ("passed", "good"), "cosmetic": ("passed, mark noted", ""), "fail": ("FAILED", "bad")}
_OUTCOME_CSS = {
    "accepted": "good",
    "accepted with a note": "good",
    "cut out and redo": "bad",
    "stopped": "bad",
}
_WAYS = {"voice": "said", "typed": "typed"}
_SHEET_FIRST = (
    "job_kind",
    "belt",
    "press",
    "punch",
    "template",
    "belt_thickness",
    "belt_width",
    "endless_length",
)
WHOLE = 18  # signs in a cell that stay on one line
_SIMULATED = "SIMULATED - this is no record of a joint"


def report_html(lines: Sequence[Line], verdict: Verdict) -> str:
    """The page for `lines` (as far as they could be read) and what verifying the same file found."""
    story, when = story_of(lines), When(line.wall for line in lines)
    simulated = story.simulated or verdict.simulated
    title = f"{'SIMULATED: ' if simulated else ''}Splice report {story.session}"
    parts = [
        f"<!DOCTYPE html>{'<!-- SIMULATED -->' if simulated else ''}\n",
        '<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        f"<title>{_h(title)}</title><style>{_css()}</style></head>\n<body>",
        f'<p class="simulated">{_SIMULATED}</p>' if simulated else "",
        _head(story, simulated),
        _facts(story),
        _verdict(verdict),
        _run(story),
        _recipe(story),
        _departures(departures(lines), when),
        '<div class="rest">',
        _confirmations(story, when),
        _readings(story, when),
        _inspection(story),
        _decision(story),
        "</div>",
        _foot(story, verdict),
        "</body></html>\n",
    ]
    return "\n".join(part for part in parts if part)


def _h(value: object) -> str:
    return escape(plain(value), quote=True)


def _css() -> str:
    return files("assistant.review").joinpath("report.css").read_text(encoding="utf-8")


def _table(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Cells are HTML already; the first column is a time or a name and does not break."""
    head = "".join(f"<th>{_h(heading)}</th>" for heading in headings)
    body = "".join(f"<tr>{''.join(map(_cell, range(9), row))}</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cell(column: int, content: str) -> str:
    """A value with its unit, or a name, must not be torn apart by a narrow column; long words may be."""
    whole = column == 0 or ("<" not in content and len(content) <= WHOLE)
    return f'<td class="whole">{content}</td>' if whole else f"<td>{content}</td>"


def _head(story: Story, simulated: bool) -> str:
    outcome = story.outcome or story.closed
    css = _OUTCOME_CSS.get(outcome, "")
    word = outcome.upper() if outcome else "NOT DECIDED"
    small = "session closed" if story.closed else "session not closed"
    return (
        f"<header><div><h1>{'SIMULATED splice' if simulated else 'Splice'} report</h1>"
        f'<p class="soft">Session {_h(story.session)}</p></div>'
        f'<div class="outcome {css}">{_h(word)}<small>{small}</small></div></header>'
    )


def _facts(story: Story) -> str:
    order = [slot for slot in _SHEET_FIRST if slot in story.sheet]
    order += [
        slot for slot in story.sheet if slot not in _SHEET_FIRST and slot not in ("technician", "recipe_name")
    ]
    facts = [("at the press", ", ".join(story.people) or "nobody named")]
    facts += [("opened", _day_and_time(story.opened_wall)), ("last entry", _day_and_time(story.last_wall))]
    facts += [("session lasted", duration(story.last_t_s))]
    measured = {finding.get("item") for finding in story.findings} | {
        reading.slot for reading in story.readings
    }
    facts += [(label(slot), shown(slot, story.sheet[slot])) for slot in order if slot not in measured]
    return (
        f'<dl class="facts">{"".join(f"<div><dt>{_h(k)}</dt><dd>{_h(v)}</dd></div>" for k, v in facts)}</dl>'
    )


def _day_and_time(wall: str) -> str:
    return f"{day_of(wall)} {wall[11:16]} {offset_of(wall)}" if wall else ""


def _verdict(verdict: Verdict) -> str:
    css, word = ("good", "The record is in order") if verdict.ok else ("bad", "THE RECORD IS NOT IN ORDER")
    found = "".join(f"<p>{_h(sentence)}</p>" for sentence in verdict.sentences)
    vouched = "".join(f"<li>{_h(sentence)}</li>" for sentence in verdict.vouched)
    code = f"<span>seal code</span><b>{_h(verdict.code)}</b>" if verdict.code else "<span>not sealed</span>"
    return (
        f'<section class="verdict"><div><b class="{css}">{word}.</b>{found}<ul>{vouched}</ul></div>'
        f'<div class="code">{code}</div></section>'
    )


def _run(story: Story) -> str:
    svg = chart_svg(story)
    marks = story.marks
    told = []
    for first, last, words in (
        ("heat_on", "at_set", "heating"),
        ("at_set", "cool_on", "at temperature"),
        ("cool_on", "vented", "cooling under pressure"),
        ("heat_on", "vented", "heat on to pressure out"),
    ):
        if first in marks and last in marks and marks[last] >= marks[first]:
            told.append(f"{words} <b>{duration(marks[last] - marks[first])}</b>")
    times = f"<p>{'; '.join(told)}.</p>" if told else ""
    if story.curve:
        svg += '<p class="soft">Predicted for the times of the recipe; the upright lines show when it really was.</p>'
    return f"<h2>The run</h2>{svg}{times}" if svg or times else ""


def _recipe(story: Story) -> str:
    if not story.recipe:
        return ""

    def cell(slot: str, value: Any, beside: Any) -> str:
        if value is None:
            return '<span class="soft">none</span>'
        text = _h(shown(slot, value))
        return text if beside is None or value == beside else f"<b>{text} (differs)</b>"

    rows = [
        (
            _h(label(v.slot)),
            cell(v.slot, v.computed, None),
            cell(v.slot, v.agreed, v.computed),
            cell(v.slot, v.displayed, v.agreed),
            "as above" if index and v.reason and v.reason == story.recipe[index - 1].reason else _h(v.reason),
        )
        for index, v in enumerate(story.recipe)
    ]
    dwell = "; ".join(f"{_h(name)} {_h(number(seconds, 1))} s" for name, seconds, _ in story.dwell_items)
    made_of = (
        f'<p class="soft made-of">The computed dwell is made of: {dwell}.</p>'
        if dwell and not story.account
        else ""
    )
    warnings = "".join(f"<p>Note: {_h(warning)}</p>" for warning in story.warnings)
    headings = ("", "computed", "agreed", "read back from the press", "reason")
    return f"<h2>Values</h2>{_table(headings, rows)}{made_of}{_grounds(story)}{warnings}"


def _grounds(story: Story) -> str:
    """Physics against practice, what binds and how far the model has it healed, in a few lines."""
    account = "; ".join(f"{_h(name)} {_h(number(seconds, 1))} s" for name, seconds, _ in story.account)
    told = [f"Physics against practice: {account}." if account else "", _h(story.binding)]
    if story.healed is not None:
        told.append(
            f"Healed {story.healed:.2f} at the end of the dwell, by a model with illustrative constants."
        )
    text = " ".join(part for part in told if part)
    return f'<p class="soft made-of">{text}</p>' if text else ""


def _confirmations(story: Story, when: When) -> str:
    rows = []
    for c in story.confirmations:
        how = _WAYS.get(c.way, c.way) + (f", sureness {c.sureness:.2f}" if c.sureness is not None else "")
        refused = f"<br>after {c.refused} answer{'s' if c.refused > 1 else ''} refused" if c.refused else ""
        facts = f'<br><span class="soft">on: {_h("; ".join(c.facts))}</span>' if c.facts else ""
        rows.append(
            (
                _h(when.clock(c.wall)),
                f'<b>{_h(c.gate.replace("_", " "))}</b><span class="soft hazard">{_h(c.hazard)}</span>',
                f"{_h(c.heard)}{refused}{facts}",
                _h(how),
                _h(c.person) or '<span class="soft">nobody named</span>',
            )
        )
    if not rows:
        return "<h2>Safety confirmations</h2><p>None was given.</p>"
    return "<h2>Safety confirmations</h2>" + _table(("time", "question", "sentence given", "how", "by"), rows)


def _readings(story: Story, when: When) -> str:
    rows = [
        (
            _h(when.clock(r.wall)),
            _h(label(r.slot)),
            _h(shown(r.slot, r.value)),
            "" if r.since_heat_s is None else _h(duration(r.since_heat_s)),
            "plausible" if r.plausible else '<span class="bad">NOT PLAUSIBLE</span>',
            _h(_expectation(r.sentence)),
        )
        for r in story.readings
    ]
    if not rows:
        return ""
    return "<h2>Readings</h2>" + _table(("time", "of", "value", "after heat on", "judged", "expected"), rows)


def _expectation(sentence: str) -> str:
    """'About 62 °C was expected.' under a heading that says so already."""
    if sentence.startswith("About ") and sentence.endswith(" was expected."):
        return f"a{sentence[1:].removesuffix(' was expected.')}"
    return sentence


def _inspection(story: Story) -> str:
    rows = []
    for finding in story.findings:
        severity = str(finding.get("severity", ""))
        word, css = _SEVERITY.get(severity, (severity, ""))
        item = finding.get("item", "")
        rows.append(
            (
                _h(label(item)),
                _h(shown(item, finding.get("finding"))),
                f'<span class="{css}">{_h(word)}</span>',
                _h(_added(str(finding.get("sentence", "")))),
            )
        )
    return "<h2>Inspection</h2>" + _table(("item", "found", "judged", ""), rows) if rows else ""


def _added(sentence: str) -> str:
    """What a sentence such as 'Width of the joint: 45 mm against 45 mm' adds to the item's name before it."""
    added = sentence.partition(": ")[2] or sentence
    return "" if added == "nothing found." else added


def _decision(story: Story) -> str:
    if not story.outcome:
        return ""
    note = f"<p>Note: {_h(story.note)}</p>" if story.note else ""
    causes = f"<p>Likely causes: {_h('; '.join(story.causes))}</p>" if story.causes else ""
    kept = f"<p>Recipe kept as '{_h(story.kept)}'.</p>" if story.kept else ""
    return f"<h2>Decision</h2><p><b>{_h(story.outcome)}</b></p>{note}{causes}{kept}"


def _departures(found: Sequence[Departure], when: When) -> str:
    title = "<h2>Departures: refused, corrected, held, interrupted</h2>"
    if not found:
        return title + "<p>None.</p>"
    rows = [(_h(when.clock(d.wall)), _h(d.sort), _h(d.sentence), f"line {d.line_no}") for d in found]
    return title + _table(("time", "what", "", "in the log"), rows)


def _foot(story: Story, verdict: Verdict) -> str:
    heard = ", ".join(f"{n} {_h({'voice': 'by voice'}.get(way, way))}" for way, n in story.heard.items())
    key = f"Key {_h(verdict.key_fingerprint)}. " if verdict.key_fingerprint else ""
    return (
        f"<footer><p>{_h(story.program)}, procedure '{_h(story.procedure)}'. {verdict.lines} entries"
        f"{f'; utterances: {heard}' if heard else ''}. Times are of the bench's clock. The log is the record; this page is a view of it.</p>"
        f'<p class="digest">{key}Head digest {_h(verdict.head)}</p></footer>'
    )
