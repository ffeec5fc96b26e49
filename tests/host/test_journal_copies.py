"""Backup, restore, verification, and journals of every earlier version."""

import os
import sqlite3
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.journal.copying import back_up, restore
from panchime.journal.journal import Journal
from panchime.journal.schema import MIGRATIONS
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.journal.verifying import verify

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import made_roast

JOURNALS = Path(__file__).parent / "journals"
SHORT = {"until_ms": 20_000}


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home"


def kept(count, first=1):
    """Keeps so many short roasts in the journal and gives their logs."""
    raws = [made_roast(uptime_ms=1000 * number, **SHORT) for number in range(first, first + count)]
    with Journal() as journal:
        for number, raw in enumerate(raws, start=first):
            journal.keep(f"{number:06d}.roast", raw, summarise(tell(raw), running=False))
    return raws


def held(file=None):
    with Journal(file) as journal:
        return [journal.raw(entry.number) for entry in journal.entries()]


def damage(file, raw):
    """Turns a bit over in a log where it lies in the journal's file."""
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    content = bytearray(file.read_bytes())
    at = content.find(raw[300:400])
    assert at > 0, "the log does not lie in one piece"
    content[at] ^= 1
    file.write_bytes(content)


def loaded(version, file):
    file.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(file)) as connection:
        connection.executescript((JOURNALS / f"version-{version}.sql").read_text(encoding="utf-8"))
    return file


def test_a_backup_brings_everything_back(home, capsys):
    raws = kept(3)
    assert main(["backup", "copy.sqlite"]) == 0
    assert "3 roasts" in capsys.readouterr().out
    for file in home.glob("journal.sqlite*"):
        file.unlink()
    assert main(["restore", "copy.sqlite"]) == 0
    assert held() == raws
    assert sorted(path.name for path in Path().glob("*copy*")) == ["copy.sqlite"], "something is left beside the backup"
    assert [path.name for path in home.glob(".*")] == []


def test_a_backup_is_not_overwritten_unasked(capsys):
    kept(1)
    Path("copy.sqlite").write_text("something of mine")
    assert main(["backup", "copy.sqlite"]) == 1
    assert "--force" in capsys.readouterr().err
    assert Path("copy.sqlite").read_text() == "something of mine"
    assert main(["backup", "copy.sqlite", "--force"]) == 0
    assert len(held(Path("copy.sqlite"))) == 1


def test_the_journal_is_no_place_for_its_own_backup(home, capsys):
    raws = kept(1)
    assert main(["backup", str(home / "journal.sqlite"), "--force"]) == 1
    assert "the journal itself" in capsys.readouterr().err
    assert main(["restore", str(home / "journal.sqlite"), "--force"]) == 1
    assert held() == raws


def test_without_a_journal_there_is_nothing_to_back_up(capsys):
    assert main(["backup", "copy.sqlite"]) == 1
    assert "no journal yet" in capsys.readouterr().err
    assert not Path("copy.sqlite").exists()


def test_a_backup_while_another_program_writes_is_whole(home, tmp_path):
    kept(2)
    stop = threading.Event()

    def write():
        number = 100
        while not stop.is_set():
            kept(1, first=number)
            number += 1

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for turn in range(5):
            found = back_up(home / "journal.sqlite", tmp_path / f"copy-{turn}.sqlite", overwrite=False)
            assert found.faults == []
            assert found.sound >= 2
    finally:
        stop.set()
        writer.join()


def test_a_journal_is_replaced_only_by_force_and_then_kept(home, capsys):
    old = kept(2)
    assert main(["backup", "copy.sqlite"]) == 0
    newer = old + kept(1, first=7)
    assert main(["restore", "copy.sqlite"]) == 1
    assert "--force" in capsys.readouterr().err
    assert held() == newer
    assert main(["restore", "copy.sqlite", "--force"]) == 0
    assert held() == old
    (aside,) = home.glob("journal-before-*.sqlite")
    assert str(aside) in capsys.readouterr().out
    assert held(aside) == newer


def test_a_journal_in_use_is_not_replaced(home, capsys):
    kept(1)
    assert main(["backup", "copy.sqlite"]) == 0
    with Journal() as journal:
        journal.entries()
        status = main(["restore", "copy.sqlite", "--force"])
        assert len(journal.entries()) == 1
    assert status == 1
    assert "in use" in capsys.readouterr().err


def test_a_journal_that_opens_no_more_is_replaced_and_kept_as_it_is(home, capsys):
    raws = kept(2)
    assert main(["backup", "copy.sqlite"]) == 0
    (home / "journal.sqlite").write_bytes(b"this was a journal once" * 50)
    assert main(["roasts"]) == 1
    assert main(["restore", "copy.sqlite", "--force"]) == 0
    assert held() == raws
    (aside,) = home.glob("journal-before-*.sqlite")
    assert aside.read_bytes().startswith(b"this was a journal once")


def test_a_damaged_backup_is_not_restored(home, tmp_path, capsys):
    raws = kept(2)
    back_up(home / "journal.sqlite", tmp_path / "copy.sqlite", overwrite=False)
    damage(tmp_path / "copy.sqlite", raws[1])
    newer = raws + kept(1, first=9)
    assert main(["restore", "copy.sqlite", "--force"]) == 1
    assert "damaged and was not restored" in capsys.readouterr().err
    assert held() == newer
    assert list(home.glob("journal-before-*")) == []


