"""A plan as it travels: JSON in ASCII, and back into TOML."""

import hashlib
import json
from typing import Any


def to_json(document: dict[str, Any]) -> bytes:
    """The document as the JSON the board takes and keeps: ASCII, no spaces, keys in the order of the file."""
    return json.dumps(document, ensure_ascii=True, separators=(",", ":"), allow_nan=False).encode("ascii")


def fingerprint(plan_json: bytes) -> str:
    """What a plan is remembered by: the SHA-256 of its JSON, in hexadecimal."""
    return hashlib.sha256(plan_json).hexdigest()


def to_toml(document: dict[str, Any]) -> str:
    """The document as TOML: the same keys and values, without the comments of the file it once was."""
    import tomli_w

    return tomli_w.dumps(document)
