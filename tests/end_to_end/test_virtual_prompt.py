"""The prompt of the virtual board: Ctrl-C, soft reset, the raw prompt, and the real mpremote."""

import os
import subprocess
import sys

import pytest


@pytest.fixture(params=["pty", "tcp"])
def endpoint(request):
    if request.param == "pty" and sys.platform == "win32":
        pytest.skip("no pseudo-terminals here")
    return request.param


def url(board, endpoint):
    return board.pty if endpoint == "pty" else board.socket_url


def empty_firmware(tmp_path):
    """A folder for a firmware of a test's own."""
    firmware = tmp_path / "firmware"
    firmware.mkdir()
    return firmware


def relay_events(board):
    return [event["on"] for event in board.events("relay")]


def test_ctrl_c_interrupts_and_finally_opens_the_relay(tiny_board, talk, endpoint):
    board = tiny_board()
    talker = talk(url(board, endpoint))
    talker.do("r")
    talker.send(b"\x03")
    talker.read_until(b"KeyboardInterrupt")
    talker.read_until(b">>> ")
    assert relay_events(board) == [True, False]
    talker.send(b"print(6 * 7)\r")
    talker.read_until(b"42")


def test_an_interrupted_boot_leads_to_the_prompt_and_not_into_main(tiny_board, talk, tmp_path):
    firmware = empty_firmware(tmp_path)
    (firmware / "boot.py").write_text("import sys\nsys.stdin.readline()\n")
    (firmware / "main.py").write_text("print('main runs')\n")
    board = tiny_board(firmware=firmware)
    talker = talk(board.port)
    talker.send(b"\x03")
    seen = talker.read_until(b">>> ")
    assert b"KeyboardInterrupt" in seen
    assert b"main runs" not in seen


def test_ctrl_c_amid_work_on_the_heap_leaves_the_heap_usable(tiny_board, talk, tmp_path):
    firmware = empty_firmware(tmp_path)
    (firmware / "main.py").write_text(
        "import gc, time\n"
        "def go():\n"
        "    print('collecting')\n"
        "    while True:\n"
        "        for _ in range(50):\n"
        "            gc.collect()\n"
        "        time.sleep_ms(10)\n"
        "go()\n"
    )
    board = tiny_board(firmware=firmware, speed=0)
    talker = talk(board.port)
    for _ in range(6):
        talker.read_until(b"collecting\n")
        board.wait_until(board.now_ms + 200)
        talker.send(b"\x03")
        talker.read_until(b">>> ")
        talker.send(b"go()\r")


def test_clock_is_right_after_ctrl_c_cut_into_a_question(tiny_board, talk):
    board = tiny_board(speed=0, hold_at_ms=1000)
    talker = talk(board.port)
    board.run_until(1500)
    talker.send(b"\x03")
    board.go()
    talker.read_until(b">>> ")
    # The question that Ctrl-C cut off must not leave its answer to the next one.
    talker.send(b"import time; t = time.ticks_ms(); time.sleep_ms(50); print('slept', time.ticks_diff(time.ticks_ms(), t))\r")
    talker.read_until(b"slept 50")


def test_soft_reset_keeps_pins_until_boot_runs_and_stops_the_tone(tiny_board, talk, tmp_path):
    firmware = empty_firmware(tmp_path)
    (firmware / "boot.py").write_text(
        "import machine, time\nprint('relay', machine.Pin(14).value())\ntime.sleep_ms(30)\n"
        "machine.Pin(14, machine.Pin.OUT, value=0)\n"
    )
    (firmware / "main.py").write_text("print('main')\n")
    board = tiny_board(firmware=firmware)
    talker = talk(board.port)
    talker.send(b"\x03")
    talker.read_until(b">>> ")
    talker.send(b"from machine import Pin, PWM; Pin(14, Pin.OUT, value=1); PWM(Pin(20), freq=2000, duty_u16=9)\r")
    board.wait_for("tone", hz=2000)
    talker.send(b"\x04")
    talker.read_until(b"MPY: soft reboot\r\n")
    talker.read_until(b"relay 1")
    talker.read_until(b"main")
    assert relay_events(board) == [True, False]
    assert [event["hz"] for event in board.events("tone")] == [2000, 0]
    soft, opened = board.events("soft reset")[0], board.events("relay")[1]
    assert soft["n"] < opened["n"]
    assert opened["t_ms"] - soft["t_ms"] >= 30, "the soft reset itself opened the relay"


def test_raw_prompt_survives_a_soft_reset_with_boot_but_without_main(tiny_board, talk, endpoint):
    board = tiny_board()
    talker = talk(url(board, endpoint))
    talker.do("r")
    talker.send(b"\r\x03\x01")
    talker.read_until(b"raw REPL; CTRL-B to exit\r\n>")
    talker.send(b"\x04")
    said = talker.read_until(b"raw REPL; CTRL-B to exit\r\n>")
    assert said.startswith(b"OK\r\nMPY: soft reboot\r\n")
    assert b"tiny boot" in said
    assert b"Type" not in said, "the friendly prompt showed on the way"
    talker.send(b"print(14 + 1)\x04")
    assert talker.read_until(b"\x04\x04>").replace(b"\r\n", b"\n") == b"OK15\n\x04\x04>"
    assert board.events("soft reset")[0]["raw"] is True
    talker.send(b"\x02")
    talker.read_until(b">>> ")
    talker.send(b"\x04")
    talker.read_until(b"MPY: soft reboot\r\n")
    talker.do("r")