@pytest.mark.parametrize("content", [b"", b"no database" * 100, "other tables", "newer"])
def test_what_is_no_journal_is_not_restored(content, home, tmp_path, capsys):
    raws = kept(1)
    file = tmp_path / "copy.sqlite"
    words = "Give the file"
    if isinstance(content, bytes):
        file.write_bytes(content)
        words = "that 'panchime backup' wrote"
    elif content == "other tables":
        with closing(sqlite3.connect(file)) as connection:
            connection.execute("CREATE TABLE something (else_ TEXT)")
        words = "no journal"
    else:
        back_up(home / "journal.sqlite", file, overwrite=False)
        with closing(sqlite3.connect(file)) as connection, connection:
            connection.execute("INSERT INTO migrations VALUES (?, 0)", (len(MIGRATIONS) + 1,))
        words = "newer Panchime"
    before = file.read_bytes()
    assert main(["restore", "copy.sqlite", "--force"]) == 1
    assert words in capsys.readouterr().err
    assert file.read_bytes() == before
    assert held() == raws


def test_a_missing_backup_is_named(capsys):
    assert main(["restore", "nowhere.sqlite"]) == 1
    assert "nowhere.sqlite" in capsys.readouterr().err


def test_verifying_finds_the_log_that_changed(home, capsys):
    raws = kept(3)
    assert main(["roasts", "--verify"]) == 0
    assert "3 roasts are as they were kept" in capsys.readouterr().out
    damage(home / "journal.sqlite", raws[1])
    assert main(["roasts", "--verify"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "2 roasts are as they were kept, 1 faults" in told
    assert "roast 2: its log was changed" in told
    assert main(["backup", "copy.sqlite"]) == 1
    assert "roast 2" in capsys.readouterr().err


def test_verifying_finds_a_log_in_the_wrong_place(home):
    kept(2)
    with closing(sqlite3.connect(home / "journal.sqlite")) as connection, connection:
        connection.execute("UPDATE roasts SET boot = 77 WHERE number = 2")
    with Journal() as journal:
        found = verify(journal.database)
    assert found.sound == 1
    assert found.faults == ["roast 2: its log belongs to another roast than the journal says"]


def test_there_is_a_journal_of_every_earlier_version():
    missing = [version for version in range(1, len(MIGRATIONS)) if not (JOURNALS / f"version-{version}.sql").exists()]
    assert missing == [], "make one with sqlite3's .dump of a tiny journal before a migration is added"


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS)))
def test_journals_of_earlier_versions_are_brought_up_to_date(version, home):
    file = loaded(version, home / "journal.sqlite")
    with closing(sqlite3.connect(file)) as connection:
        raws = [bytes(row[0]) for row in connection.execute("SELECT raw FROM roasts ORDER BY number")]
    assert len(raws) == 2
    with Journal() as journal:
        assert [journal.raw(entry.number) for entry in journal.entries()] == raws
        assert [entry.state for entry in journal.entries()] == ["complete", "interrupted"]
        assert verify(journal.database).faults == []
        assert verify(journal.database).sound == 2
        assert len(journal.anchors("E6614103E7")) == 1
        assert journal.plan_text("abc") == 'name = "Tiny"'
        if version >= 2:
            assert journal.database.rows("SELECT text FROM notes")[0][0] == "smelled of bread"
        assert journal.database.rows("SELECT max(version) FROM migrations")[0][0] == len(MIGRATIONS)
    assert main(["roasts"]) == 0


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS)))
def test_backups_of_earlier_versions_are_restored(version, home, tmp_path):
    file = loaded(version, tmp_path / "old.sqlite")
    before = file.read_bytes()
    found, aside = restore(file, home / "journal.sqlite", overwrite=False)
    assert (found.sound, found.faults, aside) == (2, [], None)
    assert file.read_bytes() == before, "the backup itself was changed"
    assert len(held()) == 2


@pytest.mark.parametrize("version", range(1, len(MIGRATIONS)))
def test_a_migration_that_fails_leaves_the_journal_as_it_was(version, home, monkeypatch):
    from panchime.errors import PanchimeError
    from panchime.journal import database

    file = loaded(version, home / "journal.sqlite")
    monkeypatch.setattr(database, "MIGRATIONS", (*MIGRATIONS, "UPDATE roasts SET number = number + no_such_column;"))
    with pytest.raises(PanchimeError, match="cannot be used"):
        Journal()
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT max(version) FROM migrations").fetchone()[0] == version
        assert connection.execute("SELECT count(*) FROM roasts").fetchone()[0] == 2


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="needs a folder that refuses writing")
def test_a_folder_that_refuses_is_an_error(tmp_path, capsys):
    kept(1)
    shut = tmp_path / "shut"
    shut.mkdir(mode=0o500)
    assert main(["backup", str(shut / "copy.sqlite")]) == 1
    assert "copied" in capsys.readouterr().err or "written" in capsys.readouterr().err
