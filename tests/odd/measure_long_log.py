"""A session of 50,000 events: how long it takes to open, tell, verify and report it, and in how much memory.

    python tests/odd/measure_long_log.py [EVENTS]

Each act in a process of its own. Wall times and peak memory are told, never asserted. The log is a real one: the
flat job taken up in its dwell, then thousands of questions and notes of the technician.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

import at_the_press as press  # noqa: E402

from assistant.opening import begin_session, open_bench, take_up_session  # noqa: E402
from assistant.procedure import events as e  # noqa: E402
from assistant.record.heads import BenchVoucher  # noqa: E402
from assistant.record.log import LogWriter  # noqa: E402
from assistant.record.stamp import SystemClock  # noqa: E402

CYCLE = (
    {"kind": "heard", "text": "how long left", "way": "typed", "began_s": 0.0, "ended_s": 0.0, "verified": True,
     "gate_grade": True, "engine": "typed", "understood": "left"},
    {"kind": "said", "text": "3 min 20 s to go.", "rank": "chat"},
    {"kind": "question_put", "question": "answered"},
    {"kind": "noted", "text": "the belt lies flat in the press"},
    {"kind": "gate_refused", "gate": "workplace_fit", "heard": "yes", "reason": "That is not the sentence."},
)  # fmt: skip


def made(folder: Path, events: int) -> Path:
    """A session of that many lines, begun by the bench of `folder` and left."""
    session = begin_session(open_bench(folder), press.sheet("demo"))
    session.typed("that is correct")
    session.writer.close()
    path = session.writer.path
    with LogWriter.open_existing(path, check=lambda _: BenchVoucher(folder, path.parent.name)) as writer:
        clock = SystemClock(writer.lines[-1].stamp)
        entries = [e.parse_event(dict(one)).model_dump(mode="json") for one in CYCLE]
        while writer.count < events:
            writer.append(
                entries[: events - writer.count] * min(100, max(1, (events - writer.count) // 5)), clock.now()
            )
    return path


def screen(folder: Path, name: str) -> None:
    """The bench screen on that session, until it has drawn itself."""
    import asyncio

    from tui.bench import BenchApp
    from tui.choice import Choice
    from tui.compose import open_port

    port = open_port(Choice(folder=folder, resume=name, typed=True, callsign=None))

    async def drawn() -> None:
        app = BenchApp(port)
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause()

    asyncio.run(drawn())
    port.close()


def act(what: str, path: Path, folder: Path) -> None:
    from tui.main import main

    begun, worked = time.perf_counter(), time.process_time()
    if what == "resume":
        take_up_session(open_bench(folder), path.parent.name).writer.close()
    elif what == "screen":
        screen(folder, path.parent.name)
    else:
        more = ["-o", str(folder / "page.html"), "--force"] if what == "report" else []
        main([what, str(path), *more], standalone_mode=False)
    took_s, worked_s = time.perf_counter() - begun, time.process_time() - worked
    peak_MB = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        json.dumps(
            {"act": what, "s": round(took_s, 2), "processor_s": round(worked_s, 2), "MB": round(peak_MB)}
        ),
        file=sys.stderr,
    )


def main(events: int) -> None:
    with tempfile.TemporaryDirectory(dir=Path()) as name:
        folder = Path(name).absolute()
        path = made(folder, events)
        print(f"{events} events, {path.stat().st_size / 1e6:.1f} MB")
        for what in ("resume", "verify", "review", "report", "screen"):
            done = subprocess.run(
                [sys.executable, __file__, what, str(path), str(folder)],
                capture_output=True,
                text=True,
                check=False,
            )
            told = done.stderr.strip().splitlines()[-1]
            print(told if done.returncode == 0 or what in ("review", "report") else done.stderr)
            if what in ("review", "verify"):
                print(f"    {len(done.stdout)} letters")
        print(f"    report {(folder / 'page.html').stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    if len(sys.argv) > 2:
        act(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))
    else:
        main(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)
