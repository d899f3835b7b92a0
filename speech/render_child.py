"""Renders one text to one wave file through pyttsx3 and goes away: `python -m speech.render_child`.

Run as a child because pyttsx3 keeps one engine a process, can stop answering, prints to standard output,
and because the library beneath ends the whole process when its data are missing. One text a process,
`save_to_file` only: two in a row lose the first. `runAndWait` returns before a text of more than a few seconds
is written, so the end of the utterance is waited for.

Arguments: OUT.wav WORDS_PER_MINUTE VOICE; the text comes on standard input, UTF-8.
Exit code 0: the file is written. 3: a part is missing. 1: the engine failed. The reason goes to standard error.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import sys
import threading
from pathlib import Path

PATIENCE_S = 8.0


def bring_own_library() -> None:
    """Load the espeak-ng library of `espeakng-loader`, if installed, so that pyttsx3 finds it by name.

    The path of its data must stand in the environment before the library is loaded, and the library
    must be loaded before pyttsx3 is imported.
    """
    with contextlib.suppress(ImportError, OSError):
        import espeakng_loader

        os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
        folder = Path(espeakng_loader.get_library_path()).parent
        ctypes.CDLL(str(folder / "libespeak-ng.so.1"), mode=ctypes.RTLD_GLOBAL)


def main(arguments: list[str]) -> int:
    out, words_per_minute, voice = arguments
    text = sys.stdin.buffer.read().decode("utf-8")
    bring_own_library()
    with contextlib.redirect_stdout(sys.stderr):
        try:
            import pyttsx3

            engine = pyttsx3.init("espeak")
        except (ImportError, RuntimeError, OSError) as missing:
            print(missing, file=sys.stderr)
            return 3
        try:
            engine.setProperty("rate", int(words_per_minute))
            engine.setProperty("voice", voice)
            written = threading.Event()
            engine.connect("finished-utterance", lambda **_: written.set())
            engine.save_to_file(text, out)
            engine.runAndWait()
            if not written.wait(PATIENCE_S):
                print("the engine did not finish", file=sys.stderr)
                return 1
        except (ValueError, RuntimeError, OSError) as failed:
            print(failed, file=sys.stderr)
            return 1
    return 0


if __name__ == "__main__":
    code = main(sys.argv[1:])
    sys.stderr.flush()
    os._exit(code)  # the engine's own thread and clean-up may hang at a normal exit
