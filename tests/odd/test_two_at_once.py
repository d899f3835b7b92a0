"""Two programs at once: on one session, in one folder, on one book; each a process of its own, let go at one moment."""

from __future__ import annotations

import json
import multiprocessing as mp
import os
import shutil
import signal
import subprocess
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import at_the_press as press
import pytest

from assistant.opening import begin_session, open_bench, take_up_session
from assistant.record.chain import RecordError
from assistant.record.keys import bench_key, load_public_key
from assistant.record.log import LogWriter, RecordBusy
from assistant.record.read import read_log
from assistant.record.recipe_book import KeptRecipe, RecipeBook
from assistant.record.store import Store
from assistant.review.verify import verify

TRIES = int(os.environ.get("TRIES", "4"))  # of each; 20 take minutes
FORK = mp.get_context("fork")
Answer = dict[str, Any]


def at_once(*acts: Callable[[Callable[[], None]], Answer]) -> list[Answer]:
    """Runs each act in a process of its own, all let go together. An act gets a gate at which it waits.

    Returns: what each gave back, or {'refused': kind, 'told': sentence}; after all have answered they end.
    """
    start = FORK.Barrier(len(acts))
    answered = FORK.Barrier(len(acts))
    pipes = [FORK.Pipe(duplex=False) for _ in acts]

    def child(act: Callable[[Callable[[], None]], Answer], out: Any) -> None:
        try:
            start.wait(30)
            answer = act(lambda: answered.wait(30))
        except RecordError as refusal:
            answer = {"refused": type(refusal).__name__, "told": str(refusal)}
            answered.wait(30)
        except BaseException:
            answer = {"fault": traceback.format_exc()}
            answered.abort()
        out.send(answer)
        os._exit(0)

    workers = [FORK.Process(target=child, args=(act, pipe[1])) for act, pipe in zip(acts, pipes, strict=True)]
    for worker in workers:
        worker.start()
    answers = []
    for pipe, _ in pipes:
        assert pipe.poll(60), "a process gave no answer"
        answers.append(pipe.recv())
    for worker in workers:
        worker.join(30)
    assert not any("fault" in answer for answer in answers), answers
    return answers


def left(folder: Path) -> Path:
    """A session that was begun and left."""
    session = begin_session(open_bench(folder, callsign=None), press.sheet("demo"), press.HandClock())
    session.writer.close()
    return session.writer.path


def test_of_two_that_take_up_one_session_at_the_same_moment_one_goes_on_and_the_other_is_told(
    tmp_path: Path,
) -> None:
    path = left(tmp_path)
    bench = open_bench(tmp_path, callsign=None)

    def take_up(both_answered: Callable[[], None]) -> Answer:
        session = take_up_session(bench, path.parent.name)
        session.typed("where are we")
        both_answered()
        session.typed("what is next")
        return {"head": session.writer.head, "count": session.writer.count, "failed": session.failed}

    for _ in range(TRIES):
        answers = at_once(take_up, take_up)
        went_on = [answer for answer in answers if "head" in answer]
        told = [answer for answer in answers if "refused" in answer]
        assert (len(went_on), len(told)) == (1, 1), answers
        assert told[0]["refused"] == "RecordBusy"
        assert "Another program has the session" in told[0]["told"]
        lines = read_log(path)
        assert (lines[-1].digest, len(lines)) == (went_on[0]["head"], went_on[0]["count"])
        assert went_on[0]["failed"] == ""


@pytest.mark.slow
def test_two_sessions_begun_at_the_same_moment_in_a_new_folder_share_one_key_and_lose_nothing(
    tmp_path: Path,
) -> None:
    sheet = press.sheet("demo")
    for n in range(TRIES):
        folder = tmp_path / str(n)

        def begin(both_answered: Callable[[], None], folder: Path = folder) -> Answer:
            session = begin_session(open_bench(folder, callsign=None), sheet)
            session.typed("that is correct")
            both_answered()
            session.typed("stop the session")
            time.sleep(
                0.002
            )  # the log's times are whole milliseconds, and an answer comes after its question
            session.typed("that is correct")
            assert session.finished
            return {"path": str(session.writer.path), "head": session.writer.head}

        answers = at_once(begin, begin)
        assert all("head" in answer for answer in answers), answers
        store = Store(folder)
        assert {row.head for row in store.sessions()} == {answer["head"] for answer in answers}
        key = load_public_key(folder / "bench.pub")
        for answer in answers:
            verdict = verify(Path(answer["path"]), key)
            assert verdict.ok, verdict.sentences
            opening = read_log(Path(answer["path"]))[0].event
            # The other may have stood there already, whole or just opened, or not yet.
            before = [
                line.digest
                for other in answers
                if other is not answer
                for line in read_log(Path(other["path"]))
            ]
            assert opening["previous_head"] is None or opening["previous_head"] in before


