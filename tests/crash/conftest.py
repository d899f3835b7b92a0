"""Lets these tests import their neighbours, whatever way pytest was started."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
