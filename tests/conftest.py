"""Lets all tests import `at_the_press`, whatever way pytest was started; no test fails because a machine is busy."""

import sys
from pathlib import Path

from hypothesis import settings

sys.path.insert(0, str(Path(__file__).parent))

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
