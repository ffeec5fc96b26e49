"""`panchime virtual` as a process: its ports, its files, its end."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from panchime.virtual.control_client import ControlClient
from panchime.virtual.interpreter import micropython_command

PROGRAM = """
import argparse, sys
from panchime.errors import PanchimeError
from panchime.virtual import command
parser = argparse.ArgumentParser()
command.register(parser.add_subparsers(required=True))
args = parser.parse_args()
try:
    sys.exit(args.run(args))
except PanchimeError as error:
    sys.exit(f"error: {error}")
"""


@pytest.fixture
def start(tmp_path):
    started = []

    def begin(*arguments):
        process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, "virtual", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PANCHIME_HOME": str(tmp_path / "home")},
        )
        started.append(process)
        return process

    yield begin
    for process in started:
        process.kill()
        process.communicate()


def ports_in(file, process):
    end_s = time.monotonic() + 30
    while not file.exists():
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < end_s, "no port file came"
        time.sleep(0.02)
    return json.loads(file.read_text())


@pytest.mark.parametrize("interpreter", ["micropython", "cpython"])
def test_ports_talk_and_ctrl_c_ends_it(start, talk, tmp_path, request, interpreter):
    if interpreter == "micropython" and micropython_command() is None:
        pytest.skip("no MicroPython interpreter for this machine")
    firmware = str(request.path.parent / "tiny_firmware")
    file = tmp_path / "ports.json"
    process = start("--firmware", firmware, "--port-file", str(file), "--interpreter", interpreter)
    ports = ports_in(file, process)
    assert ports["pid"] == process.pid
    assert ports["interpreter"] == interpreter
    found = list((tmp_path / "home" / "virtual").glob("*.json"))
    assert [json.loads(entry.read_text())["port"] for entry in found] == [ports["port"]]
    talker = talk(ports["port"])
    talker.do("r")
    talker.close()
    talk(ports["url"]).do("o")
    control = ControlClient(ports["control"])
    assert [event["on"] for event in control.all_events() if event["what"] == "relay"] == [True, False]
    firmware_pid = control.state()["interpreter_pid"]
    control.close()
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 0, err
    assert ports["port"] in out
    assert ("CPython" in err) == (interpreter == "cpython")
    assert not file.exists()
    assert not list((tmp_path / "home" / "virtual").glob("*.json"))
    assert gone(firmware_pid)


def gone(pid):
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    # A killed child of a killed parent may wait for the system to collect it.
    stat = Path(f"/proc/{pid}/stat")
    return stat.exists() and stat.read_text().rpartition(")")[2].split()[0] == "Z"


@pytest.mark.parametrize("how", ["TERM", "KILL"])
def test_firmware_does_not_outlive_the_command(start, talk, tmp_path, request, how):
    file = tmp_path / "ports.json"
    process = start("--firmware", str(request.path.parent / "tiny_firmware"), "--port-file", str(file))
    ports = ports_in(file, process)
    talk(ports["port"]).do("r")
    control = ControlClient(ports["control"])
    firmware_pid = control.state()["interpreter_pid"]
    control.close()
    process.send_signal(getattr(signal, f"SIG{how}"))
    process.communicate(timeout=30)
    assert file.exists() == (how == "KILL")
    end_s = time.monotonic() + 20
    while not gone(firmware_pid):
        assert time.monotonic() < end_s, "the firmware runs on without a world"
        time.sleep(0.05)


def test_two_boards_do_not_share_a_flash(start, tmp_path, request):
    firmware = str(request.path.parent / "tiny_firmware")
    file = tmp_path / "ports.json"
    first = start("--firmware", firmware, "--port-file", str(file))
    ports_in(file, first)
    second = start("--firmware", firmware)
    _, err = second.communicate(timeout=30)
    assert second.returncode != 0
    assert "--flash" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--speed", "-1"], "--speed"),
        (["--board-id", "xyz"], "--board-id"),
        (["--scenario", "wok-on-the-moon"], "skillet-mild"),
        (["--firmware", "/nowhere"], "main.py"),
        (["--chip", "MAX1"], "MAX31855"),
    ],
)
def test_mistakes_are_said_on_stderr(start, arguments, words):
    process = start(*arguments)
    _, err = process.communicate(timeout=30)
    assert process.returncode == 1
    assert words in err
    assert "Traceback" not in err
