"""The board's own work, measured on the unix build of MicroPython: instructions, time, heap, the longest pass, the start.

The pins are left out (`on_board/bare_board.py`); what is measured is the firmware, compiled as `panchime install` does.
"""

import statistics
import subprocess
import sys
from collections import defaultdict
from dataclasses import dataclass

from panchime.errors import PanchimeError
from panchime.measure.board_files import SCRIPTS, BoardFiles
from panchime.measure.instructions import count, micropython_script
from panchime.measure.repeats import LEAST_NOISE, Turns, of_turns
from panchime.measure.roast_bench import SAMPLE_MS

PASSES = {"sample": 250, "idle": 1000}
# The count is the same every time; a collection of the heap more or less within it is this share.
COLLECTION_NOISE = 0.015
IDLE_MS = 4  # what the board waits in a pass without work
TURNS = 7
PASS_TURNS = 9
HEAP_SAMPLES = 500


def run_script(script: str, *arguments: str) -> str:
    """What a script of on_board/ prints in MicroPython. Raises PanchimeError when there is none, or it fails."""
    command = micropython_script(SCRIPTS / script, *arguments)
    if command is None:
        raise PanchimeError("there is no MicroPython on this computer: leave out the part 'board'")
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    if run.returncode:
        raise PanchimeError(f"{script} failed: {(run.stdout + run.stderr).strip()[-400:]}")
    return run.stdout


def instructions_a_pass(files: BoardFiles, kind: str) -> float:
    """Of one pass: runs of N and of 2N passes, the one subtracted from the other, so that the start cancels."""
    passes = PASSES[kind]
    once, twice = (
        count(SCRIPTS / "passes.py", str(files.firmware), str(files.frames), files.flash(), kind, str(times * passes))
        for times in (1, 2)
    )
    return (twice - once) / passes


def times_a_pass(files: BoardFiles, kind: str) -> Turns:
    """Seconds of one pass on MicroPython, in turns with the same firmware, from source, on CPython."""
    passes = PASSES[kind]
    ours, theirs = [], []
    for _ in range(TURNS):
        arguments = (str(files.frames), files.flash(), kind, str(passes))
        ours.append(float(run_script("passes.py", str(files.firmware), *arguments)) / passes / 1e6)
        arguments = (str(files.frames), files.flash(), kind, str(passes))
        run = subprocess.run(
            [sys.executable, "-B", str(SCRIPTS / "passes.py"), str(files.sources), *arguments],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        theirs.append(float(run.stdout) / passes / 1e6)
    return of_turns(ours, theirs)


@dataclass(frozen=True)
class HeapTaken:
    """Bytes: the most of one sample from frame to relay and log, mean and most of a pass with a sample, mean of one without."""

    in_path: int
    mean: float
    most: int
    idle: float


def heap_taken(files: BoardFiles) -> HeapTaken:
    """What a roast takes from the heap. Python's own frames, which come and go, are not in it."""
    told = run_script("heap.py", str(files.firmware), str(files.frames), files.flash(), str(HEAP_SAMPLES)).split()
    return HeapTaken(int(told[0]), float(told[1]), int(told[2]), float(told[3]))


@dataclass(frozen=True)
class LongestPass:
    """Seconds of the longest pass, how many usual passes with a sample that is, and the noise of this."""

    longest_s: float
    usual: float
    noise: float


def longest_passes(files: BoardFiles) -> dict[str, LongestPass]:
    """While a log is pulled in a roast ("pull"), and while a plan is sent ("plan").

    Each run does the very same passes; the least of a pass over all runs is what the firmware needs, the rest is the computer.
    """
    runs: dict[str, list[list[float]]] = defaultdict(list)
    for _ in range(PASS_TURNS):
        times: dict[str, list[float]] = defaultdict(list)
        told = run_script(
            "longest_pass.py", str(files.firmware), str(files.frames), files.flash(), str(files.log), str(files.plan)
        )
        for line in told.splitlines():
            name, microseconds = line.split()
            times[name].append(int(microseconds) / 1e6)
        for name, found in times.items():
            runs[name].append(found)
    usual = runs.pop("usual")
    return {name: longest(found, usual) for name, found in runs.items()}


def longest(runs: list[list[float]], usual_runs: list[list[float]]) -> LongestPass:
    """Of runs with the same passes each: the longest pass by its least time, against the median of usual passes by theirs.

    The noise is how far the two halves of the runs lie apart.
    """
    half = len(runs) // 2
    parts = (slice(None), slice(half), slice(half, None))
    usual = [statistics.median(least_times(usual_runs[part])) for part in parts]
    ratios = [max(least_times(runs[part])) / usual_s for part, usual_s in zip(parts, usual, strict=True)]
    longest_s = max(least_times(runs))
    return LongestPass(longest_s, ratios[0], max(LEAST_NOISE, (max(ratios) - min(ratios)) / ratios[0]))


def least_times(runs: list[list[float]]) -> list[float]:
    """The least time of each pass over all runs."""
    return [min(times) for times in zip(*runs, strict=True)]


def instructions_to_guard(files: BoardFiles) -> int:
    """From the interpreter's start to the first reading that is trusted and judged, less the interpreter's own start."""
    whole = count(SCRIPTS / "power_on.py", str(files.firmware), str(files.frames), files.flash(), str(SAMPLE_MS))
    return whole - count(SCRIPTS / "nothing.py", str(files.firmware), str(files.frames), files.flash())


def ms_to_guard(files: BoardFiles) -> int:
    """From the loop's start to the first reading that is trusted and judged, by the board's clock: computing takes no time."""
    return int(run_script("power_on.py", str(files.firmware), str(files.frames), files.flash(), str(IDLE_MS)))
