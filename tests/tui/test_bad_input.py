"""Every command, given what it cannot use: one sentence, exit code 2, nothing written, no hang, little memory."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
from pathlib import Path

import pytest
from in_process import Outcome, Play, command_line

import assistant.bench
from assistant.record.own_key import make_own_key

FLAT = Path(assistant.bench.__file__).parent / "data" / "jobs" / "flat_in_the_shop.toml"
LONGEST_S = 10.0
MOST_MEMORY_KB = 400_000
MEASURED = """
import pathlib, resource, subprocess, sys
code = subprocess.call(sys.argv[2:])
pathlib.Path(sys.argv[1]).write_text(str(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss))
sys.exit(code)
"""


def wav(
    body: bytes = bytes(3200),
    *,
    rate: int = 16000,
    channels: int = 1,
    bits: int = 16,
    tag: int = 1,
    said: int = -1,
) -> bytes:
    """A wave file; `said`: what its header says of its length, the truth if negative."""
    form = struct.pack(
        "<HHIIHH", tag, channels, rate, rate * channels * bits // 8, channels * bits // 8 & 0xFFFF, bits
    )
    size = len(body) if said < 0 else said
    return (
        b"RIFF"
        + struct.pack("<I", 36 + len(body))
        + b"WAVEfmt \x10\0\0\0"
        + form
        + b"data"
        + struct.pack("<I", size)
        + body
    )


def sheet(text: str) -> bytes:
    return f"schema_version = 1\n{text}\n".encode()


# What no command can use, whatever kind of file it wants.
NO_FILE: dict[str, bytes] = {
    "junk": os.urandom(3) + bytes(range(255, 0, -1)) * 9,
    "zeros": bytes(5000),
    "empty": b"",
    "blank": b"\n \n\t\n",
    "latin": b"technician = 'J\xfcrgen'\n",
    "utf16": "schema_version = 1\n".encode("utf-16"),
    "long_line": b"x" * 10_000_000,
}
NO_SHEET: dict[str, bytes] = {
    "wrong_toml": b"schema_version = 1\nbelt = = 3\n",
    "unknown_key": FLAT.read_bytes() + b'\ncolour = "red"\n',
    "other_version": b"schema_version = 2\n",
    "no_version": b"technician = 'Robin'\n",
    "deep_list": sheet("a = " + "[" * 50_000 + "]" * 50_000),
    "deep_key": sheet("a" + ".a" * 50_000 + " = 1"),
    "deep_quoted_key": sheet('"a"' + " . 'a'" * 50_000 + " = 1"),
    "endless_digits": sheet("belt_width_mm = " + "9" * 5000),
    "many_digits": sheet("belt_width_mm = " + "9" * 400),
    "not_a_number": sheet("belt_width_mm = nan"),
    "infinite": sheet("belt_width_mm = 1e400"),
    "words_for_a_number": sheet('belt_width_mm = "45"'),
    "yes_for_a_number": sheet("belt_width_mm = true"),
    "below_zero": sheet("belt_width_mm = -45"),
    "too_wide": sheet("belt_width_mm = 4500"),
    "no_thickness": sheet("belt_thickness_mm = 0"),
    "no_such_belt": sheet('belt = "no such belt"'),
    "escape_codes": sheet('belt = "\\u001b[31m\\u202e"'),
    "no_such_day": sheet("belt = 2026-02-30"),
    "endless_name": sheet(f'technician = "{"a" * 900_000}"'),
    "too_cold": sheet("shop_degC = -300"),
}
NO_SOUND: dict[str, bytes] = {
    "slow": wav(rate=1),
    "no_rate": wav(rate=0),
    "no_channels": wav(channels=0),
    "more_channels_than_sound": wav(channels=65535),
    "twelve_bits": wav(bits=12),
    "compressed": wav(tag=2, bits=4),
    "wide_float": wav(tag=3, bits=64),
    "not_numbers": wav(struct.pack("<400f", *[float("nan")] * 400), tag=3, bits=32),
    "cut_off": wav()[:-1000],
    "header_lies": wav(said=0xFFFFFFFF),
    "no_frames": wav(b""),
    "header_only": wav()[:20],
    "other_endings": b"RIFX" + wav()[4:],
}
NO_PHRASES: dict[str, bytes] = {"only_remarks": b"# nothing\n\n", "endless_phrase": b"open the door " * 5000}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one of each of them, and with what is no ordinary file."""
    folder = tmp_path_factory.mktemp("bad")
    for name, content in (NO_FILE | NO_SHEET | NO_SOUND | NO_PHRASES).items():
        (folder / name).write_bytes(content)
    (folder / "folder").mkdir()
    os.mkfifo(folder / "pipe")
    (folder / "loop").symlink_to("loop")
    with (folder / "sparse").open("wb") as sparse:
        sparse.truncate(100_000_000)
    (folder / "full").write_bytes(b"a = 1\n" * 17_000_000)
    (folder / "sound").write_bytes(wav())
    return folder


