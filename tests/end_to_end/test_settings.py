"""The board's settings on the unchanged firmware: at once, kept over a power cut, and never a relay on a wrong amplifier."""

import json
import time

import pytest

from panchime.errors import BoardRefusal
from panchime.link.board import Board
from panchime.link.probe import read_calibration, read_moment, read_settings, self_test, store_calibration, store_lag
from panchime.planfile.wire import to_json
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command
from panchime_fw.logreader import decode

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

TRANSDUCER = "SENSe:TEMPerature:TRANsducer"
HEATED = {
    "name": "Heated",
    "method": "hot-air popper",
    "loads": "cold",
    "heater_on_relay": True,
    "limit": 230,
    "marks": ["beans in", "beans out"],
}
ICE = {"points": [{"shown_centi": 40, "true_centi": 0, "how": "ice water", "date": "2026-11-25"}]}
AMPLIFIER, SETTINGS = 16, 32
PATIENCE_S = 30
KNOWN_AFTER_MS = 1500  # four samples tell the chip


def wait_for(condition, what):
    end_s = time.monotonic() + PATIENCE_S
    while not condition():
        assert time.monotonic() < end_s, f"{what} never came"
        time.sleep(0.02)


def let_pass(board, ms):
    begin_ms = read_moment(board).uptime_ms
    wait_for(lambda: read_moment(board).uptime_ms >= begin_ms + ms, f"{ms} ms")


def test_every_chip_is_told_from_every_other_and_taken_at_once():
    for wired in ("MAX31855", "MAX31856", "MAX6675", "MCP9600", "MCP9601"):
        with VirtualBoard(speed=8, chip=wired) as virtual, Board.connect(virtual.port) as board:
            virtual.probe(180.0)
            for named in ("MAX31856", "MCP9601", "MAX6675", "MCP9600", "MAX31855", wired):
                board.client.command(f"{TRANSDUCER}:AMPLifier {named}")
                let_pass(board, KNOWN_AFTER_MS)
                result, words = self_test(board)
                assert (result & AMPLIFIER == 0) == (named == wired), f"{wired} wired, {named} named: {result} {words}"
                if named != wired:
                    assert named in words
                    assert read_moment(board).measured_c is None, f"{wired} wired, {named} named: a reading all the same"
            # A MAX6675 has no cold junction to correct by; here it is at 20 degC, and 25 are assumed.
            assert read_moment(board).measured_c == pytest.approx(180.0, abs=0.5 if wired == "MAX6675" else 0.3)


def test_wrong_chip_stands_in_the_error_queue():
    with VirtualBoard(speed=0, hold_at_ms=0, chip="MAX31856") as virtual:
        virtual.run_until(3000)
        virtual.set_speed(1)
        virtual.go()
        with Board.connect(virtual.port) as board:
            # The greeting reads old errors away, so the board is told the same wrong thing once more.
            board.client.command(f"{TRANSDUCER}:AMPLifier MAX6675")
            board.client.command(f"{TRANSDUCER}:AMPLifier MAX31855")
            let_pass(board, KNOWN_AFTER_MS)
            queue = [board.client.query("SYSTem:ERRor?") for _ in range(3)]
    assert any(error.startswith("-24") and "MAX31855" in error for error in queue), queue


def test_settings_outlive_a_power_cut_and_the_log_carries_them(tmp_path):
    with VirtualBoard(speed=8, flash=tmp_path / "flash.image", chip="MAX31856", thermocouple="T") as virtual:
        with Board.connect(virtual.port) as board:
            board.client.command(f"{TRANSDUCER}:AMPLifier MAX31856")
            board.client.command(f"{TRANSDUCER}:TCouple:TYPE T")
            board.client.command("SENSe:TEMPerature:RATE:WINDow 45")
            store_lag(board, 8.5)
            store_calibration(board, ICE)
            before = read_settings(board)
        virtual.power_cycle()
        with Board.connect(virtual.port) as board:
            assert read_settings(board) == before
            assert (before.amplifier, before.thermocouple, before.rate_window_s) == ("MAX31856", "T", 45)
            assert (before.lag_ms, before.lag_in_force_ms, before.calibration) == (8500, 8500, ICE)
            let_pass(board, KNOWN_AFTER_MS)
            moment = read_moment(board)
            assert moment.uncalibrated_c - moment.measured_c == pytest.approx(0.4)
            board.client.command("PROGram:STATe RUN")
            with pytest.raises(BoardRefusal, match="stop the roast") as refused:
                board.client.command(f"{TRANSDUCER}:AMPLifier MAX31855")
            assert refused.value.number == -284
            assert read_settings(board) == before
            board.client.command("PROGram:STATe STOP")
            name = board.catalogue().files[-1].name
            head = decode(board.read_log(name, 0, 100_000)).head
    assert (head["amplifier"], head["thermocouple"], head["calibration"]) == ("MAX31856", "T", ICE)


