"""Hostile texts on the bench screen, in the heard lines, in the graph and in the note about a fault."""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from hostile_texts import MARK, TEXTS, steering
from textual.strip import Strip
from toml_of import toml_text

from assistant.record.plain import harmless_json
from assistant.view import GateView, Line, RecipeRow, StageView, TimerView, View
from speech.utterance import Utterance
from tui.asking import Help, Leave
from tui.bench import BenchApp
from tui.hear import line_of, told
from tui.main import _crashed

Outcome = tuple[int, str, str]
Play = Callable[..., Outcome]


def view_of(text: str, *, gate: bool) -> View:
    """A view in which every text from outside is this one."""
    return View(
        simulated=False, technician=text, stages=(StageView(text, "now"), StageView(text, "to come")), act_title=text, act_say=text,
        value=text, value_label=text, timers=(TimerView("dwell", text, 60.0, 240.0),), gate=GateView(text, text, (text, text)) if gate else None,
        held="" if gate else text, finished="", conversation=tuple(Line(who, text, 1.0, "voice") for who in ("you", "bench", "note")),
        recipe=(RecipeRow(text, text, text, True),), curve=(), readings=(), run_s=None, can_say=(text, text), log_path=text, ear="DEAF",
        ear_note=text, heard_so_far=text,
    )  # fmt: skip


class Port:
    """A session that stands still."""

    def __init__(self, view: View) -> None:
        self.shown, self.told = view, [lambda _view: None]

    def submit(self, text: str) -> None: ...
    def key(self) -> None: ...
    def close(self) -> None: ...
    def view(self) -> View:
        return self.shown

    def subscribe(self, callback: Any) -> None:
        self.told.append(callback)

    def lines_since(self, count: int) -> tuple[Line, ...]:
        return self.shown.conversation[count:]

    def idle(self) -> bool:
        return True

    def publish(self, view: View) -> None:
        self.shown = view
        for callback in self.told:
            callback(view)


def drawn(app: BenchApp) -> list[Strip]:
    width, height = app.screen.size
    return app.screen._compositor.render_strips(app.screen.size)[:height] if width else []


def check_drawn(app: BenchApp, name: str) -> str:
    rows = drawn(app)
    assert rows
    for row in rows:
        for segment in row:
            assert not steering(segment.text), (name, ascii(segment.text))
            assert segment.style is None or segment.style.link is None, name
            assert segment.style is None or not set(segment.style.meta) & {"@click", "@hover"}, name
    return "\n".join(row.text for row in rows)


@pytest.mark.slow
@pytest.mark.parametrize("gate", [False, True])
def test_no_hostile_text_is_obeyed_by_the_bench_screen(gate: bool) -> None:
    seen: dict[str, str] = {}

    async def play() -> None:
        port = Port(view_of("plain words", gate=gate))
        app = BenchApp(port)
        async with app.run_test(size=(120, 40)) as pilot:
            for name, text in TEXTS.items():
                port.publish(view_of(text, gate=gate))
                await pilot.pause()
                seen[name] = check_drawn(app, name)
            for sheet, key in ((Help, "f1"), (Leave, "ctrl+q")):
                await pilot.press(key)
                assert isinstance(app.screen, sheet)
                check_drawn(app, key)
                await pilot.press("escape")
        assert app.failure is None

    asyncio.run(play())
    assert MARK in seen["escape"].lower()
    for name in ("markup", "click", "link"):
        assert TEXTS[name].split(MARK)[0].upper() in seen[name].upper().replace("\n", ""), seen[name]


def test_every_text_of_a_view_is_tried() -> None:
    view = view_of(MARK, gate=True)
    for held in (view, view.stages[0], view.timers[0], view.gate, view.conversation[0], view.recipe[0]):
        assert is_dataclass(held)
        for one in fields(held):
            value = getattr(held, one.name)
            assert (
                not isinstance(value, str)
                or value in (MARK, "", "DEAF")
                or one.name in ("who", "way", "status", "name")
            ), one.name
    assert replace(view, held=MARK).held == MARK


@pytest.mark.parametrize("name", list(TEXTS))
def test_what_was_heard_in_a_file_is_printed_as_text_and_as_json(name: str) -> None:
    text = TEXTS[name]
    heard = Utterance(0.0, 1.0, text, "whisper", alternatives=(text,), why_not="too quiet")
    line = line_of(Path(f"{text.replace(chr(0), '')}.wav"), heard, {})
    assert not steering(told(line))
    assert "\n" not in told(line)
    printed = harmless_json(json.dumps(line, ensure_ascii=False))
    assert not steering(printed)
    assert json.loads(printed)["heard"] == text


PLAIN_STEP = """
[[acts]]
id = "own_step"
kind = "step"
title = {title}
say = {say}
"""


def graph_shape(drawing: str) -> list[str]:
    """The drawing with each quoted string taken for one word. Raises: AssertionError where one is not closed."""
    words = re.findall(r'"(?:[^"\\]|\\.)*"|[A-Za-z_][\w.]*|[0-9.]+|->|[{}\[\]=;,]|\s+|.', drawing)
    shape = ["STRING" if word.startswith('"') else word for word in words if not word.isspace()]
    assert '"' not in shape
    return shape


@pytest.mark.slow
def test_a_hostile_title_is_one_string_of_the_graph(loopwright: Play, tmp_path: Path) -> None:
    from assistant.procedure.load import PACKAGED

    stage = (PACKAGED / "01_job.toml").read_text()
    shapes, refused = [], []
    (tmp_path / "own").mkdir()
    titles = {
        "plain": "look at it",
        "end": 'look"',
        "slash": "look\\\\",
        "both": 'look\\\\"];x',
        "turn": 'look\\" -> "x',
        **TEXTS,
    }
    for name, text in titles.items():
        if name == "surrogate":
            continue
        title = f"look {text}"[:40]
        (tmp_path / "own" / "01_job.toml").write_text(
            stage + PLAIN_STEP.format(title=toml_text(title), say=toml_text("Look."))
        )
        code, out, err = loopwright("procedure", tmp_path / "own", "--graph")
        assert not steering(out + err)
        if code:
            assert (code, out, err.count("\n")) == (2, "", 1)
            refused.append(name)
            continue
        shapes.append(graph_shape(out))
        for more in ([], ["--json"]) if len(shapes) % 7 == 1 else ():
            _, told_too, _ = loopwright("procedure", tmp_path / "own", *more)
            assert not steering(told_too)
            assert (
                not more
                or title in json.dumps(json.loads(told_too), ensure_ascii=False)
                or "\\" in title
                or '"' in title
            )
    assert len(shapes) > 8
    assert {"plain", "end", "slash", "both", "turn"}.isdisjoint(refused)
    assert all(shape == shapes[0] for shape in shapes)


@pytest.mark.parametrize("name", list(TEXTS))
def test_the_note_about_a_fault_and_its_sentence_steer_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    sentence = _crashed(RuntimeError(TEXTS[name]))
    assert not steering(sentence)
    (note,) = tmp_path.rglob("crash-*.txt")
    assert not steering(note.read_text())
    assert "RuntimeError" in note.read_text()
