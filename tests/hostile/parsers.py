"""Every parser of the program behind one face: bytes in, and either they are taken or refused in a sentence.

`feed` raises only what is a fault: anything but the rooms' own errors, a sentence that is none, or a page that
has come out unescaped. Used by the quick tests beside this file and by `fuzz.py`.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import struct
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from hostile_texts import LONGEST_SENTENCE, check_sentence

import assistant.bench
import assistant.recipe
from assistant.bench.bad_data import BadData, parse_toml, read_bytes, validate
from assistant.bench.catalogue import MODELS, Catalogue, load_catalogue
from assistant.bench.path_file import read_path
from assistant.bench.readings_file import read_readings
from assistant.bench.sheet import build_job, with_defaults
from assistant.bench.sheet_file import read_sheet
from assistant.procedure.load import FILES, STAGE_FILES, _Gates, _Head, load_procedure
from assistant.procedure.load import PACKAGED as PROCEDURE
from assistant.procedure.model import Stage
from assistant.recipe.best_file import load_best
from assistant.recipe.explicit import load_heat
from assistant.record.chain import RecordError
from assistant.record.index import rows
from assistant.record.keys import known_keys, private_key
from assistant.record.recipe_book import KeptRecipe, RecipeBook
from assistant.review.list_of_readings import read_numbers, told_of
from assistant.review.statistics import USUAL_RULES
from intents.phrasebook import PhrasebookError, parse_phrasebook
from speech.errors import SpeechError
from speech.model_archive import copy_member, find_model, open_archive
from speech.wavefile import read_wav
from tui.hear import HearError, read_phrases
from tui.voice_settings import FILE_NAME, Keeper, read_settings

DATA = Path(assistant.bench.__file__).parent / "data"
RECIPE = Path(assistant.recipe.__file__).parent / "data"
REFUSALS = (BadData, RecordError, SpeechError, HearError, PhrasebookError)


@dataclass(frozen=True)
class Parser:
    """feed: one input. seeds: some that are taken, to begin from. room: whose errors may come out is in REFUSALS."""

    feed: Callable[[bytes], None]
    seeds: Callable[[], Iterable[bytes]]


@cache
def room() -> Path:
    """A folder that is gone with the process, on no disk if there is such a place."""
    ram = Path("/dev/shm")
    folder = Path(
        tempfile.mkdtemp(prefix="hostile-", dir=ram if os.access(ram, os.W_OK) and ram.is_dir() else None)
    )
    import atexit

    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@cache
def catalogue() -> Catalogue:
    return load_catalogue()


def written(raw: bytes, name: str = "input") -> Path:
    path = room() / name
    path.write_bytes(raw)
    return path


def refusing(read: Callable[[bytes], object], *more: type[Exception]) -> Callable[[bytes], None]:
    def feed(raw: bytes) -> None:
        try:
            read(raw)
        except (*REFUSALS, *more) as error:
            check_sentence(error)

    return feed


def packaged(folder: str) -> list[bytes]:
    return [path.read_bytes() for path in sorted((DATA / folder).glob("*.toml"))]


def _job(raw: bytes) -> None:
    values, _ = with_defaults(read_sheet(written(raw), catalogue()), catalogue())
    build_job(values, catalogue())


def _bench(raw: bytes) -> None:
    """The first byte chooses the kind of item."""
    model = list(MODELS.values())[raw[0] % len(MODELS) if raw else 0]
    path = written(raw[1:])
    held = read_bytes(path)
    validate(model, parse_toml(held, path), held, path)


def _bench_seeds() -> list[bytes]:
    return [bytes([n]) + raw for n, kind in enumerate(MODELS) for raw in packaged(kind)[:2]]


def _procedure(raw: bytes) -> None:
    """The first byte chooses the file. One that passes alone is then judged with the whole procedure."""
    name = FILES[raw[0] % len(FILES) if raw else 0]
    folder = room() / "procedure"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    path = folder / name
    path.write_bytes(raw[1:])
    model = {"procedure.toml": _Head, "gates.toml": _Gates}.get(name, Stage)
    held = read_bytes(path)
    validate(model, parse_toml(held, path), held, path)
    load_procedure(folder)


def _procedure_seeds() -> list[bytes]:
    return [bytes([FILES.index(n)]) + (PROCEDURE / n).read_bytes() for n in FILES if n in STAGE_FILES[:9:4] or n not in STAGE_FILES]  # fmt: skip


def _phrasebook_seeds() -> list[bytes]:
    import intents

    return [(Path(intents.__file__).parent / "data" / "phrases.toml").read_bytes()]


def _settings(raw: bytes) -> None:
    """Read, and kept with another loudness: a file of which something cannot be used stays as it is."""
    path = written(raw, FILE_NAME)
    settings, trouble = read_settings(room())
    assert len(trouble) < LONGEST_SENTENCE
    told: list[str] = []
    Keeper(room(), told.append).keep(settings.words_per_minute, 4.0)
    assert bool(told) == bool(trouble)
    assert not trouble or path.read_bytes() == raw
    assert trouble or read_settings(room()) == (settings.model_copy(update={"gain_dB": 4.0}), "")


def _keys(raw: bytes) -> None:
    """As a public file, as its history, and as a private one."""
    path = written(raw)
    path.chmod(0o600)
    for read in (
        lambda: known_keys(path),
        lambda: known_keys(written(_public_seed(), "known"), path),
        lambda: private_key(path, None, "key", "give another"),
        lambda: private_key(path, b"a word", "key", "give another"),
    ):
        with contextlib.suppress(RecordError):
            read()


@cache
def _public_seed() -> bytes:
    return _key_seeds()[0]


@cache
def _key_seeds() -> list[bytes]:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    from assistant.record.hand_over import hand_over
    from assistant.record.keys import private_pem, public_text

    one, other = (Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in (1, 2))
    made = hand_over(one, other, "2026-11-25T14:05:00.000+01:00")
    return [public_text(other.public_key(), (made,)), public_text(one.public_key()), private_pem(one), private_pem(one, b"a word")]  # fmt: skip


def _archive(raw: bytes) -> None:
    """Looked at and unpacked; nothing may lie outside the folder that it is unpacked into."""
    unpack(written(raw, "model"))


def unpack(path: Path) -> None:
    place = room() / "unpacked"
    shutil.rmtree(place, ignore_errors=True)
    with open_archive(path) as archive:
        found = find_model(archive, path, path.stat().st_size)
        for name, member in found.files.items():
            with contextlib.suppress(OSError):  # a name too long for this disk: told by `install`
                copy_member(archive, member, place / name)
    assert all(one.resolve().is_relative_to(place) for one in place.rglob("*"))


def _archive_seeds() -> list[bytes]:
    import io
    import tarfile
    import zipfile

    files = {
        "m/model.bin": b"w" * 40,
        "m/config.json": b"{}",
        "m/tokenizer.json": b"{}",
        "m/vocabulary.txt": b"a",
    }
    seeds = []
    for packing in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        held = io.BytesIO()
        with zipfile.ZipFile(held, "w", packing) as out:
            for name, content in files.items():
                out.writestr(name, content)
        seeds.append(held.getvalue())
    for mode in ("w", "w:gz"):
        held = io.BytesIO()
        with tarfile.open(fileobj=held, mode=mode) as tar:  # type: ignore[call-overload]
            for name, content in files.items():
                info = tarfile.TarInfo(name)
                info.size = len(content)
                tar.addfile(info, io.BytesIO(content))
        seeds.append(held.getvalue())
    return seeds


def _wav_seeds() -> list[bytes]:
    seeds = []
    for tag, channels, rate, bits in (
        (1, 1, 16000, 16),
        (3, 2, 44100, 32),
        (0xFFFE, 1, 8000, 24),
        (1, 1, 192000, 8),
    ):
        form = struct.pack(
            "<HHIIHH", tag, channels, rate, rate * channels * bits // 8, channels * bits // 8, bits
        )
        form += struct.pack("<HHIHH", 22, bits, 0, 1, 0) if tag == 0xFFFE else b""
        body = bytes(96)
        held = b"fmt " + struct.pack("<I", len(form)) + form + b"data" + struct.pack("<I", len(body)) + body
        seeds.append(b"RIFF" + struct.pack("<I", 4 + len(held)) + b"WAVE" + held)
    return seeds


def _index(raw: bytes) -> None:
    """The index of a folder with one session that begins with its opening line."""
    from log_of import events, log_bytes

    log = written(log_bytes(events()[:3]), "log.jsonl")
    found = rows(written(raw, "index.sqlite"), {"one": log})
    assert [row.session for row in found] == ["one"]
    assert found[0].head


@cache
def _index_seeds() -> list[bytes]:
    from log_of import events, log_bytes

    log = written(log_bytes(events()[:3]), "log.jsonl")
    index = room() / "index.sqlite"
    index.unlink(missing_ok=True)
    rows(index, {"one": log})
    return [index.read_bytes()]


def _recipe_book(raw: bytes) -> None:
    folder = room() / "recipes"
    folder.mkdir(exist_ok=True)
    (folder / "one.json").write_bytes(raw)
    RecipeBook(folder).recipes()


def _recipe_seeds() -> list[bytes]:
    one = KeptRecipe(
        name="flat", belt="packing_line", press="hinged", values={"dwell": 240.0}, technician="Nora",
        kept="2026-11-25T14:05:00+01:00", session="2026-11-25-1405-a1b2", outcome="accepted",
    )  # fmt: skip
    return [one.model_dump_json().encode()]


def _log(raw: bytes) -> None:
    from log_of import read_in_every_way

    read_in_every_way(written(raw, "log.jsonl"))


def _events(raw: bytes) -> None:
    from log_of import log_bytes, mutated

    _log(log_bytes(mutated(raw)))


def _log_seeds() -> list[bytes]:
    from log_of import events, log_bytes

    return [log_bytes(events()), log_bytes(events()[:2])]


def _words(raw: bytes) -> None:
    from words_of import understood_in_every_way

    understood_in_every_way(raw.decode("utf-8", "surrogateescape"))


def _words_seeds() -> list[bytes]:
    from words_of import SEEDS

    return [text.encode() for text in SEEDS]


def _examples(name: str) -> Callable[[], list[bytes]]:
    return lambda: [(DATA / "examples" / name).read_bytes()]


PARSERS: dict[str, Parser] = {
    "job": Parser(refusing(_job), lambda: packaged("jobs")),
    "bench": Parser(refusing(_bench), _bench_seeds),
    "readings": Parser(refusing(lambda raw: read_readings(written(raw))), _examples("readings.toml")),
    "path": Parser(refusing(lambda raw: read_path(written(raw))), _examples("path.toml")),
    "heat": Parser(refusing(lambda raw: load_heat(written(raw))), lambda: [(RECIPE / "heat.toml").read_bytes()]),
    "best": Parser(refusing(lambda raw: load_best(written(raw))), lambda: [(RECIPE / "recipe.toml").read_bytes()]),
    "procedure": Parser(refusing(_procedure), _procedure_seeds),
    "phrasebook": Parser(refusing(lambda raw: parse_phrasebook(raw, "phrases.toml")), _phrasebook_seeds),
    "phrases": Parser(refusing(lambda raw: read_phrases(written(raw))), lambda: [b"open the door\n# no\none two three\n"]),
    "voice": Parser(refusing(_settings), lambda: [b"words_per_minute = 150\ngain_dB = 3.0\nearcons = false\nmicrophone = 'dock'\n"]),
    "numbers": Parser(refusing(lambda raw: told_of(read_numbers(written(raw)), USUAL_RULES)), lambda: [b"49.6\n47.6\n51.3\n"]),
    "wav": Parser(refusing(lambda raw: read_wav(written(raw))), _wav_seeds),
    "keys": Parser(_keys, _key_seeds),
    "archive": Parser(refusing(_archive), _archive_seeds),
    "index": Parser(refusing(_index), _index_seeds),
    "recipe_book": Parser(refusing(_recipe_book), _recipe_seeds),
    "log": Parser(_log, _log_seeds),
    "events": Parser(_events, lambda: [b"\0\0\0\0\0\0", bytes(range(60))]),
    "words": Parser(_words, _words_seeds),
}  # fmt: skip
