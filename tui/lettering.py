"""Letters large enough to read across a workshop.

Our own alphabet, five dots high and mostly four wide, drawn at three sizes: LARGE (a dot is two columns by
one row), SMALL (a dot is a column by half a row) and PLAIN (ordinary letters) when nothing else fits.
"""

from __future__ import annotations

import textwrap
import unicodedata
from dataclasses import dataclass
from typing import Literal

Face = Literal["large", "small", "plain"]

_DOTS_HIGH = 5
_FACE_ROWS: dict[Face, int] = {"large": _DOTS_HIGH + 1, "small": 3}
_DOT_COLUMNS: dict[Face, int] = {"large": 2, "small": 1}

# One row of glyphs per line, top to bottom; '#' is a dot.
_DRAWN = {
    "A": ".##. #..# #### #..# #..#",
    "B": "###. #..# ###. #..# ###.",
    "C": ".### #... #... #... .###",
    "D": "###. #..# #..# #..# ###.",
    "E": "#### #... ###. #... ####",
    "F": "#### #... ###. #... #...",
    "G": ".### #... #.## #..# .###",
    "H": "#..# #..# #### #..# #..#",
    "I": "# # # # #",
    "J": "..## ...# ...# #..# .##.",
    "K": "#..# #.#. ##.. #.#. #..#",
    "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "O": ".##. #..# #..# #..# .##.",
    "P": "###. #..# ###. #... #...",
    "Q": ".##. #..# #..# #.#. .#.#",
    "R": "###. #..# ###. #.#. #..#",
    "S": ".### #... .##. ...# ###.",
    "T": "### .#. .#. .#. .#.",
    "U": "#..# #..# #..# #..# .##.",
    "V": "#...# #...# .#.#. .#.#. ..#..",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#..# #..# .##. #..# #..#",
    "Y": "#.# #.# .#. .#. .#.",
    "Z": "#### ...# .##. #... ####",
    # Figures are all four wide, so that a running clock stands still.
    "0": "#### #..# #..# #..# ####",
    "1": "..#. .##. ..#. ..#. .###",
    "2": "###. ...# .##. #... ####",
    "3": "###. ...# .##. ...# ###.",
    "4": "#..# #..# #### ...# ...#",
    "5": "#### #... ###. ...# ###.",
    "6": ".##. #... ###. #..# .##.",
    "7": "#### ...# ..#. .#.. .#..",
    "8": ".##. #..# .##. #..# .##.",
    "9": ".##. #..# .### ...# .##.",
    " ": ". . . . .",
    ".": ". . . . #",
    ",": ".. .. .. .# #.",
    ":": ". # . # .",
    ";": ".. .# .. .# #.",
    "-": "... ... ### ... ...",
    "+": "... .#. ### .#. ...",
    "=": "... ### ... ### ...",
    "×": "... #.# .#. #.# ...",
    "/": "..# ..# .#. #.. #..",
    "%": "#..# ..#. .#.. #..# ....",
    "°": "### #.# ### ... ...",
    "'": "# # . . .",
    '"': "#.# #.# ... ... ...",
    "!": "# # # . #",
    "?": "##. ..# .#. ... .#.",
    "(": ".# #. #. #. .#",
    ")": "#. .# .# .# #.",
    "&": ".#.. #.#. .#.. #.#. .#.#",
}
GLYPHS: dict[str, tuple[str, ...]] = {sign: tuple(drawn.split(" ")) for sign, drawn in _DRAWN.items()}
_SAME = str.maketrans(
    {"–": "-", "—": "-", "−": "-", "’": "'", "‘": "'", "“": '"', "”": '"', "·": "-", "\u00a0": " "}
)


@dataclass(frozen=True)
class Lettered:
    face: Face
    rows: tuple[str, ...]


def letter(text: str, width: int, height: int, largest: Face = "large") -> Lettered:
    """`text` in capitals, in the largest face that fits `width` columns and `height` rows, wrapped at words.

    Plain letters are wrapped too, and cut with an ellipsis where even they do not fit.
    """
    words = _drawable(text)
    faces: tuple[Face, ...] = ("large", "small") if largest == "large" else ("small",)
    if words is not None and largest != "plain":
        for face in faces:
            lines = _wrap(words, width, face)
            if lines and len(lines) * _FACE_ROWS[face] <= height:
                return Lettered(face, tuple(row for line in lines for row in _draw(line, face)))
    return Lettered("plain", tuple(_plain_rows(text.upper(), max(width, 1), max(height, 1))))


def span(text: str, face: Face) -> int:
    """Columns that a line takes in a face."""
    if face == "plain":
        return len(text)
    dots = sum(len(GLYPHS[sign][0]) + 1 for sign in text) - 1
    return max(dots, 0) * _DOT_COLUMNS[face]


def _drawable(text: str) -> list[str] | None:
    """Words in signs that we have drawn, accents left off; None where a sign has no drawing."""
    kept: list[str] = []
    for sign in text.upper().translate(_SAME):
        if sign in GLYPHS:
            kept.append(sign)
            continue
        bare = "".join(c for c in unicodedata.normalize("NFD", sign) if not unicodedata.combining(c))
        if any(c not in GLYPHS for c in bare):
            return None
        kept.append(bare)
    return "".join(kept).split()


def _wrap(words: list[str], width: int, face: Face) -> list[str]:
    """Lines that fit, or none if a single word does not."""
    lines: list[str] = []
    for word in words:
        if span(word, face) > width:
            return []
        if lines and span(f"{lines[-1]} {word}", face) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _draw(line: str, face: Face) -> list[str]:
    dots = [".".join(GLYPHS[sign][row] for sign in line) for row in range(_DOTS_HIGH)]
    if face == "large":
        return ["".join("██" if dot == "#" else "  " for dot in row) for row in dots] + [""]
    dots.append("." * len(dots[0]))
    half = {"##": "█", "#.": "▀", ".#": "▄", "..": " "}
    return ["".join(half[a + b] for a, b in zip(dots[i], dots[i + 1], strict=True)) for i in (0, 2, 4)]


def _plain_rows(text: str, width: int, height: int) -> list[str]:
    rows = textwrap.wrap(text, width) or [""]
    if len(rows) > height:
        rows = [*rows[: height - 1], rows[height - 1][: max(width - 1, 0)].rstrip() + "…"]
    return rows
