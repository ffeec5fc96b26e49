"""A command from its start to its end: how long it took, and the most memory that it and its helpers held at one time."""

import os
import subprocess
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

EVERY_S = 0.2
PROCESSES = Path("/proc")


@dataclass(frozen=True)
class Run:
    """``peak_bytes``: of memory that is in use, shared pages counted once; None when it was not looked at or is not told."""

    seconds: float
    peak_bytes: int | None


def run(command: Sequence[str], environment: dict[str, str], watched: bool) -> Run:
    """Runs a command without showing what it prints; only a ``watched`` one has its memory looked at.

    Raises CalledProcessError when it fails.
    """
    begin = time.perf_counter()
    # A session of its own: by that its helpers are found, too.
    process = subprocess.Popen(
        command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )
    peak = 0
    while True:
        peak = max(peak, session_bytes(process.pid)) if watched else 0
        try:
            status = process.wait(EVERY_S if watched else None)
            break
        except subprocess.TimeoutExpired:
            continue
    seconds = time.perf_counter() - begin
    if status:
        raise subprocess.CalledProcessError(status, command)
    return Run(seconds, peak or None)


def session_bytes(session: int) -> int:
    """The memory of every process of a session, by Linux's /proc (proc(5), Pss of smaps_rollup); 0 where there is none."""
    total = 0
    for folder in PROCESSES.glob("[0-9]*"):
        try:
            if os.getsid(int(folder.name)) == session:
                rollup = (folder / "smaps_rollup").read_text()
                total += sum(int(line.split()[1]) * 1024 for line in rollup.splitlines() if line.startswith("Pss:"))
        except OSError:  # it has ended in the meantime
            continue
    return total
