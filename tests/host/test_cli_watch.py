"""Watching a roast over a line that may go and come back."""

import json
import sys
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.cli.watch import follow
from panchime.link.board import Board
from panchime.link.following import Follower

sys.path.insert(0, str(Path(__file__).parent))
from made_roast import PLAN
from scripted_board import ScriptedBoard

IDLE = b"9000,idle,0,31.00,25.00,9.91E37,0,0,0,4,12\n"
EVENTS = b'1,0,"stage","preheat",2,60000,"mark","beans in (pressed)",3,200000,"milestone","R\\u00f6sty"\n'


def live(uptime_ms, last_event):
    return b"%d,roasting,%d,180.25,25.00,8.00,1,0,0,%d,12\n" % (uptime_ms, uptime_ms, last_event)


def watched(**changes):
    """What a board answers that is roasting at the first two polls and has done at the third."""
    return {
        r"PROGram:STATe\?": [b"RUN\n", b"RUN\n", b"STOP\n"],
        r"ROASt:LIVE\?": [live(400_000, 2), live(400_250, 3), IDLE],
        r"ROASt:EVENts\? 0": EVENTS.rsplit(b",3,", 1)[0] + b"\n",
        r"ROASt:EVENts\? 2": b"3," + EVENTS.rsplit(b",3,", 1)[1],
        r"ROASt:EVENts\? 3": b'4,600000,"stage","idle"\n',
        r"MARK:CATalog\?": b'"beans in",60000,0\n',
    } | changes


class Listener:
    """Keeps what it is told."""

    def __init__(self):
        self.events = []
        self.marks = []
        self.troubles = []

    def news(self, follower, new):
        self.events += new
        self.marks = follower.roast.marks or self.marks

    def trouble(self, follower, words):
        self.troubles.append(words)


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path))
    monkeypatch.delenv("PANCHIME_PORT", raising=False)
    monkeypatch.setattr("serial.tools.list_ports.comports", list)
    monkeypatch.setattr("panchime.cli.watch.POLL_S", 0)


def follow_all(peer):
    listener = Listener()
    follower = Follower(Board.connect(peer.url), PLAN)
    try:
        follow(follower, listener, lambda _: None)
    finally:
        follower.board.client.close()
    return listener


def test_every_event_is_told_once_and_the_roast_ends():
    with ScriptedBoard(watched()) as peer:
        listener = follow_all(peer)
    assert [event.number for event in listener.events] == [1, 2, 3, 4]
    assert listener.events[2].words == "Rösty"
    assert [(mark.name, mark.roast_ms) for mark in listener.marks] == [("beans in", 60_000)]


def test_a_loose_cable_is_said_and_the_board_found_again():
    lost = {r"ROASt:LIVE\?": [live(400_000, 2), ConnectionAbortedError, live(400_250, 3), IDLE]}
    lost[r"PROGram:STATe\?"] = [b"RUN\n", b"RUN\n", b"RUN\n", b"STOP\n"]
    with ScriptedBoard(watched(**lost)) as peer:
        listener = follow_all(peer)
        assert sum(message.startswith("SYSTem:DATE") for message in peer.received) == 1, "its clock is set again"
    assert len(listener.troubles) == 1
    assert "cable" in listener.troubles[0]
    assert [event.number for event in listener.events] == [1, 2, 3, 4]


def test_a_board_that_comes_back_at_another_port_is_known_by_its_serial_number(monkeypatch):
    gone = watched(**{r"ROASt:LIVE\?": [live(400_000, 2), ConnectionAbortedError]})
    with ScriptedBoard(identity=b"Panchime,Pico,E66OTHER,0.1.0\n") as stranger:
        with ScriptedBoard(gone) as old:
            follower = Follower(Board.connect(old.url), PLAN)
            follower.poll()
        with ScriptedBoard(watched()) as new:
            monkeypatch.setenv("PANCHIME_PORT", f"{stranger.url},{new.url}")
            assert follower.reconnect()
            assert follower.board.client.url == new.url
            follower.board.client.close()


def test_a_board_that_is_nowhere_is_not_found():
    with ScriptedBoard(watched()) as old:
        follower = Follower(Board.connect(old.url), PLAN)
    assert not follower.reconnect()


def test_a_restarted_board_tells_its_events_from_the_beginning():
    script = watched(
        **{
            r"PROGram:STATe\?": [b"RUN\n", b"STOP\n"],
            r"ROASt:LIVE\?": [live(400_000, 2), b"500,idle,0,31.00,25.00,9.91E37,0,0,0,1,0\n"],
        }
    )
    with ScriptedBoard(script) as peer:
        follower = Follower(Board.connect(peer.url), PLAN)
        assert [event.number for event in follower.poll()] == [1, 2]
        peer.script[r"ROASt:EVENts\? 0"] = b'1,0,"stage","idle"\n'
        assert [event.number for event in follower.poll()] == [1]
        assert follower.roast.over
        follower.board.client.close()


def test_events_of_an_earlier_roast_are_no_news():
    with ScriptedBoard(watched()) as peer:
        peer.script[r"ROASt:EVENts\? 0"] = (
            b'1,0,"stage","preheat",2,700000,"mark","beans out (found)",3,0,"stage","preheat",4,9000,"relay","closed"\n'
        )
        peer.script[r"ROASt:LIVE\?"] = live(400_000, 4)
        follower = Follower(Board.connect(peer.url), PLAN)
        assert [event.number for event in follower.poll()] == [3, 4]
        follower.board.client.close()


def test_watch_writes_plain_lines_into_a_pipe(capsys):
    with ScriptedBoard(watched()) as peer:
        peer.plan = json.dumps(PLAN).encode()
        assert main(["watch", "--port", peer.url]) == 0
    shown = capsys.readouterr()
    lines = shown.out.splitlines()
    assert lines[0] == "0:00  stage  preheat"
    assert "6:40  roasting  180.2 °C  +8.0 °C/min  relay closed" in lines
    assert "3:20  milestone  Rösty" in lines
    assert "panchime pull" in shown.err


def test_watch_in_fahrenheit(capsys):
    with ScriptedBoard(watched()) as peer:
        peer.plan = json.dumps(PLAN | {"unit": "F"}).encode()
        assert main(["watch", "--port", peer.url]) == 0
    assert "356.4 °F  +14.4 °F/min" in capsys.readouterr().out


def test_watch_writes_a_line_of_json_a_poll_and_an_event(capsys):
    with ScriptedBoard(watched()) as peer:
        peer.plan = json.dumps(PLAN).encode()
        assert main(["watch", "--port", peer.url, "--json"]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["event"]["number"] for line in lines if "event" in line] == [1, 2, 3, 4]
    readings = [line["live"] for line in lines if "live" in line]
    assert [reading["running"] for reading in readings] == [True, True, False]
    assert readings[0]["temperature_c"] == 180.25
    assert readings[2]["rate_of_rise_c_per_min"] is None


def test_leaving_with_an_interrupt_says_that_the_roast_goes_on(capsys, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("panchime.cli.watch.follow", interrupted)
    with ScriptedBoard(watched()) as peer:
        peer.plan = json.dumps(PLAN).encode()
        assert main(["watch", "--port", peer.url]) == 130
    assert "goes on" in capsys.readouterr().err
