"""An ear that is held to a list: it is told what can be said now, and what its model can never hear is told once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.session import Session
from assistant.vocabulary import vocabulary
from intents.grammar import phrases

if TYPE_CHECKING:
    from speech.ear import Ear

_NAMED = 8  # of the words it lacks


def expect_what_can_be_said(ear: Ear, session: Session) -> None:
    """Tells an engine that is held to a list what the list is now; the others hear freely."""
    expect = getattr(ear, "expect", None)
    if expect is not None:
        expect(phrases(session.sayable(), session.book))


def words_it_lacks(ear: Ear, session: Session) -> str:
    """A sentence for whoever begins a job with an ear whose model lacks words of it; '' where it lacks none."""
    lacks = getattr(ear, "lacks", None)
    wanted = vocabulary(session.rules, session.book)
    try:
        missing: tuple[str, ...] = lacks(wanted) if lacks is not None else ()
    except Exception as failure:  # an engine may fail in any way; it is tried with the next sound
        return f"Whether the ears' model has all the words of a job could not be looked up ({failure})."
    if not missing:
        return ""
    some = ", ".join(missing[:_NAMED]) + (" and others" if len(missing) > _NAMED else "")
    how = "is heard by the second look alone" if ear.good_for_gates else "must be typed"
    return f"The ears' model lacks {len(missing)} of the {len(wanted)} words of a job: what has one of them {how}: {some}."
