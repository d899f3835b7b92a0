"""The phrasebook, and situations in which something can be said."""

from __future__ import annotations

import pytest

from intents.phrasebook import Phrasebook, load_phrasebook


@pytest.fixture(scope="session")
def book() -> Phrasebook:
    return load_phrasebook()
