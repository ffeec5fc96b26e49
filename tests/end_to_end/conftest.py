"""What the end-to-end tests share: a virtual board with a tiny firmware, and a person at its serial port."""

import time
from pathlib import Path

import pytest
import serial

from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command

TINY_FIRMWARE = Path(__file__).parent / "tiny_firmware"
PATIENCE_S = 60  # how long a test waits for an answer before it fails; no result depends on it


class Talker:
    """Somebody at the serial port."""

    def __init__(self, url):
        self.port = serial.serial_for_url(url, timeout=0.05)
        self.seen = b""

    def send(self, data):
        self.port.write(data)

    def read_until(self, ending):
        """Everything up to and including `ending`; fails with what came when it does not come."""
        end_s = time.monotonic() + PATIENCE_S
        while ending not in self.seen:
            assert time.monotonic() < end_s, f"{ending!r} never came; what came: {self.seen!r}"
            self.seen += self.port.read(max(1, self.port.in_waiting))
        head, _, self.seen = self.seen.partition(ending)
        return head + ending

    def ask(self, letter, answer):
        """Sends a command of the tiny firmware and returns the rest of the line that begins with `answer`."""
        self.send(letter.encode())
        self.read_until(answer.encode())
        return self.read_until(b"\n").decode().strip()

    def do(self, letters):
        """Sends commands and waits until each has been obeyed."""
        for letter in letters:
            self.send(letter.encode())
            self.read_until(b"ok " + letter.encode())

    def ask_held(self, board, letter, answer):
        """Asks a board that was held at a moment, and sets it to full speed again for the next one.

        It goes on slower than real time meanwhile: at full speed it may be past the next hold before the question is there.
        """
        board.set_speed(0.05)
        board.go()
        told = self.ask(letter, answer)
        board.set_speed(0)
        return told

    def close(self):
        self.port.close()


@pytest.fixture
def tiny_board(tmp_path):
    """Makes virtual boards with the tiny firmware, running at real speed unless told otherwise; ends them all."""
    boards = []

    def make(**options):
        if micropython_command() is None and options.get("interpreter") != "cpython":
            pytest.skip("no MicroPython interpreter for this machine")
        options.setdefault("speed", 1)
        firmware = options.pop("firmware", TINY_FIRMWARE)
        board = VirtualBoard(firmware, **options)
        board.__enter__()
        boards.append(board)
        return board

    yield make
    for board in boards:
        board.__exit__(None, None, None)


@pytest.fixture
def talk():
    """Opens serial ports and closes them in the end. The talker is there before the board says its first word."""
    talkers = []

    def open_port(url):
        talker = Talker(url)
        talkers.append(talker)
        return talker

    yield open_port
    for talker in talkers:
        talker.close()
