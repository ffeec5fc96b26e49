"""How many machine instructions a MicroPython script takes, by valgrind's callgrind: the same number every time.

They are the desktop build's instructions on this computer's processor, so they compare one firmware with another and say
nothing of a Pico's microseconds.
"""

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from panchime.errors import PanchimeError
from panchime.virtual.interpreter import micropython_command

# The board's heap is 190 to 230 KB; on a 64-bit computer everything in it takes twice the room.
HEAP = "480k"


def micropython_script(script: Path, *arguments: str) -> list[str] | None:
    """The command that runs a script in MicroPython with a heap like the board's; None where there is no interpreter."""
    command = micropython_command()
    return None if command is None else [*command, "-X", f"heapsize={HEAP}", str(script), *arguments]


def can_count() -> bool:
    """Whether there is a valgrind here, and a MicroPython."""
    return shutil.which("valgrind") is not None and micropython_command() is not None


def count(script: Path, *arguments: str) -> int:
    """Instructions of a whole run, start-up and all. Raises PanchimeError when the run fails; only where `can_count`."""
    command = micropython_script(script, *arguments)
    assert command is not None, "can_count has said that there is an interpreter"
    with tempfile.TemporaryDirectory(prefix="panchime-count-") as scratch:
        run = subprocess.run(
            ["valgrind", "--tool=callgrind", f"--callgrind-out-file={Path(scratch) / 'out'}", *command],
            env={**os.environ, "PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            text=True,
            check=False,
        )
    told = re.search(r"Collected : (\d+)", run.stderr)
    if run.returncode or told is None:
        raise PanchimeError(f"{script.name} could not be counted: {(run.stdout + run.stderr).strip()[-400:]}")
    return int(told[1])
