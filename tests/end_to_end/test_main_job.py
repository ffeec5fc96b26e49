"""The main job on the unchanged firmware: demonstration, standard SCPI client, mpremote, power cut, button, cutoff."""

import csv
import json
import os
import re
import sqlite3
import subprocess
import sys
import time
import warnings
from dataclasses import replace

import pytest

from panchime.cli.main import main
from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command
from panchime.virtual.roaster.scenario import load_scenario
from panchime_fw import events, sounds, trips
from panchime_fw import plan as plans
from panchime_fw.logreader import decode

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

# After a power-on the first frames tell whether the right chip is wired; a start before that is refused.
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


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def heated_plan(tmp_path):
    file = tmp_path / "heated.toml"
    file.write_text(HEATED_PLAN)
    return file


def wait_for(condition, what, patience_s=30):
    """Polls until it holds; no result depends on how long it takes."""
    end_s = time.monotonic() + patience_s
    while not condition():
        assert time.monotonic() < end_s, f"{what} never came"
        time.sleep(0.02)


def run_mpremote(*arguments):
    command = [sys.executable, "-m", "mpremote", *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=60, stdin=subprocess.DEVNULL)


def kept_raw(home, number=1):
    with sqlite3.connect(home / "journal.sqlite") as journal:
        tables = [name for (name,) in journal.execute("SELECT name FROM sqlite_master WHERE type='table'")]
        assert "roasts" in tables
        (raw,) = journal.execute("SELECT raw FROM roasts ORDER BY rowid LIMIT 1 OFFSET ?", (number - 1,)).fetchone()
    return bytes(raw)


