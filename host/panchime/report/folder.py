"""A folder with the list of all roasts and a page for each; only what changed is written."""

import hashlib
import os
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from panchime.analysis.bands import BASE_C
from panchime.analysis.day_effect import Day
from panchime.analysis.own_roasts import day_centi
from panchime.analysis.sketch import sketch
from panchime.errors import PanchimeError
from panchime.journal.journal import Journal, RoastEntry
from panchime.journal.summary import COMPLETE
from panchime.records.records import Records
from panchime.records.roast_record import RoastRecord
from panchime.report.gathering import gather
from panchime.report.index_page import Row, index_page, row_of
from panchime.report.page import look
from panchime.report.roast_page import roast_page
from panchime.report.view import Shown

INDEX = "index.html"
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
    waiting = file.with_name(f".{file.name}.{os.getpid()}")
    try:
        if file.exists() and not force:
            with open(file, "rb") as there:
                if GENERATOR not in there.read(STAMP_WITHIN_BYTES):
                    raise PanchimeError(f"{file} is there already and is no report: --force writes over it, or name another")
        waiting.write_text(html, encoding="utf-8", errors="replace", newline="\n")
        waiting.replace(file)
    except OSError as error:
        raise PanchimeError(f"{file} cannot be written: {error.strerror}") from error
    finally:
        waiting.unlink(missing_ok=True)


@dataclass(frozen=True)
class Listed:
    """One roast of the list: its row, the SHA-256 of its log, and its day where it is complete and both ends are known."""

    entry: RoastEntry
    record: RoastRecord
    row: Row
    digest: str
    day: Day | None


def index_rows(journal: Journal, written: Mapping[int, RoastRecord], shown: Shown) -> list[Listed]:
    """What the list says of every roast; no log is decoded in full for this unless it is damaged."""
    found = []
    for entry in journal.entries():
        raw, record = journal.raw(entry.number), written.get(entry.number, RoastRecord(entry.number))
        drawn = sketch(raw)
        row = row_of(entry, record, drawn, shown)
        centi = day_centi(record, drawn.cold_start_centi)
        day = None
        if entry.state == COMPLETE and isinstance(row.length_ms, int) and row.length_ms > 0 and centi is not None:
            day = Day(entry.number, centi / 100, row.length_ms / 60000)
        found.append(Listed(entry, record, row, hashlib.sha256(raw).hexdigest(), day))
    return found


def write_folder(
    journal: Journal, folder: Path, unit: str | None, base_c: float = BASE_C, progress: Callable[[int, int], None] | None = None
) -> tuple[int, int]:
    """Writes the list and the pages; returns how many roasts there are and how many pages were written.

    ``unit`` None: each page in its plan's unit, the list in Celsius. ``progress`` is told the number of roasts done and of all.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PanchimeError(f"the folder {folder} cannot be made: {error.strerror}") from error
    written = Records(journal).roasts.of_all()
    kept = index_rows(journal, written, Shown(unit or "C"))
    rows = [item.row for item in kept]
    stamp = fingerprint(rows)
    changed = 0
    if stamp_of(folder / INDEX) != stamp:
        write_page(folder / INDEX, index_page(rows, stamp))
        changed += 1
    days: dict[tuple[str, str], list[Day]] = {}
    chains: dict[tuple[str, str], str] = {}
    for done, item in enumerate(kept, start=1):
        entry = item.entry
        plan = (entry.plan_name, entry.method)
        if item.day is not None:
            days.setdefault(plan, []).append(item.day)
            chains[plan] = fingerprint(chains.get(plan), item.day)  # stands for the whole list, without its length
        alike = days.get(plan, [])
        stamp = fingerprint(entry, item.record, item.digest, chains.get(plan), unit, base_c)
        file = folder / f"roast-{entry.number}.html"
        if stamp_of(file) != stamp:
            report = gather(journal, entry.number, unit, base_c, alike)
            html = roast_page(report, Shown(unit or report.account.story.unit), stamp, INDEX)
            write_page(file, html)
            changed += 1
        if progress is not None:
            progress(done, len(kept))
    return len(kept), changed
