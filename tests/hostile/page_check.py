"""Whether a report's page holds only what our own pages hold: elements, attributes, and nothing that acts."""

from __future__ import annotations

from html.parser import HTMLParser

from hostile_texts import steering

ELEMENTS: dict[str, frozenset[str]] = {
    "html": frozenset({"lang"}), "head": frozenset(), "meta": frozenset({"charset", "name", "content", "http-equiv"}),
    "title": frozenset(), "style": frozenset(), "body": frozenset(), "header": frozenset(), "footer": frozenset(),
    "section": frozenset({"class"}), "div": frozenset({"class"}), "p": frozenset({"class"}), "span": frozenset({"class"}),
    "h1": frozenset(), "h2": frozenset(), "b": frozenset({"class"}), "small": frozenset(), "br": frozenset(), "ul": frozenset(),
    "li": frozenset(), "dl": frozenset({"class"}), "dt": frozenset(), "dd": frozenset(), "table": frozenset(), "thead": frozenset(),
    "tbody": frozenset(), "tr": frozenset(), "th": frozenset(), "td": frozenset({"class"}),
    "svg": frozenset({"class", "viewbox", "role", "aria-label"}), "line": frozenset({"class", "x1", "x2", "y1", "y2"}),
    "polyline": frozenset({"class", "points"}), "circle": frozenset({"class", "cx", "cy", "r"}), "path": frozenset({"class", "d"}),
    "rect": frozenset({"class", "x", "y", "width", "height"}), "text": frozenset({"x", "y", "text-anchor"}),
}  # fmt: skip
"""Every element of our pages with the attributes that it may have; none of them loads or runs anything."""
CLASSES = frozenset(
    [
        "simulated",
        "soft",
        "outcome",
        "good",
        "bad",
        "facts",
        "verdict",
        "code",
        "whole",
        "made-of",
        "hazard",
        "rest",
        "digest",
        "curve",
        "release",
        "grid",
        "mark",
        "upper",
        "lower",
        "coldest",
        "hottest",
        "dot",
        "edge",
        "cross",
    ]
)
_VOID = frozenset({"meta", "br"})


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.styles = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert tag in ELEMENTS, f"<{tag}> is no element of ours"
        names = [name for name, _ in attrs]
        assert set(names) <= ELEMENTS[tag], f"<{tag}> has {names}"
        assert len(set(names)) == len(names)
        for name, value in attrs:
            assert name != "class" or set((value or "").split()) <= CLASSES, f"<{tag} class={value!r}>"
        self.styles += tag == "style"
        if tag not in _VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open[-1] == tag, f"</{tag}> closes <{self.open[-1]}>"
        self.open.pop()

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in _VOID:
            self.handle_endtag(tag)

    def handle_comment(self, data: str) -> None:
        assert data == " SIMULATED ", f"a comment {data[:40]!r}"

    def handle_decl(self, decl: str) -> None:
        assert decl == "DOCTYPE html"

    def unknown_decl(self, data: str) -> None:
        raise AssertionError(f"a declaration {data[:40]!r}")

    def handle_pi(self, data: str) -> None:
        raise AssertionError(f"an instruction {data[:40]!r}")


def check_page(page: str) -> None:
    """Raises: AssertionError for what is not one of our elements, rightly nested, or for a sign that steers."""
    parser = _Page()
    parser.feed(page)
    parser.close()
    assert not parser.open, f"{parser.open} stay open"
    assert parser.styles == 1
    assert not steering(page)
