"""Where there is no MicroPython, the same firmware runs on CPython."""

import pytest


@pytest.fixture
def cpython_board(tiny_board):
    def make(**options):
        return tiny_board(interpreter="cpython", **options)

    return make


def test_firmware_runs_and_talks(cpython_board, talk):
    board = cpython_board(speed=0, hold_at_ms=0)
    talker = talk(board.port)
    board.go()
    talker.read_until(b"tiny boot")
    talker.do("rot")
    assert talker.ask("i", "id ") == "E6614103E7A1B2C3"
    assert [event["on"] for event in board.events("relay")] == [True, False]
    assert board.events("tone")[0]["hz"] == 2000


def test_over_tcp_too(cpython_board, talk):
    board = cpython_board()
    talk(board.socket_url).do("r")


def test_ctrl_c_stops_the_firmware_with_a_message_and_ctrl_d_starts_it_again(cpython_board, talk):
    board = cpython_board()
    talker = talk(board.port)
    talker.do("r")
    talker.send(b"\x03")
    talker.read_until(b"KeyboardInterrupt")
    talker.read_until(b"On CPython there is no prompt")
    assert board.state()["relay"] is False
    talker.send(b"\x04")
    talker.read_until(b"MPY: soft reboot\r\n")
    talker.do("r")


def test_watchdog_and_log(cpython_board, talk):
    board = cpython_board()
    talker = talk(board.port)
    talker.do("llwx")
    assert board.wait_for("reset")["why"] == "watchdog"
    talker = talk(board.port)
    assert talker.ask("n", "log ") == "2"
    assert talker.ask("c", "cause ") == "3"


def test_clock_can_be_set(cpython_board, talk):
    board = cpython_board()
    talker = talk(board.port)
    talker.do("s")
    assert talker.ask("d", "date ").startswith("(2026, 11, 25, 2, 8, 30,")


@pytest.mark.parametrize("interpreter", ["micropython", "cpython"])
def test_both_interpreters_see_the_same_world(tiny_board, talk, interpreter):
    board = tiny_board(interpreter=interpreter, speed=0, hold_at_ms=0)
    talker = talk(board.port)
    board.control.ask("cold", c=25.0)
    board.probe(25.01)
    board.press(at_ms=3000)
    board.run_until(4000)
    assert talker.ask_held(board, "f", "frame ") == "01901900"
    # The clock counts looks and sleeps, and those are the firmware's own: the interpreter does not show in it.
    assert 3000 <= board.events("relay")[0]["t_ms"] <= 3005
