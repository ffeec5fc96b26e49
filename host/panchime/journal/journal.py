"""The journal by its meaning: boards, roasts with their raw bytes, clock anchors, texts of plans."""

import json
import sqlite3
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from panchime.data_folder import journal_file
from panchime.journal.database import Database, utc_ms
from panchime.journal.missing import missing_roast
from panchime.journal.summary import Summary
from panchime.journal.when import EXACT, Clock, When
from panchime.link.anchor import Anchor

if TYPE_CHECKING:
    from panchime.link.scpi_client import Identity


@dataclass(frozen=True)
class KeptMark:
    """A mark as lists show it: its name, ms since the roast's start, and where it came from."""

    name: str
    t_ms: int
    source: str


@dataclass(frozen=True)
class RoastEntry:
    """One roast as lists show it; its log is not decoded for this.

    ``log_ms`` is the length of the whole log, ``roast_ms`` from beans in to beans out, None when one was not marked;
    ``unit`` that of its plan.
    """

    number: int
    board_serial: str
    board_model: str
    boot: int
    uptime_ms: int
    file_name: str
    bytes: int
    when: When
    plan_name: str
    method: str
    log_ms: int
    roast_ms: int | None
    end_centi: int | None
    peak_centi: int | None
    marks: tuple[KeptMark, ...]
    state: str
    trip: str | None
    problems: tuple[str, ...]
    unit: str


@dataclass(frozen=True)
class KeptFile:
    """What the journal holds of one file of a board."""

    number: int
    raw: bytes


BEGINNING_BYTES = 4096  # a packed head takes about a thousand

ENTRY_COLUMNS = """
    r.number, b.serial, b.model, r.boot, r.uptime_ms, r.file_name, length(r.raw) AS bytes,
    r.when_kind, r.when_from_utc_ms, r.when_to_utc_ms, r.plan_name, r.method, r.log_ms, r.roast_ms, r.end_centi,
    r.peak_centi, r.marks, r.state, r.trip, r.problems, r.unit
    FROM roasts r JOIN boards b ON b.id = r.board_id
"""


