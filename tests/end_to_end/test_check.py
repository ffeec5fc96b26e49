"""`panchime check` on the unchanged firmware: what is well, and what it finds when something is not."""

import json
import time

import pytest

from panchime.cli.main import main
from panchime.link.board import Board
from panchime.link.probe import store_calibration
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

NAMES = (
    "board", "probe", "reading", "noise", "cold junction", "amplifier", "thermocouple", "calibration", "probe lag",
    "rate window", "memory", "clock", "plan", "cutoff", "self-test",
)  # fmt: skip
SETTLED_S = 1.8  # the board has read its amplifier by then


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))


def checked(virtual, capsys, *words):
    status = main(["check", "--seconds", "1", "--json", "--port", virtual.port, *words])
    found = json.loads(capsys.readouterr().out)
    assert (status == 0) == found["well"]
    return found, {line["name"]: line for line in found["lines"]}


def wrong(lines):
    return sorted(name for name, line in lines.items() if not line["well"])


def test_everything_is_well(capsys):
    with VirtualBoard(speed=1) as virtual:
        time.sleep(SETTLED_S)
        found, lines = checked(virtual, capsys)
        assert tuple(lines) == NAMES
        assert wrong(lines) == []
        assert found["board"]["serial"] == virtual.world.settings.board_id
        assert lines["reading"]["found"] == "20.00 °C"
        assert lines["calibration"]["found"] == "no calibration"
        with Board.connect(virtual.port) as board:
            store_calibration(
                board, {"points": [{"shown_centi": 40, "true_centi": 0, "how": "ice water", "date": "2020-01-01"}]}
            )
        lines = checked(virtual, capsys)[1]
        assert lines["calibration"]["found"] == "an offset of -0.40 °C"
        assert "days old: take it again" in lines["calibration"]["words"]
        assert wrong(lines) == [], "an old calibration is advice, no fault"
        assert main(["check", "--seconds", "1", "--port", virtual.port]) == 0
        shown = capsys.readouterr().out
        assert "Everything is well." in shown
        assert "!!" not in shown
        virtual.fault("open")
        time.sleep(0.6)
        assert wrong(checked(virtual, capsys)[1]) == ["probe", "self-test"]
        assert main(["check", "--seconds", "1", "--port", virtual.port]) == 1
        shown = capsys.readouterr().out
        assert "!! probe" in shown.replace("!!  probe", "!! probe")
        assert "thermocouple open" in shown
        assert "Wrong: probe, self-test." in shown


def test_another_chip_than_the_settings_name(capsys):
    with VirtualBoard(speed=1, chip="MAX6675") as virtual:
        time.sleep(SETTLED_S)
        lines = checked(virtual, capsys)[1]
    assert wrong(lines) == ["probe", "self-test"]
    assert lines["probe"]["found"] == "another amplifier chip answers"
    assert "MAX31855: another amplifier chip answers" in lines["self-test"]["words"]


def test_a_hot_tip_is_not_to_be_touched(capsys):
    with VirtualBoard(speed=1) as virtual:
        time.sleep(SETTLED_S)
        for tip_c, touched in ((44.0, True), (46.0, False), (126.0, False)):
            virtual.probe(tip_c)
            time.sleep(1.5)
            words = checked(virtual, capsys)[1]["reading"]["words"]
            assert ("between two fingers" in words) is touched
            assert ("do not touch" in words) is not touched


def test_the_rate_window_says_of_when_the_rate_tells(capsys):
    with VirtualBoard(speed=1) as virtual:
        time.sleep(SETTLED_S)
        line = checked(virtual, capsys)[1]["rate window"]
    assert line["found"] == "30 s"
    assert line["words"] == "the rate of rise is measured over 30 s, so it tells of about 15 s ago"


def test_noise_and_a_hot_board(capsys):
    with VirtualBoard(speed=1) as virtual:
        virtual.probe(120.0)
        # Spikes in a fifth of the samples, and an amplifier beside the flame.
        virtual.control.ask("spikes", c=6.0, share=0.3)
        virtual.control.ask("cold", c=76.0)
        time.sleep(SETTLED_S)
        lines = checked(virtual, capsys, "--seconds", "4")[1]
    assert wrong(lines) == ["cold junction", "noise"]
    assert "motor" in lines["noise"]["words"]
    assert "move the board away" in lines["cold junction"]["words"]


def test_a_person_of_fahrenheit_is_told_fahrenheit(capsys):
    with VirtualBoard(speed=1) as virtual:
        with Board.connect(virtual.port) as board:
            plan = json.loads(board.plan_json()) | {"unit": "F", "limit": 400, "milestone": []}
            plan.pop("cool_below", None)
            board.define_plan(json.dumps(plan).encode())
        time.sleep(SETTLED_S)
        found, lines = checked(virtual, capsys)
    assert lines["reading"]["found"] == "68.00 °F"
    assert lines["plan"]["words"].startswith("limit 400 °F")
    assert "°C" not in json.dumps(found, ensure_ascii=False)


def test_the_clock_of_a_virtual_board_that_runs_faster_is_not_judged(capsys):
    with VirtualBoard(speed=50) as virtual:
        virtual.wait_until(2500)
        lines = checked(virtual, capsys, "--seconds", "20")[1]
    assert wrong(lines) == []
    # Ever so slow a computer does not make it 50; that it is no clock on the wall is all that is said.
    assert "not judged" in lines["clock"]["words"]
    assert "times as fast as yours" in lines["clock"]["words"]
