"""One value of a data file set otherwise, as in 'upper.set_degC=180': for asking what if."""

from __future__ import annotations

import tomllib
from typing import Any

from assistant.bench.bad_data import BadData


def put(table: dict[str, Any], change: str) -> None:
    """The change, in place; entries of lists are counted from 1. The value is as TOML writes it, or a bare word.

    Raises: BadData where there is no such place, or no value.
    """
    key, equals, text = change.partition("=")
    parts = [part.strip() for part in key.split(".")]
    if not equals or not all(parts):
        raise BadData(
            f"'{change[:60]}' changes nothing: write key=value, as in hold_s=90 or upper.set_degC=180."
        )
    try:
        value = tomllib.loads(f"value = {text.strip()}")["value"]
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        if not text.strip().isidentifier():
            raise BadData(
                f"'{text[:60]}' is no value for {key[:60]}: write a number, true, false or a word."
            ) from None
        value = text.strip()
    held: Any = table
    for part, following in zip(parts, [*parts[1:], ""], strict=True):
        if isinstance(held, list):
            if not part.isascii() or not part.isdigit() or not 1 <= int(part) <= len(held):
                raise BadData(
                    f"'{key[:60]}': there is no number '{part[:20]}' of {len(held)}; they are counted from 1."
                )
            if not following:
                raise BadData(f"'{key[:60]}' is a whole table; name a key in it.")
            held = held[int(part) - 1]
        elif not isinstance(held, dict):
            raise BadData(f"'{key[:60]}' goes further than there are tables; check the name.")
        elif not following:
            if isinstance(held.get(part), dict | list) and not isinstance(value, type(held[part])):
                raise BadData(f"'{key[:60]}' is a whole table; name a key in it.")
            held[part] = value
        else:
            held = held.setdefault(part, {})
