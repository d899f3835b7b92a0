"""What the bench screen does with keys, typed lines, and text that means harm."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Awaitable, Callable
from dataclasses import replace

import pytest
from fixed_views import DWELL, FINISHED, GATE, JOB, STEP, TALK, VIEWS
from still_port import StillPort
from textual.pilot import Pilot

from assistant.view import Line, View
from tui.asking import Help, Leave
from tui.bench import BenchApp

SIZES = [(80, 24), (160, 45)]


def rows(app: BenchApp) -> list[str]:
    """What stands on the screen."""
    return ["".join(segment.text for segment in strip) for strip in app.screen._compositor.render_strips()]


def on_screen(
    view: View,
    act: Callable[[BenchApp, StillPort, Pilot[None]], Awaitable[None]],
    size: tuple[int, int] = (80, 24),
) -> StillPort:
    port = StillPort(view)

    async def play() -> None:
        app = BenchApp(port)
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            await act(app, port, pilot)

    asyncio.run(play())
    return port


def shown(view: View, size: tuple[int, int] = (80, 24)) -> str:
    kept: list[str] = []

    async def look(app: BenchApp, _port: StillPort, _pilot: Pilot[None]) -> None:
        kept.extend(rows(app))

    on_screen(view, look, size)
    return "\n".join(kept)


def test_a_typed_line_reaches_the_session_and_clears_the_entry() -> None:
    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.press(*"one point nine", "enter")
        assert app.query_one("#entry").value == ""  # type: ignore[attr-defined]

    assert on_screen(JOB, act).submitted == ["one point nine"]


def test_an_empty_line_is_nothing_said() -> None:
    async def act(_app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.press("enter", "space", "enter")

    assert on_screen(JOB, act).submitted == []


def test_the_pedal_key_is_the_pedal_and_types_nothing() -> None:
    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.press("f8", "f8")
        assert app.query_one("#entry").value == ""  # type: ignore[attr-defined]

    port = on_screen(STEP, act)
    assert (port.presses, port.submitted) == (2, [])


def test_the_entry_has_the_focus_after_every_sheet() -> None:
    async def act(app: BenchApp, port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.press("f1", "escape", "ctrl+q", "escape", "tab", "tab", "f3", "f2", *"done", "enter")
        assert app.focused is app.query_one("#entry")
        assert port.submitted == ["done"]

    on_screen(STEP, act)


@pytest.mark.parametrize("size", SIZES)
def test_a_gate_shows_hazard_cautions_and_the_whole_sentence(size: tuple[int, int]) -> None:
    gate = GATE.gate
    assert gate is not None
    text = shown(GATE, size)
    for caution in gate.cautions:
        assert caution in text
    assert "▞▞▞▞" in text
    if size == (160, 45):
        assert gate.sentence in text  # as typed, under the block letters
    else:
        assert gate.hazard.upper() in text


def test_a_long_gate_at_the_smallest_size_loses_no_word() -> None:
    sentence = "the plug is in my hand and the gauge is at zero"
    cautions = tuple(
        f"Caution number {i} is as long as cautions are in practice, or longer by a few words."
        for i in range(4)
    )
    assert GATE.gate is not None
    text = shown(replace(GATE, gate=replace(GATE.gate, sentence=sentence, cautions=cautions)))
    assert sentence.upper() in text
    assert all(f"Caution number {i}" in text for i in range(4))


def test_on_a_screen_too_small_for_the_cautions_the_sentence_is_still_whole() -> None:
    text = " ".join(row.strip() for row in shown(GATE, (40, 12)).splitlines())
    assert "EVERYTHING IS FASTENED AND MY HANDS ARE CLEAR" in text
    assert "STOP" in text


def test_while_a_gate_is_open_the_timer_stays_in_sight() -> None:
    text = shown(replace(GATE, timers=DWELL.timers))
    assert "02:22" in text


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", list(VIEWS))
def test_simulated_stands_in_the_first_line_and_only_when_it_is_so(name: str, size: tuple[int, int]) -> None:
    assert ("SIMULATED" in shown(VIEWS[name], size).splitlines()[0]) == VIEWS[name].simulated


def test_every_ear_is_named_in_words() -> None:
    for ear in ("LISTENING", "HEARING YOU", "SPEAKING", "DEAF", "TYPE ONLY"):
        assert ear in shown(replace(JOB, ear=ear)).splitlines()[0]


def test_leaving_is_a_question_and_enter_stays() -> None:
    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.press("ctrl+q")
        assert isinstance(app.screen, Leave)
        assert DWELL.log_path in "\n".join(rows(app))
        await pilot.press("enter")
        assert not isinstance(app.screen, Leave)
        assert app.is_running

    on_screen(DWELL, act)


def test_leaving_takes_a_key_of_its_own() -> None:
    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.press("ctrl+c", "l")
        await pilot.pause()
        assert app._exit

    on_screen(DWELL, act)


def test_help_says_what_can_be_said_now() -> None:
    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.press("f1")
        assert isinstance(app.screen, Help)
        assert "what next" in "\n".join(rows(app))

    on_screen(STEP, act)


HOSTILE = "[bold red]hot[/] [link=x]y \x1b[2J\x1b]0;title\x07 \u202ereversed \x9b31m a\x00b"
TAMED = "[bold red]hot[/] [link=x]y"


def test_markup_is_shown_as_written_and_escape_sequences_do_nothing() -> None:
    assert GATE.gate is not None
    hostile = replace(
        GATE,
        technician=HOSTILE,
        act_title="[b]A",
        gate=replace(GATE.gate, hazard=f"h {HOSTILE}", cautions=(HOSTILE,)),
        conversation=(*TALK, Line("you", HOSTILE, 40.0, "voice")),
        can_say=(HOSTILE,),
        ear_note=HOSTILE,
    )
    for view in (hostile, replace(hostile, gate=None, value=HOSTILE, value_label=HOSTILE, held=HOSTILE)):
        text = shown(view)
        assert TAMED in text
        assert not any(sign in text for sign in "\x1b\x07\x9b\x00\u202e")


def test_a_typed_escape_sequence_does_not_reach_the_session() -> None:
    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        app.query_one("#entry").value = "done\x1b[2J"  # type: ignore[attr-defined]
        await pilot.press("enter")

    assert on_screen(STEP, act).submitted == ["done[2J"]


def test_snapshots_posted_from_another_thread_are_drawn_and_the_last_one_stays() -> None:
    async def act(app: BenchApp, port: StillPort, pilot: Pilot[None]) -> None:
        def many() -> None:
            for i in range(200):
                port.publish(replace(JOB, technician=f"person {i}"))
            port.publish(FINISHED)

        thread = threading.Thread(target=many)
        thread.start()
        await asyncio.to_thread(thread.join)
        await pilot.pause(0.1)
        assert "FINISHED" in rows(app)[0]

    on_screen(JOB, act)


def test_page_keys_go_back_in_the_conversation_and_return() -> None:
    talk = tuple(Line("bench", f"sentence {i}.", float(i)) for i in range(60))

    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        assert "sentence 59." in "\n".join(rows(app))
        await pilot.press("pageup", "pageup")
        assert "sentence 59." not in "\n".join(rows(app))
        assert "Page Down" in "\n".join(rows(app))
        await pilot.press("pagedown", "pagedown", "pagedown")
        assert "sentence 59." in "\n".join(rows(app))

    on_screen(replace(JOB, conversation=talk), act)


def test_a_new_alarm_rings_once() -> None:
    async def act(app: BenchApp, port: StillPort, pilot: Pilot[None]) -> None:
        rung: list[int] = []
        app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
        alarmed = replace(JOB, conversation=(*TALK, Line("alarm", "Smoke.", 50.0)))
        for view in (alarmed, alarmed, replace(alarmed, technician="Bo")):
            port.publish(view)
            await pilot.pause()
        assert rung == [1]

    on_screen(JOB, act)


@pytest.mark.parametrize("size", [(20, 6), (50, 14), (200, 60)])
@pytest.mark.parametrize("name", list(VIEWS))
def test_no_size_breaks_the_screen(name: str, size: tuple[int, int]) -> None:
    assert shown(VIEWS[name], size)


@pytest.mark.parametrize("name", ["gate", "dwell"])
def test_a_resized_screen_looks_like_one_that_began_at_that_size(name: str) -> None:
    async def act(app: BenchApp, _port: StillPort, pilot: Pilot[None]) -> None:
        await pilot.resize_terminal(160, 45)
        await pilot.pause()
        assert "\n".join(rows(app)) == shown_large[0]

    shown_large = [shown(VIEWS[name], (160, 45))]
    on_screen(VIEWS[name], act)


def test_a_fault_is_kept_for_the_caller_and_prints_no_traceback(capsys: pytest.CaptureFixture[str]) -> None:
    class Failing(StillPort):
        def idle(self) -> bool:
            raise ZeroDivisionError("in the session's thread")

    app = BenchApp(Failing(JOB))

    async def play() -> None:
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.pause(0.7)

    with pytest.raises(ZeroDivisionError):
        asyncio.run(play())
    assert isinstance(app.failure, ZeroDivisionError)
    app._print_error_renderables()
    assert "Traceback" not in capsys.readouterr().err