def test_another_chip_drops_the_calibration():
    with VirtualBoard(speed=8) as virtual, Board.connect(virtual.port) as board:
        store_calibration(board, ICE)
        board.client.command(f"{TRANSDUCER}:TCouple:TYPE J")
        assert read_calibration(board) is None


@pytest.mark.parametrize(("wired", "named"), [("MAX31855", "MAX6675"), ("MAX6675", "MAX31855")])
def test_no_roast_on_a_chip_whose_frames_could_pass_for_anothers(wired, named):
    with VirtualBoard(speed=8, chip=wired) as virtual, Board.connect(virtual.port) as board:
        board.define_plan(to_json(HEATED))
        board.client.command(f"{TRANSDUCER}:AMPLifier {named}")
        # Not one sample too early either: the relay waits until the chip is known.
        with pytest.raises(BoardRefusal):
            board.client.command("PROGram:STATe RUN")
        let_pass(board, KNOWN_AFTER_MS)
        with pytest.raises(BoardRefusal, match="another amplifier chip"):
            board.client.command("PROGram:STATe RUN")
        assert [event for event in virtual.events("relay") if event["on"]] == []
        board.client.command(f"{TRANSDUCER}:AMPLifier {wired}")
        let_pass(board, KNOWN_AFTER_MS)
        board.client.command("PROGram:STATe RUN")
        virtual.wait_for("relay", on=True)


def test_damaged_settings_measure_and_sound_but_close_no_relay(tmp_path):
    flash = tmp_path / "flash"
    with VirtualBoard(speed=8, flash=flash, interpreter="cpython") as virtual, Board.connect(virtual.port) as board:
        store_lag(board, 8.5)
        board.define_plan(to_json(HEATED))
    kept = list(flash.glob("**/settings.?"))
    assert len(kept) == 1, kept
    kept[0].write_bytes(b"rubbish")
    with (
        VirtualBoard(speed=8, flash=flash, interpreter="cpython", keep_firmware=True) as virtual,
        Board.connect(virtual.port) as board,
    ):
        let_pass(board, KNOWN_AFTER_MS)
        result, words = self_test(board)
        assert result == SETTINGS, words
        assert "both copies on the flash are damaged" in words
        assert read_moment(board).measured_c == pytest.approx(20.0, abs=0.3)
        with pytest.raises(BoardRefusal, match="before the amplifier is known"):
            board.client.command("PROGram:STATe RUN")
        with pytest.raises(BoardRefusal, match="set the amplifier and the thermocouple type first"):
            store_lag(board, 8.5)
        board.define_plan(to_json({**HEATED, "heater_on_relay": False}))
        board.client.command("PROGram:STATe RUN")
        assert board.roast_runs(), "by hand it roasts all the same"
        board.client.command("PROGram:STATe STOP")
        board.define_plan(to_json(HEATED))
        board.client.command(f"{TRANSDUCER}:AMPLifier MAX31855")
        board.client.command(f"{TRANSDUCER}:TCouple:TYPE K")
        let_pass(board, KNOWN_AFTER_MS)
        assert self_test(board)[0] == 0
        board.client.command("PROGram:STATe RUN")
        virtual.wait_for("relay", on=True)
    text = kept[0].read_text() + "".join(file.read_text() for file in flash.glob("**/settings.?"))
    assert json.loads(text[text.rindex("{") : text.rindex("}") + 1])["amplifier"] == "MAX31855"
