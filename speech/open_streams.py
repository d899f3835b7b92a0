"""What microphone and loudspeaker share of PortAudio: it lists the devices once, and is begun anew to see new ones.

Only while no stream is open: beginning anew closes them all.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager


class OpenStreams:
    """How many streams are open, whoever opened them."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._count = 0

    def opens(self) -> None:
        """Call before a stream is opened."""
        with self._guard:
            self._count += 1

    def closed(self) -> None:
        """Call once it is closed, or could not be opened."""
        with self._guard:
            self._count -= 1

    @contextmanager
    def one_more(self) -> Iterator[None]:
        self.opens()
        try:
            yield
        finally:
            self.closed()

    @contextmanager
    def listing(self) -> Iterator[None]:
        """Asking PortAudio for its devices: meanwhile it is not begun anew."""
        with self._guard:
            yield

    def look_again(self) -> bool:
        """Let PortAudio list its devices anew. Returns: whether it did; not while a stream is open.

        Raises: ImportError, OSError: PortAudio is not here.
        """
        import sounddevice

        with self._guard:
            if self._count:
                return False
            try:
                sounddevice._terminate()
            finally:
                sounddevice._initialize()
            return True


STREAMS = OpenStreams()
