"""Who computes with the recipe's functions must not have to guess what they give."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import assistant.recipe

FILES = sorted(Path(assistant.recipe.__file__).parent.glob("*.py"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_public_function_says_what_it_gives(file: Path) -> None:
    tree = ast.parse(file.read_text(encoding="utf-8"))
    public = [
        node for node in tree.body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    ]
    assert [node.name for node in public if not ast.get_docstring(node)] == []
