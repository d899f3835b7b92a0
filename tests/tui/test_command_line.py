"""The command line from outside: help, exit codes, one sentence for whatever is wrong, never a traceback."""

from __future__ import annotations

import errno
import importlib
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import click
import pytest

import assistant.bench
import tui.main
from tui.main import COMMANDS, run

JOBS = sorted((Path(assistant.bench.__file__).parent / "data" / "jobs").glob("*.toml"))
FLAT = next(path for path in JOBS if path.stem == "flat_in_the_shop")

Outcome = tuple[int, str, str]


@pytest.fixture
def loopwright(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Outcome]:
    """Runs a command in this process: exit code, standard output, standard error."""
    for name in ("XDG_STATE_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(tmp_path / name))

    def play(*arguments: object) -> Outcome:
        with pytest.raises(SystemExit) as left:
            run([str(argument) for argument in arguments])
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        return int(left.value.code or 0), told.out, told.err

    return play


def one_sentence(err: str) -> bool:
    return err.startswith("loopwright: ") and err.count("\n") == 1 and len(err) > 25


# -- help


def test_help_names_every_command_and_the_exit_codes(loopwright: Callable[..., Outcome]) -> None:
    code, out, _err = loopwright("--help")
    assert code == 0
    assert all(name in out for name in COMMANDS)
    assert "Exit codes" in out


@pytest.mark.parametrize("name", list(COMMANDS))
def test_every_command_has_help_with_its_exit_codes(loopwright: Callable[..., Outcome], name: str) -> None:
    code, out, _err = loopwright(name, "--help")
    assert code == 0
    assert "Exit codes" in out


@pytest.mark.parametrize("name", list(COMMANDS))
def test_the_list_of_commands_says_what_the_command_says_of_itself(name: str) -> None:
    command = importlib.import_module(f"tui.commands.{name}").command
    assert isinstance(command, click.Command)
    assert (command.name, command.get_short_help_str(200)) == (name, COMMANDS[name])


def test_the_version_is_the_installed_one(loopwright: Callable[..., Outcome]) -> None:
    assert loopwright("--version")[1].startswith("loopwright ")


def test_a_shell_can_complete_commands() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "import sys; sys.argv[0] = 'loopwright'; from tui.main import run; run()"],
        env={
            **os.environ,
            "_LOOPWRIGHT_COMPLETE": "bash_complete",
            "COMP_WORDS": "loopwright re",
            "COMP_CWORD": "1",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert {line.split(",")[1] for line in done.stdout.split()} == {"readings", "recipe", "review", "report"}


# -- what goes wrong


@pytest.mark.parametrize(
    "arguments",
    [
        ["frobnicate"],
        ["recipe"],
        ["recipe", "x.toml", "--frob"],
        ["supply", "--power", "nan"],
        ["supply", "--power", "twelve"],
        ["length", "--elongation", "1"],
        ["length", "--pulley", "1,2"],
        ["length", "--path", "1000", "--pulley", "0,0,50"],
        ["talk", "--resume", "a", "--new"],
        ["talk", "--resume", "a", "--job", "b.toml"],
        ["--job", "x.toml", "talk"],
        [],
    ],
    ids=" ".join,
)
def test_wrong_use_is_one_sentence_and_code_2(
    loopwright: Callable[..., Outcome], arguments: list[str]
) -> None:
    code, out, err = loopwright(*arguments)
    assert (code, out) == (2, "")
    assert one_sentence(err)


def _missing(folder: Path) -> Path:
    return folder / "missing"


def _folder(folder: Path) -> Path:
    return folder


def _junk(folder: Path) -> Path:
    (folder / "junk").write_bytes(bytes(range(256)) * 40)
    return folder / "junk"


def _empty(folder: Path) -> Path:
    (folder / "empty").touch()
    return folder / "empty"


def _huge(folder: Path) -> Path:
    with (folder / "huge").open("wb") as file:
        file.truncate(100_000_000)
    return folder / "huge"


def _wrong_toml(folder: Path) -> Path:
    (folder / "wrong").write_text("schema_version = 1\nbelt = \n")
    return folder / "wrong"


def _unknown_key(folder: Path) -> Path:
    (folder / "unknown").write_text("schema_version = 1\ncolour = 'red'\n")
    return folder / "unknown"


def _out_of_range(folder: Path) -> Path:
    (folder / "range").write_text(FLAT.read_text().replace("belt_width_mm = 45.0", "belt_width_mm = 4500.0"))
    return folder / "range"


BAD = [_missing, _folder, _junk, _empty, _huge, _wrong_toml, _unknown_key, _out_of_range]
BAD_IDS = [make.__name__.strip("_") for make in BAD]


@pytest.mark.parametrize("make", BAD, ids=BAD_IDS)
@pytest.mark.parametrize("name", ["recipe", "fingers", "length", "tension", "supply"])
def test_a_bad_job_file_is_one_sentence_and_code_2(
    loopwright: Callable[..., Outcome], tmp_path: Path, name: str, make: Callable[[Path], Path]
) -> None:
    path = make(tmp_path)
    code, out, err = loopwright(name, path)
    assert (code, out) == (2, "")
    assert one_sentence(err)
    assert str(path) in err


@pytest.mark.parametrize("make", BAD[:6], ids=BAD_IDS[:6])
@pytest.mark.parametrize("name", ["review", "verify", "report"])
def test_a_file_that_is_no_record_is_one_sentence_and_code_2(
    loopwright: Callable[..., Outcome], tmp_path: Path, name: str, make: Callable[[Path], Path]
) -> None:
    page = tmp_path / "out.html"
    code, out, err = loopwright(name, make(tmp_path), *(["-o", page] if name == "report" else []))
    assert (code, out) == (2, "")
    assert one_sentence(err)
    assert not page.exists()


def test_a_file_name_that_means_harm_is_shown_harmless(loopwright: Callable[..., Outcome]) -> None:
    code, _out, err = loopwright("recipe", "a\x1b[2Jb.toml")
    assert code == 2
    assert "\x1b" not in err


def _broken(error: BaseException) -> Callable[..., None]:
    def fail(*_args: object, **_kwargs: object) -> None:
        raise error

    return fail


def test_a_fault_of_the_program_leaves_a_note_and_code_70(
    loopwright: Callable[..., Outcome], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tui.main.main, "main", _broken(ZeroDivisionError("inside")))
    code, _out, err = loopwright("doctor")
    assert code == 70
    assert one_sentence(err)
    note = Path(err.split("'")[1])
    assert "ZeroDivisionError: inside" in note.read_text()


def test_where_the_note_cannot_be_written_that_is_said(
    loopwright: Callable[..., Outcome], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "file"))
    monkeypatch.setattr(tui.main.main, "main", _broken(ZeroDivisionError("inside")))
    code, _out, err = loopwright("doctor")
    assert code == 70
    assert "could not be written" in err


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (KeyboardInterrupt(), 130),
        (OSError(errno.ENOSPC, "No space left on device", "log.jsonl"), 2),
        (OSError(errno.EIO, "Input/output error"), 2),
    ],
)
def test_interruption_and_disk_have_codes_of_their_own(
    loopwright: Callable[..., Outcome], monkeypatch: pytest.MonkeyPatch, error: BaseException, code: int
) -> None:
    monkeypatch.setattr(tui.main.main, "main", _broken(error))
    told = loopwright("doctor")
    assert told[0] == code
    assert code == 130 or one_sentence(told[2])


