"""The report: whole, self-contained, and proof against what stands in the log."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import msgspec
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from assistant.record.chain import Line
from assistant.record.read import read_log
from assistant.record.stamp import Stamp
from assistant.review.report import report_html
from assistant.review.story import story_of
from assistant.review.verify import verify

VOID = {"meta", "br", "!doctype"}


class Page(HTMLParser):
    """Tags must nest; the text and every attribute are gathered."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.text = ""
        self.attributes: list[tuple[str, str | None]] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data + " "


def page_of(path: Path, key: Ed25519PrivateKey | None = None) -> tuple[str, Page]:
    html = report_html(read_log(path), verify(path, key.public_key() if key else None))
    return html, Page(html)


def test_the_report_tells_the_session_whole(sealed: Path, key: Ed25519PrivateKey) -> None:
    html, page = page_of(sealed, key)
    assert page.open == []
    text = " ".join(page.text.split())
    for words in (
        "ACCEPTED WITH A NOTE", "Nora, Ilse", "The record is in order", "The key is the one that was given.", verify(sealed).code,
        "185 °C", "5 min (differs)", "cold inside", "it is cold and i am letting the pressure out", "Ilse", "typed",
        "after 1 answer refused", "computed inside 69 °C", "NOT PLAUSIBLE", "0.6 mm wider than beside.", "channel too wide",
        "holding time 120.5 s", "The clock was set back by 30 s.", "at temperature 5 min", "heat on to pressure out 14 min 40 s",
        "45 mm", "line 8",
    ):  # fmt: skip
        assert words in text, words
    assert "SIMULATED" not in html


def test_nothing_comes_from_outside_and_nothing_runs(sealed: Path) -> None:
    html, page = page_of(sealed)
    assert not set(page.tags) & {"script", "link", "img", "iframe", "object", "form"}
    assert not [name for name, _ in page.attributes if name.startswith("on") or name in ("href", "src")]
    assert not re.search(r"url\(|@import|https?://", html)
    assert "default-src 'none'" in html


def test_a_simulated_session_says_so_in_the_first_line_and_the_heading(write: Any, tmp_path: Path) -> None:
    html, page = page_of(write(tmp_path / "sim.jsonl", simulated=True))
    assert "SIMULATED" in html.splitlines()[0]
    assert "<h1>SIMULATED splice report</h1>" in html
    assert page.text.split()[0] == "SIMULATED:"


def test_what_stands_in_the_log_is_shown_not_obeyed(sealed: Path) -> None:
    evil = "</td></style><script>alert(1)</script>\x1b[31m\u202e\"'&"
    events: list[dict[str, Any]] = [line.event for line in read_log(sealed)]

    def poisoned(value: Any, key: str = "") -> Any:
        match value:
            case str() if key not in ("kind", "slot", "mark", "topic"):
                return value + evil
            case dict():
                return {k: poisoned(v, k) for k, v in value.items()}
            case list():
                return [poisoned(v) for v in value]
        return value

    lines = [
        Line(1, n, float(n), "2026-11-25T14:00:00.000+01:00" + evil, 0.0, "", 0, "", poisoned(e))
        for n, e in enumerate(events)
    ]
    html = report_html(lines, verify(sealed))
    page = Page(html)
    assert page.open == []
    assert "script" not in page.tags
    assert "\x1b" not in html
    assert "\u202e" not in html
    assert "alert(1)" in page.text


def test_the_curve_is_well_formed_and_has_its_lines_marks_and_dots(sealed: Path) -> None:
    html, _ = page_of(sealed)
    found = re.search(r"<svg.*?</svg>", html, re.DOTALL)
    assert found
    svg = ElementTree.fromstring(found[0])
    classes = [element.get("class", "") for element in svg.iter()]
    assert {"upper", "lower", "coldest", "hottest"} <= {
        c for e, c in zip(svg.iter(), classes, strict=True) if e.tag == "polyline"
    }
    assert sum(c == "mark" for c in classes) == 4
    assert sum(c.startswith("dot") for c in classes) == 5 + 3  # readings, and the three of the legend
    assert classes.count("cross") == 1
    width, height = (float(x) for x in svg.get("viewBox", "").split()[2:])
    for element in svg.iter():
        for pair in element.get("points", "").split():
            x, y = (float(v) for v in pair.split(","))
            assert 0 <= x <= width
            assert 0 <= y <= height


