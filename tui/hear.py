"""Puts sound files through the real listening chain, for tests, tuning, and judging with other recordings."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from assistant.record.plain import harmless_json
from intents.phrase_match import fitting
from speech.sound import BLOCK, RATE_HZ
from speech.utterance import Utterance
from tui.plain import plain

if TYPE_CHECKING:
    from speech.ear import Ear, WordTime
    from speech.sound import Samples

LARGEST_PHRASES_BYTES = 1_000_000
LONGEST_PHRASE = 300  # signs; nobody says more in one breath


FROM_STDIN = Path("-")


class HearError(Exception):
    """A phrase list or the ears cannot be used; str() is one sentence."""


def hear(
    files: Sequence[Path],
    phrases_file: Path | None = None,
    write: Callable[[str], None] = print,
    as_json: bool = True,
    words: bool = False,
    stdin: IO[bytes] | None = None,
) -> int:
    """Hear files one after another and write one line per utterance, as soon as it has ended.

    Every file and the phrase list are read before anything is heard, so a bad one costs no waiting.

    Args:
        files: wave files, folders of them, or '-' for raw sound from `stdin`: 16 kHz, mono, 16 bit little-endian.
        phrases_file: one phrase a line, words only; what is heard is understood when it is exactly one of them.
        as_json: JSON lines; else plain lines for people.
        words: also when each word was said.

    Returns:
        The number of utterances.

    Raises:
        SpeechError, HearError: a file, the phrase list, or the ears cannot be used.
    """
    from speech.listen import Listener
    from speech.wavefile import read_wav
    from speech.word_times import TimedEar

    phrases = read_phrases(phrases_file) if phrases_file is not None else {}
    sources = [one for file in files for one in _wave_files(file)]
    for file in sources:
        if file != FROM_STDIN:
            read_wav(file)
    ear = _open_ear(phrases, words)
    count = 0
    for file in sources:
        listener = Listener(ear)
        for blocks, samples in enumerate(_blocks(file, stdin), start=1):
            if isinstance(ear, TimedEar):
                ear.at_s = blocks * BLOCK / RATE_HZ
            for utterance in listener.feed(samples) if samples is not None else listener.flush():
                count += 1
                line = line_of(file, utterance, phrases)
                if isinstance(ear, TimedEar):
                    line["words"] = [_timed(one, utterance) for one in ear.times]
                write(harmless_json(json.dumps(line, ensure_ascii=False)) if as_json else told(line))
    return count


def _wave_files(named: Path) -> list[Path]:
    """The file itself, or the wave files of a folder and those below it."""
    if named == FROM_STDIN or not named.is_dir():
        return [named]
    found = sorted(p for p in named.rglob("*") if p.suffix.lower() == ".wav")
    if not found:
        raise HearError(f"The folder {named} holds no .wav file; name another.")
    return found


def _open_ear(phrases: dict[str, str], words: bool) -> Ear:
    from speech.ears import open_ear
    from speech.errors import Missing
    from speech.vosk_ear import VoskEar
    from speech.whisper_ear import WhisperEar
    from speech.word_times import TimedEar

    ear = open_ear()
    if isinstance(ear, Missing):
        raise HearError(ear.sentence)
    if isinstance(ear, VoskEar):
        ear.expect(phrases.values())
    if not words:
        return ear
    if not isinstance(ear, WhisperEar):
        raise HearError("Only whisper tells when each word was said; leave --words out, or the vosk model.")
    return TimedEar(ear)


def _blocks(file: Path, stdin: IO[bytes] | None) -> Iterator[Samples | None]:
    """Blocks of a source, the last filled up with silence; then None for the end.

    Raises:
        SpeechError, HearError: it cannot be read, or no sound comes.
    """
    import numpy as np

    from speech.wavefile import from_int16, read_wav

    if file != FROM_STDIN:
        samples = read_wav(file).samples
        yield from np.pad(samples, (0, -len(samples) % BLOCK)).reshape(-1, BLOCK)
        yield None
        return
    if stdin is None:
        raise HearError("No sound comes on standard input; pipe raw 16 kHz sound into it.")
    first = True
    while pcm := stdin.read(BLOCK * 2):
        if first and pcm.startswith((b"RIFF", b"RIFX", b"fLaC", b"OggS", b"ID3")):
            raise HearError(
                "What comes on standard input is a sound file; '-' takes raw sound (16 kHz, mono, 16 bit): name the "
                "file instead."
            )
        first = False
        yield from_int16((pcm + bytes(BLOCK * 2))[: BLOCK * 2])
    if first:
        raise HearError("No sound came on standard input; pipe raw 16 kHz sound into it.")
    yield None


def _timed(word: WordTime, within: Utterance) -> dict[str, Any]:
    """The quiet before and after the voice belongs to no word."""
    start, end = (min(max(at_s, within.start_s), within.end_s) for at_s in (word.start_s, word.end_s))
    return {"word": word.word, "start": start, "end": end, "probability": word.probability}


def line_of(file: Path, utterance: Utterance, phrases: dict[str, str]) -> dict[str, Any]:
    """What is written of one utterance. 'understood' is the phrase, None if it is none or no list was given.

    'ambiguous' holds the phrases where it could be several, which is no match.

    Args:
        phrases: canonical text -> phrase as it stands in the list.
    """
    heard = asdict(utterance)
    fit = fitting(utterance.text, phrases)
    return {
        "file": str(file),
        "start": heard.pop("start_s"),
        "end": heard.pop("end_s"),
        "heard": heard.pop("text"),
        "alternatives": heard.pop("alternatives"),
        "sureness": heard.pop("sureness"),
        "verified": heard.pop("verified"),
        "understood": fit[0] if len(fit) == 1 else None,
        "ambiguous": fit if len(fit) > 1 else [],
        **{name: value for name, value in heard.items() if name != "while_deaf"},
    }


def understood(text: str, phrases: dict[str, str]) -> str | None:
    """The one phrase that was said exactly; numbers may be spelled in any way that surely means the same.

    None: no phrase, or a tie between several.
    """
    same = fitting(text, phrases)
    return same[0] if len(same) == 1 else None


def told(line: dict[str, Any]) -> str:
    """One utterance for people."""
    grade = "good for a gate" if line["gate_grade"] else "good for a value" if line["verified"] else "unsure"
    why = f": {line['why_not']}" if line["why_not"] else ""
    meant = f" = {line['understood']}" if line["understood"] else ""
    if line["ambiguous"]:
        meant = f" = one of: {'; '.join(line['ambiguous'])}"
    when = "".join(f"\n  {w['start']:7.2f} {w['end']:7.2f}  {w['word']}" for w in line.get("words", ()))
    text = f"{line['heard']}{meant}"
    return (
        f"{plain(line['file'])} {line['start']:.2f}-{line['end']:.2f} s  {plain(text)}  ({grade}{why}){when}"
    )


def read_phrases(file: Path) -> dict[str, str]:
    """Canonical text -> phrase, of a list with one phrase a line; empty lines and lines with '#' are left out.

    Raises:
        HearError: the list cannot be read, or holds no phrase.
    """
    from intents.canonical import canonical

    try:
        if file.exists() and not file.is_dir() and not file.is_file():
            raise HearError(
                f"The phrase list {file} is not an ordinary file; give one phrase a line in a file."
            )
        if file.stat().st_size > LARGEST_PHRASES_BYTES:
            raise HearError(f"{file} is too large for a phrase list; give one phrase a line, 1 MB at most.")
        lines = file.read_text(encoding="utf-8-sig").splitlines()
    except OSError as error:
        raise HearError(f"The phrase list {file} cannot be read: {error.strerror or error}.") from error
    except ValueError as error:
        raise HearError(f"The phrase list {file} is not text; give one phrase a line, UTF-8.") from error
    for number, line in enumerate(lines, start=1):
        if len(line) > LONGEST_PHRASE:
            raise HearError(
                f"The phrase list {file}, line {number}, has {len(line)} signs; a phrase has {LONGEST_PHRASE} at most."
            )
    phrases = {canonical(line): line.strip() for line in lines if line.strip() and not line.startswith("#")}
    phrases.pop("", None)
    if not phrases:
        raise HearError(f"The phrase list {file} holds no phrase; give one phrase a line.")
    return phrases
