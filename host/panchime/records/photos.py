"""Pictures of a roast: taken in only when they are pictures, given out under names that lead nowhere else."""

import os
from dataclasses import dataclass
from pathlib import Path

from panchime.errors import PanchimeError

LARGEST_BYTES = 20_000_000
LONGEST_NAME = 100
# The first bytes of the formats that phones and cameras write: PNG (RFC 2083), JPEG, WebP (RFC 9649), GIF, HEIF brands.
HEIF_BRANDS = (b"heic", b"heix", b"mif1", b"avif")


@dataclass(frozen=True)
class PhotoFile:
    """A picture as it was read."""

    name: str
    media_type: str
    raw: bytes


def read_photo(path: str) -> PhotoFile:
    """Reads a picture. Raises PanchimeError when it cannot be read, is too large or is none."""
    file = Path(path)
    try:
        size = file.stat().st_size
        if size > LARGEST_BYTES:
            raise PanchimeError(
                f"{path} has {size / 1e6:.0f} MB and at most {LARGEST_BYTES / 1e6:.0f} MB are kept: make it smaller"
            )
        raw = file.read_bytes()
    except OSError as error:
        raise PanchimeError(f"{path} cannot be read: {error.strerror}") from error
    media_type = media_type_of(raw)
    if media_type is None:
        raise PanchimeError(f"{path} is no photo: JPEG, PNG, WebP, GIF, HEIC and AVIF are kept")
    return PhotoFile(harmless_name(file.name), media_type, raw)


def media_type_of(raw: bytes) -> str | None:
    """What a picture's first bytes say it is, None when it is none."""
    if raw.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if raw.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if raw.startswith((b"GIF87a", b"GIF89a")):
        return "image/gif"
    if raw[:4] == b"RIFF" and raw[8:12] == b"WEBP":
        return "image/webp"
    if raw[4:8] == b"ftyp" and raw[8:12] in HEIF_BRANDS:
        return "image/avif" if raw[8:12] == b"avif" else "image/heic"
    return None


def harmless_name(name: str) -> str:
    """A file name that stays in its folder on any system: no separators, no leading dot, nothing a shell minds."""
    kept = "".join(c if c.isalnum() or c in "._-" else "_" for c in name.encode("utf-8", "replace").decode("utf-8"))
    return kept.lstrip(".")[-LONGEST_NAME:] or "photo"


def write_photo(folder: Path, roast_number: int, place: int, name: str, raw: bytes) -> Path:
    """Writes a picture into a folder, never over a file that is there, and says where.

    Raises PanchimeError when it cannot.
    """
    file = folder / f"roast-{roast_number}-{place}-{harmless_name(name)}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with open(file, "xb") as out:
            out.write(raw)
    except FileExistsError:
        raise PanchimeError(f"{file} is there already: name another folder") from None
    except OSError as error:
        raise PanchimeError(f"{os.fspath(file)} cannot be written: {error.strerror}") from error
    return file
