"""The pull-kill campaign in its short form."""

import importlib.util
import os
from pathlib import Path

import pytest

PLACE = Path(__file__).parent / "pull_kill" / "run.py"
SPEC = importlib.util.spec_from_file_location("pull_kill_run", PLACE)
assert SPEC is not None
assert SPEC.loader is not None
pull_kill = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(pull_kill)

KILLS = 6


@pytest.mark.skipif(os.name == "nt", reason="the virtual board's MicroPython needs a pseudo-terminal")
def test_short_campaign():
    try:
        result = pull_kill.campaign(KILLS, 20261125)
    except pull_kill.NoInterpreter as error:
        pytest.skip(str(error))
    assert result["problems"] == []
    assert result["kills"] >= KILLS
    assert result["let_through"] >= 1
