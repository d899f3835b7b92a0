"""Puts a speech model where the bench looks for it, whole or not at all, and takes it away again.

It is unpacked into a folder beside its place, its digest compared, loaded once in a process of its own, and only
then moved into place by one rename; whatever goes wrong before that leaves what was there as it was.
"""

from __future__ import annotations

import errno
import fcntl
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from speech.errors import SpeechError
from speech.model_archive import Archive, Found, copy_member, find_model, open_archive
from speech.models import RECEIPT, cache_folder, main_file, sha256_of

ENGINES = ("whisper", "vosk")
SPARE_BYTES = 50_000_000  # left free for the records
TRIAL_S = 120.0
_BESIDE = ".installing-"
_NEEDED = {"whisper": "faster_whisper", "vosk": "vosk"}


@dataclass(frozen=True)
class Installed:
    """engine: 'whisper' or 'vosk'. sha256: of the model's main file. note: what could not be tried, or ''."""

    engine: str
    folder: Path
    sha256: str
    note: str


def install(source: Path, sha256: str | None = None, replace: bool = False) -> Installed:
    """Install a model from a zip, wheel, tar, tar.gz or folder on this machine.

    Args:
        sha256: expected digest of the archive; of a folder, that of its model.bin or final.mdl. None: not compared.
        replace: take the place of an installed one.

    Raises:
        SpeechError: nothing was installed, and why.
    """
    with open_archive(source) as archive:
        packed = None if source.is_dir() else source
        digest = sha256_of(packed) if packed is not None else None
        if packed is not None and sha256 is not None and digest != sha256:
            raise SpeechError(_other(source, str(digest), sha256))
        found = find_model(archive, source, packed.stat().st_size if packed is not None else None)
        place = cache_folder(found.engine)
        if place.exists() and not replace:
            raise SpeechError(
                f"There is a {found.engine} model in {place} already; give --replace to put this one in its place."
            )
        try:
            with _workshop(place.parent) as beside:
                _unpack(archive, found, beside)
                main = main_file(beside, found.engine)
                assert main is not None  # `find_model` looked for it
                weights = sha256_of(main)
                if packed is None and sha256 not in (None, weights):
                    raise SpeechError(_other(main, weights, str(sha256)))
                note = _try(found.engine, beside)
                receipt = {"from": source.name, "archive_sha256": digest, "model_sha256": weights}
                (beside / RECEIPT).write_text(json.dumps(receipt), encoding="utf-8")
                _put(beside, place)
        except OSError as error:
            raise SpeechError(about_disk(error, place.parent)) from error
    return Installed(found.engine, place, weights, note)


def remove(engine: str) -> Path:
    """Take an installed model away; returns where it was. Raises: SpeechError, there is none or it cannot be."""
    place = cache_folder(engine)
    if not place.is_dir():
        raise SpeechError(f"No {engine} model is installed in {place}; nothing was removed.")
    try:
        with _workshop(place.parent) as beside:
            place.rename(beside / "gone")
    except OSError as error:
        raise SpeechError(about_disk(error, place.parent)) from error
    return place


@contextmanager
def _workshop(models: Path) -> Iterator[Path]:
    """An empty folder beside the models, gone afterwards; one program at a time."""
    models.mkdir(parents=True, exist_ok=True)
    with (models / ".lock").open("wb") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise SpeechError(
                "Another program is installing a model just now; wait until it is done."
            ) from error
        for left in models.glob(f"{_BESIDE}*"):  # by a program that was killed
            shutil.rmtree(left, ignore_errors=True)
        beside = Path(tempfile.mkdtemp(prefix=_BESIDE, dir=models))
        try:
            yield beside
        finally:
            shutil.rmtree(beside, ignore_errors=True)


def _unpack(archive: Archive, found: Found, beside: Path) -> None:
    free = shutil.disk_usage(beside).free
    if found.size_bytes + SPARE_BYTES > free:
        raise SpeechError(
            f"The model needs {found.size_bytes / 1e6:.0f} MB in {beside.parent}, where {free / 1e6:.0f} MB are "
            "free; make room."
        )
    for name, member in found.files.items():
        if name != RECEIPT:  # ours to write
            copy_member(archive, member, beside / name)


def _try(engine: str, folder: Path) -> str:
    """Load it in a process that may die of it. Raises: SpeechError, it does not load."""
    if find_spec(_NEEDED[engine]) is None:
        return f"It could not be tried, because {_NEEDED[engine].replace('_', '-')} is not installed."
    try:
        done = subprocess.run(
            [sys.executable, "-m", "speech.model_trial", engine, str(folder)],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
            timeout=TRIAL_S, check=False, cwd=Path(__file__).parent.parent,
        )  # fmt: skip
    except subprocess.TimeoutExpired as error:
        raise SpeechError(
            f"The {engine} model did not load in {TRIAL_S:g} s; nothing was installed."
        ) from error
    if done.returncode != 0:
        said = done.stderr.decode("utf-8", "replace").strip().splitlines()
        reason = said[-1] if done.returncode == 1 and said else f"the recogniser ended with {done.returncode}"
        reason = reason.replace(f" in {folder}", "")
        raise SpeechError(f"The model cannot be used, so nothing was installed: {reason}")
    return ""


def _put(beside: Path, place: Path) -> None:
    """Everything on disk first, then one rename; an old one is moved aside just before."""
    for path in (*(p for p in beside.rglob("*") if p.is_file()), beside):
        descriptor = os.open(path, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
    beside.chmod(0o755)
    old = Path(tempfile.mkdtemp(prefix=_BESIDE, dir=place.parent)) if place.exists() else None
    if old is not None:
        place.rename(old / "old")
    try:
        beside.rename(place)
    except OSError:
        if old is not None:
            (old / "old").rename(place)
        raise
    finally:
        if old is not None:
            shutil.rmtree(old, ignore_errors=True)


def _other(path: Path, digest: str, wanted: str) -> str:
    return (
        f"{path} is not what was asked for: its SHA-256 is {digest[:12]}…, not {wanted[:12]}…; nothing was "
        "installed; get it again."
    )


def about_disk(error: OSError, models: Path) -> str:
    """What the system refused, in a sentence."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"The disk of {models} is full, so nothing was changed; make room and try again."
    where = os.fsdecode(error.filename) if error.filename is not None else models
    return (
        f"{where} cannot be used ({error.strerror or error}), so nothing was changed; check the permissions."
    )
