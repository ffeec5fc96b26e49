"""The power campaign in its short form: a short roast and all else that is kept, each change of the flash cut in every way."""

import importlib.util
from pathlib import Path

import pytest

PLACE = Path(__file__).parent / "power" / "run_power.py"
SPEC = importlib.util.spec_from_file_location("run_power", PLACE)
assert SPEC is not None
assert SPEC.loader is not None
run_power = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(run_power)

CUTS = 120
SECONDS = 20
MOST_LOST_MS = 5000


def test_short_campaign():
    try:
        result = run_power.run(CUTS, 7, SECONDS)
    except run_power.NoInterpreter as error:
        pytest.skip(str(error))
    assert result["problem_count"] == 0, "\n".join(result["problems"])
    assert result["cuts"] >= CUTS
    assert all(count > 30 for count in result["by_cut"].values()), result["by_cut"]
    assert [phase["phase"] for phase in result["phases"]] == [
        "roast", "plan upload", "settings change", "trip", "popper's rest", "confirming", "dropping",
    ]  # fmt: skip
    assert all(phase["cuts"] > 0 for phase in result["phases"])
    assert 0 < result["worst_lost_ms"] <= MOST_LOST_MS
    assert result["live_cuts"] == result["changes"] // 4
