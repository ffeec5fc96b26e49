"""A journal of many roasts: made in no time, listed by its newest, and measured."""

import json
import sys

import pytest

from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.verifying import verify
from panchime.measure.journal_size import exponent, growth, make_journal
from panchime.measure.made_journal import fill
from panchime.measure.process_peak import run
from panchime.records.records import Records


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path


def test_made_roasts_are_sound_and_go_on_where_they_ended():
    with Journal() as journal:
        fill(journal, range(1, 11))
        fill(journal, range(11, 21))
        assert journal.count() == 20
        found = verify(journal.database)
        assert (found.sound, found.faults) == (20, [])
        assert len({entry.when.from_utc_ms for entry in journal.entries()}) == 20
        assert sorted(Records(journal).roasts.of_all()) == sorted({*range(2, 21, 2), *range(5, 21, 5)})


def test_copies_are_roasts_of_their_own(tmp_path):
    make_journal(tmp_path / "copies", 1_150)
    with Journal(tmp_path / "copies" / "journal.sqlite") as journal:
        entries = journal.entries()
        assert len(entries) == len({entry.boot for entry in entries}) == 1_150
        assert entries[-1].when.from_utc_ms > entries[-2].when.from_utc_ms


def test_a_long_journal_is_listed_by_its_newest(capsys):
    with Journal() as journal:
        fill(journal, range(1, 61))

    def listed(*arguments):
        assert main(["roasts", *arguments]) == 0
        return capsys.readouterr().out

    def numbers(text):
        return [int(line.split()[0]) for line in text.splitlines() if line.split()[:1] and line.split()[0].isdigit()]

    shown = listed()
    assert "10 earlier: 'panchime roasts --all' lists all" in shown
    assert 11 in numbers(shown)
    assert 10 not in numbers(shown.split("10 earlier")[0])
    assert "earlier" not in listed("--all")
    assert numbers(listed("--last", "2"))[:2] == [59, 60]
    assert len(json.loads(listed("--json"))) == 60
    assert [roast["number"] for roast in json.loads(listed("--json", "--last", "3"))] == [58, 59, 60]


@pytest.mark.parametrize("text", ["0", "-1", "x", "1.5"])
def test_last_wants_a_number(text, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["roasts", f"--last={text}"])
    assert ended.value.code == 2
    assert "is no number of roasts" in capsys.readouterr().err


def test_growth_is_the_slope_in_log_log():
    assert exponent({100: 1.0, 1_000: 1.0, 10_000: 1.0}) == pytest.approx(0)
    assert exponent({100: 0.1, 1_000: 1.0, 10_000: 10.0}) == pytest.approx(1)
    figure = growth("sorting", {100: 1.0, 1_000: 100.0})
    assert (figure.value, figure.ratio) == (pytest.approx(2), pytest.approx(100))


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the memory of processes is read from /proc")
def test_memory_of_a_command_and_its_helpers_is_seen():
    hold = "import time; held = b'x' * {}; time.sleep(1)"
    helper = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {hold.format(60_000_000)!r}])"
    peak = run([sys.executable, "-c", helper], {}, watched=True).peak_bytes
    assert peak > 60_000_000
    assert run([sys.executable, "-c", "pass"], {}, watched=False).peak_bytes is None
