"""What the ears have to say of themselves, and how seldom: a bench that nags is switched off."""

from __future__ import annotations

BEHIND_S = 4.0  # from here on people believe that they were not heard
SELDOM_S = 180.0  # between two sayings of the same
SYLLABLE_S = 0.3
LOST_EVERY_S = 20.0
LOST = "{seconds:.1f} s of sound were lost, because the ear or the computer is too slow here. Say it again."
IN_A_ROW = 2  # answers without the callsign, before it is told that it is missing
ROW_S = 90.0  # two answers further apart are not in a row


class EarsSay:
    """Sentences to be noted and spoken, '' for none. Times are session seconds. One thread."""

    def __init__(self, callsign: str | None) -> None:
        self._callsign = callsign or ""
        self._told_s: dict[str, float] = {}
        self._trouble = ""
        self._row, self._row_s = 0, float("-inf")
        self._lost_s = 0.0

    def trouble(self, now: str, at_s: float) -> str:
        """What keeps the ears from working, when it has come; not again while it lasts."""
        came, self._trouble = now != self._trouble, now
        return self._seldom(now, now, at_s) if came and now else ""

    def behind(self, age_s: float, at_s: float) -> str:
        """age_s: of the sound that is looked at now."""
        if age_s < BEHIND_S:
            return ""
        return self._seldom(
            "behind", f"I am {age_s:.0f} seconds behind. Speak slowly and wait for my answer.", at_s
        )

    def unnamed(self, is_answer: bool, at_s: float) -> str:
        """Something was dropped for want of the callsign. is_answer: with it, it would have been taken."""
        in_row = at_s - self._row_s <= ROW_S
        self._row = (self._row if in_row else 0) + 1 if is_answer else 0
        self._row_s = at_s
        if self._row < IN_A_ROW:
            return ""
        return self._seldom("callsign", f"If that was for me, begin with '{self._callsign}'.", at_s)

    def taken(self) -> None:
        """Something was said to us by name, or in time."""
        self._row = 0

    def lost(self, seconds: float, at_s: float) -> str:
        """Sound that nobody looked at; told together, once it is more than a syllable. From any one thread."""
        self._lost_s += seconds
        if self._lost_s < SYLLABLE_S:
            return ""
        told = self._seldom("lost", LOST.format(seconds=self._lost_s), at_s, LOST_EVERY_S)
        if told:
            self._lost_s = 0.0
        return told

    def _seldom(self, what: str, sentence: str, at_s: float, every_s: float = SELDOM_S) -> str:
        if at_s - self._told_s.get(what, float("-inf")) < every_s:
            return ""
        self._told_s[what] = at_s
        return sentence
