"""The log's part of the path from frame to relay allocates nothing, not even when its buffer overflows."""

import subprocess
from pathlib import Path

import pytest

from panchime.virtual.interpreter import micropython_command

ROOT = Path(__file__).parent.parent.parent


def test_feeding_the_log_allocates_nothing(tmp_path):
    command = micropython_command()
    if command is None:
        pytest.skip("no MicroPython interpreter for this machine")
    script = str(Path(__file__).parent / "heap_lock_log.py")
    run = subprocess.run([*command, script, str(ROOT / "firmware"), str(tmp_path)], capture_output=True, text=True, timeout=60)
    assert run.returncode == 0, run.stdout + run.stderr
    words = run.stdout.split()
    assert words[0] == "seals"
    assert int(words[1]) > 10
    assert int(words[3]) > 0, "the buffer never overflowed: the test shows less than it says"
