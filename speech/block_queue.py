"""Blocks of sound between the thread that reads and the one that listens."""

from __future__ import annotations

import queue
from collections.abc import Iterator

from speech.errors import SpeechError
from speech.sound import Samples

STALL_S = 2.0  # a block comes every 32 ms
_KEPT = 2000  # blocks, about a minute: what may pile up while an utterance is transcribed


class BlockQueue:
    """Blocks between the thread that reads and the one that listens. None ends, a sentence is an error."""

    def __init__(self) -> None:
        self._blocks: queue.Queue[Samples | str | None] = queue.Queue()
        self.dropped = 0  # blocks that found no place

    def put(self, block: Samples | str | None) -> None:
        if self._blocks.qsize() >= _KEPT and not isinstance(block, str | type(None)):
            self.dropped += 1  # nobody listens: the newest is lost, and `Hearing` says so
            return
        self._blocks.put(block)

    def take(self, name: str) -> Iterator[Samples]:
        while True:
            try:
                block = self._blocks.get(timeout=STALL_S)
            except queue.Empty as error:
                raise SpeechError(
                    f"The microphone ({name}) gives no sound any more; is it unplugged? Type meanwhile."
                ) from error
            if block is None:
                return
            if isinstance(block, str):
                raise SpeechError(block)
            yield block