def test_the_next_session_carries_the_newest_head_though_two_wrote_to_the_folder(tmp_path: Path) -> None:
    first, second = left(tmp_path), left(tmp_path)
    bench = open_bench(tmp_path, callsign=None)

    def close(path: Path) -> Callable[[Callable[[], None]], Answer]:
        def act(both_answered: Callable[[], None]) -> Answer:
            session = take_up_session(bench, path.parent.name)
            session.typed("stop the session")
            time.sleep(0.002)
            session.typed("that is correct")
            both_answered()
            return {"head": session.writer.head}

        return act

    heads = {answer["head"] for answer in at_once(close(first), close(second))}
    third = left(tmp_path)
    assert read_log(third)[0].event["previous_head"] in heads


def test_two_that_keep_a_recipe_or_read_the_book_at_the_same_moment_leave_one_whole_recipe(
    tmp_path: Path,
) -> None:
    book = RecipeBook(tmp_path)

    def keep(note: str) -> Callable[[Callable[[], None]], Answer]:
        recipe = KeptRecipe(
            name="Packing line, winter", belt="packing_line", press="hinged", values={"dwell": 185.0}, note=note,
            technician="Robin", kept="2026-11-25T14:05:00.000+01:00", session=note, outcome="accepted",
        )  # fmt: skip

        def act(both_answered: Callable[[], None]) -> Answer:
            for _ in range(30):
                book.keep(recipe, simulated=False)
            both_answered()
            return {"kept": note}

        return act

    def read(both_answered: Callable[[], None]) -> Answer:
        seen = {recipe.note for _ in range(60) for recipe in book.recipes()}
        both_answered()
        return {"seen": sorted(seen)}

    answers = at_once(keep("of the one"), keep("of the other"), read)
    assert answers[2]["seen"] in ([], ["of the one"], ["of the other"], ["of the one", "of the other"])
    (kept,) = book.recipes()
    assert kept.note in ("of the one", "of the other")
    assert [path.name for path in tmp_path.iterdir() if path.suffix != ".json"] == []


def test_after_the_first_was_killed_the_second_may_open_and_no_lock_is_left(tmp_path: Path) -> None:
    path = left(tmp_path)
    for _ in range(3):
        holder = subprocess.Popen(
            [sys.executable, "-c", _HOLD, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(RecordBusy):
            LogWriter.open_existing(path)
        holder.send_signal(signal.SIGKILL)
        holder.wait(10)
        before = path.read_bytes()
        session = take_up_session(open_bench(tmp_path, callsign=None), path.parent.name)
        session.writer.close()
        assert path.read_bytes().startswith(before)


_HOLD = """
import sys
from pathlib import Path
from assistant.record.log import LogWriter
writer = LogWriter.open_existing(Path(sys.argv[1]))
print("held", flush=True)
sys.stdin.read()
"""


@pytest.mark.slow
def test_the_command_refuses_a_session_that_another_program_has_with_code_2_and_leaves_its_log_alone(
    tmp_path: Path,
) -> None:
    path = left(tmp_path)
    bench = open_bench(tmp_path, callsign=None)
    session = take_up_session(bench, path.parent.name)
    try:
        for more in ([], ["--resume", path.parent.name]):
            before = path.read_bytes()
            told = subprocess.run(
                [sys.executable, "-m", "tui.main", "talk", "--typed", "--folder", str(tmp_path), *more],
                input="", capture_output=True, text=True, timeout=60, check=False,
            )  # fmt: skip
            assert told.returncode == 2
            assert "Another program has the session" in told.stderr
            assert "Traceback" not in told.stderr
            assert path.read_bytes() == before
        session.typed("where are we")
    finally:
        session.writer.close()
    assert verify(path).ok


def test_a_session_copied_under_another_name_is_a_copy_and_is_not_taken_up(tmp_path: Path) -> None:
    """Else one joint would have two records that both say they are its own."""
    path = left(tmp_path)
    copy = path.parent.with_name("copy-of-it") / path.name
    shutil.copytree(path.parent, copy.parent)
    bench = open_bench(tmp_path, callsign=None)
    held = take_up_session(bench, path.parent.name)  # its lock is on the file, not on its name
    try:
        before = copy.read_bytes()
        with pytest.raises(RecordError, match=f"'copy-of-it' is a copy of the session '{path.parent.name}'"):
            take_up_session(bench, "copy-of-it")
        assert copy.read_bytes() == before
    finally:
        held.writer.close()
    assert bench.store.unfinished().session == path.parent.name  # type: ignore[union-attr]


def test_a_copied_folder_has_no_lock_of_its_own_and_the_original_keeps_its(tmp_path: Path) -> None:
    path = left(tmp_path / "here")
    bench_key(tmp_path / "here")
    first = take_up_session(open_bench(tmp_path / "here", callsign=None), path.parent.name)
    shutil.copytree(tmp_path / "here", tmp_path / "there")
    second = take_up_session(open_bench(tmp_path / "there", callsign=None), path.parent.name)
    for session in (first, second):
        session.typed("where are we")
        session.writer.close()
        assert verify(session.writer.path).ok
    heads = [json.loads(s.writer.path.read_bytes().splitlines()[-1])["prev"] for s in (first, second)]
    assert heads[0] != heads[1]
