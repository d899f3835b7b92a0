"""An engine in a process of its own: one that hangs or takes its process with it is started again, and said.

Recognisers and voices are C libraries that may never come back, or end the process without an exception. Here
only their child is lost. It hears of nothing but what it is asked, and writes nowhere: its outputs are closed to it.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

from speech.errors import SpeechError

LOADS_S = 60.0  # a large model from a slow disk
LETS_GO_S = 1.0
MOST_STARTS = 4  # of one engine in one session; after that it is not going to work


class Child:
    """The object that `build` makes, in a child process. Not for several threads at once.

    build: importable by name, as the process is spawned. what: 'the recogniser', for sentences.
    told: gets a sentence each time the engine was lost and has been started again.
    """

    def __init__(
        self, build: Callable[..., Any], arguments: tuple[Any, ...], what: str, deadline_s: float,
        told: Callable[[str], None],
    ) -> None:  # fmt: skip
        self._build, self._arguments = build, arguments
        self._what, self._deadline_s, self._told = what, deadline_s, told
        self._state: dict[str, tuple[Any, ...]] = {}  # calls that a new engine is told anew
        self._starts = 0
        self._closed = False
        self.built = self._start()

    def call(self, method: str, *arguments: Any, keeps: bool = False) -> Any:
        """Call a method there. A call that loses the engine is made once more, on a new one.

        keeps: the method sets what holds from now on, and is repeated when the engine was started again.

        Raises:
            SpeechError: what the engine raised; or it was lost twice over this call, or too often in all.
        """
        if keeps:
            self._state[method] = arguments
        try:
            return self._ask((method, arguments), self._deadline_s)
        except _LostError as lost:
            self._again(str(lost))
        try:
            return self._ask((method, arguments), self._deadline_s)
        except _LostError as lost:
            self.close()
            raise SpeechError(f"{self._what} {lost} twice over the same sound.") from lost

    def close(self) -> None:
        """End the process, whatever it does."""
        self._closed = True
        self._end()

    def _start(self) -> Any:
        self._starts += 1
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(
            target=_serve, args=(theirs, self._build, self._arguments), name=self._what, daemon=True
        )
        self._process.start()
        theirs.close()
        try:
            built = self._reply(LOADS_S)
            for method, arguments in self._state.items():
                self._ask((method, arguments), self._deadline_s)
        except _LostError as lost:
            self._end()
            raise SpeechError(f"{self._what} {lost} while it was being loaded.") from lost
        return built

    def _again(self, lost: str) -> None:
        self._end()
        if self._closed:
            raise SpeechError(f"{self._what} has been closed.")
        if self._starts >= MOST_STARTS:
            raise SpeechError(f"{self._what} {lost}, {self._starts} times in all; it is not started again.")
        self._start()
        self._told(f"{self._what} {lost} and was started again.")

    def _ask(self, call: tuple[str, tuple[Any, ...]], within_s: float) -> Any:
        try:
            self._pipe.send(call)
        except (OSError, ValueError) as gone:
            raise _LostError(self._how_it_ended()) from gone
        return self._reply(within_s)

    def _reply(self, within_s: float) -> Any:
        try:
            if not self._pipe.poll(within_s):
                raise _LostError(f"did not answer in {within_s:g} s")
            good, what = self._pipe.recv()
        except (EOFError, OSError) as gone:
            raise _LostError(self._how_it_ended()) from gone
        if not good:
            raise SpeechError(what)
        return what

    def _how_it_ended(self) -> str:
        self._process.join(LETS_GO_S)
        return f"ended by itself (exit code {self._process.exitcode})"

    def _end(self) -> None:
        self._process.kill()
        self._process.join(LETS_GO_S)
        self._pipe.close()


class _LostError(Exception):
    """How the engine was lost: the end of a sentence."""


def _serve(pipe: Connection, build: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    """The child's whole life: build, then answer calls until the pipe closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the terminal's is for the parent
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    try:
        thing = build(*arguments)
        pipe.send((True, _facts(thing)))
    except Exception as error:  # whatever it is, the parent says it
        pipe.send((False, _sentence(error)))
        return
    while True:
        try:
            method, given = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            pipe.send((True, getattr(thing, method)(*given)))
        except Exception as error:
            pipe.send((False, _sentence(error)))


def _facts(thing: Any) -> Any:
    """What the parent is told of it: itself where it is plain data, else its public plain attributes and methods."""
    from speech.errors import Missing

    if isinstance(thing, Missing):
        return thing
    facts: dict[str, Any] = {}
    for name in dir(thing):
        if not name.startswith("_"):
            value = getattr(thing, name)
            facts[name] = value if isinstance(value, str | bool | int | float) else None
    return facts


def _sentence(error: Exception) -> str:
    return str(error) if isinstance(error, SpeechError) else f"{type(error).__name__}: {error}"
