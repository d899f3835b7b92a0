"""A simulated log offered as a real one: refused by resume, verify, review, report, statistics, learn, the recipe book."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from past_sessions import CATALOGUE, job_named, run_on, write_run

from assistant.bench.catalogue import PACKAGED
from assistant.opening import NotTakenUp, open_bench, take_up_session
from assistant.practice.press import hidden
from assistant.record.chain import FIRST_PREV, decode, encode, fields
from assistant.record.keys import PRIVATE_NAME, PUBLIC_NAME, bench_key
from assistant.record.log import LogWriter
from assistant.record.recipe_book import KeptRecipe, RecipeBook, RecipeNotKept
from assistant.record.seal import seal
from assistant.record.stamp import Stamp
from assistant.record.store import Store
from assistant.review.own import keys_in
from assistant.review.past_runs import past_runs

FLAT = PACKAGED / "jobs" / "flat_in_the_shop.toml"
RUN = run_on(job_named("flat_in_the_shop"), hidden(2))
Outcome = tuple[int, str, str]


def chained_anew(raw: bytes, opening: dict[str, Any], keep: int | None = None) -> bytes:
    """With another opening event, numbered and linked so that the chain fits; the first `keep` lines."""
    out, prev = [], FIRST_PREV
    for n, line in enumerate(raw.splitlines()[:keep]):
        old = decode(line, n + 1)
        event = {**old.event, **opening} if n == 0 else old.event
        out.append(encode(fields(n, prev, old.left, old.stamp, event)))
        prev = decode(out[-1], n + 1).digest
    return b"\n".join(out) + b"\n"


def as_it_is(raw: bytes) -> bytes:
    return raw


def first_line_edited(raw: bytes) -> bytes:
    return raw.replace(b'"simulated":true', b'"simulated":false', 1)


def chain_mended(raw: bytes) -> bytes:
    return chained_anew(raw, {"simulated": False})


def mark_taken_away(raw: bytes) -> bytes:
    return chained_anew(raw, {"simulated": False, "mark": ""})


def closing_cut_off(raw: bytes) -> bytes:
    """What vouches most is gone; a liar knows where to cut."""
    return chained_anew(raw, {"simulated": False}, keep=len(raw.splitlines()) - 1 - (b'"closed"' in raw))


LIES = [first_line_edited, chain_mended, mark_taken_away, closing_cut_off]
every_lie = pytest.mark.parametrize("lie", LIES, ids=lambda lie: lie.__name__)


def offered(folder: Path, lie: Callable[[bytes], bytes]) -> Path:
    """Among two real sessions of a bench, a simulated one of the same bench, made to look real."""
    for day in (1, 2):
        write_run(folder / "sessions" / f"2026-11-0{day}-0800-000{day}" / "log.jsonl", FLAT, RUN, day)
    path = write_run(folder / "sessions" / "2026-11-09-0800-0009" / "log.jsonl", FLAT, RUN, 9, simulated=True)
    path.write_bytes(lie(path.read_bytes()))
    return path


@every_lie
def test_it_is_not_taken_up(lie: Callable[[bytes], bytes], tmp_path: Path) -> None:
    path = offered(tmp_path, lie)
    before = path.read_bytes()
    with pytest.raises(
        Exception,
        match=r"was not opened by this bench, or its opening line|Line 1 is not as it was written|is closed",
    ) as refused:
        take_up_session(open_bench(tmp_path, callsign=None), path.parent.name)
    assert path.read_bytes() == before
    assert "\n" not in str(refused.value)


@every_lie
def test_verify_review_and_report_say_that_it_is_not_in_order(
    lie: Callable[[bytes], bytes], tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    path = offered(tmp_path / "records", lie)
    for command in (["verify", path], ["review", path], ["report", path, "-o", tmp_path / "page.html"]):
        code, out, err = loopwright(*command)
        assert code == 1, (command, out, err)
        told = out + (tmp_path / "page.html").read_text("utf-8") if command[0] == "report" else out
        assert "ine 1" in told
    assert "THE RECORD IS NOT IN ORDER" in (tmp_path / "page.html").read_text("utf-8")


def test_a_real_one_of_the_bench_is_in_order_there_and_says_who_signed_it(
    tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    offered(tmp_path, as_it_is)
    real = tmp_path / "sessions" / "2026-11-01-0800-0001" / "log.jsonl"
    code, out, _ = loopwright("verify", real)
    assert (code, "signed by the bench in whose records the log lies" in out) == (0, True)


@pytest.mark.parametrize("lie", [as_it_is, *LIES], ids=lambda lie: lie.__name__)
def test_it_teaches_no_press(lie: Callable[[bytes], bytes], tmp_path: Path) -> None:
    path = offered(tmp_path, lie)
    store = Store(tmp_path)
    logs = [store.log_path(row.session) for row in store.sessions()]
    past = past_runs(logs, "hinged", CATALOGUE, keys_in(tmp_path))
    assert [run.date for run in past.runs] == ["2026-11-01", "2026-11-02"]
    assert [one for one in past.left_out if one.startswith(path.parent.name)]


def test_statistics_and_learn_leave_it_out_and_say_so(
    tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    path = offered(tmp_path, chain_mended)
    told = json.loads(loopwright("statistics", "--folder", tmp_path, "--json")[1])
    assert [group["sessions"] for group in told["groups"]] == [2]
    assert [one for one in told["left_out"] if one.startswith(path.parent.name)]
    code, out, _ = loopwright("learn", "hinged", "--folder", tmp_path, "--json", "--dry")
    learned = json.loads(out)
    assert (code, learned["sessions"], learned["last"]) == (0, 2, "2026-11-02")
    assert [one for one in learned["left_out"] if one.startswith(path.parent.name)]


def test_learning_where_no_key_tells_whose_the_records_are_is_refused(
    tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    offered(tmp_path, mark_taken_away)
    for name in (PRIVATE_NAME, PUBLIC_NAME):
        (tmp_path / name).unlink()
    code, _, err = loopwright("learn", "hinged", "--folder", tmp_path)
    assert code == 2
    assert "nothing shows which of its records are of a real press" in err
    assert not (tmp_path / PRIVATE_NAME).exists()
    code, out, _ = loopwright("statistics", "--folder", tmp_path)
    assert "whose records these are, nothing shows" in out


def test_a_real_session_copied_under_another_name_is_counted_once(
    tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    offered(tmp_path, as_it_is)
    first = tmp_path / "sessions" / "2026-11-01-0800-0001"
    shutil.copytree(first, first.with_name("once-more"))
    told = json.loads(loopwright("statistics", "--folder", tmp_path, "--json")[1])
    assert [group["sessions"] for group in told["groups"]] == [2]
    assert any("it is a copy" in one for one in told["left_out"])
    logs = sorted((tmp_path / "sessions").glob("*/log.jsonl"))
    assert len(past_runs(logs, "hinged", CATALOGUE, keys_in(tmp_path)).runs) == 2
    assert [row.session for row in Store(tmp_path).sessions() if row.trouble] == ["once-more"]
    code, out, _ = loopwright("verify", first.with_name("once-more") / "log.jsonl")
    assert (code, "it is a copy" in out) == (1, True)


def test_another_ending_of_the_name_hides_it_from_nobody(
    tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    path = offered(tmp_path / "records", as_it_is)
    renamed = tmp_path / "joint.txt"
    shutil.copyfile(path, renamed)
    for command in (
        ["verify", renamed],
        ["review", renamed],
        ["report", renamed, "-o", tmp_path / "page.html"],
    ):
        code, out, _ = loopwright(*command)
        text = (tmp_path / "page.html").read_text("utf-8") if command[0] == "report" else out
        assert (code, text.split("\n")[0].find("SIMULATED") >= 0) == (0, True), command


def test_a_simulated_folder_copied_whole_into_the_records_stays_simulated(
    tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    """As the demo makes it: under a key of its own, in a folder of its own."""
    demo = write_run(tmp_path / "demo" / "sessions" / "s1" / "log.jsonl", FLAT, RUN, 3, simulated=True)
    demo.write_bytes(chain_mended(demo.read_bytes()))
    here = tmp_path / "here"
    write_run(here / "sessions" / "s0" / "log.jsonl", FLAT, RUN, 2)
    shutil.copytree(demo.parent, here / "sessions" / "s1")
    told = json.loads(loopwright("statistics", "--folder", here, "--json")[1])
    assert [group["sessions"] for group in told["groups"]] == [1]
    assert loopwright("verify", here / "sessions" / "s1" / "log.jsonl")[0] == 1
    with pytest.raises(NotTakenUp):
        take_up_session(open_bench(here, callsign=None), "s1")


def test_an_older_session_without_a_mark_counts_by_its_seal(
    tmp_path: Path, loopwright: Callable[..., Outcome]
) -> None:
    shutil.rmtree(offered(tmp_path, as_it_is).parent)
    old = tmp_path / "sessions" / "2026-11-02-0800-0002" / "log.jsonl"
    old.write_bytes(chained_anew(old.read_bytes(), {"mark": ""}))
    assert loopwright("verify", old)[0] == 1
    with LogWriter.open_existing(old) as writer:
        last: Stamp = writer.lines[-1].stamp
        seal(writer, bench_key(tmp_path), last, simulated=False)
    assert loopwright("verify", old)[0] == 0
    told = json.loads(loopwright("statistics", "--folder", tmp_path, "--json")[1])
    assert [group["sessions"] for group in told["groups"]] == [2]


def test_the_recipe_book_takes_nothing_of_a_simulated_session(tmp_path: Path) -> None:
    recipe = KeptRecipe(
        name="Packing line", belt="packing_line", press="hinged", values={"dwell": 185.0}, technician="Robin",
        kept="2026-11-25T14:05:00.000+01:00", session="s1", outcome="accepted",
    )  # fmt: skip
    with pytest.raises(RecipeNotKept, match="SIMULATED"):
        RecipeBook(tmp_path).keep(recipe, simulated=True)
    assert list(tmp_path.iterdir()) == []
