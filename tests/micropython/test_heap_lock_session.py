"""The path from reading to relay allocates nothing, on the real interpreter."""

import subprocess
from pathlib import Path

import pytest

from panchime.virtual.interpreter import micropython_command

HERE = Path(__file__).parent
ROOT = HERE.parent.parent


def test_a_whole_roast_and_every_trip_with_the_heap_locked():
    command = micropython_command()
    if command is None:
        pytest.skip("no MicroPython interpreter for this machine")
    run = subprocess.run(
        [*command, str(HERE / "heap_lock_session.py"), str(ROOT / "firmware"), str(ROOT / "tests" / "cases")],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    assert run.stdout.startswith("locked heap: a whole roast and 10 trips")