class Journal:
    """The open journal. Raises PanchimeError when the file cannot be used."""

    def __init__(self, file: Path | None = None) -> None:
        self._database = Database(file or journal_file())

    def close(self) -> None:
        """Closes the file."""
        self._database.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    @property
    def file(self) -> Path:
        """Where it is."""
        return self._database.file

    @property
    def database(self) -> Database:
        """The open file, for what others keep beside the roasts."""
        return self._database

    def meet(self, identity: "Identity", anchor: Anchor) -> None:
        """Remembers a connection: the board, and the anchor between its clock and this computer's.

        What was only bounded until now becomes as exact as the new anchor allows.
        """
        with self._database.transaction():
            board, life = self._board(identity.serial, identity.model, identity.firmware)
            self._database.rows(
                "UPDATE boards SET model = ?, firmware = ? WHERE id = ?", (identity.model, identity.firmware, board)
            )
            if self._went_back(board, life, anchor):
                life += 1
                self._database.rows("UPDATE boards SET life = ? WHERE id = ?", (life, board))
            self._database.rows(
                "INSERT INTO clock_anchors (board_id, life, boot, uptime_ms, utc_ms) VALUES (?, ?, ?, ?, ?)",
                (board, life, anchor.boot, anchor.uptime_ms, anchor.utc_ms),
            )
            self._place_in_time(board, life)

    def keep(self, file_name: str, raw: bytes, summary: Summary) -> int:
        """Keeps a roast's raw bytes and summary in one transaction and returns its number in the journal.

        The same roast is found again by board, boot and uptime, and its bytes are replaced.
        """
        with self._database.transaction():
            board, life = self._board(summary.board_serial, summary.board_model, summary.firmware)
            columns = {
                "file_name": file_name,
                "raw": raw,
                "raw_crc32": zlib.crc32(raw),
                "pulled_utc_ms": utc_ms(),
                "head_utc_ms": summary.head_utc_ms,
                "when_kind": "unknown",
                "when_from_utc_ms": None,
                "when_to_utc_ms": None,
                "plan_name": summary.plan_name,
                "method": summary.method,
                "unit": summary.unit,
                "log_ms": summary.log_ms,
                "roast_ms": summary.roast_ms,
                "end_centi": summary.end_centi,
                "peak_centi": summary.peak_centi,
                "marks": json.dumps([[mark.name, mark.t_ms, mark.source] for mark in summary.marks]),
                "state": summary.state,
                "trip": summary.trip,
                "problems": json.dumps(list(summary.problems)),
            }
            known = self._database.rows(
                "SELECT number, life, when_kind FROM roasts WHERE board_id = ? AND boot = ? AND uptime_ms = ?",
                (board, summary.boot, summary.uptime_ms),
            )
            if known:
                life = int(known[0]["life"])
                number = int(known[0]["number"])
                if known[0]["when_kind"] == EXACT:
                    # The start of a roast does not change when it grows.
                    columns = {name: value for name, value in columns.items() if not name.startswith("when_")}
                assignments = ", ".join(f"{name} = ?" for name in columns)
                self._database.rows(f"UPDATE roasts SET {assignments} WHERE number = ?", (*columns.values(), number))
            else:
                columns |= {"board_id": board, "life": life, "boot": summary.boot, "uptime_ms": summary.uptime_ms}
                names, places = ", ".join(columns), ", ".join("?" * len(columns))
                answer = self._database.rows(
                    f"INSERT INTO roasts ({names}) VALUES ({places}) RETURNING number", tuple(columns.values())
                )
                number = int(answer[0]["number"])
            self._place_in_time(board, life)
        return number

    def kept(self, board_serial: str, boot: int, uptime_ms: int) -> KeptFile | None:
        """What the journal holds of the roast of this board, boot and uptime."""
        found = self._database.rows(
            "SELECT r.number, r.raw FROM roasts r JOIN boards b ON b.id = r.board_id "
            "WHERE b.serial = ? AND r.boot = ? AND r.uptime_ms = ?",
            (board_serial, boot, uptime_ms),
        )
        return KeptFile(int(found[0]["number"]), bytes(found[0]["raw"])) if found else None

    def newest_of_file(self, board_serial: str, file_name: str) -> KeptFile | None:
        """The roast pulled last under a board's file name. A board that was wiped gives its names out anew."""
        found = self._database.rows(
            "SELECT r.number, r.raw FROM roasts r JOIN boards b ON b.id = r.board_id "
            "WHERE b.serial = ? AND r.file_name = ? ORDER BY r.life DESC, r.boot DESC, r.number DESC LIMIT 1",
            (board_serial, file_name),
        )
        return KeptFile(int(found[0]["number"]), bytes(found[0]["raw"])) if found else None

    def entries(self, last: int | None = None) -> list[RoastEntry]:
        """Every roast, in the order of its number; with ``last`` only so many, those of the highest numbers."""
        most = -1 if last is None else last
        rows = self._database.rows(f"SELECT {ENTRY_COLUMNS} ORDER BY r.number DESC LIMIT ?", (most,))
        return [entry_of(row) for row in reversed(rows)]

    def count(self) -> int:
        """How many roasts there are."""
        return int(self._database.rows("SELECT count(*) FROM roasts")[0][0])

    def entry(self, number: int) -> RoastEntry:
        """One roast. Raises PanchimeError when the journal has none of that number."""
        found = self._database.rows(f"SELECT {ENTRY_COLUMNS} WHERE r.number = ?", (number,))
        if not found:
            raise missing_roast(self._database, number)
        return entry_of(found[0])

    def raw(self, number: int) -> bytes:
        """The raw bytes of a roast's log. Raises PanchimeError when the journal has none of that number."""
        return self._log(number, "raw")

    def beginning(self, number: int) -> bytes:
        """The first bytes of a roast's log, enough for its head and a chunk or two of the usual kind.

        Raises PanchimeError when the journal has none of that number.
        """
        return self._log(number, f"substr(raw, 1, {BEGINNING_BYTES})")

    def checks(self) -> dict[int, int | None]:
        """The CRC-32 of every roast's log as it was kept, by the roast's number."""
        return {row[0]: row[1] for row in self._database.rows("SELECT number, raw_crc32 FROM roasts")}

    def anchors(self, board_serial: str) -> list[Anchor]:
        """Every anchor of a board, in the order they were made."""
        rows = self._database.rows(
            "SELECT a.boot, a.uptime_ms, a.utc_ms FROM clock_anchors a JOIN boards b ON b.id = a.board_id "
            "WHERE b.serial = ? ORDER BY a.id",
            (board_serial,),
        )
        return [Anchor(row["boot"], row["uptime_ms"], row["utc_ms"]) for row in rows]

    def remember_plan(self, fingerprint: str, text: str) -> None:
        """Keeps the text of a plan file under the fingerprint of what was sent for it; the newest text stays."""
        with self._database.transaction():
            self._database.rows("INSERT OR REPLACE INTO plan_texts VALUES (?, ?, ?)", (fingerprint, text, utc_ms()))

    def plan_text(self, fingerprint: str) -> str | None:
        """The text a plan was sent from, None when this computer did not send it."""
        found = self._database.rows("SELECT text FROM plan_texts WHERE fingerprint = ?", (fingerprint,))
        return str(found[0]["text"]) if found else None

    def _log(self, number: int, what: str) -> bytes:
        found = self._database.rows(f"SELECT {what} FROM roasts WHERE number = ?", (number,))
        if not found:
            raise missing_roast(self._database, number)
        return bytes(found[0][0])

    def _board(self, serial: str, model: str, firmware: str) -> tuple[int, int]:
        """The id of a board and which of its lives this is; the board is written down when it is new."""
        now = utc_ms()
        rows = self._database.rows(
            "INSERT INTO boards (serial, model, firmware, first_seen_utc_ms, last_seen_utc_ms) VALUES (?, ?, ?, ?, ?) "
            "ON CONFLICT (serial) DO UPDATE SET last_seen_utc_ms = excluded.last_seen_utc_ms RETURNING id, life",
            (serial, model, firmware, now, now),
        )
        return int(rows[0]["id"]), int(rows[0]["life"])

    def _went_back(self, board: int, life: int, anchor: Anchor) -> bool:
        """Whether the board's boots, or the uptime within one, run backwards from the newest anchor of this life."""
        newest = self._database.rows(
            "SELECT boot, uptime_ms FROM clock_anchors WHERE board_id = ? AND life = ? ORDER BY id DESC LIMIT 1",
            (board, life),
        )
        return bool(newest) and (anchor.boot, anchor.uptime_ms) < (newest[0]["boot"], newest[0]["uptime_ms"])

    def _place_in_time(self, board: int, life: int) -> None:
        """Works out anew when the roasts of a board's life happened that are not exact yet."""
        waiting = self._database.rows(
            "SELECT number, boot, uptime_ms, log_ms, head_utc_ms FROM roasts "
            "WHERE board_id = ? AND life = ? AND when_kind != 'exact'",  # written out: only so is the index of these used
            (board, life),
        )
        if not waiting:
            return
        # Most heads carry UTC, and then nothing else is asked.
        told = all(row["head_utc_ms"] is not None for row in waiting)
        clock = Clock([] if told else self._anchors_of(board, life))
        for row in waiting:
            when = clock.when(row["boot"], row["uptime_ms"], row["log_ms"], row["head_utc_ms"])
            self._database.rows(
                "UPDATE roasts SET when_kind = ?, when_from_utc_ms = ?, when_to_utc_ms = ? WHERE number = ?",
                (when.kind, when.from_utc_ms, when.to_utc_ms, row["number"]),
            )

    def _anchors_of(self, board: int, life: int) -> list[Anchor]:
        """The anchors of connections, and those that roasts carry in their heads."""
        rows = self._database.rows(
            "SELECT boot, uptime_ms, utc_ms FROM clock_anchors WHERE board_id = ? AND life = ? UNION ALL "
            "SELECT boot, uptime_ms, head_utc_ms FROM roasts WHERE board_id = ? AND life = ? AND head_utc_ms IS "
            "NOT NULL",
            (board, life, board, life),
        )
        return [Anchor(row[0], row[1], row[2]) for row in rows]


def entry_of(row: sqlite3.Row) -> RoastEntry:
    """A row of ``ENTRY_COLUMNS`` as an entry."""
    marks: Sequence[Any] = json.loads(row["marks"])
    return RoastEntry(
        number=row["number"],
        board_serial=row["serial"],
        board_model=row["model"],
        boot=row["boot"],
        uptime_ms=row["uptime_ms"],
        file_name=row["file_name"],
        bytes=row["bytes"],
        when=When(row["when_kind"], row["when_from_utc_ms"], row["when_to_utc_ms"]),
        plan_name=row["plan_name"],
        method=row["method"],
        log_ms=row["log_ms"],
        roast_ms=row["roast_ms"],
        end_centi=row["end_centi"],
        peak_centi=row["peak_centi"],
        marks=tuple(KeptMark(name, t_ms, source) for name, t_ms, source in marks),
        state=row["state"],
        trip=row["trip"],
        problems=tuple(json.loads(row["problems"])),
        unit=row["unit"],
    )
