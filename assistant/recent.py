"""Remembers the last answers of a pure function by what it was asked with, told apart by identity.

For what hangs on parts of a state: they are never changed but replaced, and their comparing would cost as much
as the answer.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")


def remembered(size: int) -> Callable[[Callable[Asked, Answer]], Callable[Asked, Answer]]:
    """For a pure function of unchanging things, given by place: the newest `size` answers are kept, with what they
    were asked with, so that no other thing can take its identity meanwhile."""

    def around(compute: Callable[Asked, Answer]) -> Callable[Asked, Answer]:
        known: dict[tuple[int, ...], tuple[Any, Answer]] = {}

        @wraps(compute)
        def answer(*asked: Asked.args, **_none: Asked.kwargs) -> Answer:
            key = tuple(map(id, asked))
            found = known.get(key)
            if found is None:
                found = (asked, compute(*asked, **_none))
                if len(known) >= size:
                    for oldest in list(known)[:1]:
                        known.pop(oldest, None)  # another thread may have been here
                known[key] = found
            return found[1]

        return answer

    return around
