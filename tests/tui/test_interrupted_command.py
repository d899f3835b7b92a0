"""`interrupted` as it is called, with a job file and with a heating given layer by layer."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import assistant.bench
from tui.main import run

FLAT = str(Path(assistant.bench.__file__).parent / "data" / "jobs" / "flat_in_the_shop.toml")


def called(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        run(["interrupted", *arguments])
    out, err = capsys.readouterr()
    return int(left.value.code or 0), out, err


@pytest.fixture
def heat(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> str:
    with pytest.raises(SystemExit):
        run(["schema", "heat", "--example"])
    path = tmp_path / "heat.toml"
    path.write_text(capsys.readouterr().out, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("resumed", ["400", "3000"])
def test_platens_without_power_in_the_ramp_do_not_go_on_heating(
    capsys: pytest.CaptureFixture[str], resumed: str
) -> None:
    code, out, _ = called(capsys, FLAT, "--kind", "power", "--at", "200", "--resumed", resumed, "--json")
    found = json.loads(out)
    assert (code, found["decision"], found["fused_s"]) == (0, "resume heat", 0.0)
    assert found["hottest_K"] < 273.15 + 75


def test_a_heating_given_in_full_is_known_by_what_it_holds(
    capsys: pytest.CaptureFixture[str], heat: str
) -> None:
    arguments = (heat, "--kind", "power", "--at", "1000", "--heat-on", "100", "--resumed", "1100")
    code, out, _ = called(capsys, *arguments, "--json")
    found = json.loads(out)
    assert (code, found["decision"], found["as_given"]) == (0, "cool", "cool")
    assert found["inputs"]["layers"][0]["thickness_mm"] == 3.0
    assert found["fused_low_s"] < found["fused_s"] < found["fused_high_s"]
    shown = called(capsys, *arguments)[1]
    assert shown.startswith("Cool.\nDo not heat again")
    assert shown.splitlines()[1:] == found["sentences"]
    assert called(capsys, heat, "--kind", "opened", "--at", "900")[0] == 1


@pytest.mark.parametrize(
    ("extra", "says"),
    [
        (("--at-set", "800"), "--at-set"),
        (("--heat-on", "950"), "before the heat"),
        (("--resumed", "5"), "correct"),
    ],
)
def test_what_cannot_be_is_one_sentence(
    capsys: pytest.CaptureFixture[str], heat: str, extra: tuple[str, ...], says: str
) -> None:
    code, out, err = called(capsys, heat, "--kind", "power", "--at", "900", *extra)
    assert (code, out) == (2, "")
    assert says in err
    assert "Traceback" not in err
