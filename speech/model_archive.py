"""What is inside a model's archive, looked at before anything is unpacked: zip, wheel, tar, tar.gz, or a folder.

An archive comes from anywhere. One that would write outside its own folder, holds links, or swells beyond what a
model can be is refused whole.
"""

from __future__ import annotations

import gzip
import lzma
import os
import tarfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Protocol, cast

from speech.errors import SpeechError
from speech.models import WHISPER_PARTS

LARGEST_MODEL_BYTES = 4_000_000_000  # the largest whisper has 3.1 GB
MOST_FILES = 5_000
MOST_SWELLING = 100  # times its own size; weights hardly shrink
_SMALL_BYTES = 10_000_000  # up to which an archive may swell as it likes
_LARGEST_READ = 16_000_000  # at a time, by the library that reads tar headers
_DAMAGED = (
    zipfile.BadZipFile, tarfile.TarError, EOFError, gzip.BadGzipFile, zlib.error, lzma.LZMAError, NotImplementedError,
)  # fmt: skip


@dataclass(frozen=True)
class Member:
    """One ordinary file in it. name: with '/', from the archive's root."""

    name: str
    size_bytes: int


class Archive(Protocol):
    """Anything that lists files and gives their bytes."""

    def members(self) -> Iterator[Member]:
        """Ordinary files, as they come. Raises: SpeechError, something in it is unsafe."""

    def open(self, name: str) -> IO[bytes]:
        """The bytes of one of them."""


@dataclass(frozen=True)
class Found:
    """A model inside. root: the folder in the archive; files: path below the root -> member."""

    engine: str
    root: str
    files: dict[str, Member]

    @property
    def size_bytes(self) -> int:
        return sum(member.size_bytes for member in self.files.values())


@contextmanager
def open_archive(source: Path) -> Iterator[Archive]:
    """Open a model's archive or folder.

    Raises:
        SpeechError: missing, not one of the kinds, damaged (also while it is being read).
    """
    try:
        if source.is_dir():
            yield _Folder(source)
        elif not source.exists():
            raise SpeechError(f"{source} does not exist; check the name.")
        elif not source.is_file():
            raise SpeechError(f"{source} is not an ordinary file; name an archive or a folder.")
        elif zipfile.is_zipfile(source):
            with zipfile.ZipFile(source) as held:
                yield _Zip(held, source)
        else:
            with _tar_stream(source) as stream, tarfile.open(fileobj=stream, mode="r:") as tar:
                yield _Tar(tar, source)
    except _DAMAGED as error:
        raise SpeechError(
            f"{source} is no whole archive that can be read ({_why(error)}); give a .zip, .whl, .tar or .tar.gz, or "
            "get it again."
        ) from error
    except (RuntimeError, ValueError) as error:  # encrypted; names that no file can have; broken compression
        raise SpeechError(f"{source} cannot be unpacked ({_why(error)}); get it again.") from error


def _why(error: Exception) -> str:
    """What the library says, which may quote half the archive."""
    told = str(error) or type(error).__name__
    return told if len(told) <= 120 else f"{told[:117]}..."


def find_model(archive: Archive, source: Path, archive_bytes: int | None) -> Found:
    """The one model in it.

    Args:
        archive_bytes: size of the archive, against which it may not swell; None for a folder.

    Raises:
        SpeechError: none, several, too many or too large files, unsafe names.
    """
    members: dict[str, Member] = {}
    total = 0
    for member in archive.members():
        _check_name(member.name, source)
        total += member.size_bytes
        bomb = archive_bytes is not None and total > _SMALL_BYTES and total > MOST_SWELLING * archive_bytes
        if total > LARGEST_MODEL_BYTES or len(members) >= MOST_FILES or bomb:
            raise SpeechError(f"{source} would unpack to more than a model can be; nothing was unpacked.")
        members[member.name] = member
    found = [*_roots(members)]
    if not found:
        raise SpeechError(
            f"{source} holds no model: neither {', '.join(WHISPER_PARTS)} side by side (whisper) nor "
            "am/final.mdl (vosk); give another."
        )
    if len(found) > 1:
        raise SpeechError(
            f"{source} holds {len(found)} models ({', '.join(root or '.' for _, root in found[:4])}); "
            "give a folder or archive with one."
        )
    engine, root = found[0]
    start = f"{root}/" if root else ""
    files = {name.removeprefix(start): m for name, m in members.items() if name.startswith(start)}
    if engine == "whisper":  # a package may keep code beside it: only the model's own data is wanted
        files = {name: m for name, m in files.items() if "/" not in name and not name.endswith(".py")}
    return Found(engine, root, files)