def test_exit_from_main_is_a_soft_reset(tiny_board, talk, tmp_path):
    firmware = empty_firmware(tmp_path)
    (firmware / "main.py").write_text(
        "import os, sys\n"
        "if 'seen' in os.listdir():\n    print('second time')\nelse:\n    open('seen', 'w').close()\n    sys.exit()\n"
    )
    board = tiny_board(firmware=firmware, hold_at_ms=0)
    talker = talk(board.port)
    board.go()
    talker.read_until(b"MPY: soft reboot\r\n")
    talker.read_until(b"second time")


def mpremote(port, *arguments):
    return subprocess.run(
        [sys.executable, "-m", "mpremote", "connect", port, *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "NO_COLOR": "1"},
    )


@pytest.mark.parametrize("resume", [["resume"], []], ids=["resume", "soft-reset"])
def test_mpremote_runs_code_and_lists_files(tiny_board, endpoint, resume):
    board = tiny_board()
    run = mpremote(url(board, endpoint), *resume, "exec", "print(17 * 3)")
    assert (run.returncode, run.stdout.strip()) == (0, "51"), run.stderr
    assert len(board.events("soft reset")) == (0 if resume else 1)
    run = mpremote(url(board, endpoint), *resume, "fs", "ls")
    assert run.returncode == 0, run.stderr
    assert "boot.py" in run.stdout
    assert "main.py" in run.stdout


def test_mpremote_copies_files(tiny_board, tmp_path):
    board = tiny_board()
    (tmp_path / "there.bin").write_bytes(bytes(range(256)) * 8)
    run = mpremote(board.port, "fs", "cp", str(tmp_path / "there.bin"), ":there.bin")
    assert run.returncode == 0, run.stderr
    run = mpremote(board.port, "fs", "cp", ":there.bin", str(tmp_path / "back.bin"))
    assert run.returncode == 0, run.stderr
    assert (tmp_path / "back.bin").read_bytes() == bytes(range(256)) * 8


def test_mpremote_finds_the_relay_open(tiny_board, talk):
    board = tiny_board()
    talker = talk(board.port)
    talker.do("r")
    talker.close()
    run = mpremote(board.port, "exec", "import machine; print('relay', machine.Pin(14).value())")
    assert run.stdout.strip() == "relay 0", run.stderr
    assert board.state()["relay"] is False


def test_time_goes_on_at_the_prompt(tiny_board, talk):
    board = tiny_board(speed=200)
    talker = talk(board.port)
    talker.do("k")
    talker.send(b"\x03")
    talker.read_until(b">>> ")
    stopped = board.now_ms
    board.wait_until(stopped + 60_000)
    talker.send(b"import time; print('now', time.ticks_ms())\r")
    talker.read_until(b"\nnow ")
    # Ticks start at power-up, 150 ms before the firmware.
    assert int(talker.read_until(b"\n")) >= stopped + 60_000 - 1


def test_board_calls_allocate_nothing(tiny_board, talk, tmp_path):
    firmware = empty_firmware(tmp_path)
    (firmware / "main.py").write_text(
        "import machine, micropython, time\n"
        "from machine import Pin\n"
        "relay = Pin(14, Pin.OUT, value=0)\n"
        "button = Pin(13, Pin.IN, Pin.PULL_UP)\n"
        "cs = Pin(17, Pin.OUT, value=1)\n"
        "spi = machine.SPI(0, baudrate=1000000, polarity=0, phase=0, sck=Pin(18), mosi=Pin(19), miso=Pin(16))\n"
        "wdt = machine.WDT(timeout=5000)\n"
        "pwm = machine.PWM(Pin(20))\n"
        "frame = bytearray(4)\n"
        "def calls():\n"
        "    micropython.heap_lock()\n"
        "    try:\n"
        "        for _ in range(200):\n"
        "            before = time.ticks_ms()\n"
        "            time.sleep_ms(5)\n"
        "            cs.value(0); spi.readinto(frame); cs.value(1)\n"
        "            relay.value(button.value()); wdt.feed(); pwm.freq(2000); pwm.duty_u16(0)\n"
        "            time.ticks_diff(time.ticks_us(), before)\n"
        "    finally:\n"
        "        micropython.heap_unlock()\n"
        "calls()\n"
        "print('nothing allocated', frame[1])\n"
    )
    board = tiny_board(firmware=firmware, speed=0, hold_at_ms=0)
    talker = talk(board.port)
    board.go()
    talker.read_until(b"nothing allocated 64")
