"""The README's table is what the committed baseline gives."""

import importlib.util
import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
TOOL = ROOT / "tools" / "build_bench_table.py"


@pytest.fixture(scope="module")
def tool():
    spec = importlib.util.spec_from_file_location("build_bench_table", TOOL)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_readme_is_up_to_date():
    run = subprocess.run([sys.executable, str(TOOL), "--check"], capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr


def test_another_baseline_gives_another_table(tool):
    baseline = json.loads((ROOT / "tests" / "bench-baseline.json").read_text())
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for figure in baseline:
        if figure["name"] == "log of one roast":
            figure["value"] = 987654.0
    changed = tool.with_table(readme, baseline)
    assert "987654" in changed
    # Only what stands between the marks changes.
    assert changed.split(tool.BEGIN)[0] == readme.split(tool.BEGIN)[0]
    assert changed.split(tool.END)[1] == readme.split(tool.END)[1]


def test_a_figure_that_is_gone_is_missed(tool):
    with pytest.raises(KeyError, match="log of one roast"):
        tool.table(
            [{"name": name, "value": 1, "unit": "s", "ratio": None} for name, *_ in tool.ROWS if name != "log of one roast"]
        )