def _roots(members: dict[str, Member]) -> Iterator[tuple[str, str]]:
    for name in members:
        path = PurePosixPath(name)
        folder = "" if path.parent == PurePosixPath() else str(path.parent)
        start = f"{folder}/" if folder else ""
        if path.name == "model.bin" and all(start + part in members for part in WHISPER_PARTS):
            yield "whisper", folder
        elif path.name == "final.mdl":
            if path.parent.name == "am":
                above = path.parent.parent
                yield "vosk", "" if above == PurePosixPath() else str(above)
            elif start + "mfcc.conf" in members:  # the older layout
                yield "vosk", folder


def _check_name(name: str, source: Path) -> None:
    path = PurePosixPath(name)
    unsafe = (
        not name
        or path.is_absolute()
        or ".." in path.parts
        or "\\" in name
        or ":" in name
        or not name.isprintable()
        or len(name) > 1000
    )
    if unsafe:
        raise SpeechError(
            f"{source} holds a file with an unsafe name ('{name[:60]}'), so nothing of it was unpacked; "
            "get it from elsewhere."
        )


def _linked(name: str, source: Path) -> SpeechError:
    return SpeechError(
        f"{source} holds a link or device ('{name[:60]}') in place of a file, so nothing of it was unpacked; "
        "get it from elsewhere."
    )


class _Folder:
    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def members(self) -> Iterator[Member]:
        for folder, _, names in os.walk(self._folder):  # linked folders are left out
            for path in (Path(folder) / name for name in names):
                if path.is_file():  # a link to a file is as good: what is copied is the file
                    yield Member(path.relative_to(self._folder).as_posix(), path.stat().st_size)

    def open(self, name: str) -> IO[bytes]:
        return (self._folder / name).open("rb")


class _Zip:
    def __init__(self, held: zipfile.ZipFile, source: Path) -> None:
        self._held, self._source = held, source

    def members(self) -> Iterator[Member]:
        for info in self._held.infolist():
            kind = info.external_attr >> 28
            if kind not in (0, 0o4, 0o10):  # as Unix keeps it: unknown, folder, ordinary file
                raise _linked(info.filename, self._source)
            if not info.filename.endswith("/"):  # `is_dir` cannot bear a name of no sign
                yield Member(info.filename, info.file_size)

    def open(self, name: str) -> IO[bytes]:
        return self._held.open(name)


class _Tar:
    def __init__(self, held: tarfile.TarFile, source: Path) -> None:
        self._held, self._source = held, source

    def members(self) -> Iterator[Member]:
        for info in self._held:
            if info.isdir():
                continue
            if not info.isreg() or info.issparse():
                raise _linked(info.name, self._source)
            yield Member(info.name.removeprefix("./"), info.size)
        stream = self._held.fileobj
        assert stream is not None
        stream.seek(self._held.offset)
        if stream.read(tarfile.BLOCKSIZE) != bytes(tarfile.BLOCKSIZE):  # the library takes a cut for an end
            raise tarfile.ReadError("it is cut off")

    def open(self, name: str) -> IO[bytes]:
        names = self._held.getnames()
        found = self._held.extractfile(name if name in names else f"./{name}")
        assert found is not None  # `members` gave ordinary files only
        return found


class _Bounded(gzip.GzipFile):
    """Refuses one huge read: a header may say it is gigabytes long, and would be read into memory."""

    def read(self, size: int | None = -1) -> bytes:
        if size is None or not 0 <= size <= _LARGEST_READ:
            raise tarfile.ReadError("a header in it is too long")
        return super().read(size)


@contextmanager
def _tar_stream(source: Path) -> Iterator[IO[bytes]]:
    with source.open("rb") as raw:
        packed = raw.read(2) == b"\x1f\x8b"
        raw.seek(0)
        if packed:
            with _Bounded(fileobj=raw, mode="rb") as stream:
                yield cast(IO[bytes], stream)  # a file in all that is used of it
        else:
            yield raw


def copy_member(archive: Archive, member: Member, to: Path) -> None:
    """Write one member, no byte more than was announced. Raises: OSError, SpeechError."""
    to.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(member.name) as source, to.open("xb") as out:
        left = member.size_bytes
        while chunk := source.read(min(1 << 20, left + 1)):
            left -= len(chunk)
            if left < 0:
                break
            out.write(chunk)
        out.flush()
    if left:
        raise SpeechError(
            f"'{member.name}' in the archive is not as long as it says; nothing was installed; get it again."
        )
