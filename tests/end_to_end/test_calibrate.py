"""`panchime calibrate` on the unchanged firmware: ice, boiling water, a plunge, and what it refuses."""

import json
import math
import re
import threading
import time
import tomllib

import pytest

from panchime.cli import calibrate_lag
from panchime.cli.main import main
from panchime.link.board import Board
from panchime.link.probe import read_calibration, read_moment, read_settings
from panchime.planfile.starters import starter
from panchime.planfile.wire import to_json
from panchime.terminal.output import note
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

SPEED = 25
HAND_S = 0.01  # between two movements of a hand; without it the board hardly gets a turn


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))


@pytest.fixture
def virtual():
    with VirtualBoard(speed=SPEED) as board:
        yield board


def stored(virtual):
    with Board.connect(virtual.port) as board:
        return read_calibration(board)


def column(text, name):
    """The number in the line that begins with these words."""
    (line,) = [line for line in text.splitlines() if line.startswith(name)]
    return float(line[len(name) :].split()[0])


def test_ice_then_boiling_water(virtual, capsys):
    virtual.probe(0.9)
    assert main(["calibrate", "ice", "--port", virtual.port]) == 0
    shown = capsys.readouterr()
    assert "crushed ice" in shown.err
    # The chip tells steps of 0.25 degC and this twin cuts off below: it shows at most one step less than the truth.
    uncorrected_ice = column(shown.out, "probe, uncorrected")
    assert 0.6 <= uncorrected_ice <= 0.95
    assert column(shown.out, "shown before") == uncorrected_ice
    assert column(shown.out, "shown now") == pytest.approx(0, abs=0.02)
    assert "an offset of" in shown.out
    virtual.probe(98.6)
    # 941 hPa: 97.91 degC by IAPWS R7-97.
    assert main(["calibrate", "boil", "--pressure", "941", "--port", virtual.port]) == 0
    shown = capsys.readouterr()
    assert "scald" in shown.err
    assert column(shown.out, "true") == 97.91
    uncorrected_boil = column(shown.out, "probe, uncorrected")
    assert column(shown.out, "shown before") == pytest.approx(uncorrected_boil - uncorrected_ice, abs=0.011)
    assert column(shown.out, "shown now") == pytest.approx(97.91, abs=0.02)
    ice, boil = stored(virtual)["points"]
    assert (ice["shown_centi"], ice["true_centi"], ice["how"]) == (round(uncorrected_ice * 100), 0, "ice water")
    assert (boil["shown_centi"], boil["true_centi"], boil["how"]) == (
        round(uncorrected_boil * 100), 9791, "boiling water, 941.0 hPa",
    )  # fmt: skip
    # Taken again by altitude, the point of boiling water is replaced and that of ice stays. 650 m: 97.81 degC.
    assert main(["calibrate", "boil", "--altitude", "650", "--port", virtual.port]) == 0
    shown = capsys.readouterr()
    assert "weather" in shown.err
    assert column(shown.out, "true") == 97.81
    assert [point["true_centi"] for point in stored(virtual)["points"]] == [0, 9781]
    assert main(["calibrate", "show", "--json", "--port", virtual.port]) == 0
    assert json.loads(capsys.readouterr().out)["calibration"] == stored(virtual)
    assert main(["calibrate", "show", "--port", virtual.port]) == 0
    assert "boiling water, altitude 650 m" in capsys.readouterr().out
    assert main(["calibrate", "clear", "--port", virtual.port]) == 0
    assert "it had a line" in capsys.readouterr().out
    assert stored(virtual) is None


def test_in_the_unit_of_the_plan_on_the_board(virtual, capsys):
    with Board.connect(virtual.port) as board:
        board.define_plan(to_json(tomllib.loads(starter("skillet", "F"))))
    virtual.probe(0.9)
    assert main(["calibrate", "ice", "--port", virtual.port]) == 0
    shown = capsys.readouterr()
    assert "It is 32.00 °F (ice water)" in shown.err
    assert column(shown.out, "true") == 32
    before = column(shown.out, "shown before")
    # 0.6 to 0.95 degC: the chip's steps, cut off below.
    assert 33.0 <= before <= 33.8
    assert f"{before - 32:+.2f} °F" in shown.out
    assert column(shown.out, "shown now") == pytest.approx(32, abs=0.04)
    assert f"an offset of {32 - before:+.2f} °F" in shown.out
    assert main(["calibrate", "show", "--port", virtual.port]) == 0
    assert f"{before:.2f} °F was 32.00 °F: ice water" in capsys.readouterr().out
    virtual.probe(21.0)
    assert main(["calibrate", "ice", "--patience", "0.02", "--port", virtual.port]) == 1
    assert re.search(r"the probe shows (69\.[3-9]|70\.0) °F, and 32\.0 °F is expected", capsys.readouterr().err)
    assert stored(virtual)["points"][0]["true_centi"] == 0


