"""The composition root: the one file that joins assistant, intents and speech to a screen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from assistant.bench.sheet_file import read_sheet
from assistant.mouth import Mouth
from assistant.opening import Bench, begin_session, open_bench, take_up_session
from assistant.procedure.events import Value
from assistant.session import Session
from tui.choice import Choice
from tui.hearing import Hearing
from tui.port import Port
from tui.running import RunningSession
from tui.speaking import find_mouth
from tui.voice_settings import Keeper, VoiceSettings, read_settings


def open_port(choice: Choice) -> Port:
    """A running session by the command line's choice: the one asked for, the one that was left, or a new one.

    Raises: the rooms' own errors, each one sentence.
    """
    bench = open_bench(choice.folder, choice.callsign)
    sheet = read_sheet(choice.job, bench.rules.catalogue) if choice.job is not None else {}
    if choice.microphone is not None:
        _check_sound(choice.microphone)
    settings, trouble = read_settings(bench.store.folder) if not choice.typed else (VoiceSettings(), "")
    mouth, missing = find_mouth(settings) if not choice.typed else (None, "")
    session = _session(choice, bench, sheet, mouth)
    if choice.typed:
        return RunningSession(session)
    for sentence in (missing, trouble):
        if sentence:
            session.note(sentence)
    parts: list[Callable[[], None]] = [mouth.close] if mouth is not None else []
    running = RunningSession(session, parts)
    hearing = _hearing(session, running, choice, settings.microphone)
    parts.append(hearing.close)
    running.awaits = lambda: hearing.awaits_sound
    if mouth is not None:
        mouth.on_sounding, mouth.on_failed = hearing.sounding, session.note
        mouth.on_back = session.tell
        mouth.on_playing = hearing.playing
        mouth.somebody_speaks = hearing.somebody_speaks
        mouth.on_adjusted = Keeper(bench.store.folder, session.note).keep
    session.set_ear("DEAF", "the ears are getting ready")
    hearing.start()
    return running


def _hearing(session: Session, running: RunningSession, choice: Choice, device: str) -> Hearing:
    from speech.apart import open_ear_apart, open_quick_ear
    from speech.microphone import open_microphone

    return Hearing(
        session, running.hear, partial(open_microphone, choice.microphone, device),
        partial(open_ear_apart, session.note), partial(open_quick_ear, session.note),
    )  # fmt: skip


def _check_sound(file: Path) -> None:
    """Before a session is begun for a file that cannot be heard. Raises: SpeechError."""
    from speech.wavefile import read_wav

    read_wav(file)


def _session(choice: Choice, bench: Bench, sheet: Mapping[str, Value], mouth: Mouth | None) -> Session:
    name, disorder = choice.resume, None
    if name is None and not choice.new and choice.job is None:
        left, disorder = bench.store.unfinished(), bench.store.newest_in_disorder()
        name = left.session if left is not None else None
    session = (
        take_up_session(bench, name, mouth) if name is not None else begin_session(bench, sheet, mouth=mouth)
    )
    if disorder is not None:
        session.note(f"The newest session, '{disorder.session}', cannot be taken up: {disorder.trouble}")
    return session
