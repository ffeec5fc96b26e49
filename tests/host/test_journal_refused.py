"""A journal file of another program, or a damaged one: refused with place and way out, and not one byte of it changed."""

import sqlite3
from contextlib import closing

import pytest

from panchime.cli.main import main
from panchime.journal.journal import Journal


@pytest.fixture
def file(tmp_path, monkeypatch):
    """Where the journal belongs; nothing is there yet."""
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path))
    return tmp_path / "journal.sqlite"


def refused(file, capsys):
    """What every command says of it; the file stays as it is, and nothing lies beside it."""
    before = file.read_bytes()
    said = set()
    for arguments in (["roasts"], ["show", "1"], ["ready"], ["backup", str(file.with_name("copy"))]):
        assert main(arguments) == 1
        said.add(capsys.readouterr().err)
    assert file.read_bytes() == before
    assert [one.name for one in file.parent.iterdir()] == [file.name]
    (words,) = said
    assert str(file) in words
    assert "othing in it was changed" in words or "Nothing was changed" in words
    assert "panchime restore BACKUP --force" in words
    return words


@pytest.mark.parametrize("table", ["recipes", "migrations"])
def test_the_database_of_another_program_is_not_adopted(table, file, capsys):
    with closing(sqlite3.connect(file)) as other:
        other.execute(f"CREATE TABLE {table} (id INTEGER PRIMARY KEY, name TEXT)")
        other.commit()
    words = refused(file, capsys)
    assert f"no Panchime journal: it has the tables of another program ({table})" in words
    assert "PANCHIME_HOME" in words


def test_another_kind_of_file_is_refused(file, capsys):
    file.write_bytes(b"a letter to a friend\n" * 100)
    assert "another kind of file" in refused(file, capsys)


def test_a_damaged_journal_names_the_way_out(file, capsys):
    with Journal(file) as journal:
        journal.database.rows("PRAGMA journal_mode = DELETE")
    raw = bytearray(file.read_bytes())
    # Page 1 after its header: the schema. sqlite.org/fileformat2.html, 1.3 and 1.6
    raw[100:1000] = bytes(900)
    file.write_bytes(raw)
    words = refused(file, capsys)
    assert "is damaged" in words
    assert "pull --all" in words


def test_an_empty_file_becomes_a_journal(file):
    file.touch()
    with Journal(file) as journal:
        assert journal.entries() == []
