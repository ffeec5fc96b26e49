"""Restarts of the virtual board: power, watchdog, reset, and what outlives them."""

import pytest


def running(board, talk):
    talker = talk(board.port)
    talker.do("o")
    return talker


def test_starved_watchdog_resets_exactly_at_its_timeout(tiny_board, talk):
    board = tiny_board()
    talker = running(board, talk)
    talker.do("rwx")
    armed = board.wait_for("watchdog")
    reset = board.wait_for("reset")
    assert reset["why"] == "watchdog"
    # The last feed is at most one sample after the arming.
    assert 2000 <= reset["t_ms"] - armed["t_ms"] <= 2250.5
    assert board.events("relay")[-1]["on"] is False
    assert board.events("relay")[-1]["t_ms"] == reset["t_ms"]
    talker = talk(board.port)
    assert talker.ask("c", "cause ") == "3"


def test_fed_watchdog_does_not_reset(tiny_board, talk):
    board = tiny_board()
    talker = running(board, talk)
    talker.do("w")
    talker.close()
    board.set_speed(0)
    board.wait_until(60_000)
    assert board.events("reset") == []


def test_long_sleep_meets_the_watchdog_in_the_middle(tiny_board, talk):
    board = tiny_board()
    talker = running(board, talk)
    talker.send(b"\x03")
    talker.read_until(b">>> ")
    talker.send(b"import machine, time; w = machine.WDT(timeout=3000); time.sleep_ms(9000)\r")
    armed, reset = board.wait_for("watchdog"), board.wait_for("reset")
    assert reset["t_ms"] - armed["t_ms"] == pytest.approx(3000, abs=0.001)


def test_loop_that_never_looks_at_the_clock_meets_the_watchdog(tiny_board, talk):
    board = tiny_board()
    talker = running(board, talk)
    talker.do("w")
    talker.send(b"h")
    assert board.wait_for("reset")["why"] == "watchdog"


def test_watchdog_stays_armed_through_a_soft_reset(tiny_board, talk):
    board = tiny_board()
    talker = running(board, talk)
    talker.do("w")
    talker.send(b"\x03")
    talker.read_until(b">>> ")
    talker.send(b"\x04")
    talker.read_until(b"MPY: soft reboot\r\n")
    assert board.wait_for("reset")["why"] == "watchdog"


def test_machine_reset_looks_like_a_watchdog_reset(tiny_board, talk):
    board = tiny_board()
    talker = running(board, talk)
    talker.do("r")
    assert talker.ask("c", "cause ") == "1"
    talker.send(b"R")
    assert board.wait_for("reset")["why"] == "machine.reset()"
    assert board.wait_for("relay", on=False)["t_ms"] == board.events("reset")[0]["t_ms"]
    assert talk(board.port).ask("c", "cause ") == "3"


def test_power_cycle_forgets_pins_and_clock_and_restarts_the_ticks(tiny_board, talk):
    board = tiny_board()
    talker = running(board, talk)
    talker.do("rs")
    assert talker.ask("d", "date ").startswith("(2026, 11, 25, 2, 8, 30,")
    before = board.now_ms
    board.power_cycle(off_ms=5000)
    talker = talk(board.port)
    assert talker.ask("d", "date ").startswith("(2021, 1, 1,")
    assert talker.ask("c", "cause ") == "1"
    assert int(talker.ask("k", "ticks ")) < board.now_ms - before - 4900
    assert board.state()["relay"] is False


def test_ticks_wrap_as_on_the_board(tiny_board, talk):
    board = tiny_board(ticks_start_ms=(1 << 30) - 3000, speed=0, hold_at_ms=0)
    talker = talk(board.port)
    board.run_until(1000)
    assert (1 << 30) - 3000 < int(talker.ask_held(board, "k", "ticks ")) < 1 << 30
    board.run_until(6000)
    assert 3000 <= int(talker.ask_held(board, "k", "ticks ")) <= 4000


def test_log_outlives_kill_9(tiny_board, talk, tmp_path):
    board = tiny_board(flash=tmp_path / "flash.image")
    talker = running(board, talk)
    talker.do("lll")
    board.kill9()
    assert board.state()["powered"] is False
    board.power_cycle()
    talker = talk(board.port)
    assert talker.ask("n", "log ") == "3"


def test_log_outlives_the_virtual_board_itself(tiny_board, talk, tmp_path):
    first = tiny_board(flash=tmp_path / "flash.image")
    running(first, talk).do("ll")
    first.__exit__(None, None, None)
    second = tiny_board(flash=tmp_path / "flash.image")
    assert running(second, talk).ask("n", "log ") == "2"


def test_power_cut_at_a_flash_write_leaves_the_older_log_whole(tiny_board, talk, tmp_path):
    board = tiny_board(flash=tmp_path / "flash.image")
    talker = running(board, talk)
    talker.do("l")
    for cut in range(1, 4):
        so_far = len(board.events())
        board.control.ask("cut_power_at_write", count=cut)
        talker.send(b"llllll")
        board.wait_for("power", from_event=so_far, on=False)
        board.control.ask("power", on=True)
        talker = running(board, talk)
        assert int(talker.ask("n", "log ")) >= 1


def test_firmware_is_copied_again_unless_told_otherwise(tiny_board, talk, tmp_path):
    firmware = tmp_path / "firmware"
    firmware.mkdir()
    (firmware / "main.py").write_text("print('first')\n")
    options = {"firmware": firmware, "flash": tmp_path / "flash.image", "hold_at_ms": 0}

    def first_word(**more):
        board = tiny_board(**options, **more)
        talker = talk(board.port)
        board.go()
        word = talker.read_until(b"\n").strip()
        board.__exit__(None, None, None)
        return word

    assert first_word() == b"first"
    (firmware / "main.py").write_text("print('second')\n")
    assert first_word(keep_firmware=True) == b"first"
    assert first_word() == b"second"
