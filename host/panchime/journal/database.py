"""The journal's database: opening, migrating, one transaction at a time."""

import sqlite3
import time
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from panchime.errors import PanchimeError
from panchime.journal.head import plan_unit
from panchime.journal.schema import MIGRATIONS
from panchime.terminal.safe_text import safe_line

BUSY_TIMEOUT_S = 10.0  # another `panchime` may be writing
OUR_TABLES = {"boards", "migrations", "roasts"}
BACK = (
    "Nothing was changed. 'panchime restore BACKUP --force' puts a backup in its place and keeps this file beside it. Without "
    "a backup: move the file aside, do not delete it, and 'panchime pull --all' begins a new journal with what the board has"
)
AWAY = (
    "Nothing in it was changed. Move it to another folder, or name another one for Panchime with PANCHIME_HOME; "
    "if it once was your journal: 'panchime restore BACKUP --force' puts a backup in its place and keeps this file beside it"
)


class Database:
    """An open journal file. Raises PanchimeError for everything SQLite refuses."""

    def __init__(self, file: Path) -> None:
        self.file = file
        try:
            # isolation_level None: transactions begin and end where this module says so
            self._connection = sqlite3.connect(file, timeout=BUSY_TIMEOUT_S, isolation_level=None)
        except sqlite3.Error as error:
            raise self._refused(error) from error
        try:
            self._connection.row_factory = sqlite3.Row
            self._connection.create_function("crc32", 1, zlib.crc32, deterministic=True)
            self._connection.create_function("plan_unit", 1, plan_unit, deterministic=True)
            self._must_be_ours()  # before anything is written: even the next line would be
            self._connection.execute("PRAGMA journal_mode = WAL")
            self._connection.execute("PRAGMA foreign_keys = ON")
            self._connection.execute("PRAGMA synchronous = FULL")
            self._migrate()
        except BaseException as error:
            self._connection.close()
            if isinstance(error, sqlite3.Error):
                raise self._refused(error) from error
            raise

    def close(self) -> None:
        """Closes the file."""
        self._connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def rows(self, statement: str, values: Sequence[Any] = ()) -> list[sqlite3.Row]:
        """The rows a statement answers with."""
        try:
            return self._connection.execute(statement, values).fetchall()
        except sqlite3.Error as error:
            raise self._refused(error) from error

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Everything inside happens as a whole or not at all."""
        try:
            self._connection.execute("BEGIN IMMEDIATE")
        except sqlite3.Error as error:
            raise self._refused(error) from error
        try:
            yield
            self._connection.execute("COMMIT")
        except BaseException as error:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            if isinstance(error, sqlite3.Error):
                raise self._refused(error) from error
            raise

    def _migrate(self) -> None:
        if self._version() == len(MIGRATIONS):
            return
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            self._connection.execute(
                "CREATE TABLE IF NOT EXISTS migrations (version INTEGER PRIMARY KEY, applied_utc_ms INTEGER NOT NULL) STRICT"
            )
            version = self._version()
            if version > len(MIGRATIONS):
                raise PanchimeError(
                    f"the journal {self.file} was written by a newer Panchime (its version is {version}, "
                    f"this one knows {len(MIGRATIONS)}): update Panchime"
                )
            for number, script in enumerate(MIGRATIONS[version:], start=version + 1):
                for statement in statements(script):
                    self._connection.execute(statement)
                self._connection.execute("INSERT INTO migrations VALUES (?, ?)", (number, utc_ms()))
            self._connection.execute("COMMIT")
        except BaseException:
            self._connection.execute("ROLLBACK")
            raise

    def _version(self) -> int:
        there = self._connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'migrations'").fetchone()
        if there is None:
            return 0
        return int(self._connection.execute("SELECT coalesce(max(version), 0) FROM migrations").fetchone()[0])

    def _must_be_ours(self) -> None:
        """Raises PanchimeError for the database of another program; an empty one becomes a journal."""
        names = {row[0] for row in self._connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        if names and not names >= OUR_TABLES:
            held = ", ".join(sorted(safe_line(name) for name in names)[:3])
            raise PanchimeError(f"{self.file} is no Panchime journal: it has the tables of another program ({held}). {AWAY}")

    def _refused(self, error: sqlite3.Error) -> PanchimeError:
        kind = getattr(error, "sqlite_errorcode", None)
        kind = None if kind is None else kind & 0xFF  # the primary result code: sqlite.org/rescode.html
        if kind == sqlite3.SQLITE_NOTADB:
            return PanchimeError(
                f"{self.file} is no Panchime journal: it is another kind of file, or its beginning is lost. {AWAY}"
            )
        if kind == sqlite3.SQLITE_CORRUPT or "malformed database schema" in str(error):
            return PanchimeError(f"the journal {self.file} is damaged ({safe_line(str(error))}). {BACK}")
        if kind == sqlite3.SQLITE_BUSY:
            return PanchimeError(
                f"the journal {self.file} is in use: another 'panchime' is writing to it. Try again in a moment"
            )
        return PanchimeError(
            f"the journal {self.file} cannot be used: {error}. Is the disk full, the folder read-only, or the "
            "file no journal? "
            "A copy of the file keeps every roast; PANCHIME_HOME names another folder"
        )


def statements(script: str) -> list[str]:
    """The statements of a script, so that they run inside one transaction (``executescript`` would end it)."""
    found = []
    pending = ""
    for line in script.splitlines(keepends=True):
        pending += line
        if sqlite3.complete_statement(pending):
            found.append(pending)
            pending = ""
    return found


def utc_ms() -> int:
    """This computer's clock: milliseconds since 1970, UTC."""
    return time.time_ns() // 1_000_000