def test_demo_from_plan_to_csv(tmp_path):
    folder = tmp_path / "demo"
    environment = {**os.environ, "COLUMNS": "120", "NO_COLOR": "1"}
    run = subprocess.run(
        [sys.executable, "-m", "panchime", "demo", "--folder", str(folder)],
        capture_output=True, text=True, timeout=120, env=environment,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    heard = [line for line in run.stdout.splitlines() if re.match(r"\s*\d+:\d\d .* SOUND ", line)]
    assert len(heard) >= 6, run.stdout
    assert not [line for line in heard if "in no plan" in line], heard
    relay = [line for line in run.stdout.splitlines() if " RELAY " in line]
    assert ["closes" in line for line in relay] == [True, False]
    with (folder / "roast-1.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert float(rows[-1]["time_s"]) >= 9 * 60
    # The log in the journal against what lies on the board's flash, fetched by another tool.
    with VirtualBoard(flash=folder / "flash.img", keep_firmware=True, speed=1) as board:
        board.wait_until(READY_MS)  # a tool that attaches while the firmware is still being imported breaks into the import
        copied = tmp_path / "copied.roast"
        told = run_mpremote("connect", board.port, "fs", "cp", ":log/000001.roast", str(copied))
        assert told.returncode == 0, told.stdout + told.stderr
    assert copied.read_bytes() == kept_raw(folder)


def test_a_standard_scpi_client(tmp_path):
    pyvisa = pytest.importorskip("pyvisa")
    with VirtualBoard(speed=0, hold_at_ms=3000, scenario="skillet-mild") as board:
        board.press("short", at_ms=1000)
        board.run_until(60000)
        board.set_speed(1)
        board.go()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            instrument = pyvisa.ResourceManager("@py").open_resource(f"ASRL{board.port}::INSTR")
        instrument.read_termination = "\n"
        instrument.timeout = 5000
        assert re.fullmatch(r"Panchime,[^,]+,[0-9A-F]+,\d+\.\d+\.\d+", instrument.query("*IDN?"))
        assert 15 < float(instrument.query("MEAS:TEMP?")) < 120
        assert float(instrument.query("measure:scalar:temperature?")) > 15
        instrument.write("NONSENSE:WORDS 3")
        assert instrument.query("SYST:ERR?").startswith('-113,"Undefined header')
        assert instrument.query("SYSTem:ERRor:NEXT?") == '0,"No error"'
        assert instrument.query("SYST:VERS?") == "1999.0"
        assert instrument.query("*OPC?;*ESE?") == "1;0"
        assert instrument.query("*TST?") == "0"
        name = re.search(r'"(\d+\.roast),BIN,\d+"', instrument.query("MMEM:CAT?")).group(1)
        instrument.read_termination = None
        block = instrument.query_binary_values(f'MMEM:DATA? "{name}"', datatype="B", container=bytes)
        assert block.startswith(b"PANCHIME1\n")
        assert len(block) > 200
        instrument.close()


def test_mpremote_attaches_and_the_relay_opens(heated_plan):
    with VirtualBoard(speed=1) as board:
        assert main(["plan", "send", str(heated_plan), "--port", board.port]) == 0
        board.wait_until(READY_MS)
        board.press("short")
        board.wait_for("relay", on=True)
        assert board.state()["relay"]
        # The armed watchdog bites five seconds after the last feed, as on a board; a slow computer gets more time for them.
        board.set_speed(0.1)
        told = run_mpremote("connect", board.port, "resume", "exec", "print(6*7)")
        assert told.stdout.strip() == "42", told.stdout + told.stderr
        assert not board.state()["relay"]
        listed = run_mpremote("connect", board.port, "fs", "ls")
        assert listed.returncode == 0, listed.stderr
        assert {"boot.py", "main.py", "panchime_fw/", "log/", "state/"} <= set(listed.stdout.split())


def test_power_cut_in_mid_roast_keeps_every_sealed_chunk(tmp_path, own_data_folder, capsys):
    flash = tmp_path / "flash.img"
    with VirtualBoard(flash=flash, speed=0, hold_at_ms=500, scenario="skillet-mild") as board:
        board.press("short", at_ms=1000)
        board.run_until(420_000)
        board.kill9()
    with VirtualBoard(flash=flash, speed=1) as board:
        assert main(["pull", "--port", board.port]) == 0
        capsys.readouterr()
        assert main(["roasts", "--json"]) == 0
    (listed,) = json.loads(capsys.readouterr().out)
    assert listed["state"] == "interrupted"
    log = decode(kept_raw(own_data_folder))
    assert log.problems == []
    assert log.end is None
    last_ms = log.t_ms[-1]
    # At most one unsealed chunk of 19 samples is lost: 4.75 s, and the sample that was due.
    assert 420_000 - 1000 - 5000 <= last_ms <= 420_000


def test_button_alone_start_marks_take_back_stop(own_data_folder):
    with VirtualBoard(speed=0, hold_at_ms=500) as board:
        board.press("short", at_ms=2000)  # starts: the built-in plan preheats
        board.run_until(5000)
        board.press("short", at_ms=6000)  # beans in
        board.run_until(8000)
        board.press("short", at_ms=9000)  # yellow
        board.run_until(11000)
        board.press("double", at_ms=12000)  # taken back
        board.run_until(15000)
        board.set_speed(1)
        board.go()
        with Board.connect(board.socket_url) as link:
            assert [mark.name for mark in link.marks()] == ["beans in"]
            assert link.live().stage == "roasting"
            assert abs(link.marks()[0].roast_ms - 4000) <= 600
            board.press("long")
            wait_for(lambda: link.live().stage == "idle", "the stop")


def test_every_press_is_answered_by_a_sound(tmp_path):
    with VirtualBoard(speed=0, hold_at_ms=500) as board:
        presses = {2000: "long", 6000: "short", 10000: "short", 14000: "double", 18000: "double", 22000: "long"}
        for at_ms, kind in presses.items():
            board.press(kind, at_ms=at_ms)
        board.run_until(26000)
        tones = [event for event in board.events("tone") if event["hz"]]
    expected = [sounds.REFUSED, sounds.STARTED, sounds.TAKEN, sounds.TAKEN_BACK, sounds.REFUSED, sounds.STOPPED]
    assert [event["hz"] for event in tones] == [hz for sound in expected for hz, _, _ in sound]


def test_nobody_presses_and_the_marks_are_found(tmp_path, own_data_folder):
    """The person only starts the board; beans in and beans out come from the curve."""
    scenario = load_scenario("skillet-mild")
    silent = replace(scenario, acts=tuple(replace(act, press="none") for act in scenario.acts))
    with VirtualBoard(speed=0, hold_at_ms=500, scenario=silent) as board:
        board.press("short", at_ms=1000)
        board.run_until(1_300_000)
        acts = {event["act"]: event["t_ms"] for event in board.events("person")}
        board.set_speed(1)
        board.go()
        assert main(["pull", "--port", board.port]) == 0
    log = decode(kept_raw(own_data_folder))
    found = {event[2]: event[4] for event in log.events if event[1] == events.MARK and event[3] == events.FOUND}
    marks = log.head["plan"]["marks"]
    by_name = {marks[index]: at_ms + 1000 for index, at_ms in found.items()}
    assert set(by_name) == {"beans in", "beans out"}
    assert abs(by_name["beans in"] - acts["beans in"]) <= 3000
    assert abs(by_name["beans out"] - acts["beans out"]) <= 10000


@pytest.mark.parametrize(
    ("probe_c", "fault", "reason"),
    [(232.0, None, trips.OVER_LIMIT), (None, "open", trips.SENSOR_FAULT), (None, "absent low", trips.SENSOR_FAULT)],
)
def test_the_cutoff_opens_the_relay_and_says_why(heated_plan, probe_c, fault, reason):
    with VirtualBoard(speed=1) as board:
        assert main(["plan", "send", str(heated_plan), "--port", board.port]) == 0
        board.probe(150.0)
        board.wait_until(READY_MS)
        board.press("short")
        board.wait_for("relay", on=True)
        broken_ms = board.now_ms
        if fault:
            board.fault(fault)
        else:
            board.probe(probe_c)
        opened = board.wait_for("relay", on=False)
        allowed_ms = 2500 if fault else 6000  # a probe takes its own time to come up; the fault rule is one second long
        assert opened["t_ms"] - broken_ms <= allowed_ms
        with Board.connect(board.socket_url) as link:
            assert link.live().trip == reason
            assert link.live().stage == "tripped"
            link.client.command("*RST")
            link.client.command("*CLS")
            assert link.live().trip == reason
            assert not link.live().relay_closed


def test_a_broken_plan_leaves_the_old_one(heated_plan, tmp_path, capsys):
    with VirtualBoard(speed=1) as board:
        assert main(["plan", "send", str(heated_plan), "--port", board.port]) == 0
        broken = heated_plan.read_text().replace("limit = 230", "limit = 412")
        (tmp_path / "broken.toml").write_text(broken)
        assert main(["plan", "send", str(tmp_path / "broken.toml"), "--port", board.port]) == 1
        assert "ceiling" in capsys.readouterr().err
        with Board.connect(board.socket_url) as link:
            # The host refused already; the board itself refuses as well.
            document = plans.compile_plan(json.loads(link.plan_json())).document
            wrong = json.dumps({**document, "limit": 412}).encode()
            with pytest.raises(Exception, match="ceiling"):
                link.define_plan(wrong)
            assert json.loads(link.plan_json()) == document
