"""Frame, correction, filter and rate allocate nothing: the real interpreter runs them with its heap locked."""

import subprocess
from pathlib import Path

import pytest

from panchime.virtual.interpreter import micropython_command

HERE = Path(__file__).parent
FIRMWARE = HERE.parent.parent / "firmware"


def test_frame_to_rate_with_the_heap_locked():
    command = micropython_command()
    if command is None:
        pytest.skip("no MicroPython interpreter for this machine")
    run = subprocess.run(
        [*command, str(HERE / "heap_lock_temperature.py"), str(FIRMWARE)], capture_output=True, text=True, timeout=120
    )
    assert run.returncode == 0, run.stdout + run.stderr
    lines = run.stdout.splitlines()
    assert lines[-1] == "locked 12", run.stdout
    for line in lines[:-1]:
        chip, letter, count = line.split()
        # Every one of the 700 frames is a good reading, and the rate was ready and not zero.
        assert count == "700", f"{chip} {letter}: {count} good readings"
