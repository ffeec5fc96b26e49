"""The flash gets full under the unchanged firmware: it is said, nothing is refused, and only what is elsewhere goes."""

import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.errors import BoardRefusal
from panchime.journal.journal import Journal
from panchime.journal.pulling import NEW, SAME, pull
from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard, default_firmware
from panchime.virtual.flash import prepare_image
from panchime.virtual.interpreter import micropython_command, shim_folder

sys.path.insert(0, str(Path(__file__).parent.parent / "host"))
from made_roast import made_roast

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

SERIAL = "E6614103E7A1B2C3"
# The oldest of them was interrupted: somebody pulled the plug after the roast.
LOGS = {
    "000002.roast": made_roast(board=SERIAL, boot=1, uptime_ms=2, end=None),
    "000003.roast": made_roast(board=SERIAL, boot=1, uptime_ms=3),
    "000004.roast": made_roast(board=SERIAL, boot=1, uptime_ms=4),
}
NEVER_PULLED = {"000001.roast": made_roast(board=SERIAL, boot=1, uptime_ms=1)}


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))


def lay(image, files):
    """Puts files onto a flash image."""
    pairs = []
    for target, raw in files.items():
        source = image.with_name(target.replace("/", "-"))
        source.write_bytes(raw)
        pairs += [str(source), target]
    subprocess.run(
        [*micropython_command(), str(shim_folder() / "prepare_flash.py"), str(image), *pairs],
        env={**os.environ, "MICROPYPATH": str(shim_folder())}, check=True, capture_output=True,
    )  # fmt: skip


def tones_at_power_on(image):
    with VirtualBoard(flash=image, keep_firmware=True, speed=0, hold_at_ms=4000) as board:
        board.run_until(4000)
        return [event["hz"] for event in board.events("tone") if event["hz"]]


def test_a_flash_that_gets_full(tmp_path, capsys):
    image = tmp_path / "flash.img"
    prepare_image(image, default_firmware())
    lay(image, {f"log/{name}": raw for name, raw in LOGS.items()})
    assert tones_at_power_on(image) == []
    with VirtualBoard(flash=image, keep_firmware=True, speed=1) as board:
        with Board.connect(board.port) as link:
            assert link.confirmed_logs() == ()
            with pytest.raises(BoardRefusal, match="pull it again"):
                link.confirm_log("000002.roast", LOGS["000003.roast"])
            assert link.log_checksum("000002.roast")[0] == len(LOGS["000002.roast"])
        assert main(["pull", "--port", board.port]) == 0
        assert "more minutes of roasting" in " ".join(capsys.readouterr().out.split())
        with Board.connect(board.port) as link:
            assert link.confirmed_logs() == tuple(LOGS)
            assert link.room().confirmed == 3
            free = link.catalogue().free_bytes
            assert main(["find", "--port", board.port]) == 1, "a port that is held is found by nobody else"
        assert main(["find", "--port", board.port]) == 0
        assert "min" in capsys.readouterr().out
    lay(image, {"filler": b"\xa5" * (free - 7 * 4096)})

    assert tones_at_power_on(image), "the board says nothing of its full flash"
    with VirtualBoard(flash=image, keep_firmware=True, speed=0, hold_at_ms=4000) as board:
        board.run_until(4000)
        board.set_speed(1)
        board.go()
        with Board.connect(board.port) as link:
            room = link.room()
            assert room.minutes_left < 30
            assert not room.may_drop
            assert [file.name for file in link.catalogue().files] == list(LOGS), "dropped without leave"
        assert main(["pull", "--port", board.port]) == 0
        assert "little room" in " ".join(capsys.readouterr().out.split())
        assert main(["pull", "--may-drop", "yes", "--port", board.port]) == 0
        assert "the oldest first" in " ".join(capsys.readouterr().out.split())

    # The leave is kept over the power cut, the marks are too: now the oldest confirmed one makes room.
    lay(image, {f"log/{name}": raw for name, raw in NEVER_PULLED.items()})
    assert tones_at_power_on(image) == []
    with VirtualBoard(flash=image, keep_firmware=True, speed=0, hold_at_ms=4000, scenario="skillet-mild") as board:
        board.run_until(4000)
        board.press("short", at_ms=5000)
        board.run_until(200_000)
        board.set_speed(1)
        board.go()
        with Board.connect(board.port) as link, Journal() as journal:
            assert link.roast_runs(), "a roast was refused"
            names = [file.name for file in link.catalogue().files]
            assert "000001.roast" in names, "a roast that was never confirmed is gone"
            assert "000002.roast" not in names
            assert "000005.roast" in names
            with pytest.raises(BoardRefusal, match="still being written"):
                link.confirm_log("000005.roast", b"whatever")
            assert [pulled.file.name for pulled in pull(link, journal).files if pulled.change == NEW] == [
                "000001.roast", "000005.roast",
            ]  # fmt: skip
            assert "000001.roast" in link.confirmed_logs()
            assert "000005.roast" not in link.confirmed_logs()
            assert [journal.raw(number) for number in range(1, 5)] == [*LOGS.values(), *NEVER_PULLED.values()]


def test_back_after_a_month_without_any_clock(tmp_path):
    """A connection, two roasts in boots of their own that nobody saw, and a connection a month later."""
    image = tmp_path / "flash.img"
    begin = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
    later = begin + timedelta(days=30)

    def ms(moment):
        return round(moment.timestamp() * 1000)

    with Journal() as journal:
        with VirtualBoard(flash=image, speed=1) as board, Board.connect(board.port, now=lambda: begin) as link:
            journal.meet(link.identity, link.anchor())
        for _ in range(2):
            with VirtualBoard(flash=image, keep_firmware=True, speed=0, hold_at_ms=3000, scenario="skillet-mild") as board:
                # The second one comes back tripped from the first, and a long press clears that.
                board.press("long", at_ms=3500)
                board.press("short", at_ms=7000)
                board.run_until(60_000)
        board = VirtualBoard(flash=image, keep_firmware=True, speed=1)
        with board, Board.connect(board.port, now=lambda: later) as link:
            journal.meet(link.identity, link.anchor())
            assert [pulled.change for pulled in pull(link, journal).files] == [NEW, NEW]
            assert [pulled.change for pulled in pull(link, journal).files] == [SAME, SAME]
        entries = journal.entries()
    assert len(entries) == 2
    assert entries[0].boot < entries[1].boot
    for entry in entries:
        assert entry.when.kind == "bounded"
        assert ms(begin) - 3000 <= entry.when.from_utc_ms <= ms(begin) + 10_000
        assert ms(later) - 120_000 <= entry.when.to_utc_ms <= ms(later)
