"""Texts that try to be more than text, and what a terminal, a page or a drawing must never be given.

Each one holds MARK, so that a test can see whether it has come through at all.
"""

from __future__ import annotations

import re

MARK = "qzx"
"""Letters that stand in none of our own texts."""

TEXTS: dict[str, str] = {
    "escape": f"\x1b[31m{MARK}\x1b[2J\x1b[1;1H",
    "title": f"\x1b]0;{MARK}\x07",
    "clipboard": f"\x1b]52;c;{MARK}\x07",
    "hyperlink": f"\x1b]8;;file:///etc/passwd\x1b\\{MARK}\x1b]8;;\x1b\\",
    "device": f"\x1bP{MARK}\x1b\\\x1b[6n\x1b[c",
    "c1": f"\x9b31m{MARK}\x9d0;t\x9c\x90\x85",
    "bell_and_back": f"{MARK}\x07\x08\x08\x08\x7f",
    "return": f"no\rThey fit. {MARK}",
    "lines": f"{MARK}\nIt can be used.\n\n- none\x0b\x0c\u2028\u2029",
    "nul": f"{MARK}\x00after",
    "shift_out": f"\x0e{MARK}\x0f\x05",
    "override": f"\u202e{MARK}\u202c\u2066\u2067\u2069\u061c\u200f\u200e",
    "zero_width": f"q\u200bz\u2060x {MARK}\ufeff\u00ad\U000e0041\U000e007f",
    "markup": f"[bold red]{MARK}[/bold red][/]",
    "click": f"[@click=app.bell]{MARK}[/]",
    "link": f"[link=file:///etc/passwd]{MARK}[/link]",
    "open_bracket": f"{MARK}[/[bold]\\[",
    "script": f"<script>alert('{MARK}')</script>",
    "image": f"<img src=x onerror=alert({MARK})>",
    "attribute": f"\"' onmouseover=\"alert('{MARK}')\" x='",
    "closing": f"</td></table></style></title>--><svg onload=alert(1)>{MARK}<!--",
    "address": f"javascript:alert('{MARK}')",
    "style": f"</style>{MARK}{{}} body{{background:url(//x)}} @import 'x';",
    "data_end": f"]]>{MARK}<![CDATA[",
    "entity": f"&lt;{MARK}&#x3c;script&#62;&amp;",
    "braces": f"{{}} {{0}} {{0.__class__}} {{{MARK}}} {{{{}}",
    "percent": f"%s %d %n %(x)s {MARK} %",
    "quotes": f"\"];\" -> \"x\" [URL=\"file:///\"]; \\\" \\\\\" {MARK} \\N \\G",
    "shell": f"$(touch {MARK}) `id` ; | & > x",
    "accents": MARK + "\u0301\u0316\u0489" * 80,
    "letters": f"{MARK} \U0001f468\u200d\U0001f469\u200d\U0001f467 \U0001f3f3\ufe0f\u200d\U0001f308 \u05d0\u0628\u6f22",
    "long": MARK + "a" * 3000,
    "surrogate": f"{MARK}\udfff \ud800x\udc1b",
    "private": f"{MARK}\ue000\U000f0000\uffff\U0010ffff",
}  # fmt: skip

STEERS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u00ad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb"
    "\U000e0000-\U000e007f]"
)
"""What no output may hold: controls but newline and tab, what turns or hides signs, halves of pairs."""


def steering(text: str) -> list[str]:
    """What in `text` a terminal or a reader's eye would obey, each written out."""
    return [ascii(found) for found in STEERS.findall(text)]


LONGEST_SENTENCE = 2000


def check_sentence(error: Exception) -> None:
    """A refusal is one sentence for people."""
    told = str(error)
    assert 10 < len(told) < LONGEST_SENTENCE, f"{type(error).__name__}: {told[:300]!r} is {len(told)} signs"
    assert "Traceback" not in told
