"""Names with emoji, from right to left, with turned order, combining signs, very long, only spaces, with line breaks."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import at_the_press as press
import pytest

from assistant.bench.bad_data import BadData
from assistant.bench.catalogue import PACKAGED
from assistant.bench.sheet_file import read_sheet
from assistant.record.keys import load_public_key
from assistant.record.read import read_log
from assistant.record.seal import seal_code
from assistant.review.report import report_html
from assistant.review.verify import verify
from assistant.review.words import retell
from tui.plain import plain as on_screen

Loopwright = Callable[..., tuple[int, str, str]]
FLAT = PACKAGED / "jobs" / "flat_in_the_shop.toml"
EMOJI = "Zoë 👩🏽‍🏭🍎"
RIGHT_TO_LEFT = "נועה"
ARABIC = "مريم"
COMBINING = "Ro\u0308\u0301\u0323bin"
LONG = "Robin " + "a" * 194
TURNED = "Robin\u202enibor"
ISOLATED = "\u2066Robin\u2069"
HARMLESS = [EMOJI, RIGHT_TO_LEFT, ARABIC, COMBINING]
STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


def sheet_with(path: Path, key: str, name: str) -> Path:
    """The flat job with another name under `key`, written as TOML takes it."""
    escaped = "".join(f"\\U{ord(c):08x}" for c in name)
    text = FLAT.read_text("utf-8")
    replaced = re.sub(rf'^{key} = ".*"$', lambda _: f'{key} = "{escaped}"', text, flags=re.MULTILINE)
    assert replaced != text
    path.write_text(replaced, "utf-8")
    return path


def stopped(folder: Path, sheet: Path) -> Path:
    """A session of that sheet, agreed, stopped and sealed."""
    talk = press.fresh(folder, read_sheet(sheet))
    talk.type("that is correct", "stop the session", "that is correct")
    assert talk.session.finished
    return talk.session.writer.path


class Text(HTMLParser):
    """What a reader sees of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.seen = ""
        self.feed(page)

    def handle_data(self, data: str) -> None:
        self.seen += data


@pytest.mark.parametrize("name", HARMLESS, ids=["emoji", "hebrew", "arabic", "combining"])
def test_a_name_from_a_file_stands_as_it_is_in_log_review_and_report_and_the_seal_holds(
    name: str, tmp_path: Path, loopwright: Loopwright
) -> None:
    path = stopped(tmp_path / "records", sheet_with(tmp_path / "job.toml", "technician", name))
    lines = read_log(path)
    taken = [line.event["value"] for line in lines if line.event.get("slot") == "technician"]
    assert taken == [name]
    verdict = verify(path, load_public_key(tmp_path / "records" / "bench.pub"))
    assert verdict.ok
    assert verdict.code == seal_code(bytes.fromhex(lines[-1].event["signature"]))
    assert re.fullmatch(r"[0-9 -]+", verdict.code)
    code, out, _ = loopwright("review", path)
    assert code == 0
    assert on_screen(name) in out
    assert not STEERING.search(out)
    page = report_html(lines, verdict)
    assert name in Text(page).seen
    assert not STEERING.search(page)


@pytest.mark.parametrize(
    "name", [TURNED, ISOLATED, "Robin\nEve", "Robin\x1b[31m", "Robin\u2028Eve", "\u202e"]
)
def test_a_name_that_would_turn_or_break_a_line_never_does_so(
    name: str, tmp_path: Path, loopwright: Loopwright
) -> None:
    """Refused in one sentence, or told with the sign written out: never obeyed."""
    job, refused = sheet_with(tmp_path / "job.toml", "technician", name), ""
    try:
        path = stopped(tmp_path / "records", job)
    except BadData as error:
        refused = str(error)
    if refused:
        assert "technician" in refused
        assert not STEERING.search(refused)
        assert "\n" not in refused
        return
    code, out, _ = loopwright("review", path)
    assert code == 0
    assert not STEERING.search(out)
    assert not STEERING.search(report_html(read_log(path), verify(path)))


@pytest.mark.parametrize(
    "name", ["", " ", "   \u00a0 ", "\t", LONG, "a" * 10_000],
    ids=["empty", "space", "spaces", "tab", "200 letters", "10,000 letters"],
)  # fmt: skip
def test_a_name_that_is_none_or_too_long_is_refused_in_one_sentence(
    name: str, tmp_path: Path, loopwright: Loopwright
) -> None:
    job = sheet_with(tmp_path / "job.toml", "technician", name)
    code, out, err = loopwright("talk", "--typed", "--folder", tmp_path / "records", "--job", job)
    assert (code, out) == (2, "")
    assert err.startswith("loopwright: ")
    assert "technician" in err
    assert err.count("\n") == 1
    assert len(err) < 400


@pytest.mark.parametrize("key", ["belt", "press", "template"])
@pytest.mark.parametrize(
    "name", [EMOJI, RIGHT_TO_LEFT, TURNED, "", "a" * 200], ids=["emoji", "hebrew", "turned", "empty", "long"]
)
def test_a_belt_press_or_template_of_no_known_name_is_refused(
    key: str, name: str, tmp_path: Path, loopwright: Loopwright
) -> None:
    job = sheet_with(tmp_path / "job.toml", key, name)
    code, out, err = loopwright("recipe", job)
    assert (code, out) == (2, "")
    assert key in err
    assert not STEERING.search(err)
    assert len(err) < 600


def test_names_given_by_typing_are_kept_as_they_were_typed_or_refused_aloud(tmp_path: Path) -> None:
    talk = press.fresh(
        tmp_path, {key: value for key, value in press.sheet("demo").items() if key != "technician"}
    )
    talk.type("that is correct")
    assert "Who" in talk.asked()
    talk.type("   ")
    assert talk.state.technician == ""
    said = talk.type(LONG)
    assert talk.state.technician == ""
    assert said
    talk.type(EMOJI)
    talk.type("that is correct")
    told = [event["value"] for event in talk.events("value_taken") if event["slot"] == "technician"]
    heard = [event["text"] for event in talk.events("heard")]
    assert EMOJI in heard
    assert told == ["Zoë"]  # read back before it counted: a typed or spoken name is of letters
    talk.session.writer.close()
    assert verify(talk.session.writer.path).ok
    assert not STEERING.search("\n".join(retell(read_log(talk.session.writer.path))))