def test_beyond_the_probes_tolerance(virtual, capsys):
    virtual.probe(4.0)
    assert main(["calibrate", "ice", "--port", virtual.port]) == 1
    said = capsys.readouterr().err
    for words in ("a sound type K probe is within 2.50", "not stirred", "wires are swapped", "Nothing was stored"):
        assert words in said
    assert stored(virtual) is None


def test_probe_that_lies_elsewhere(virtual, capsys):
    virtual.probe(21.0)
    assert main(["calibrate", "ice", "--patience", "0.02", "--port", virtual.port]) == 1
    said = capsys.readouterr().err
    # The twin cuts off below a step of 0.25 degC.
    assert re.search(r"the probe shows (20\.[89]|21\.0) °C, and 0\.0 °C is expected", said), said


def test_reading_that_never_holds_still(virtual, capsys):
    virtual.set_speed(8)  # the hand must keep up with it on a busy computer
    stop = threading.Event()

    def sway():
        while not stop.is_set():
            virtual.probe(3.0 * math.sin(virtual.now_ms / 3000))
            time.sleep(HAND_S)

    hand = threading.Thread(target=sway)
    hand.start()
    try:
        assert main(["calibrate", "ice", "--patience", "0.1", "--port", virtual.port]) == 1
    finally:
        stop.set()
        hand.join()
    assert "the reading still moves" in capsys.readouterr().err
    assert stored(virtual) is None


def test_faulty_probe(virtual, capsys):
    virtual.fault("open")
    time.sleep(0.2)
    assert main(["calibrate", "boil", "--altitude", "0", "--port", virtual.port]) == 1
    assert "thermocouple open. Look for a loose screw terminal" in capsys.readouterr().err


def test_not_in_a_roast(virtual, capsys):
    with Board.connect(virtual.port) as board:
        while read_moment(board).measured_c is None:
            time.sleep(0.02)
        board.client.command("PROGram:STATe RUN")
    for words in (["ice"], ["lag"], ["clear"]):
        assert main(["calibrate", *words, "--port", virtual.port]) == 1
        assert "a roast runs" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--altitude", "9000"], "must be -450 to 5500 metres"),
        (["--pressure", "29.92"], "as in 24.9inHg"),
    ],
)
def test_impossible_places(words, said, capsys):
    assert main(["calibrate", "boil", *words]) == 1
    assert said in capsys.readouterr().err


def test_plunge(capsys, monkeypatch):
    lag_s = 6.0
    with VirtualBoard(speed=8) as virtual:
        virtual.probe(1.0)
        plunged_ms = math.inf
        stop = threading.Event()

        def told(text):
            nonlocal plunged_ms
            note(text)
            if "Now plunge" in text:
                plunged_ms = virtual.now_ms + 3000

        monkeypatch.setattr(calibrate_lag, "note", told)

        def plunge():
            """A tip with this lag, held in ice water until the person has heard the word, then in boiling water."""
            while not stop.is_set():
                since_s = max(0.0, (virtual.now_ms - plunged_ms) / 1000)
                virtual.probe(98.0 - 97.0 * math.exp(-since_s / lag_s))
                time.sleep(HAND_S)

        hand = threading.Thread(target=plunge)
        hand.start()
        try:
            assert main(["calibrate", "lag", "--port", virtual.port]) == 0
            assert "--store stores it" in capsys.readouterr().out
            with Board.connect(virtual.port) as board:
                assert read_settings(board).lag_ms == 0, "stored without being asked to"
            plunged_ms = math.inf
            assert main(["calibrate", "lag", "--store", "--port", virtual.port]) == 0
        finally:
            stop.set()
            hand.join()
        shown = capsys.readouterr()
        assert "Now plunge" in shown.err
        assert "Among beans and in moving air it is longer" in shown.out
        with Board.connect(virtual.port) as board:
            kept = read_settings(board)
        # A reading is up to a sample and a poll old, a fraction of a second either way.
        assert kept.lag_ms / 1000 == pytest.approx(lag_s, rel=0.08)
        assert kept.lag_in_force_ms == kept.lag_ms