def test_every_error_class_of_ours_is_a_sentence_on_the_command_line(
    loopwright: Callable[..., Outcome], monkeypatch: pytest.MonkeyPatch
) -> None:
    from assistant.bench.bad_data import BadData
    from assistant.procedure.load import BadProcedure
    from assistant.recipe.not_computable import NotComputable
    from assistant.record.chain import RecordError
    from speech.errors import SpeechError

    for kind in (BadData, BadProcedure, NotComputable, RecordError, SpeechError):
        monkeypatch.setattr(tui.main.main, "main", _broken(kind("This cannot be; do that.")))
        assert loopwright("doctor") == (2, "", "loopwright: This cannot be; do that.\n")


def test_a_reader_that_goes_away_is_no_fault() -> None:
    script = f"{sys.executable} -m tui.main recipe {FLAT} --json; echo $? >&2"
    done = subprocess.run(
        ["bash", "-c", f"({script}) | head -c 1"], capture_output=True, text=True, check=False
    )
    assert done.stderr.strip() in ("141", "0")
    assert "Traceback" not in done.stderr


def test_an_output_that_is_no_utf8_gets_what_it_can_show() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tui.main", "tension", FLAT, "--elongation", "0.5"],
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")


# -- the computing commands


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_recipe_prints_every_value_with_its_reason(loopwright: Callable[..., Outcome], path: Path) -> None:
    code, out, _err = loopwright("recipe", path, "--json")
    assert code == 0
    told = json.loads(out)
    assert told["feasible"]
    for value in told["values"].values():
        assert len(value["reason"]) > 20
    assert sum(item["seconds_s"] for item in told["items"]) == pytest.approx(
        told["values"]["dwell"]["computed_s"]
    )
    code, text, _err = loopwright("recipe", path)
    assert code == 0
    assert "holding time" in text
    assert "Assumed" in text


