"""Lets these tests import their neighbours, whatever way pytest was started, and make each seal code once."""

import sys
from functools import cache
from pathlib import Path

import pytest

from assistant.record import seal

sys.path.insert(0, str(Path(__file__).parent))
CODE_OF = cache(seal.seal_code)


@pytest.fixture(autouse=True)
def codes_made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Slow on purpose, and the same for the same signature."""
    monkeypatch.setattr(seal, "seal_code", CODE_OF)
