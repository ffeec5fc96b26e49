"""A backup of the journal and the way back: whole copies by SQLite's online backup, each verified before it counts."""

import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from panchime.errors import PanchimeError
from panchime.journal.database import Database
from panchime.journal.schema import MIGRATIONS
from panchime.journal.verifying import Verification, verify

# What SQLite lays beside a database in use; they belong to it and to no other.
COMPANIONS = ("-wal", "-shm")


def back_up(journal_file: Path, target: Path, overwrite: bool) -> Verification:
    """Writes a copy of the journal, be it in use or not, and verifies it.

    Raises PanchimeError when there is no journal, when the target is there and may not be overwritten, or when it cannot be
    written; the target then is as it was.
    """
    if not journal_file.exists():
        raise PanchimeError(f"there is no journal yet at {journal_file}: 'panchime pull' begins one")
    if target.exists() and target.samefile(journal_file):
        raise PanchimeError(f"{target} is the journal itself: give the backup another name")
    refuse_existing(target, overwrite)
    with Database(journal_file):
        pass  # brings it up to date, and refuses what is no journal
    beside = beside_of(target)
    try:
        copy(journal_file, beside)
        found = verified(beside)
        os.replace(beside, target)
    except OSError as error:
        raise PanchimeError(f"the backup {target} cannot be written: {error.strerror or error}") from error
    finally:
        remove(beside)
    return found


def restore(source: Path, journal_file: Path, overwrite: bool) -> tuple[Verification, Path | None]:
    """Puts a backup in the journal's place; gives what it holds and where the journal of until now was kept.

    The backup is copied, brought up to date and verified before anything is touched. Raises PanchimeError when it is damaged,
    no journal or from a newer Panchime, and when a journal is there and may not be overwritten.
    """
    if not source.is_file():
        raise PanchimeError(f"there is no file {source}: give the file that 'panchime backup' wrote")
    if journal_file.exists() and source.samefile(journal_file):
        raise PanchimeError(f"{source} is the journal itself: there is nothing to restore")
    journal_file.parent.mkdir(parents=True, exist_ok=True)
    beside = beside_of(journal_file)
    try:
        refuse_what_is_no_journal(source)
        copy(source, beside)
        found = verified(beside)
        if found.faults:
            more = f"; and {len(found.faults) - 1} more" if len(found.faults) > 1 else ""
            raise PanchimeError(f"{source} is damaged and was not restored, the journal is as it was: {found.faults[0]}{more}")
        if journal_file.exists() and not overwrite:
            raise PanchimeError(
                f"there is a journal at {journal_file} already; with --force the backup takes its place, and that one is "
                "kept beside it"
            )
        kept = set_aside(journal_file) if journal_file.exists() else None
        os.replace(beside, journal_file)
    except OSError as error:
        raise PanchimeError(f"the journal {journal_file} cannot be replaced: {error.strerror or error}") from error
    finally:
        remove(beside)
    return found, kept


def refuse_existing(target: Path, overwrite: bool) -> None:
    """Raises PanchimeError when the target is there and may not be overwritten."""
    if target.is_dir():
        raise PanchimeError(f"{target} is a folder: give a file's name")
    if target.exists() and not overwrite:
        raise PanchimeError(f"{target} is there already: give another name, or --force to overwrite it")


def refuse_what_is_no_journal(source: Path) -> None:
    """Raises PanchimeError when a file is no journal, or one of a newer Panchime. Does not write to it."""
    try:
        with closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as connection:
            names = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
            if not {"migrations", "roasts", "boards"} <= names:
                raise PanchimeError(f"{source} is no journal: give the file that 'panchime backup' wrote")
            version = int(connection.execute("SELECT max(version) FROM migrations").fetchone()[0])
    except sqlite3.Error as error:
        raise PanchimeError(
            f"{source} cannot be read as a journal: {error}. Give the file that 'panchime backup' wrote"
        ) from error
    if version > len(MIGRATIONS):
        raise PanchimeError(
            f"{source} was written by a newer Panchime (its version is {version}, this one knows {len(MIGRATIONS)}): "
            "update Panchime, then restore"
        )


def copy(source: Path, target: Path) -> None:
    """Copies a database as it is at one moment, while others may write to it."""
    remove(target)
    try:
        with (
            closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as from_there,
            closing(sqlite3.connect(target)) as to_here,
        ):
            from_there.backup(to_here)
    except sqlite3.Error as error:
        raise PanchimeError(f"{source} cannot be copied to {target.parent}: {error}. Is the disk full or read-only?") from error


def verified(file: Path) -> Verification:
    """Brings a copy up to date and reads all of it; afterwards it is one file without companions."""
    with Database(file) as database:
        found = verify(database)
        database.rows("PRAGMA journal_mode = DELETE")
    with file.open("rb+") as written:
        os.fsync(written.fileno())
    return found


def set_aside(journal_file: Path) -> Path:
    """Gives the journal a name with the time in it, all that was written to it included; a broken one goes as it is.

    Raises PanchimeError when another program is using it.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    kept = journal_file.with_name(f"{journal_file.stem}-before-{stamp}{journal_file.suffix}")
    count = 1
    while kept.exists():
        count += 1
        kept = journal_file.with_name(f"{journal_file.stem}-before-{stamp}-{count}{journal_file.suffix}")
    try:
        database = Database(journal_file)
    except PanchimeError:
        for ending in COMPANIONS:
            companion = journal_file.with_name(journal_file.name + ending)
            if companion.exists():
                os.replace(companion, kept.with_name(kept.name + ending))
    else:
        with database:
            merge_companions(database)
    try:
        # A second name first: then the journal is never without a file, whenever this program is ended.
        os.link(journal_file, kept)
    except OSError:
        os.replace(journal_file, kept)
    return kept


def merge_companions(database: Database) -> None:
    """Makes one file of a database and its write-ahead log. Raises PanchimeError when another program is using it."""
    try:
        database.rows("PRAGMA journal_mode = DELETE")
    except PanchimeError as error:
        raise PanchimeError(
            f"the journal {database.file} is in use and was not touched: end the other 'panchime' and try again"
        ) from error


def beside_of(file: Path) -> Path:
    """A name in the same folder, so that taking a file's place is one step."""
    return file.with_name(f".{file.name}.{os.getpid()}")


def remove(file: Path) -> None:
    """Removes a database with its companions; it may not be there."""
    for ending in ("", *COMPANIONS):
        file.with_name(file.name + ending).unlink(missing_ok=True)
