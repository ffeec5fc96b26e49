"""The link-drop campaign in its short form, that it would see what it looks for, and a cable that comes out of a real port."""

import contextlib
import importlib.util
import socket
import sys
import threading
from pathlib import Path

import pytest

sys.path[:0] = [str(Path(__file__).parent / "link_drops"), str(Path(__file__).parent.parent / "host")]

from made_roast import made_roast  # noqa: E402  # after the paths
from scripted_board import ScriptedBoard  # noqa: E402
from spoilt_port import DROP, GARBLE, KINDS, TO_HOST  # noqa: E402

from panchime.errors import LinkError  # noqa: E402
from panchime.journal import pulling  # noqa: E402
from panchime.journal.journal import Journal  # noqa: E402
from panchime.link import scpi_client  # noqa: E402
from panchime.link.board import Board, LogFile  # noqa: E402

SPEC = importlib.util.spec_from_file_location("link_drops_run", Path(__file__).parent / "link_drops" / "run.py")
assert SPEC is not None
assert SPEC.loader is not None
link_drops = importlib.util.module_from_spec(SPEC)
sys.modules[SPEC.name] = link_drops  # dataclasses look their module up
SPEC.loader.exec_module(link_drops)


@pytest.fixture(autouse=True)
def patience_comes_back(monkeypatch):
    """The campaign makes the client impatient; afterwards it is as it was."""
    monkeypatch.setattr(scpi_client, "QUIET_S", scpi_client.QUIET_S)
    monkeypatch.setattr(scpi_client, "DRAIN_LIMIT_S", scpi_client.DRAIN_LIMIT_S)


def test_short_campaign():
    result = link_drops.campaign(49, 7, every_chunk=25)
    assert result["problems"] == []
    assert result["faults"] > 70
    reached = {kind for _, kind, outcome, _ in result["counts"] if outcome != "not reached"}
    assert reached == set(KINDS)
    dropped = {outcome for _, kind, outcome, _ in result["counts"] if kind == DROP}
    assert dropped == {"an error that says what to do"}, "a cable that is out was not noticed"


def test_a_pull_that_proves_nothing_is_found(tmp_path, monkeypatch):
    def unproved(board, name, begun, progress):
        return pulling.fetch(board, LogFile(name, board.log_checksum(name)[0]), b"", progress)

    monkeypatch.setattr(pulling, "fetch_proven", unproved)
    bench = link_drops.Bench(tmp_path, 7)
    sent, _ = bench.talk()
    at = sent.index(bench.logs["000003.roast"]) + 600
    _, found = bench.run(link_drops.Fault(GARBLE, TO_HOST, at, "chunk"), 1)
    assert any("none of the board's" in words for words in found), found


class Cable:
    """A TCP line to a board that is cut after so many bytes of answers, once, and can be plugged in again."""

    def __init__(self, board_url, cut_after):
        self.board = (board_url.split("//")[1].split(":")[0], int(board_url.rpartition(":")[2]))
        self.cut_after = cut_after
        self.server = socket.create_server(("127.0.0.1", 0))
        self.url = f"socket://127.0.0.1:{self.server.getsockname()[1]}"
        self.thread = threading.Thread(target=self.serve, daemon=True)
        self.thread.start()

    def serve(self):
        while True:
            try:
                near, _ = self.server.accept()
            except OSError:
                return
            far = socket.create_connection(self.board)
            back = threading.Thread(target=self.pump, args=(far, near, True), daemon=True)
            back.start()
            self.pump(near, far, False)
            back.join()
            near.close()
            far.close()

    def pump(self, source, target, counted):
        try:
            while data := source.recv(4096):
                if counted and self.cut_after is not None:
                    if len(data) > self.cut_after:
                        target.sendall(data[: self.cut_after])
                        self.cut_after = None
                        break
                    self.cut_after -= len(data)
                target.sendall(data)
        except OSError:
            pass
        for end in (source, target):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def close(self):
        self.server.close()


@pytest.mark.parametrize("cut_after", [100, 300, 700, 2500, 5000])
def test_a_cable_that_comes_out_is_said_and_the_rest_is_pulled_later(cut_after, tmp_path):
    logs = {"000001.roast": made_roast(uptime_ms=1, until_ms=100_000), "000002.roast": made_roast(uptime_ms=2)}
    with ScriptedBoard() as peer, Journal(tmp_path / "journal.sqlite") as journal:
        peer.files = dict(logs)
        cable = Cable(peer.url, cut_after)
        try:
            with pytest.raises(LinkError, match=r"Plug|again|loose"), Board.connect(cable.url) as board:
                pulling.pull(board, journal)
            held = [journal.raw(entry.number) for entry in journal.entries()]
            assert held == list(logs.values())[: len(held)]
            with Board.connect(cable.url) as board:
                pulling.pull(board, journal)
        finally:
            cable.close()
        assert [journal.raw(entry.number) for entry in journal.entries()] == list(logs.values())