NO_PLACE = (
    "folder",
    "pipe",
    "loop",
    "sparse",
    "full",
    "missing",
    "junk/inside",
    "n" * 300,
    "a\x1b]0;mine\x07\u202e\U0001f34f",
    "\udcff\udcfe",
)
DEVICES = ("/dev/zero", "/dev/null", "/dev/full", "/proc/self/mem", "")


@pytest.fixture
def loopwright(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Play:
    for name in ("XDG_STATE_HOME", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))
    return command_line(capsys, monkeypatch)


def refused(told: Outcome) -> bool:
    """One sentence for people on standard error, and nothing else."""
    code, out, err = told
    body = err.removeprefix("loopwright: ")
    assert code == 2, told
    assert body != err, told
    assert err.count("\n") == 1, told
    assert 25 < len(err) < 800, told
    assert out == "", told
    assert "Traceback" not in err, told
    assert err.rstrip("\n").isprintable(), told
    return True


COMMANDS: dict[str, tuple[list[str], dict[str, bytes]]] = {
    "recipe": (["recipe", "FILE"], NO_SHEET | {"a_sound": wav()}),
    "fingers": (["fingers", "FILE"], NO_SHEET),
    "length": (["length", "FILE"], NO_SHEET),
    "tension": (["tension", "FILE"], NO_SHEET),
    "supply": (["supply", "FILE"], NO_SHEET),
    "talk": (["talk", "--typed", "--folder", "RECORDS", "--job", "FILE"], NO_SHEET),
    "microphone": (["talk", "--folder", "RECORDS", "--microphone", "FILE"], NO_SOUND),
    "hear": (["hear", "SOUND", "FILE"], NO_SOUND),
    "phrases": (["hear", "SOUND", "--phrases", "FILE"], NO_PHRASES),
    "models": (["models", "install", "FILE"], NO_SHEET | NO_SOUND),
    "procedure": (["procedure", "FILE"], NO_SHEET),
    "doctor": (["doctor", "--quick", "--folder", "RECORDS", "--microphone", "FILE"], NO_SOUND),
    "verify": (["verify", "FILE"], NO_SHEET | NO_SOUND),
    "review": (["review", "FILE"], NO_SHEET),
    "report": (["report", "FILE", "-o", "PAGE"], NO_SHEET),
    "key": (["verify", "FLAT", "--key", "FILE"], NO_SHEET),
    "history": (["verify", "FLAT", "--key", "OWN.pub", "--history", "FILE"], {}),
    "supervisor_key": (["verify", "FLAT", "--supervisor-key", "FILE"], {}),
    "seal": (["seal", "FILE", "--as", "Olga", "--key", "OWN", "--folder", "RECORDS"], NO_SHEET),
    "own_key": (["seal", "FLAT", "--as", "Olga", "--key", "FILE"], NO_SHEET),
    "passphrase": (["seal", "FLAT", "--as", "Olga", "--key", "LOCKED", "--passphrase-file", "FILE"], {}),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", list(COMMANDS))
def test_what_it_cannot_use_is_refused_in_one_sentence_and_nothing_is_written(
    loopwright: Play, made: Path, tmp_path: Path, name: str
) -> None:
    arguments, own = COMMANDS[name]
    places = {
        "RECORDS": tmp_path / "records",
        "SOUND": made / "sound",
        "PAGE": tmp_path / "page.html",
        "FLAT": FLAT,
        "OWN": tmp_path / "own",
        "OWN.pub": tmp_path / "own.pub",
        "LOCKED": tmp_path / "locked",
    }
    make_own_key(tmp_path / "own", None)
    make_own_key(tmp_path / "locked", "not in any of the files")
    for extra, content in own.items():
        if not (made / extra).exists():
            (made / extra).write_bytes(content)
    inside = [made / one for one in (*NO_FILE, *own, *NO_PLACE)]
    for file in (*map(str, inside), *DEVICES):
        assert refused(loopwright(*(file if a == "FILE" else places.get(a, a) for a in arguments))), file
    assert not (tmp_path / "page.html").exists()
    assert not list(tmp_path.glob("records/sessions/*"))


def test_a_folder_of_records_that_is_none_is_refused(loopwright: Play, made: Path) -> None:
    for file in ("junk", "empty", "pipe", "loop", "junk/inside"):
        assert refused(loopwright("talk", "--typed", "--folder", made / file))
        code, out, _ = loopwright("doctor", "--quick", "--folder", made / file)
        assert code == 1
        assert "BROKEN   record      The folder" in out
    for device in ("/dev/zero", "/proc/nowhere", ""):
        assert refused(loopwright("talk", "--typed", "--folder", device))


OPTIONS: dict[str, dict[str, str]] = {
    "fingers": {"pitch": "10", "length": "40", "width": "45", "thickness": "2", "tip": "1", "pull": "5"},
    "length": {"path": "5000", "elongation": "0.5", "notch-pitch": "20", "finger": "40", "trim": "1"},
    "tension": {"elongation": "0.5", "k1": "5", "width": "45", "wrap": "180", "apart": "1000"},
    "supply": {"power": "2000", "voltage": "230", "fuse": "16", "length": "20", "section": "2.5", "measured": "225"},
    "recipe": {"upper": "", "lower": "", "dwell": "", "pressure": "", "release": "", "shop": "", "voltage": ""},
}  # fmt: skip
NO_VALUE = (
    "nan",
    "inf",
    "-inf",
    "-99",
    "1e9",
    "1e308",
    "1e400",
    "abc",
    "",
    "0x10",
    "1_000",
    "1,5",
    "\u0663",
    "9" * 5000,
    "\x1b[31m",
)


@pytest.mark.parametrize("name", list(OPTIONS))
def test_a_value_that_cannot_be_is_refused_by_every_option(loopwright: Play, name: str) -> None:
    for option in OPTIONS[name]:
        rest = [f"--{o}={v}" for o, v in OPTIONS[name].items() if o != option and v]
        for value in NO_VALUE:
            job = [str(FLAT)] if name == "recipe" else []
            code, out, err = loopwright(name, *job, *rest, f"--{option}={value}")
            assert (code, out, err.count("\n")) == (2, "", 1), (option, value, err)
            assert option in err
            assert len(err) < 300


def test_a_comma_for_a_point_is_named(loopwright: Play) -> None:
    assert "write a point" in loopwright("tension", "--elongation", "0,5")[2]


def test_pulleys_are_checked_like_numbers(loopwright: Play) -> None:
    for pulley in ("", "1", "1,2", "1,2,3,4", "a,b,c", "nan,0,100", "0,0,0", "0,0,1e9", "0,0,100,in"):
        assert refused(loopwright("length", "--pulley", pulley, "--pulley", "900,0,100", "--thickness", "2"))


def test_a_pressure_that_holds_nothing_together_is_no_recipe(loopwright: Play) -> None:
    code, out, _ = loopwright("recipe", FLAT, "--pressure", "0.3")
    assert code == 1
    assert "0.30 bar" in out


def test_a_report_is_never_written_over_the_record_a_device_or_a_folder(
    loopwright: Play, made: Path, tmp_path: Path
) -> None:
    record = tmp_path / "log.jsonl"
    record.write_bytes(b"{}\n")
    linked = tmp_path / "linked.html"
    linked.symlink_to(record)
    for page in (
        record,
        linked,
        made / "folder",
        made / "pipe",
        "/dev/null",
        "/",
        ".",
        "",
        tmp_path / "no" / "page",
    ):
        assert refused(loopwright("report", record, "-o", page, "--force")), page
    assert record.read_bytes() == b"{}\n"


def test_a_wav_of_another_kind_is_read_and_what_was_converted_is_said(made: Path) -> None:
    kinds = {
        "slower": wav(rate=8000),
        "stereo": wav(channels=2),
        "bytes": wav(bits=8),
        "float": wav(tag=3, bits=32),
    }
    for name, content in kinds.items():
        (made / name).write_bytes(content)
    from speech.wavefile import read_wav

    assert all(read_wav(made / name).notes for name in kinds)


@pytest.mark.parametrize(
    "arguments",
    [
        ["hear", "SOUND", "--phrases", "/dev/zero"],
        ["verify", "FULL"],
        ["recipe", "DEEP"],
        ["talk", "--typed", "--folder", "RECORDS", "--job", "PIPE"],
    ],
    ids=" ".join,
)
def test_a_real_start_neither_hangs_nor_fills_the_memory(
    made: Path, tmp_path: Path, arguments: list[str]
) -> None:
    places = {"SOUND": "sound", "FULL": "full", "DEEP": "deep_key", "PIPE": "pipe"}
    words = [str(made / places[a]) if a in places else a.replace("RECORDS", str(tmp_path)) for a in arguments]
    out, err = tmp_path / "out", tmp_path / "err"
    used = tmp_path / "used"
    with out.open("wb") as to_out, err.open("wb") as to_err:
        # Through a small process: a child's peak begins with the size of the one that started it, and ours is large.
        ended = subprocess.run(
            [sys.executable, "-c", MEASURED, str(used), sys.executable, "-m", "tui.main", *words],
            stdin=subprocess.DEVNULL, stdout=to_out, stderr=to_err, timeout=LONGEST_S, check=False,
        )  # fmt: skip
    assert refused((ended.returncode, out.read_text(), err.read_text()))
    assert int(used.read_text()) < MOST_MEMORY_KB
