"""A page as a file: what it was made from, and writing it as a whole or not at all."""

import hashlib
import os
import re
from pathlib import Path

from panchime.errors import PanchimeError
from panchime.report.page import look

STAMP = re.compile(rb'<meta name="made-from" content="([0-9a-f]{64})">')
STAMP_WITHIN_BYTES = 2000
GENERATOR = b'<meta name="generator" content="Panchime '


def fingerprint(*parts: object) -> str:
    """SHA-256 over what a page is made from and how pages look."""
    digest = hashlib.sha256(look().encode())
    for part in parts:
        text = part if isinstance(part, bytes) else repr(part).encode("utf-8", "surrogatepass")
        digest.update(len(text).to_bytes(8, "big") + text)
    return digest.hexdigest()


def stamp_of(file: Path) -> str | None:
    """The fingerprint in a page that is there, None when there is no page of ours."""
    try:
        with open(file, "rb") as page:
            found = STAMP.search(page.read(STAMP_WITHIN_BYTES))
    except OSError:
        return None
    return found[1].decode() if found else None


def write_page(file: Path, html: str, force: bool = False) -> None:
    """Writes a page as a whole or not at all; a page of ours that is there is replaced.

    Raises PanchimeError when something else is there (unless ``force``) or the file cannot be written.
    """
    try:
        if not force and is_foreign(file):
            raise PanchimeError(f"{file} is there already and is no report: --force writes over it, or name another")
    except OSError as error:
        raise PanchimeError(f"{file} cannot be written: {error.strerror}") from error
    write_text(file, html)


def is_foreign(file: Path) -> bool:
    """Whether something is there that is no page of ours. Raises OSError when it cannot be read."""
    try:
        with open(file, "rb") as there:
            return GENERATOR not in there.read(STAMP_WITHIN_BYTES)
    except FileNotFoundError:
        return False


def write_text(file: Path, text: str) -> None:
    """Puts a text in a file's place in one step. Raises PanchimeError when it cannot be written."""
    waiting = file.with_name(f".{file.name}.{os.getpid()}")
    try:
        waiting.write_text(text, encoding="utf-8", errors="replace", newline="\n")
        waiting.replace(file)
    except OSError as error:
        waiting.unlink(missing_ok=True)
        raise PanchimeError(f"{file} cannot be written: {error.strerror}") from error


def read_or_nothing(file: Path) -> bytes:
    """The bytes of a file, none when it is not there."""
    try:
        return file.read_bytes()
    except OSError:
        return b""
