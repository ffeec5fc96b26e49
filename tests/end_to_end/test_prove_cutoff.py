"""`panchime check --cutoff` on the running firmware: the proof, and the plan that comes back whatever happens."""

import io
import json
import threading
import time

import pytest

from panchime.cli import prove_cutoff
from panchime.cli.main import main
from panchime.errors import PanchimeError
from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

READY_MS = 2500


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def virtual():
    with VirtualBoard(speed=4) as board:
        board.wait_until(READY_MS)
        yield board


class Person:
    """Puts the probe into the water when told to, takes it out when told to, and says whether the lamp obeyed the relay."""

    def __init__(self, virtual, lamp_went_out=True):
        self.virtual = virtual
        self.said = []
        self.lamp_went_out = lamp_went_out
        self.asked = []

    def answer(self, question):
        assert "pull the plug" in self.said[-1], "asked before the person was told to look"
        self.asked.append(question)
        return self.lamp_went_out

    def __call__(self, text):
        self.said.append(text)
        if "into the hot water" in text:
            self.virtual.probe(80.0)
        elif "Take the probe out" in text:
            self.virtual.probe(20.0)


def never_asked(question):
    raise AssertionError(question)


def test_the_relay_opens_at_the_low_limit_and_the_plan_comes_back(virtual, own_data_folder):
    with Board.connect(virtual.socket_url) as board:
        before = board.plan_json()
        person = Person(virtual)
        late_s = prove_cutoff.prove(board, person, person.answer, patience_s=60)
        assert late_s <= prove_cutoff.OPEN_WITHIN_S
        assert board.plan_json() == before
        assert board.live().trip == 0
        assert board.live().stage == "idle"
    assert [event["on"] for event in virtual.events("relay")] == [True, False]
    assert not list(own_data_folder.glob("plan-before-proof-*"))


def test_a_switch_that_stays_closed_fails_the_proof_although_the_board_opened_its_relay(virtual):
    with Board.connect(virtual.socket_url) as board:
        before = board.plan_json()
        person = Person(virtual, lamp_went_out=False)
        with pytest.raises(PanchimeError, match="the switch is not proven"):
            prove_cutoff.prove(board, person, person.answer, patience_s=60)
        assert [event["on"] for event in virtual.events("relay")] == [True, False]
        assert person.asked == [prove_cutoff.LAMP_QUESTION]
        assert board.plan_json() == before
    told = " ".join(person.said)
    assert "LOOK: the lamp must be lit; if not, nothing is proven." in told
    assert "LOOK: the lamp must be out and the alarm must sound." in told
    for claim in ("is lit now", "lamp is out"):
        assert claim not in told


@pytest.mark.parametrize(("typed", "said"), [("y\n", True), ("no\n", False), ("maybe\nYES\n", True)])
def test_a_person_is_asked_until_yes_or_no(typed, said, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    assert prove_cutoff.ask_person("?") is said


def test_where_nobody_answers_nothing_is_proven(monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(""))
    with pytest.raises(PanchimeError, match="the switch is not proven"):
        prove_cutoff.ask_person("?")


def test_a_relay_that_does_not_open_is_told_and_the_plan_comes_back(virtual, monkeypatch):
    with Board.connect(virtual.socket_url) as board:
        before = board.plan_json()
        # A limit that the water never reaches: the board rightly stays on, and the proof must say so.
        monkeypatch.setitem(prove_cutoff.TEST_PLAN, "limit", 120)

        def slow_hands(text):
            if "into the hot water" in text:
                # Not faster than beans warm: a leap would trip for its own reason.
                virtual.probe(42.0)
                virtual.wait_until(virtual.now_ms + 3000)
                virtual.probe(60.0)

        with pytest.raises(PanchimeError, match="still closed"):
            prove_cutoff.prove(board, slow_hands, never_asked, patience_s=60)
        assert not board.live().relay_closed
        assert board.plan_json() == before


def test_ctrl_c_gives_the_plan_back(virtual):
    with Board.connect(virtual.socket_url) as board:
        before = board.plan_json()

        def interrupted(text):
            if "into the hot water" in text:
                raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            prove_cutoff.prove(board, interrupted, never_asked, patience_s=60)
        assert board.plan_json() == before
        assert not board.live().relay_closed


def test_a_torn_cable_leaves_the_low_limit_and_the_next_check_gives_the_plan_back(virtual, own_data_folder, capsys):
    with Board.connect(virtual.socket_url) as board:
        before = board.plan_json()

        def torn(text):
            if "into the hot water" in text:
                board.client.close()
                virtual.power_cycle(300)

        with pytest.raises(PanchimeError):
            prove_cutoff.prove(board, torn, never_asked, patience_s=5)
    assert list(own_data_folder.glob("plan-before-proof-*"))
    with Board.connect(virtual.socket_url) as board:
        assert json.loads(board.plan_json())["limit"] == prove_cutoff.TEST_LIMIT_C
    main(["check", "--seconds", "1", "--port", virtual.socket_url])
    assert "its own plan again" in capsys.readouterr().err
    with Board.connect(virtual.socket_url) as board:
        assert board.plan_json() == before
    assert not list(own_data_folder.glob("plan-before-proof-*"))


def test_the_command_itself(virtual, capsys, monkeypatch):
    """The person's hands are a thread that reads what the command says."""
    done = threading.Event()

    def hands():
        seen = 0
        while not done.is_set():
            relay = virtual.events("relay")
            if len(relay) > seen:
                seen = len(relay)
                virtual.probe(80.0 if relay[-1]["on"] else 20.0)
            time.sleep(0.05)

    person = threading.Thread(target=hands)
    person.start()
    try:
        assert main(["check", "--cutoff", "--port", virtual.port]) == 1, "it switched without asking"
        assert not virtual.events("relay")
        assert "nobody to ask" in capsys.readouterr().err
        monkeypatch.setattr("sys.stdin", io.StringIO("y\n"))
        assert main(["check", "--cutoff", "--yes", "--port", virtual.port]) == 0
    finally:
        done.set()
        person.join()
    told = capsys.readouterr().err
    assert prove_cutoff.LAMP_QUESTION in told
    assert "or nothing" not in told
    assert "Unplug the roaster" in told
    assert "its own limit again" in told
