"""Whether a file is a heating given in full, by what it holds."""

from __future__ import annotations

from pathlib import Path


def is_heat_file(path: Path) -> bool:
    """True for a TOML file with layers. Raises: BadData for one that cannot be read."""
    from assistant.bench.bad_data import parse_toml, read_bytes

    return "layers" in parse_toml(read_bytes(path), path)
