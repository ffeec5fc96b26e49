"""Roasts logged by hand become roasts of the journal, their file kept byte for byte beside."""

import hashlib
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from panchime.errors import PanchimeError
from panchime.journal.database import utc_ms
from panchime.journal.journal import Journal
from panchime.journal.story import WRITTEN_DOWN, tell
from panchime.journal.summary import summarise
from panchime.records.hand_log import HandLog, evenly
from panchime.records.moments import SaidWhen
from panchime.records.photos import harmless_name
from panchime.records.records import Records
from panchime.terminal.words import iso
from panchime_fw import events, logformat
from panchime_fw.plan_rules import MARKS_LIMIT

BOARD = "imported"  # what stands for a board's serial number; with the file's fingerprint, so that each is by itself
MODEL = "logged by hand"
NO_BOARD = "none"


@dataclass(frozen=True)
class HandMark:
    """A mark with its time in the file's own time."""

    name: str
    seconds: float


@dataclass(frozen=True)
class Described:
    """What a person says of an imported roast."""

    name: str
    method: str
    unit: str
    marks: tuple[HandMark, ...] = ()
    said: SaidWhen | None = None


def import_roast(journal: Journal, file_name: str, raw: bytes, log: HandLog, told: Described, replace: bool = False) -> int:
    """Keeps a roast and the file it comes from, and returns its number in the journal.

    Raises PanchimeError when the same file is there already, unless ``replace`` reads it anew, and for a mark outside it.
    """
    fingerprint = hashlib.sha256(raw).hexdigest()
    known = journal.database.rows("SELECT roast_number FROM imported_files WHERE sha256 = ?", (fingerprint,))
    if known and not replace:
        raise PanchimeError(
            f"{file_name} is in the journal already, as roast {known[0]['roast_number']}: --replace reads it anew"
        )
    name = harmless_name(file_name)
    sample_ms, samples = evenly(log)
    head = head_of(fingerprint, sample_ms, told)
    kept = log_bytes(head, samples, marks_ms(log, told.marks))
    number = journal.keep(name, kept, summarise(tell(kept), running=False))
    with journal.database.transaction():
        journal.database.rows(
            "INSERT OR REPLACE INTO imported_files VALUES (?, ?, ?, ?, ?)", (number, name, raw, fingerprint, utc_ms())
        )
    if told.said is not None:
        Records(journal).roasts.say(number, said_when=told.said)
    return number


def imported_raw(journal: Journal, number: int) -> bytes:
    """The file an imported roast comes from. Raises PanchimeError when the roast was not imported."""
    found = journal.database.rows("SELECT raw FROM imported_files WHERE roast_number = ?", (number,))
    if not found:
        raise PanchimeError(f"roast {number} was not imported: there is no file of its own")
    return bytes(found[0]["raw"])


def marks_ms(log: HandLog, marks: Sequence[HandMark]) -> list[tuple[int, str]]:
    """The marks in order, ms since the log's first reading. Raises PanchimeError for one outside the log, or too many."""
    found = sorted((round((mark.seconds - log.first_s) * 1000), mark.name) for mark in marks)
    for t_ms, name in found:
        if not 0 <= t_ms <= log.t_ms[-1]:
            raise PanchimeError(f"the mark {name!r} lies outside the file's times: write it in the time of the time column")
    if len({name for _, name in found}) < len(found):
        raise PanchimeError("a mark stands twice: every mark is made once")
    if len(found) > MARKS_LIMIT:
        raise PanchimeError(f"{len(found)} marks are too many: a roast has at most {MARKS_LIMIT}")
    return found


def head_of(fingerprint: str, sample_ms: int, told: Described) -> dict[str, Any]:
    """The head of the log; its plan is only what was said of the roast."""
    said = told.said
    return {
        "format": 1,
        "board": f"{BOARD} {fingerprint[:8]}",
        "model": MODEL,
        "firmware": NO_BOARD,
        "number": 0,
        "boot": 0,
        "uptime_ms": 0,
        "utc": iso(said.from_utc_ms) if said and said.is_exact else None,
        "amplifier": NO_BOARD,
        "thermocouple": NO_BOARD,
        "calibration": None,
        "sample_ms": sample_ms,
        "plan": {
            "name": told.name,
            "method": told.method,
            "unit": told.unit,
            "marks": [mark.name for mark in sorted(told.marks, key=lambda mark: mark.seconds)],
        },
    }


def log_bytes(head: dict[str, Any], samples: Sequence[tuple[int, int]], marks: Sequence[tuple[int, str]]) -> bytes:
    """A log as a board would have written it, by the board's own encoder."""
    packed, seed = logformat.head_bytes(head)
    raw = bytearray(packed)
    encoder = logformat.Encoder()
    encoder.reset(head["sample_ms"])
    waiting = list(enumerate(marks))

    def take_out() -> None:
        for index in range(encoder.finished):
            raw.extend(encoder.chunk(index, seed))
        encoder.drop(encoder.finished)

    for t_ms, centi in samples:
        while waiting and waiting[0][1][0] <= t_ms:
            index, (mark_ms, _) = waiting.pop(0)
            encoder.event(mark_ms, events.MARK, index, WRITTEN_DOWN, mark_ms)
        encoder.sample(t_ms, centi, logformat.NO_COLD)
        if encoder.full:
            encoder.finish()
        take_out()
    encoder.finish()
    take_out()
    raw += bytes(logformat.end_bytes(samples[-1][0], events.DONE, zlib.crc32(raw), seed))
    return bytes(raw)
