"""Every table of cases on the modules as they are compiled for the board: with their constants written out."""

import importlib
import subprocess
from pathlib import Path

import pytest

from panchime.install.constants import folded
from panchime.virtual.interpreter import micropython_command

ROOT = Path(__file__).parent.parent.parent
CASES = ROOT / "tests" / "cases"
FIRMWARE = ROOT / "firmware"

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")


def names_left_out(path: str, text: str) -> str:
    """The constants that are gone, for the cases that ask for them by name; the code above them does not."""
    if path in ("panchime_fw/board.py", "panchime_fw/start.py"):  # they need the hardware, and no case asks for them
        return ""
    module = importlib.import_module(path.removesuffix(".py").removesuffix("/__init__").replace("/", "."))
    numbers = {name: value for name, value in vars(module).items() if name.isupper() and type(value) is int}
    return "\n" + "".join(f"{name} = {value}\n" for name, value in numbers.items())


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("folded")
    names = [path.relative_to(FIRMWARE).as_posix() for path in sorted((FIRMWARE / "panchime_fw").rglob("*.py"))]
    texts = folded({name: (FIRMWARE / name).read_text(encoding="utf-8") for name in names})
    for name, text in texts.items():
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_text(text + names_left_out(name, text), encoding="utf-8")
    return place


@pytest.mark.parametrize("file", sorted(CASES.glob("cases_*.py")), ids=lambda file: file.stem[6:])
def test_tables(file, folder):
    command = [*micropython_command(), str(CASES / "run_tables.py"), file.stem, str(folder), str(CASES)]
    run = subprocess.run(command, capture_output=True, text=True, timeout=300)
    failures = [line for line in run.stdout.splitlines() if line.startswith("FAIL")]
    assert not failures, "\n".join(failures[:20])
    assert run.returncode == 0, run.stdout[-2000:] + run.stderr[-2000:]
    assert int(run.stdout.splitlines()[-1].removeprefix("ran ")) > 0
