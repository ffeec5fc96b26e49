"""`panchime restore`: put a backup in the journal's place."""

import argparse
from pathlib import Path


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "restore",
        help="put a backup in the journal's place",
        description="Reads the whole backup first and restores nothing that is damaged. A journal that is there is never "
        "overwritten: with --force it is kept beside the restored one, under a name with the time in it.",
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="what 'panchime backup' wrote")
    parser.add_argument("--force", action="store_true", help="also when there is a journal: it is kept under another name")


def run(options: argparse.Namespace) -> int:
    """Restores."""
    from panchime.data_folder import journal_file
    from panchime.journal.copying import restore

    found, kept = restore(options.file, journal_file(), options.force)
    print(f"{found.sound} roasts are in the journal again, each as it was kept")
    if kept is not None:
        print(f"the journal of until now is kept at {kept}")
    return 0
