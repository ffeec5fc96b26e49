"""Bus, decoder, calibration, filter, lag, cutoff and relay allocate nothing: run by the real interpreter, its heap locked."""

import subprocess
from pathlib import Path

import pytest

from panchime.virtual.interpreter import micropython_command

HERE = Path(__file__).parent
ROOT = HERE.parent.parent


def test_bus_to_relay_with_the_heap_locked():
    command = micropython_command()
    if command is None:
        pytest.skip("no MicroPython interpreter for this machine")
    run = subprocess.run(
        [*command, str(HERE / "heap_lock_chain.py"), str(ROOT / "firmware"), str(ROOT / "tests" / "cases")],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert run.returncode == 0, run.stdout + run.stderr
    word, count, closed, ahead_centi = run.stdout.split()
    assert word == "locked"
    # 0.25 degC a sample is a degree a second: 8.5 s of lag are 8.5 degC, so it ran; and the relay was closed meanwhile.
    assert int(count) > 400, run.stdout
    assert int(closed) > 400, run.stdout
    assert 700 < int(ahead_centi) < 1000, run.stdout
