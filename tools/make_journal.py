"""Writes a journal of many invented roasts, to measure and to look at what lists and pages make of it.

    python tools/make_journal.py FOLDER 1000

FOLDER becomes PANCHIME_HOME; it may have some of them already. `python -m panchime.measure.journal_size` measures.
"""

import argparse
import os
import sys
from pathlib import Path

from panchime.data_folder import VARIABLE
from panchime.journal.journal import Journal
from panchime.measure.made_journal import fill

EVERY = 100


def main() -> int:
    parser = argparse.ArgumentParser(description="Writes a journal of many invented roasts.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("count", type=int)
    options = parser.parse_args()
    os.environ[VARIABLE] = str(options.folder)

    def progress(number: int) -> None:
        if sys.stderr.isatty() and (number % EVERY == 0 or number == options.count):
            print(f"\r{number} of {options.count}", end="\n" if number == options.count else "", file=sys.stderr, flush=True)

    with Journal() as journal:
        fill(journal, range(len(journal.entries()) + 1, options.count + 1), progress)
    return 0


if __name__ == "__main__":
    sys.exit(main())
