"""boot.py and main.py on every board: the relay's pin goes low first, and on a board that is not known nothing is touched."""

import os
import sys
import types
from pathlib import Path

import pytest
from panchime_wiring import data

FIRMWARE = Path(__file__).parent.parent.parent / "firmware"
# MicroPython 1.29, boards/*/mpconfigboard.h of the ports; the chips' names had no hyphen before April 2026.
MACHINES = [
    ("rp2", "Raspberry Pi Pico with RP2040", "pico"),
    ("rp2", "Raspberry Pi Pico W with RP2040", "pico-w"),
    ("rp2", "Raspberry Pi Pico2 with RP2350", "pico-2"),
    ("rp2", "Raspberry Pi Pico2 with RP2350-RISCV", "pico-2"),
    ("rp2", "Raspberry Pi Pico 2 W with RP2350", "pico-2-w"),
    ("esp32", "Generic ESP32 module with ESP32", "esp32"),
    ("esp32", "Generic ESP32 module with SPIRAM with ESP32", "esp32"),
    ("esp32", "Generic ESP32S3 module with ESP32-S3", "esp32-s3"),
    ("esp32", "Generic ESP32S3 module with ESP32S3", "esp32-s3"),
    ("esp32", "ESP32C3 module with ESP32C3", "esp32-c3"),
    ("linux", "x86_64", "pico"),
]
STRANGERS = [
    ("rp2", "Adafruit Feather RP2040 with RP2040"),
    ("rp2", "Raspberry Pi Pico 3 with RP2450"),
    ("esp32", "ESP32S2 module with ESP32S2"),
    ("samd", "SAMD21 board with SAMD21"),
]


class Machine(types.ModuleType):
    """The board's `machine`, writing down what is done to its pins."""

    def __init__(self):
        super().__init__("machine")
        self.done = done = []

        class Pin:
            OUT = 1

            def __init__(self, number, mode, value):
                self.number = number
                done.append((number, mode, value))

            def value(self, level):
                done.append((self.number, Pin.OUT, level))

        self.Pin = Pin

    def reset(self):
        raise AssertionError("the board was restarted")


@pytest.fixture
def board(monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)

    def be(platform, name):
        machine = Machine()
        monkeypatch.setitem(sys.modules, "machine", machine)
        monkeypatch.setattr(sys, "platform", platform)
        monkeypatch.setattr(os, "uname", lambda: types.SimpleNamespace(machine=name), raising=False)
        return machine

    return be


def run(name):
    exec(compile((FIRMWARE / name).read_text(), name, "exec"), {"__name__": "__main__"})


@pytest.mark.parametrize(("platform", "name", "which"), MACHINES)
def test_boot_opens_the_relay_and_touches_nothing_else(board, platform, name, which):
    machine = board(platform, name)
    run("boot.py")
    assert machine.done == [(data.board(which)["pins"]["relay"], 1, 0)]


@pytest.mark.parametrize(("platform", "name", "which"), MACHINES)
def test_main_opens_it_before_and_after_a_program_that_fails(board, monkeypatch, platform, name, which):
    machine = board(platform, name)
    start = types.ModuleType("panchime_fw.start")

    def build():
        assert machine.done == [(relay, 1, 0)], "the relay was not opened first"
        raise KeyError("broken on purpose")

    start.build = build
    monkeypatch.setitem(sys.modules, "panchime_fw.start", start)
    monkeypatch.setattr("time.ticks_ms", lambda: 0, raising=False)
    monkeypatch.setattr("time.ticks_diff", lambda a, b: a - b, raising=False)
    monkeypatch.setattr("sys.print_exception", lambda error, file: None, raising=False)
    relay = data.board(which)["pins"]["relay"]
    with pytest.raises(KeyError):
        run("main.py")
    assert set(machine.done) == {(relay, 1, 0)}
    assert len(machine.done) >= 3


@pytest.mark.parametrize(("platform", "name"), STRANGERS)
def test_a_board_that_is_not_known_is_left_alone_and_told_so(board, monkeypatch, capsys, platform, name):
    machine = board(platform, name)
    monkeypatch.setattr("time.ticks_ms", lambda: 0, raising=False)
    run("boot.py")
    run("main.py")
    assert machine.done == []
    assert f"does not know this board: '{name}'" in capsys.readouterr().out


def test_boot_and_main_have_the_same_lines():
    def lines(name):
        text = (FIRMWARE / name).read_text()
        desktop = text.index("DESKTOP = ")
        return text[text.index("RELAYS = (") : text.index(")", desktop)]

    assert lines("boot.py") == lines("main.py")
    for name in data.BOARDS:
        assert f'("{data.board(name)["machine"]}", {data.board(name)["pins"]["relay"]}),' in lines("boot.py")
