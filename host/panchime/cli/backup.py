"""`panchime backup`: a copy of the whole journal in one file."""

import argparse
from pathlib import Path


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "backup",
        help="copy the whole journal into one file",
        description="Copies every roast as the board recorded it, with everything written down about it, and reads the copy "
        "again. Other 'panchime' commands may run meanwhile. 'panchime restore' is the way back.",
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="the file to write")
    parser.add_argument("--force", action="store_true", help="overwrite the file when it is there")


def run(options: argparse.Namespace) -> int:
    """Backs up; 1 when the journal itself is damaged (the copy is written all the same)."""
    import sys

    from panchime.data_folder import journal_file
    from panchime.journal.copying import back_up
    from panchime.terminal.words import size

    found = back_up(journal_file(), options.file, options.force)
    print(f"{found.sound} roasts are in {options.file} ({size(options.file.stat().st_size)}), read again and as they were kept")
    for fault in found.faults:
        print(f"panchime: in the journal and so in the backup: {fault}", file=sys.stderr)
    return 1 if found.faults else 0
