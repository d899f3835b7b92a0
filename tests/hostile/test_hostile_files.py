"""Hostile texts in data files: nothing of them steers a terminal, and what cannot be read is refused in a sentence."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hostile_texts import MARK, TEXTS, steering
from toml_of import toml_text

import assistant.bench
import assistant.recipe

Outcome = tuple[int, str, str]
Play = Callable[..., Outcome]
DATA = Path(assistant.bench.__file__).parent / "data"
FLAT = DATA / "jobs" / "flat_in_the_shop.toml"
NAMED = {
    "belts": "apple_lift", "presses": "hinged", "templates": "black", "materials": "pvc", "punches": "short", "cloths": "smooth",
    "leads": "h4",
}  # fmt: skip
IN_TOML = {name: text for name, text in TEXTS.items() if "\ud800" not in text}  # TOML has no halves of pairs
STEERING = {name for name, text in IN_TOML.items() if steering(text) or "\n" in text or "\t" in text}


def told_well(told: Outcome) -> str:
    """What was printed, if nothing in it steers."""
    code, out, err = told
    assert not steering(out), told
    assert not steering(err), told
    assert "Traceback" not in err
    assert code in (0, 1, 2), told
    assert code != 2 or (out == "" and err.count("\n") == 1), told
    return out + err


def works_bench(folder: Path, texts: dict[str, str]) -> Path:
    """A works' own folder: of each kind one packaged item as often as there are texts, its name and source the text."""
    for kind, packaged in NAMED.items():
        held = (DATA / kind / f"{packaged}.toml").read_text()
        (folder / kind).mkdir(parents=True)
        for name, text in texts.items():
            own = re.sub('(?m)^key = ".*"$', f'key = "own_{name}"', held)
            for word in ("name", "source"):
                own, done = re.subn(f'(?m)^{word} = ".*"$', lambda _: f"{word} = {toml_text(text)}", own)  # noqa: B023
                assert done == 1
            (folder / kind / f"{name}.toml").write_text(own)
    return folder


def test_names_in_a_works_own_data_that_steer_are_each_refused_with_file_line_and_key(
    loopwright: Play, tmp_path: Path
) -> None:
    folder = works_bench(tmp_path / "own", {name: IN_TOML[name] for name in STEERING})
    told = loopwright("catalogue", "--check", folder)
    told_well(told)
    assert told[0] == 1
    for kind in NAMED:
        for name in STEERING:
            found = re.search(rf"{kind}/{name}\.toml', line \d+: (name|source) holds \\[xuU]", told[1])
            assert found is not None, (kind, name)
    for command in (
        ["catalogue"],
        ["recipe", FLAT],
        ["fit", "--belt=apple_lift", "--press=hinged", "--punch=short"],
    ):
        refused = loopwright(*command, "--bench", folder)
        assert refused[0] == 2
        told_well(refused)


def test_other_names_in_a_works_own_data_are_shown_as_the_text_they_are(
    loopwright: Play, tmp_path: Path
) -> None:
    tame = {name: text for name, text in IN_TOML.items() if name not in STEERING}
    assert len(tame) > 15
    folder = works_bench(tmp_path / "own", tame)
    for arguments in (["--check", folder], ["--bench", folder], ["belts", "own_markup", "--bench", folder]):
        told = loopwright("catalogue", *arguments)
        assert told[0] == 0
        told_well(told)
    as_json = loopwright("catalogue", "--bench", folder, "--json")
    told_well(as_json)
    held = json.loads(as_json[1])
    assert all(held[kind][f"own_{name}"]["source"] == text for kind in NAMED for name, text in tame.items())
    for name in ("markup", "quotes"):
        told = loopwright(
            "fit", f"--belt=own_{name}", f"--press=own_{name}", f"--punch=own_{name}", "--bench", folder
        )
        told_well(told)
        job = tmp_path / "job.toml"
        held_job = FLAT.read_text()
        for word in ("belt", "press"):
            held_job = re.sub(f'(?m)^{word} = ".*"$', f'{word} = "own_{name}"', held_job)
        job.write_text(held_job)
        told_well(loopwright("recipe", job, "--bench", folder))


SHEET_WORDS = ("technician", "job_kind", "belt", "belt_material", "press", "punch", "template", "cloth_above")


