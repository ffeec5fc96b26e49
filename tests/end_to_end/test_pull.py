"""From the unchanged firmware into the journal: pulling while it roasts, afterwards, after power cuts; watching; plans."""

import json

import pytest
import serial

from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.pulling import GROWN, NEW, SAME, pull
from panchime.link.board import Board
from panchime.planfile.starters import starter
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "home"


def at_real_speed(board):
    """Lets a held board run on as slowly as a real one, so that a test can talk to it."""
    board.set_speed(1)
    board.go()


def changes(report):
    return [(pulled.change, pulled.number) for pulled in report.files]


def test_a_roast_is_pulled_while_it_runs_and_again_when_it_is_over():
    with VirtualBoard(speed=0, hold_at_ms=500, scenario="skillet-mild") as board, Journal() as journal:
        board.press("short", at_ms=1000)
        board.run_until(400_000)
        at_real_speed(board)
        with Board.connect(board.socket_url) as link:
            assert changes(pull(link, journal)) == [(NEW, 1)]
            first = journal.raw(1)
            assert journal.entry(1).state == "running"
            assert changes(pull(link, journal, tidy=True))[0][1] == 1
            assert len(link.catalogue().files) == 1, "a roast that runs is never deleted"
        board.set_speed(0)
        board.wait_until(1_500_000)
        at_real_speed(board)
        with Board.connect(board.socket_url) as link:
            assert changes(pull(link, journal)) == [(GROWN, 1)]
            whole = journal.raw(1)
            assert changes(pull(link, journal, everything=True)) == [(SAME, 1)]
            report = pull(link, journal, tidy=True)
            assert report.deleted == ["000001.roast"]
            assert link.catalogue().files == ()
    assert whole.startswith(first)
    assert len(whole) > len(first)


def test_a_roast_without_a_clock_is_dated_by_a_later_connection_of_the_same_boot():
    with VirtualBoard(speed=0, hold_at_ms=500, scenario="skillet-mild") as board, Journal() as journal:
        board.press("short", at_ms=1000)
        board.run_until(1_500_000)
        at_real_speed(board)
        assert main(["pull", "--port", board.port]) == 0
        entry = journal.entry(1)
        (anchor,) = journal.anchors(entry.board_serial)
    assert entry.when.kind == "exact"
    assert entry.when.from_utc_ms == anchor.utc_ms - anchor.uptime_ms + entry.uptime_ms
    assert entry.state == "complete"


def test_a_roast_whose_boot_nobody_saw_is_only_bounded(tmp_path):
    flash = tmp_path / "flash.img"
    with VirtualBoard(flash=flash, speed=0, hold_at_ms=500, scenario="skillet-mild") as board:
        board.press("short", at_ms=1000)
        board.run_until(1_500_000)
    with VirtualBoard(flash=flash, speed=1) as board, Journal() as journal:
        assert main(["pull", "--port", board.port]) == 0
        when = journal.entry(1).when
    assert (when.kind, when.from_utc_ms) == ("bounded", None)


def test_a_plan_travels_to_the_board_and_back_with_its_comments(tmp_path, capsys):
    with VirtualBoard(speed=1) as board:
        assert main(["plan", "new", "hot-air popper", "mine.toml"]) == 0
        text = (tmp_path / "mine.toml").read_text().replace("Hot-air popper, to City", "Heißluft, süß ☕")
        (tmp_path / "mine.toml").write_text(text)
        assert main(["plan", "send", "mine.toml", "--port", board.port]) == 0
        assert main(["plan", "read", "back.toml", "--port", board.port]) == 0
        assert main(["find", "--port", board.port]) == 0
    assert (tmp_path / "back.toml").read_text() == text
    assert "E6614103E7A1B2C3" in capsys.readouterr().out


def test_a_block_that_another_program_never_finished_does_not_keep_the_board():
    with VirtualBoard(speed=1) as board:
        with serial.serial_for_url(board.port, timeout=1) as port:
            port.write(b'*IDN?\nPROGram:DEFine #44000DEADBEEF{"name":')
            assert port.readline().startswith(b"Panchime,")
        assert main(["plan", "show", "--board", "--port", board.port]) == 0


def test_watching_tells_what_the_log_tells_afterwards(capsys):
    with VirtualBoard(speed=0, hold_at_ms=500, scenario="skillet-mild") as board, Journal() as journal:
        board.press("short", at_ms=1000)
        board.run_until(5000)
        board.set_speed(60)
        board.go()
        assert main(["watch", "--port", board.port, "--json"]) == 0
        lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
        board.set_speed(1)
        assert main(["pull", "--port", board.port]) == 0
        entry = journal.entry(1)
    told = [line["event"] for line in lines if "event" in line]
    numbers = [event["number"] for event in told]
    assert numbers == sorted(set(numbers))
    marks = {event["words"].rpartition(" (")[0] for event in told if event["what"] == "mark"}
    assert marks == {mark.name for mark in entry.marks}
    assert not [line for line in lines if "trouble" in line]


def test_every_starter_is_taken_by_the_board():
    from panchime.planfile.keeping import send
    from panchime.planfile.reading import parse
    from panchime.planfile.starters import STARTER_METHODS

    with VirtualBoard(speed=1) as board, Board.connect(board.port) as link, Journal() as journal:
        for method in STARTER_METHODS:
            send(link, journal, parse(starter(method), method))