def test_a_point_of_the_curve_is_drawn_where_its_scale_says(sealed: Path) -> None:
    html, _ = page_of(sealed)
    ticks = {
        t: float(x)
        for x, t in re.findall(r'<text x="([\d.]+)" y="279.0" text-anchor="middle">([\d.]+)</text>', html)
    }
    levels = {
        t: float(y) - 3.5
        for y, t in re.findall(r'<text x="39.0" y="([\d.]+)" text-anchor="end">(\d+)</text>', html)
    }
    dot = re.search(r'<circle class="dot upper" cx="([\d.]+)" cy="([\d.]+)"', html)
    assert dot
    assert float(dot[1]) == pytest.approx(ticks["2"], abs=0.1)  # class: analytic -- the reading was at 120 s
    at_128 = levels["120"] + (levels["140"] - levels["120"]) * 8 / 20
    assert float(dot[2]) == pytest.approx(at_128, abs=0.2)  # class: analytic -- 128 °C on a linear scale


def test_a_log_that_has_hardly_begun_has_a_report_too(tmp_path: Path) -> None:
    from assistant.record.log import LogWriter

    path = tmp_path / "a.jsonl"
    LogWriter.create(
        path, {"kind": "opened", "simulated": False}, Stamp(0.0, "2026-11-25T14:00:00.000+01:00", 0.0)
    ).close()
    html, page = page_of(path)
    assert page.open == []
    assert "NOT DECIDED" in html
    assert "<svg" not in html


def test_a_log_that_does_not_verify_says_so(sealed: Path) -> None:
    lines = read_log(sealed)
    sealed.write_bytes(sealed.read_bytes().replace(b"nora", b"mora", 1))
    text = Page(report_html(lines, verify(sealed))).text
    assert "THE RECORD IS NOT IN ORDER" in text
    assert "Line 2 is not as it was written" in text


def test_entries_of_another_shape_do_not_stop_the_story() -> None:
    odd: list[dict[str, Any]] = [
        {"kind": "opened"}, {"kind": "computed", "topic": "recipe", "inputs": 3, "results": {"values": {}, "curve": [[1], "x"], "dwell_items": 5}},
        {"kind": "reading"}, {"kind": "gate_closed"}, {"kind": "decided", "outcome": None, "causes": None}, {"kind": "hologram"},
    ]  # fmt: skip
    lines = [Line(1, n, 0.0, "2026-11-25T14:00:00+01:00", 0.0, "", 0, "", e) for n, e in enumerate(odd)]
    assert story_of(lines).curve == ()


def test_a_name_or_a_value_with_its_unit_is_not_torn_apart(sealed: Path) -> None:
    html, _ = page_of(sealed)
    assert '<td class="whole">Ilse</td>' in html
    assert '<td class="whole">2 bar</td>' in html


def test_a_sentence_that_says_its_item_again_is_not_printed_twice(sealed: Path) -> None:
    said = {"inspected": "Upper face: nothing found.", "reading": "About 62 °C was expected."}
    lines = [
        msgspec.structs.replace(line, event={**line.event, "sentence": said[line.kind]})
        if line.kind in said
        else line
        for line in read_log(sealed)
    ]
    html = report_html(lines, verify(sealed))
    readings, inspection = (
        html.split(f"<h2>{title}</h2>")[1].split("<h2>")[0] for title in ("Readings", "Inspection")
    )
    assert "about 62 °C" in readings
    assert "was expected" not in readings
    assert "nothing found" not in inspection


def test_the_account_of_the_dwell_stands_in_the_report_with_what_binds(sealed: Path) -> None:
    lines = read_log(sealed)
    more = {
        "account": [["physical minimum", 0.0, ""], ["healing by the model", 67.04, ""]],
        "binding": "Fusion of the <coldest> edge binds.",
        "healing": {"degree": 0.875},
    }
    lines = [
        msgspec.structs.replace(line, event={**line.event, "results": {**line.event["results"], **more}})
        if line.kind == "computed" and line.event["topic"] == "recipe"
        else line
        for line in lines
    ]
    page = Page(report_html(lines, verify(sealed)))
    assert page.open == []
    assert "healing by the model 67 s. Fusion of the <coldest> edge binds." in page.text
    assert "by a model with illustrative constants" in page.text