def test_a_value_that_is_fixed_overrules_and_the_difference_is_said(
    loopwright: Callable[..., Outcome],
) -> None:
    told = json.loads(loopwright("recipe", FLAT, "--dwell", "300", "--json")[1])["values"]["dwell"]
    assert (told["value_s"], told["source"]) == (300, "given")
    assert "computed was" in told["reason"]


def test_a_recipe_that_cannot_work_says_why_and_what_would(loopwright: Callable[..., Outcome]) -> None:
    code, out, err = loopwright("recipe", FLAT, "--upper", "240")
    assert (code, err) == (1, "")
    assert "240 °C" in out
    assert "Nearest change" in out
    assert json.loads(loopwright("recipe", FLAT, "--upper", "240", "--json")[1])["feasible"] is False


def test_a_colder_shop_takes_a_longer_ramp(loopwright: Callable[..., Outcome]) -> None:
    usual, cold = (
        json.loads(loopwright("recipe", FLAT, "--shop", shop, "--json")[1])["ramp_s"] for shop in ("20", "0")
    )
    assert cold > usual + 30


def test_fingers_from_options(loopwright: Callable[..., Outcome]) -> None:
    options = ("--pitch", "15", "--length", "80", "--width", "45", "--thickness", "2", "--pull", "6")
    told = json.loads(loopwright("fingers", *options, "--json")[1])
    # class: analytic -- flank = sqrt(length^2 + (pitch/2)^2)
    assert told["flank_m"] == pytest.approx(0.0803507, rel=1e-5)
    assert told["pull_N_per_m"] == 6000
    assert "3 whole pitches" in loopwright("fingers", *options)[1]


def test_length_round_two_equal_pulleys(loopwright: Callable[..., Outcome]) -> None:
    options = (
        "--pulley",
        "0,0,50",
        "--pulley",
        "1000,0,50",
        "--thickness",
        "2",
        "--elongation",
        "0",
        "--finger",
        "60",
    )
    told = json.loads(loopwright("length", *options, "--json")[1])
    # class: analytic -- 2 * 1000 + pi * 52
    assert told["path_m"] == pytest.approx(2.163363, rel=1e-6)
    assert told["cut_m"] - told["endless_m"] == pytest.approx(0.060)


def test_tension_without_k1_gives_the_marks_alone(loopwright: Callable[..., Outcome]) -> None:
    told = json.loads(loopwright("tension", "--elongation", "0.5", "--json")[1])
    marks = {"elongation": 0.005, "marks_slack_m": 1.0, "marks_tight_m": pytest.approx(1.005)}
    assert told == marks | {"notes": []}


def test_supply_refuses_more_than_the_fuse(loopwright: Callable[..., Outcome]) -> None:
    options = ("--power", "5000", "--voltage", "230", "--fuse", "16", "--length", "10", "--section", "2.5")
    code, out, err = loopwright("supply", *options)
    assert (code, err) == (1, "")
    assert "more than" in out or "fuse" in out
    told = json.loads(loopwright("supply", *options, "--json")[1])
    assert told["feasible"] is False
    # class: analytic -- P / U
    assert told["nominal_A"] == pytest.approx(21.739, abs=1e-3)
    assert "fuse" in told["reason"]


def test_no_lead_loses_nothing(loopwright: Callable[..., Outcome]) -> None:
    told = json.loads(
        loopwright(
            "supply", "--power", "1000", "--voltage", "230", "--fuse", "16", "--length", "0", "--json"
        )[1]
    )
    assert told["drop_V"] == 0


@pytest.mark.parametrize("name", ["fingers", "length", "tension", "supply"])
@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_the_small_computations_take_a_job_file(
    loopwright: Callable[..., Outcome], path: Path, name: str
) -> None:
    assert loopwright(name, path)[0] == 0
    assert json.loads(loopwright(name, path, "--json")[1])


def test_doctor_finds_the_program_able_to_do_a_job(
    loopwright: Callable[..., Outcome], tmp_path: Path
) -> None:
    code, out, _err = loopwright("doctor", "--quick", "--folder", tmp_path / "records")
    assert code == 0
    assert "BROKEN" not in out
    assert "microphone" in out
