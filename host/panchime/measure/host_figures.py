"""The host's figures: how soon a command speaks, how fast a log is read and analysed; each against a peer, in turns."""

import csv
import io
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from panchime.analysis.account import account_of
from panchime.journal.export import write_csv
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.journal.summary import summarise
from panchime.measure.figure import Figure
from panchime.measure.repeats import in_turns
from panchime.measure.sample_roast import pulled_roast
from panchime.records.roast_record import RoastRecord

START_TURNS = 15
READ_TURNS = 15
# `mpremote` is the tool that every MicroPython board is used with; nobody waits for that one.
START_GOAL = 1.5


def started(*module_and_arguments: str, folder: str) -> None:
    """A command from nothing to its end. Raises CalledProcessError when it fails."""
    environment = {**os.environ, "PANCHIME_HOME": folder}
    subprocess.run([sys.executable, "-m", *module_and_arguments], capture_output=True, check=True, env=environment)


def start_figures() -> list[Figure]:
    """Both commands against `mpremote --help`; the journal holds one roast."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        with Journal(Path(folder) / "journal.sqlite") as journal:
            raw = pulled_roast()
            journal.keep("000001.roast", raw, summarise(tell(raw), running=False))
        for arguments in (("--help",), ("roasts",)):
            turns = in_turns(
                lambda told=arguments: started("panchime", *told, folder=folder),  # type: ignore[misc]
                lambda: started("mpremote", "--help", folder=folder),
                START_TURNS,
            )
            how = f"median of {START_TURNS} cold starts, in turns"
            found.append(
                Figure(
                    f"panchime {arguments[0]}, cold", turns.ours_s * 1000, "ms", how, "mpremote --help",
                    turns.ratio.median, turns.ratio.noise, goal=START_GOAL,
                )
            )  # fmt: skip
    return found


def read_as_csv(text: str) -> list[tuple[float, ...]]:
    """The same roast from CSV: every row, every number."""
    rows = csv.reader(io.StringIO(text))
    next(rows)
    return [tuple(float(field) for field in row[:2]) for row in rows if row[0] and row[1]]


def reading_figures() -> list[Figure]:
    """A log told as a story against reading the same roast's CSV, and a roast's whole analysis against its log's reading."""
    raw = pulled_roast()
    text = io.StringIO()
    write_csv(tell(raw), text)
    csv_text = text.getvalue()
    decode = in_turns(lambda: tell(raw), lambda: read_as_csv(csv_text), READ_TURNS)
    story = tell(raw)
    record = RoastRecord(1)
    analysis = in_turns(lambda: account_of(story, record), lambda: tell(raw), READ_TURNS)
    how = f"a roast of {len(story.t_ms)} samples, median of {READ_TURNS}, in turns"
    return [
        Figure("decoding one roast", decode.ours_s * 1000, "ms", how, "its CSV by Python's csv", decode.ratio.median,
               decode.ratio.noise),
        Figure("analysing one roast", analysis.ours_s * 1000, "ms", how, "decoding it", analysis.ratio.median,
               analysis.ratio.noise),
    ]  # fmt: skip


def host_figures() -> list[Figure]:
    return [*start_figures(), *reading_figures()]
