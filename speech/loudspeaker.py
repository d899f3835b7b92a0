"""The loudspeaker as the mouth uses it: it may fail or hang, is lost then, and is looked for again.

Whether it hangs is judged by what it takes, and by our own looks at it, not by the clock: on a machine with too
much to do nothing is taken for a while, and nobody looks either.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

import numpy as np

from speech.errors import Missing, SpeechError
from speech.player import Player
from speech.sound import RATE_HZ, Sound

LOOK_S = 0.05  # between two looks at what it has taken
STALL_S = 6.0  # of looks at which it took nothing, while opening, playing or draining: it hangs
LETS_GO_S = 3.0  # the same after a cancel
TRIAL_S = 0.1  # of silence: whether a loudspeaker that was lost plays again
MOST_LEFT = 3  # calls that never came back; with so many none is tried

Playing = Callable[[Sound | None], None]
"""Told the sound that the player is given now; None: it was cut off."""


class Loudspeaker:
    """Plays in a thread of its own, so that nobody hangs with it. `play` and `found_again` are one caller's.

    player: the one to begin with; Missing: it begins as lost. find: looks for a player while it is lost.
    """

    def __init__(self, player: Player | Missing, find: Callable[[], Player | Missing]) -> None:
        self.lost = isinstance(player, Missing)
        self._player, self._find = player, find
        self._left: list[threading.Thread] = []

    @property
    def name(self) -> str:
        """Of the output, for people; '' while there has been none."""
        return "" if isinstance(self._player, Missing) else self._player.name

    def play(self, sound: Sound, cancel: threading.Event, playing: Playing) -> bool | str:
        """Plays; blocks. True: to its end. False: cancelled. A sentence: it is lost, and why."""
        if isinstance(self._player, Missing):
            return self._player.sentence
        outcome = self._try(self._player, sound, cancel, playing)
        self.lost = isinstance(outcome, str)
        return outcome

    def found_again(self, cancel: threading.Event) -> bool:
        """Looks for a player and lets it play a moment of silence. True: it is lost no more."""
        self._left = [call for call in self._left if call.is_alive()]
        if len(self._left) >= MOST_LEFT:
            return False
        try:
            player = self._find()
        except Exception:  # PortAudio while another thread begins it anew; the next look may find it
            return False
        if isinstance(player, Missing):
            return False
        silence = Sound(np.zeros(int(RATE_HZ * TRIAL_S), np.float32))
        if self._try(player, silence, cancel, lambda _: None) is not True:
            return False
        self._player, self.lost = player, False
        return True

    def _try(self, player: Player, sound: Sound, cancel: threading.Event, playing: Playing) -> bool | str:
        played: list[bool | str] = []

        def play() -> None:
            playing(sound)
            try:
                finished = player.play(sound, cancel)
                if not finished:
                    playing(None)
                played.append(finished)
            except SpeechError as error:
                played.append(str(error))
            except Exception as error:  # a player may fail in any way; the mouth must not
                played.append(f"The loudspeaker ({player.name}) failed ({type(error).__name__}: {error}).")

        call = threading.Thread(target=play, name="loudspeaker", daemon=True)
        call.start()
        taken, idle_s, let_go = player.taken, 0.0, False
        while call.is_alive() and idle_s < (LETS_GO_S if let_go else STALL_S):
            call.join(LOOK_S)
            idle_s += LOOK_S
            if player.taken != taken:
                taken, idle_s = player.taken, 0.0
            if cancel.is_set() and not let_go:
                let_go, idle_s = True, 0.0
        if played:
            return played[0]
        self._left.append(call)
        return f"The loudspeaker ({player.name}) hangs."
