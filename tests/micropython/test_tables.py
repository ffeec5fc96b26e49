"""Every table of cases for the pure firmware modules, on the real MicroPython."""

import subprocess
from pathlib import Path

import pytest

from panchime.virtual.interpreter import micropython_command

ROOT = Path(__file__).parent.parent.parent
CASES = ROOT / "tests" / "cases"


@pytest.mark.parametrize("file", sorted(CASES.glob("cases_*.py")), ids=lambda file: file.stem[6:])
def test_tables(file, request):
    command = micropython_command()
    if command is None:
        pytest.skip("no MicroPython interpreter for this machine")
    run = subprocess.run(
        [*command, str(CASES / "run_tables.py"), file.stem, str(ROOT / "firmware"), str(CASES)],
        capture_output=True,
        text=True,
        timeout=300,
    )
    failures = [line for line in run.stdout.splitlines() if line.startswith("FAIL")]
    assert not failures, "\n".join(failures[:20])
    assert run.returncode == 0, run.stdout[-2000:] + run.stderr[-2000:]
    last = run.stdout.splitlines()[-1]
    assert last.startswith("ran "), last
    assert int(last[4:]) > 0
