"""Installing a model from what lies on the disk: whole or not at all, and nothing outside its own folder."""

from __future__ import annotations

import errno
import fcntl
import gzip
import hashlib
import io
import os
import shutil
import stat
import tarfile
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from speech import model_archive, model_store
from speech.errors import Missing, SpeechError
from speech.model_store import install, remove
from speech.models import ModelFolder, cache_folder, find_vosk, find_whisper

WHISPER = {
    "model.bin": b"weights" * 99,
    "config.json": b"{}",
    "tokenizer.json": b"{}",
    "vocabulary.txt": b"a\nb",
}
VOSK = {"am/final.mdl": b"mdl", "conf/model.conf": b"", "graph/HCLr.fst": b"fst"}
OLD_VOSK = {"final.mdl": b"mdl", "mfcc.conf": b""}
Make = Callable[[Path, dict[str, bytes]], Path]


@pytest.fixture(autouse=True)
def bare(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No settings of this machine's own, and no trial: these weights are none."""
    for name in ("LOOPWRIGHT_WHISPER_MODEL", "VOSK_MODEL_PATH"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(model_store, "_try", lambda _engine, _folder: "")


def below(root: str, files: dict[str, bytes]) -> dict[str, bytes]:
    return {root + name: content for name, content in files.items()}


def folder(path: Path, files: dict[str, bytes]) -> Path:
    for name, content in files.items():
        (path / name).parent.mkdir(parents=True, exist_ok=True)
        (path / name).write_bytes(content)
    return path


def zipped(path: Path, files: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for name, content in files.items():
            out.writestr(name, content)
    return path


def tarred(path: Path, files: dict[str, bytes], mode: str = "w") -> Path:
    with tarfile.open(path, mode) as out:  # type: ignore[call-overload]
        for name, content in files.items():
            info = tarfile.TarInfo(name)
            info.size = len(content)
            out.addfile(info, io.BytesIO(content))
    return path


def tar_gz(path: Path, files: dict[str, bytes]) -> Path:
    return tarred(path, files, "w:gz")


KINDS: dict[str, Make] = {"m": folder, "m.zip": zipped, "m.whl": zipped, "m.tar": tarred, "m.tar.gz": tar_gz}


def nothing_installed() -> bool:
    models = cache_folder().parent
    return not models.exists() or {p.name for p in models.iterdir()} <= {".lock"}


@pytest.mark.parametrize("root", ["", "some-model-1.0/", "a package/model/"])
@pytest.mark.parametrize("kind", list(KINDS))
def test_a_whisper_model_is_found_wherever_it_lies_in_whatever_it_came_in(
    tmp_path: Path, kind: str, root: str
) -> None:
    pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")
    beside = (
        {} if root.count("/") != 2 else {"a package/__init__.py": b"raise RuntimeError", "read me": b"hello"}
    )
    source = KINDS[kind](tmp_path / kind, below(root, WHISPER) | beside)
    done = install(source)
    digest = hashlib.sha256(WHISPER["model.bin"]).hexdigest()  # class: peer library -- hashlib over the bytes
    assert (done.engine, done.folder, done.sha256) == ("whisper", cache_folder("whisper"), digest)
    held = {p.name: p.read_bytes() for p in done.folder.iterdir() if p.name != "installed.json"}
    assert held == WHISPER
    found = find_whisper()
    assert isinstance(found, ModelFolder)
    assert (found.path, found.sha256) == (done.folder, digest)


@pytest.mark.parametrize("files", [VOSK, OLD_VOSK])
@pytest.mark.parametrize("kind", list(KINDS))
def test_a_vosk_model_of_both_layouts_keeps_its_folders(
    tmp_path: Path, kind: str, files: dict[str, bytes]
) -> None:
    done = install(KINDS[kind](tmp_path / kind, below("vosk-small/", files)))
    assert (done.engine, done.folder) == ("vosk", cache_folder("vosk"))
    held = {str(p.relative_to(done.folder)): p.read_bytes() for p in done.folder.rglob("*") if p.is_file()}
    held.pop("installed.json")
    assert held == files


def test_an_installed_model_that_was_changed_afterwards_is_refused(tmp_path: Path) -> None:
    done = install(zipped(tmp_path / "m.zip", VOSK))
    (done.folder / "am" / "final.mdl").write_bytes(b"other")
    with pytest.raises(SpeechError, match="has changed since it was installed"):
        find_vosk()
    remove("vosk")
    assert isinstance(find_vosk(), Missing)
    with pytest.raises(SpeechError, match="No vosk model is installed"):
        remove("vosk")


def test_an_installed_whisper_that_was_changed_afterwards_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")
    done = install(zipped(tmp_path / "m.zip", WHISPER))
    (done.folder / "model.bin").write_bytes(b"other")
    with pytest.raises(SpeechError, match="has changed since it was installed"):
        find_whisper()
    (done.folder / "installed.json").write_bytes(b"{")
    with pytest.raises(SpeechError, match=r"installed\.json cannot be read"):
        find_whisper()


def test_the_digest_asked_for_is_that_of_the_archive_or_of_a_folders_weights(tmp_path: Path) -> None:
    source = zipped(tmp_path / "m.zip", WHISPER)
    wrong = "0" * 64
    with pytest.raises(SpeechError, match="is not what was asked for"):
        install(source, wrong)
    with pytest.raises(SpeechError, match="is not what was asked for"):
        install(folder(tmp_path / "m", WHISPER), wrong)
    assert nothing_installed()
    install(source, hashlib.sha256(source.read_bytes()).hexdigest())
    install(tmp_path / "m", hashlib.sha256(WHISPER["model.bin"]).hexdigest(), replace=True)


def test_another_model_takes_the_place_only_when_asked(tmp_path: Path) -> None:
    first = install(zipped(tmp_path / "m.zip", WHISPER))
    other = zipped(tmp_path / "n.zip", WHISPER | {"model.bin": b"better"})
    with pytest.raises(SpeechError, match="--replace"):
        install(other)
    assert (first.folder / "model.bin").read_bytes() == WHISPER["model.bin"]
    install(other, replace=True)
    assert (first.folder / "model.bin").read_bytes() == b"better"
    assert {p.name for p in first.folder.parent.iterdir()} == {".lock", "whisper"}


@pytest.mark.parametrize(
    "name",
    ["../outside", "a/../../outside", "/tmp/outside", "C:\\outside", "a\\..\\outside", "bell\a", "x" * 1001],
)
@pytest.mark.parametrize("kind", ["m.zip", "m.tar", "m.tar.gz"])
def test_an_archive_that_names_a_place_outside_is_refused_whole(tmp_path: Path, kind: str, name: str) -> None:
    with pytest.raises(SpeechError, match="unsafe name"):
        install(KINDS[kind](tmp_path / kind, WHISPER | {name: b"evil"}))
    assert nothing_installed()
    assert not list(tmp_path.rglob("*outside*"))


def test_links_and_devices_in_an_archive_are_refused(tmp_path: Path) -> None:
    linked = tmp_path / "link.zip"
    with zipfile.ZipFile(zipped(linked, WHISPER), "a") as out:
        info = zipfile.ZipInfo("vocabulary.json")
        info.external_attr = (stat.S_IFLNK | 0o777) << 16
        out.writestr(info, "/etc/passwd")
    with pytest.raises(SpeechError, match="link or device"):
        install(linked)
    for kind in (tarfile.SYMTYPE, tarfile.LNKTYPE, tarfile.CHRTYPE, tarfile.FIFOTYPE):
        bad = tarred(tmp_path / "link.tar", WHISPER)
        with tarfile.open(bad, "a") as tar:
            link = tarfile.TarInfo("vocabulary.json")
            link.type, link.linkname = kind, "../../outside"
            tar.addfile(link)
        with pytest.raises(SpeechError, match="link or device"):
            install(bad)
    assert nothing_installed()


def test_an_archive_that_swells_is_refused_before_it_is_unpacked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(model_archive, "_SMALL_BYTES", 100_000)
    monkeypatch.setattr(model_store, "copy_member", lambda *_: pytest.fail("it was unpacked"))
    for make, name in ((zipped, "m.zip"), (tar_gz, "m.tar.gz")):
        with pytest.raises(SpeechError, match="more than a model can be"):
            install(make(tmp_path / name, WHISPER | {"model.bin": bytes(3_000_000)}))
    many = {f"file{n}": b"" for n in range(model_archive.MOST_FILES)}
    with pytest.raises(SpeechError, match="more than a model can be"):
        install(zipped(tmp_path / "many.zip", WHISPER | many))
    assert nothing_installed()


def test_a_size_that_lies_in_the_header_of_a_zip_costs_no_more_than_it_says(tmp_path: Path) -> None:
    source = zipped(tmp_path / "m.zip", WHISPER | {"model.bin": bytes(1_000_000)})
    data = source.read_bytes()
    told = (1_000_000).to_bytes(4, "little")
    assert data.count(told) == 2
    source.write_bytes(data.replace(told, (1000).to_bytes(4, "little")))
    with pytest.raises(SpeechError, match=r"not as long|no whole archive|cannot be unpacked"):
        install(source)
    assert nothing_installed()


def test_a_header_of_gigabytes_in_a_tar_is_not_read_into_memory(tmp_path: Path) -> None:
    info = tarfile.TarInfo("pax")
    info.type, info.size = tarfile.XHDTYPE, 5_000_000_000
    source = tmp_path / "m.tar.gz"
    source.write_bytes(gzip.compress(info.tobuf(tarfile.USTAR_FORMAT) + bytes(100_000)))
    with pytest.raises(SpeechError, match="header in it is too long"):
        install(source)


@pytest.mark.parametrize(
    ("files", "why"),
    [
        ({"read me": b"nothing"}, "holds no model"),
        ({name: WHISPER[name] for name in ("model.bin", "config.json")}, "holds no model"),
        ({"final.mdl": b"alone"}, "holds no model"),
        (below("one/", WHISPER) | below("two/", VOSK), r"holds 2 models \(one, two\)"),
    ],
)
def test_an_archive_without_one_model_is_one_sentence(
    tmp_path: Path, files: dict[str, bytes], why: str
) -> None:
    for kind, make in KINDS.items():
        with pytest.raises(SpeechError, match=why):
            install(make(tmp_path / kind, files))
    assert nothing_installed()


def test_what_is_no_archive_is_one_sentence(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "junk").write_bytes(os.urandom(2000))
    (tmp_path / "empty").write_bytes(b"")
    (tmp_path / "bare.gz").write_bytes(gzip.compress(b"no tar"))
    for name in ("pipe", "junk", "empty", "bare.gz", "nowhere"):
        with pytest.raises(
            SpeechError, match=r"ordinary file|no whole archive|does not exist|holds no model"
        ):
            install(tmp_path / name)
    assert nothing_installed()


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cut=st.floats(0, 0.999), kind=st.sampled_from(["m.zip", "m.tar", "m.tar.gz"]), spoilt=st.booleans())
def test_an_archive_cut_off_or_spoilt_anywhere_installs_nothing_or_the_whole_model(
    tmp_path: Path, cut: float, kind: str, spoilt: bool
) -> None:
    shutil.rmtree(cache_folder().parent, ignore_errors=True)
    source = KINDS[kind](tmp_path / kind, below("m/", WHISPER | {"model.bin": os.urandom(3000)}))
    data = bytearray(source.read_bytes())
    at = int(cut * len(data))
    if spoilt:
        data[at] ^= 0x5A
    source.write_bytes(data if spoilt else data[:at])
    try:
        done = install(source)
    except SpeechError:
        assert nothing_installed()
    else:
        assert set(WHISPER) <= {p.name for p in done.folder.iterdir()}


def test_a_disk_that_is_full_or_becomes_full_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = install(zipped(tmp_path / "m.zip", WHISPER))
    source = zipped(tmp_path / "n.zip", WHISPER | {"model.bin": b"better"})

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(model_store, "copy_member", full)
        with pytest.raises(SpeechError, match="is full, so nothing was changed"):
            install(source, replace=True)
    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(SpeechError, match="is full, so nothing was changed"):
            install(source, replace=True)
    with monkeypatch.context() as patch:
        patch.setattr(shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(100, 99, 1))  # type: ignore[attr-defined]
        with pytest.raises(SpeechError, match="make room"):
            install(source, replace=True)
    assert (first.folder / "model.bin").read_bytes() == WHISPER["model.bin"]
    assert {p.name for p in first.folder.parent.iterdir()} == {".lock", "whisper"}


def test_a_rename_that_fails_puts_the_old_model_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = install(zipped(tmp_path / "m.zip", WHISPER))
    rename = Path.rename

    def refuses(self: Path, target: Path) -> Path:
        if target == first.folder and self.name != "old":
            raise PermissionError(errno.EACCES, "Permission denied", str(target))
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refuses)
    with pytest.raises(SpeechError, match="cannot be used"):
        install(zipped(tmp_path / "n.zip", WHISPER | {"model.bin": b"better"}), replace=True)
    assert (first.folder / "model.bin").read_bytes() == WHISPER["model.bin"]


def test_what_a_killed_program_left_behind_is_cleared_and_a_second_one_waits_its_turn(tmp_path: Path) -> None:
    models = cache_folder().parent
    folder(models / ".installing-left", {"model.bin": b"half"})
    source = zipped(tmp_path / "m.zip", VOSK)
    with (models / ".lock").open("wb") as other:
        fcntl.flock(other, fcntl.LOCK_EX)
        with pytest.raises(SpeechError, match="Another program is installing"):
            install(source)
    install(source)
    assert {p.name for p in models.iterdir()} == {".lock", "vosk"}
