"""The serial port of the virtual board behaves as a USB serial port does."""

import pytest
import serial


def use_for_ever(port):
    while True:
        port.write(b"\n")
        port.read(100)


def test_output_is_dropped_while_nobody_is_there(tiny_board, talk):
    board = tiny_board(speed=0, hold_at_ms=0)
    board.press(at_ms=500)
    board.run_until(1000)
    talker = talk(board.port)
    board.run_until(2000)
    board.go()
    talker.do("o")
    assert b"tiny boot" not in talker.seen


def test_one_client_at_a_time(tiny_board, talk):
    board = tiny_board()
    first = talk(board.socket_url)
    first.do("o")
    second = serial.serial_for_url(board.socket_url, timeout=2)
    with pytest.raises(serial.SerialException):
        use_for_ever(second)
    second.close()
    first.do("r")
    first.close()
    third = talk(board.port)
    third.do("o")


def test_a_client_that_does_not_read_stalls_the_writer_and_then_loses_data(tiny_board, talk):
    board = tiny_board(speed=0)
    talker = talk(board.port)
    talker.do("o")
    for _ in range(4):
        talker.send(b"p")
    first = board.wait_for("serial data lost")
    second = board.wait_for("serial data lost", from_event=first["n"] + 1)
    assert first["bytes"] > 0
    # A blocked write waits 500 ms; at full speed no other clock runs meanwhile.
    assert second["t_ms"] - first["t_ms"] >= 499.999
    # Once somebody reads, the board goes on.
    talker.port.reset_input_buffer()
    talker.do("o")


def test_hardware_reset_takes_the_port_away(tiny_board, talk):
    board = tiny_board()
    for port in (board.pty, board.socket_url):
        talker = talk(port)
        talker.do("o")
        resets = len(board.events())
        talker.send(b"R")
        board.wait_for("reset", from_event=resets)
        with pytest.raises(serial.SerialException):
            use_for_ever(talker.port)
        talker = talk(port)
        talker.do("o")
        talker.close()  # the next one would not get a word in: one client at a time


def test_port_is_there_before_the_board_and_after(tiny_board, talk):
    board = tiny_board()
    board.kill9()
    talker = talk(board.port)
    board.control.ask("power", on=True)
    talker.do("r")


def test_board_says_its_own_number(tiny_board, talk):
    board = tiny_board(board_id="0123456789ABCDEF")
    assert talk(board.port).ask("i", "id ") == "0123456789ABCDEF"
