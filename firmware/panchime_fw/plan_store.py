"""The plan on the board's flash: checked on arrival, kept in two copies, the old one stays when the new one is broken.

On the link and on flash a plan is 8 hex digits of the CRC-32 of its JSON, then the JSON.
"""

import json
from binascii import crc32

from . import plan as plans
from .scpi import errors
from .visiting import visit

NAME = "plan"


class PlanError(Exception):
    """Why a plan was not taken: an SCPI error number and words."""

    def __init__(self, number: int, words: str) -> None:
        super().__init__(number, words)
        self.number = number
        self.words = words


def pack(text: str) -> bytes:
    """JSON text as it goes over the link."""
    body = text.encode()
    return b"%08X" % crc32(body) + body


def unpack(block: bytes) -> str:
    """JSON text out of a block. Raises PlanError."""
    if len(block) - 8 > plans.JSON_BYTES_LIMIT:
        raise PlanError(
            errors.TOO_MUCH_DATA, "a plan has at most %d bytes, this one %d" % (plans.JSON_BYTES_LIMIT, len(block) - 8)
        )
    body = memoryview(block)[8:]
    try:
        said = int(bytes(block[:8]), 16)
    except ValueError:
        said = -1
    if said != crc32(body):
        raise PlanError(errors.DATA_CORRUPT, "the plan's checksum does not fit; send it again")
    try:
        return str(body, "utf-8")
    except ValueError:
        raise PlanError(errors.DATA_CORRUPT, "the plan is not text")


def parse(text: str):
    """A checked plan out of JSON text. Raises PlanError with the first mistake."""
    try:
        document = json.loads(text)
    except (ValueError, RuntimeError):  # the latter: nested too deep
        raise PlanError(errors.PROGRAM_SYNTAX, "the plan is not JSON")
    try:
        return plans.compile_plan(document)
    except ValueError as error:
        raise PlanError(errors.PROGRAM_SYNTAX, str(error))


class PlanStore:
    """`store` is a two-copy store with load() and save(text)."""

    def __init__(self, store) -> None:
        self._store = store
        self.is_builtin = True
        self.complaint = ""  # why a kept plan could not be used

    def load(self):
        """The kept plan, or the built-in one when none was ever sent or the kept one does not pass."""
        text = self._store.load()
        if text is not None:
            try:
                plan = parse(text)
                self.is_builtin = False
                return plan
            except PlanError as error:
                # A newer firmware may have stricter rules than the one that took this plan.
                self.complaint = error.words
        self.is_builtin = True
        return plans.compile_plan(json.loads(visit("builtin_plan", "text")))

    def text(self, document) -> str:
        """The JSON of the plan in use as it arrived, from the flash: it takes no heap. `document` is for when that fails."""
        text = visit("builtin_plan", "text") if self.is_builtin else self._store.load()
        return json.dumps(document) if text is None else text

    def take(self, block: bytes):
        """Checks and keeps a plan that has arrived. Raises PlanError, and then the old plan is untouched."""
        text = unpack(block)
        plan = parse(text)
        if not self._store.save(text):
            raise PlanError(errors.STORAGE_FAULT, "the plan could not be written to the flash; the old one stays")
        self.is_builtin = False
        return plan
