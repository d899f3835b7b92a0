"""Feeds a parser with bent inputs, led by what it has not run yet: `python tests/hostile/fuzz.py NAME --seconds 180`.

NAME: one of `parsers.PARSERS`, or 'all', one after the other. Wants atheris, which no test does. A fault is
kept under --keep with its traceback and fuzzing goes on; an input over ten seconds or over 1 GiB of memory
ends a run, is kept too, and another begins for the time that is left. Exit code 1 if there was any.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import re
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
LONGEST_S, MOST_MB, LONGEST_BYTES = 10, 1024, 65_536
INTERRUPTED = 72  # as the fuzzer leaves when somebody else ends it
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parent.parent)]


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("name")
    asked.add_argument("--seconds", type=float, default=180.0)
    asked.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "hostile-faults")
    asked.add_argument("--child", type=Path, help=argparse.SUPPRESS)
    given = asked.parse_args()
    if given.child is not None:
        return child(given.name, given.seconds, given.keep, given.child)
    if given.name == "all":
        import parsers

        names = list(parsers.PARSERS)
    else:
        names = [given.name]
    print(
        f"{'parser':<12}{'inputs':>9}{'a second':>9}{'faults':>7}{'too slow or large':>18}{'slowest':>10}{'peak':>8}"
    )
    faults = 0
    for name in names:
        told = fuzzed(name, given.seconds, given.keep)
        faults += told["faults"] + told["ended"]
        print(
            f"{name:<12}{told['inputs']:>9}{told['inputs'] / given.seconds:>9.0f}{told['faults']:>7}{told['ended']:>18}"
            f"{told['slowest_s']:>8.2f} s{told['peak_MB']:>5.0f} MB",
            flush=True,
        )
    return 1 if faults else 0


def fuzzed(name: str, seconds: float, keep: Path) -> dict[str, Any]:
    """One parser for so long, in processes that may die of it."""
    keep.mkdir(parents=True, exist_ok=True)
    told: dict[str, Any] = {"inputs": 0, "faults": 0, "ended": 0, "slowest_s": 0.0, "peak_MB": 0.0}
    end = time.monotonic() + seconds
    seen: set[str] = set()
    with tempfile.TemporaryDirectory(prefix="fuzz-") as folder:
        while (left := end - time.monotonic()) > 1:
            figures = Path(folder) / "figures.json"
            figures.unlink(missing_ok=True)
            done = subprocess.run(
                [sys.executable, __file__, name, "--seconds", str(int(left)), "--keep", str(keep), "--child", folder],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, check=False,
            )  # fmt: skip
            err = done.stderr.decode("utf-8", "replace")
            if not figures.exists():
                raise SystemExit(f"{name} did not begin:\n{err[-2000:]}")
            run = json.loads(figures.read_text())
            seen |= set(run["faults"])
            told["inputs"] += run["inputs"]
            told["slowest_s"] = max(told["slowest_s"], run["slowest_s"])
            if peak := re.search(r"stat::peak_rss_mb:\s+(\d+)", err):
                told["peak_MB"] = max(told["peak_MB"], float(peak[1]))
            if done.returncode == INTERRUPTED:
                raise SystemExit(f"{name} was interrupted")
            if done.returncode:
                told["ended"] += 1
                (keep / f"{name}-ended-{told['ended']}.txt").write_text(err[-20_000:])
    told["faults"] = len(seen)
    return told


def child(name: str, seconds: float, keep: Path, folder: Path) -> int:
    import atheris

    with atheris.instrument_imports(
        include=["assistant", "intents", "speech", "tui", "tomllib", "zipfile", "tarfile"]
    ):
        import log_of  # noqa: F401 -- here, so that what it reads with is led too
        import parsers
        import words_of  # noqa: F401

        parser = parsers.PARSERS[name]
    corpus = folder / "corpus"
    corpus.mkdir(exist_ok=True)
    for number, seed in enumerate(parser.seeds()):
        (corpus / f"seed-{number}").write_bytes(seed)
    figures: dict[str, Any] = {"inputs": 0, "slowest_s": 0.0, "faults": []}

    def one(raw: bytes) -> None:
        begun = time.process_time()
        try:
            parser.feed(raw)
        except Exception as error:
            where = traceback.extract_tb(error.__traceback__)[-1]
            which = f"{type(error).__name__} {Path(where.filename).name}:{where.lineno}"
            if which not in figures["faults"]:
                figures["faults"].append(which)
                mark = hashlib.sha256(which.encode()).hexdigest()[:8]
                (keep / f"{name}-{mark}.bin").write_bytes(raw)
                (keep / f"{name}-{mark}.txt").write_text(
                    "".join(traceback.format_exception(error)), errors="backslashreplace"
                )
        took = time.process_time() - begun
        figures["inputs"] += 1
        slower = took > figures["slowest_s"]
        figures["slowest_s"] = max(took, figures["slowest_s"])
        if slower or figures["inputs"] % 500 == 0:
            (folder / "figures.json").write_text(json.dumps(figures))

    one(b"")  # what is loaded once does not count
    figures["slowest_s"] = 0.0
    options = [
        f"-max_total_time={max(1, int(seconds))}", f"-timeout={LONGEST_S}", f"-rss_limit_mb={MOST_MB}", f"-max_len={LONGEST_BYTES}",
        f"-artifact_prefix={keep}/{name}-", "-print_final_stats=1",
    ]  # fmt: skip
    atheris.Setup([sys.argv[0], *options, str(corpus)], one)
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