@pytest.mark.parametrize(
    "command", ["recipe", "fingers", "length", "tension", "supply", "interrupted", "readings"]
)
def test_a_word_of_a_job_sheet_is_refused_in_a_sentence_that_steers_nothing(
    loopwright: Play, tmp_path: Path, command: str
) -> None:
    more = {
        "interrupted": ["--kind=power", "--at=60"],
        "readings": [str(DATA / "examples" / "readings.toml")],
    }
    file = tmp_path / "job.toml"
    for number, (name, text) in list(enumerate(IN_TOML.items()))[len(command) % 3 :: 3]:
        word = SHEET_WORDS[number % len(SHEET_WORDS)]
        file.write_text(f"schema_version = 1\n{word} = {toml_text(text)}\n")
        told = loopwright(command, file, *more.get(command, []))
        assert told[0] in (0, 2), (name, told)
        told_well(told)
        file.write_text(f"schema_version = 1\n{toml_text(text)} = 1\n")
        told = loopwright(command, file, *more.get(command, []))
        assert told[0] == 2
        told_well(told)


@pytest.mark.slow
def test_titles_of_files_given_in_full_are_shown_as_text_or_refused(loopwright: Play, tmp_path: Path) -> None:
    recipe = Path(assistant.recipe.__file__).parent / "data"
    for command, example in (("heat", "heat.toml"), ("recipe", "recipe.toml")):
        held = (recipe / example).read_text()
        assert re.search('(?m)^title = ".*"$', held)
        for name in (
            ("markup", "script", "quotes", "escape", "accents") if command == "heat" else ("braces", "lines")
        ):
            text = IN_TOML[name]
            file = tmp_path / example
            quoted = toml_text(text).replace("\\", "\\\\")
            file.write_text(re.sub('(?m)^title = ".*"$', f"title = {quoted}", held))
            told = loopwright(command, file)
            refused = name in STEERING or len(text) > 200
            assert told[0] == (2 if refused else 0), (name, told)
            assert MARK in told_well(told) or refused


OPTIONS = (
    ["recipe", FLAT, "--set"], ["recipe", FLAT, "--upper"], ["procedure", "--traits"], ["fit", "--press=hinged", "--punch=short", "--belt"],
    ["statistics", "--values"], ["statistics", "--folder"], ["statistics", "--file"], ["hear"], ["hear", FLAT, "--phrases"],
    ["models", "install"], ["models", "remove"], ["models", "get", "--sha256", "a" * 64], ["talk", "--typed", "--resume"],
    ["talk", "--callsign"], ["talk", "--typed", "--job"], ["schema"], ["catalogue"], ["catalogue", "belts"], ["catalogue", "--check"],
    ["catalogue", "--bench"], ["verify"], ["review"], ["learn"], ["verify", FLAT, "--key"], ["verify", FLAT, "--code"], ["seal", FLAT, "--as"],
    ["keys", "export"], ["touch"], ["pressure", "--gauge"], ["heat"], ["interrupted", "--kind=power", "--at=3"], ["procedure"], [],
    ["--resume"], ["doctor", "--quick", "--folder"], ["report", FLAT, "-o"], ["readings", FLAT], ["length", "--pulley"],
)  # fmt: skip


@pytest.mark.parametrize(
    "arguments", OPTIONS, ids=lambda a: " ".join(x if isinstance(x, str) else x.name for x in a)
)
def test_a_hostile_argument_is_refused_in_a_sentence_that_steers_nothing(
    loopwright: Play, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[object]
) -> None:
    monkeypatch.chdir(tmp_path)
    some = list(TEXTS.items())[OPTIONS.index(arguments) % 5 :: 5]
    # These two make what they are told to make, under any name.
    asked_for = "doctor" in arguments or "export" in arguments
    for name, text in [*some, ("not_utf8", f"{MARK}\udcff\udc9b")]:
        if name != "surrogate":  # what the shell gives is bytes: halves of pairs from DC80 on
            told = loopwright(*arguments, text)
            assert told[0] in ((0, 1, 2) if asked_for else (1, 2)), (name, told)
            told_well(told)
    ours = {"XDG_STATE_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME"}
    assert asked_for or {path.name for path in tmp_path.iterdir()} <= ours


@pytest.mark.parametrize("variable", ["LOOPWRIGHT_WHISPER_MODEL", "VOSK_MODEL_PATH", "LOOPWRIGHT_CALLSIGN"])
def test_a_hostile_environment_is_told_without_steering(
    loopwright: Play, monkeypatch: pytest.MonkeyPatch, variable: str
) -> None:
    command = ["talk", "--typed", "--job", "none"] if variable == "LOOPWRIGHT_CALLSIGN" else ["models"]
    for text in list(TEXTS.values())[::3]:
        if "\0" not in text and "\ud800" not in text:
            monkeypatch.setenv(variable, text)
            told = loopwright(*command)
            assert told[0] in (0, 1, 2)
            told_well(told)
