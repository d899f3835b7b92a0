"""Counts where the expected numbers of the tests come from: `python tests/count_classes.py [folder]`.

Beside each number stands a comment, `class: printed -- source` behind a hash sign. Exit code 1 if a
class is not one of ours or a printed one names no source.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

CLASSES = (
    "printed",
    "analytic",
    "peer library",
    "common practice, no published source",
    "from memory",
    "regression",
)
_MARK = re.compile(r"#\s*class:\s*(?P<kind>.*?)\s*(?:--\s*(?P<source>.*?)\s*)?$")


def marks(folder: Path) -> Iterator[tuple[str, str, str]]:
    """(place, class, source words) of every mark under `folder`."""
    for path in sorted(folder.rglob("*.py")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if found := _MARK.search(line):
                yield f"{path.relative_to(folder)}:{number}", found["kind"], found["source"] or ""


def faults(folder: Path) -> list[str]:
    """What is wrong with the marks, one sentence each."""
    wrong = []
    for place, kind, source in marks(folder):
        if kind not in CLASSES:
            wrong.append(f"{place}: '{kind}' is no class of ours; write one of: {'; '.join(CLASSES)}.")
        elif kind in ("printed", "peer library") and not source:
            wrong.append(f"{place}: a '{kind}' number names its source after ' -- '.")
    return wrong


def table(folder: Path) -> str:
    """Counts by class and by folder of tests."""
    counts: Counter[tuple[str, str]] = Counter()
    for place, kind, _source in marks(folder):
        counts[kind, place.split("/")[0] if "/" in place else "."] += 1
    rooms = sorted({room for _kind, room in counts})
    rows = [["class", *rooms, "all"]]
    for kind in CLASSES:
        of_kind = [counts[kind, room] for room in rooms]
        rows.append([kind, *map(str, of_kind), str(sum(of_kind))])
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )


def main(arguments: list[str]) -> int:
    folder = Path(arguments[0]) if arguments else Path(__file__).parent
    print(table(folder))
    wrong = faults(folder)
    print("\n".join(wrong), file=sys.stderr, end="\n" if wrong else "")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
