"""The layers that open the relay, each alone: main.py's ending, boot.py, the watchdog, and the memory of a roast cut short."""

import shutil
import time

import pytest

import panchime_fw
from panchime.cli.main import main
from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard, default_firmware
from panchime.virtual.interpreter import micropython_command
from panchime_fw import sounds, trips

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

# After a power-on the first frames tell whether the right chip is wired; a start before that is refused.
READY_MS = 2500

HEATED_PLAN = """
name = "Heated"
method = "hot-air popper"
loads = "cold"
heater_on_relay = true
limit = 230
longest_roast_min = 15
marks = ["beans in", "first crack", "beans out"]
"""
# What *WAI does in a firmware that is broken on purpose.
BREAKAGES = {
    "exception": "raise KeyError('broken on purpose')",
    "out of memory": "bytearray(10 ** 12)",
    "exit": "import sys; sys.exit(3)",
    "hang": "\n    while True:\n        pass",
}


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))


@pytest.fixture
def heated_plan(tmp_path):
    file = tmp_path / "heated.toml"
    file.write_text(HEATED_PLAN)
    return str(file)


def broken_firmware(folder, how):
    """A copy of the firmware in which `*WAI` breaks it, past everything that catches mistakes of a command."""
    copy = folder / "firmware"
    shutil.copytree(default_firmware(), copy, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    loop = copy / "panchime_fw" / "loop.py"
    text = loop.read_text()
    marker = "        self._show(now_ms)\n"
    assert marker in text
    on_demand = "        if self._instrument.status.event_enable == 77:\n            break_now()\n"
    loop.write_text(text.replace(marker, marker + on_demand) + f"\n\ndef break_now():\n    {BREAKAGES[how]}\n")
    return copy


def wait_until(condition, what, patience_s=30):
    end_s = time.monotonic() + patience_s
    while not condition():
        assert time.monotonic() < end_s, f"{what} never came"
        time.sleep(0.05)


def heat(board, plan):
    """Sends the plan, starts, waits for the relay, and lets the board run past its first ten seconds."""
    assert main(["plan", "send", plan, "--port", board.port]) == 0
    board.wait_until(READY_MS)
    board.press("short")
    board.wait_for("relay", on=True)
    board.set_speed(20)
    board.wait_until(board.now_ms + 12000)
    board.set_speed(1)


@pytest.mark.parametrize("how", sorted(BREAKAGES))
def test_whatever_ends_the_loop_the_relay_opens(tmp_path, heated_plan, how):
    with VirtualBoard(broken_firmware(tmp_path, how), speed=1) as board:
        heat(board, heated_plan)
        before = len(board.events())
        with Board.connect(board.socket_url) as link:
            link.client._send(b"*ESE 77\n")
            opened = board.wait_for("relay", on=False, from_event=before)
        assert opened
        if how == "exit":
            return  # somebody asked for the prompt; the relay is open, and that is all
        board.wait_for("reset", from_event=before)
        assert not board.state()["relay"]
        wait_until(lambda: [e for e in board.events("tone") if e["n"] > before and e["hz"] == sounds.ALARM[0][0]], "the alarm")
        with Board.connect(board.socket_url) as link:
            assert link.live().trip == trips.RESET_IN_ROAST
            assert link.live().stage == "tripped"
            assert not link.live().relay_closed


def test_boot_py_alone_opens_a_relay_that_a_soft_reset_left_closed(tmp_path, heated_plan):
    firmware = tmp_path / "firmware"
    shutil.copytree(default_firmware(), firmware, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    # The other layer is taken away: this main.py leaves the pin as it is.
    (firmware / "main.py").write_text("from machine import Pin\nPin(14, Pin.OUT, value=1)\n")
    with VirtualBoard(firmware, speed=1) as board:
        board.wait_for("relay", on=True)
        from_event = len(board.events())
        import serial

        with serial.serial_for_url(board.socket_url, timeout=1) as port:
            port.write(b"\r\x03\x01")
            wait_until(lambda: b"raw REPL" in port.read(200), "the raw prompt")
            port.write(b"\x04")
            board.wait_for("relay", on=False, from_event=from_event)
        assert not board.state()["relay"]


def test_a_power_cut_in_the_roast_comes_back_tripped_until_it_is_cleared(heated_plan):
    with VirtualBoard(speed=1) as board:
        heat(board, heated_plan)
        for _ in range(2):
            board.power_cycle(500)
            with Board.connect(board.socket_url) as link:
                assert link.live().stage == "tripped"
                assert link.live().trip == trips.RESET_IN_ROAST
                link.client.command("*RST")
                link.client.command("*CLS")
                with pytest.raises(Exception, match="tripped"):
                    link.client.command("PROG:STAT RUN")
                with pytest.raises(Exception, match="conflict"):
                    link.client.command("OUTP ON")
                assert link.live().trip == trips.RESET_IN_ROAST
        board.press("long")
        with Board.connect(board.socket_url) as link:
            wait_until(lambda: link.live().trip == trips.NONE, "the clearing")
            assert link.live().stage == "idle"
            assert not link.live().relay_closed
        board.power_cycle(500)
        with Board.connect(board.socket_url) as link:
            wait_until(lambda: link.live().temperature_c is not None, "a reading")
            assert link.live().stage == "idle", "a cleared trip came back"


def test_a_power_cut_while_cooling_trips_nothing(heated_plan):
    with VirtualBoard(speed=1) as board:
        board.probe(150.0)
        heat(board, heated_plan)
        with Board.connect(board.socket_url) as link:
            link.client.command('MARK "beans out"')
            wait_until(lambda: link.live().stage == "cooling", "the cooling")
        board.power_cycle(500)
        with Board.connect(board.socket_url) as link:
            assert link.live().stage == "idle"


def test_maintenance_restarts_into_the_prompt_without_a_watchdog(heated_plan):
    with VirtualBoard(speed=1) as board:
        assert main(["plan", "send", heated_plan, "--port", board.port]) == 0
        with Board.connect(board.socket_url) as link:
            board.wait_until(READY_MS)
            link.client.command("PROG:STAT RUN")
            with pytest.raises(Exception, match="stop the roast first"):
                link.client.command("SYST:MAIN")
            link.client.command("PROG:STAT STOP")
            from_event = len(board.events())
            link.client._send(b"SYST:MAIN\n")
            board.wait_for("reset", from_event=from_event)
        import serial

        with serial.serial_for_url(board.socket_url, timeout=1) as port:
            port.write(b"\r\n")
            wait_until(lambda: b">>>" in port.read(400), "the prompt")
        assert not board.state()["relay"]
        count = len(board.events("reset"))
        board.set_speed(20)
        board.wait_until(board.now_ms + 20000)
        assert len(board.events("reset")) == count, "the watchdog bit in maintenance"
        board.set_speed(1)
        board.power_cycle(200)
        with Board.connect(board.socket_url) as link:
            assert link.identity.firmware == panchime_fw.__version__
