"""Pins and relay drive on the running board: told, kept, in force from the next start on, refused when the chip cannot."""

import itertools

import pytest

from panchime.cli.main import main
from panchime.errors import BoardRefusal
from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command
from panchime_fw import pins

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

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


def pairs(answer):
    fields = answer.split(",")
    return dict(zip(fields[::2], fields[1::2], strict=True))


def pins_in_force(link):
    board, _, rest = link.client.query("SYSTem:PINS?").partition(",")
    assert board == "pico"
    return pairs(rest)


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))


def test_own_pins_count_from_the_next_start_on():
    with VirtualBoard(speed=1) as board:
        with Board.connect(board.port) as link:
            assert pins_in_force(link) == {role: str(pin) for role, pin in pins.MAPS["pico"].items()}
            link.client.command("SYSTem:PINS:OWN '{\"piezo\": 21, \"led\": 22}'")
            assert pairs(link.client.query("SYSTem:PINS:OWN?")) == {"piezo": "21", "led": "22"}
            assert pins_in_force(link)["piezo"] == "20"
        board.power_cycle(500)
        with Board.connect(board.port) as link:
            assert pins_in_force(link)["piezo"] == "21"
            link.client.command("SYSTem:PINS:OWN '{}'")
            assert link.client.query("SYSTem:PINS:OWN?") == ""


@pytest.mark.parametrize(
    ("own", "words"),
    [
        ('{"relay": 22}', "cannot be moved"),
        ('{"spi_sck": 19}', "may be: 2, 6, 18, 22"),
        ('{"piezo": 14}', "relay and piezo at once"),
        ("piezo", "JSON"),
    ],
)
def test_pins_that_the_chip_cannot_do_are_refused(own, words):
    with VirtualBoard(speed=1) as board, Board.connect(board.port) as link:
        with pytest.raises(BoardRefusal, match=words):
            link.client.command(f"SYSTem:PINS:OWN '{own}'")
        assert link.client.query("SYSTem:PINS:OWN?") == ""


def test_the_moving_drive_moves_the_pin_while_the_relay_is_closed_and_rests_low(tmp_path):
    plan = tmp_path / "heated.toml"
    plan.write_text(HEATED_PLAN)
    with VirtualBoard(speed=1) as board:
        with Board.connect(board.port) as link:
            link.client.command("OUTPut:DRIVe MOVing")
            assert link.client.query("OUTPut:DRIVe?") == "MOV"
        board.power_cycle(500)
        assert main(["plan", "send", str(plan), "--port", board.port]) == 0
        assert not board.events("relay"), "the pin moved before any start"
        board.wait_until(board.now_ms + READY_MS)
        board.press("short")
        board.wait_for("relay", on=True)
        board.run_for(2000)
        edges = [event["t_ms"] for event in board.events("relay")]
        assert len(edges) > 100
        # Longer stillness would empty the driver's capacitor: 0.48 s at its weakest, see wiring/results.md.
        assert max(later - earlier for earlier, later in itertools.pairwise(edges)) < 400
        board.fault("open")
        board.run_for(3000)
        count = len(board.events("relay"))
        assert not board.state()["relay"]
        board.run_for(3000)
        assert len(board.events("relay")) == count, "the pin still moves after the trip"
