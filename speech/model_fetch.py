"""Fetches one archive from the address that a person gave, and only then: the one place that goes to a network.

What has come stays on disk until all of it is there, so that the same command goes on where it was cut off. It is
kept under the digest that was asked for, and is used only when it has that digest.
"""

from __future__ import annotations

import http.client
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit

from speech.errors import SpeechError
from speech.model_archive import LARGEST_MODEL_BYTES
from speech.model_store import SPARE_BYTES, about_disk
from speech.models import cache_folder, sha256_of

PATIENCE_S = 30.0  # without a byte
_CHUNK = 1 << 18


def fetch(url: str, sha256: str, tell: Callable[[int, int | None], None]) -> Path:
    """Fetch it, or the rest of it.

    Args:
        url: http or https.
        sha256: its digest, 64 hexadecimal digits.
        tell: called with bytes there and bytes in all (None: unknown), now and then.

    Returns: the file, which the caller takes away when it is done with it.

    Raises:
        SpeechError: the address, the network, the disk or the digest is not right; str() says whether to go on.
    """
    try:
        parts = urlsplit(url)
        found = parts.scheme in ("http", "https") and bool((parts.hostname or "").encode("idna"))
    except ValueError:  # brackets that do not close, a name that none can be
        found = False
    if not found:
        raise SpeechError(
            f"'{url[:100]}' is no address of http or https, nor NAME==VERSION; give one, or install a file."
        )
    if not re.fullmatch(r"[0-9a-f]{64}", sha256):
        raise SpeechError(
            "The SHA-256 must be 64 hexadecimal digits; take it from whoever publishes the model."
        )
    file = cache_folder().parent / "fetched" / f"{sha256}.part"
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        if file.is_file() and sha256_of(file) == sha256:
            return file
        _fetch_rest(url, file, tell)
        digest = sha256_of(file)
        if digest != sha256:
            file.unlink()
            raise SpeechError(
                f"What came from {parts.hostname} is not what was asked for: its SHA-256 is {digest[:12]}…, not "
                f"{sha256[:12]}…; it was thrown away."
            )
    except OSError as error:
        raise SpeechError(about_disk(error, file.parent)) from error
    return file


def _fetch_rest(url: str, file: Path, tell: Callable[[int, int | None], None]) -> None:
    have = file.stat().st_size if file.is_file() else 0
    host = urlsplit(url).hostname
    try:
        with _open(url, have) as answer:
            whole = _whole(answer, have)
            if answer.status != 206:  # the server gives all of it again
                have = 0
            _check_size(whole, have, file)
            with file.open("ab" if have else "wb") as out:
                while chunk := _next(answer):
                    out.write(chunk)
                    have += len(chunk)
                    if have > LARGEST_MODEL_BYTES:
                        raise SpeechError(_too_large(have))
                    tell(have, whole)
    except HTTPError as error:
        with error:
            if error.code == 416 and have:  # nothing beyond what is here: the digest will tell
                return
            raise SpeechError(f"{host} refuses it ({error.code}); check the address.") from error
    except (URLError, TimeoutError, ConnectionError, http.client.HTTPException) as error:
        reason = getattr(error, "reason", None) or error
        raise SpeechError(_cut(str(host), have, f"{reason}" or type(error).__name__)) from error
    if whole is not None and have < whole:
        raise SpeechError(_cut(str(host), have, f"{whole / 1e6:.1f} MB are to come in all"))


def _open(url: str, have: int) -> Any:
    from urllib import request

    opener = request.OpenerDirector()  # nothing but http: neither files nor ftp, also not by being sent there
    for handler in (
        request.ProxyHandler, request.HTTPHandler, request.HTTPSHandler, request.HTTPRedirectHandler,
        request.HTTPDefaultErrorHandler, request.HTTPErrorProcessor, request.UnknownHandler,
    ):  # fmt: skip
        opener.add_handler(handler())
    asked = {"Range": f"bytes={have}-"} if have else {}
    headers = {"User-Agent": "loopwright", "Accept-Encoding": "identity", **asked}
    return opener.open(request.Request(url, headers=headers), timeout=PATIENCE_S)


def _next(answer: Any) -> bytes:
    try:
        return bytes(answer.read1(_CHUNK))
    except OSError as error:  # so that it is not taken for the disk's
        raise URLError(error) from error


def _whole(answer: Any, have: int) -> int | None:
    """Bytes in all; raises when the server goes on somewhere else than where we are."""
    if answer.status == 206:
        told = re.fullmatch(r"bytes (\d+)-\d+/(\d+|\*)", answer.headers.get("Content-Range", ""))
        if told is None or int(told[1]) != have:
            raise http.client.HTTPException("the server goes on at another place")
        return None if told[2] == "*" else int(told[2])
    length = answer.headers.get("Content-Length", "")
    return int(length) if length.isdigit() else None


def _check_size(whole: int | None, have: int, file: Path) -> None:
    if whole is None:
        return
    if whole > LARGEST_MODEL_BYTES:
        raise SpeechError(_too_large(whole))
    free = shutil.disk_usage(file.parent).free
    if 2 * whole - have + SPARE_BYTES > free:  # the archive, and what is unpacked from it
        raise SpeechError(
            f"It needs {2 * whole / 1e6:.0f} MB in {file.parent}, where {free / 1e6:.0f} MB are free; make room."
        )


def _too_large(size: int) -> str:
    return f"It is larger than a model can be ({size / 1e9:.1f} GB); check the address."


def _cut(host: str, have: int, reason: str) -> str:
    kept = (
        f"{have / 1e6:.1f} MB are kept: the same command goes on from there"
        if have
        else "nothing came; try again"
    )
    return f"The connection to {host} failed ({reason[:120]}); {kept}."
