"""The tables in the documentation are those of the firmware."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent


@pytest.mark.parametrize("tool", ["build_reference.py", "build_sound_pages.py", "build_trip_table.py"])
def test_pages_are_up_to_date(tool):
    run = subprocess.run([sys.executable, str(ROOT / "tools" / tool), "--check"], capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr
