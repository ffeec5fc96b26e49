"""How a growing journal slows things down: list, one roast, the roasts of one plan, the pages of all; and the memory for those.

    python -m panchime.measure.journal_size [SIZE ...]

A thousand roasts are made by the board's own encoder; larger journals hold them again and again, under other boots and days
(the heads of their logs still name the first ones', which nothing measured here asks for).
"""

import math
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from panchime.data_folder import VARIABLE
from panchime.journal.journal import Journal
from panchime.measure.figure import Figure
from panchime.measure.made_journal import DAY_MS, FIRST_UTC_MS, fill
from panchime.measure.process_peak import Run, run
from panchime.records.records import Records

SIZES = (100, 1_000, 10_000, 100_000)
MADE = 1_000  # more are copies
MOST_PAGES = 10_000  # pages of more take minutes
TURNS = 3
NOISE = 0.4  # what else the computer does
PROMISED = 10_000  # roasts; for so many the goals are
COMMAND_S, PAGES_S, MEMORY_MB = 0.5, 30.0, 500.0
TENTH = "the same with a tenth of the roasts"


def make_journal(folder: Path, size: int) -> None:
    """A journal of so many roasts."""
    folder.mkdir(parents=True)
    with Journal(folder / "journal.sqlite") as journal:
        fill(journal, range(1, min(size, MADE) + 1))
        columns = [row["name"] for row in journal.database.rows("PRAGMA table_info(roasts)") if row["name"] != "number"]
        with journal.database.transaction():
            for more in range(MADE, size, MADE):
                utc_ms = f"{FIRST_UTC_MS} + (boot + {more}) * {DAY_MS}"
                moved = {"boot": f"boot + {more}", "head_utc_ms": utc_ms, "when_from_utc_ms": utc_ms, "when_to_utc_ms": utc_ms}
                values = ", ".join(moved.get(column, column) for column in columns)
                journal.database.rows(
                    f"INSERT INTO roasts ({', '.join(columns)}) SELECT {values} FROM roasts WHERE boot <= {MADE} LIMIT ?",
                    (size - more,),
                )


def panchime(home: Path, *arguments: str, watched: bool = False) -> Run:
    """One command over a journal; only when ``watched`` its memory is looked at, which takes a little time itself."""
    return run([sys.executable, "-m", "panchime", *arguments], {**os.environ, VARIABLE: str(home)}, watched)


def list_s(home: Path, size: int) -> float:
    """`panchime roasts`."""
    return statistics.median(panchime(home, "roasts").seconds for _ in range(TURNS))


def show_s(home: Path, size: int) -> float:
    """`panchime show` of a roast in the middle."""
    return statistics.median(panchime(home, "show", str(size // 2)).seconds for _ in range(TURNS))


def filter_s(home: Path, size: int) -> float:
    """The weighed roasts of one method and what was written down about them, of all of them, in a process that runs already."""
    taken = []
    for _ in range(TURNS):
        begin = time.perf_counter()
        with closing(Journal(home / "journal.sqlite")) as journal:
            written = Records(journal).roasts.of_all()
            found = [
                entry for entry in journal.entries() if entry.method == "skillet" and written.get(entry.number) is not None
            ]
        taken.append(time.perf_counter() - begin)
        assert found, "half of the made roasts are weighed, a third are of the skillet"
    return statistics.median(taken)


def pages(home: Path, size: int) -> Run:
    """`panchime report --all` into a new folder."""
    with tempfile.TemporaryDirectory(dir=home) as target:
        return panchime(home, "report", "--all", "-o", target, watched=True)


def exponent(seconds: dict[int, float]) -> float:
    """The slope of the line through the logarithms of the times over those of the sizes: 0 does not grow, 1 grows alike."""
    sizes, times = ([math.log(value) for value in values] for values in (seconds.keys(), seconds.values()))
    return statistics.linear_regression(sizes, times).slope


def growth(name: str, seconds: dict[int, float]) -> Figure:
    """The exponent; what is held is how many times as long ten times as many take."""
    slope = exponent(seconds)
    how = "slope in log-log over " + ", ".join(f"{size:,}" for size in seconds)
    return Figure(f"{name}: growth", slope, "exponent", how, TENTH, 10**slope, noise=NOISE)


def figures(sizes: tuple[int, ...] = SIZES) -> list[Figure]:
    """Every measurement at every size, and how it grows."""
    commands: dict[str, tuple[Callable[[Path, int], float], float | None]] = {
        "panchime roasts": (list_s, COMMAND_S),
        "panchime show": (show_s, COMMAND_S),
        "roasts of one method with their records": (filter_s, None),
    }
    taken: dict[str, dict[int, float]] = {name: {} for name in (*commands, "panchime report --all")}
    found: list[Figure] = []
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            home = Path(folder) / str(size)
            make_journal(home, size)
            promised = size <= PROMISED
            for name, (measure, goal) in commands.items():
                seconds = taken[name][size] = measure(home, size)
                how = f"median of {TURNS}"
                found.append(
                    Figure(f"{name}, {size:,} roasts", seconds, "s", how, noise=NOISE, goal=goal if promised else None)
                )
            if size <= MOST_PAGES:
                done = pages(home, size)
                taken["panchime report --all"][size] = done.seconds
                name = f"panchime report --all, {size:,} roasts"
                found.append(Figure(name, done.seconds, "s", "once", noise=NOISE, goal=PAGES_S))
                if done.peak_bytes is not None:
                    megabytes = done.peak_bytes / 1e6
                    how = "all its processes, Linux's Pss"
                    found.append(Figure(f"{name}: memory", megabytes, "MB", how, noise=0.2, goal=MEMORY_MB))
    return found + [growth(name, seconds) for name, seconds in taken.items() if len(seconds) > 1]


def main() -> int:
    """Measures and prints a table."""
    for figure in figures(tuple(int(size) for size in sys.argv[1:]) or SIZES):
        print(f"{figure.name:<60}{figure.value:>10.3f} {figure.unit}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
