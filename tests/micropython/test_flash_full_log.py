"""A full flash on a real littlefs: the roast goes on, and what was held is written when there is room again."""

import subprocess
from pathlib import Path

import pytest

from panchime.virtual.interpreter import micropython_command

ROOT = Path(__file__).parent.parent.parent


def test_flash_fills_up_in_a_roast():
    command = micropython_command()
    if command is None:
        pytest.skip("no MicroPython interpreter for this machine")
    folders = [ROOT / "firmware", ROOT / "tests" / "cases", ROOT / "tests" / "campaigns" / "power"]
    script = Path(__file__).parent / "flash_full_log.py"
    run = subprocess.run([*command, *map(str, [script, *folders])], capture_output=True, text=True, timeout=120)
    assert run.returncode == 0, run.stdout + run.stderr
    refused = int(run.stdout.split()[-1])
    assert refused > 5, "the flash never was full: the test shows less than it says"
