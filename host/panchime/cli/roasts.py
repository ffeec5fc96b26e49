"""`panchime roasts`: the roasts in the journal."""

import argparse


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "roasts",
        help="list the roasts in the journal",
        description="Lists every roast that was ever pulled. Its number is what 'show' and 'export' want.",
    )
    parser.add_argument("--fahrenheit", action="store_true", help="temperatures in degrees Fahrenheit")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Lists the roasts."""
    from panchime.journal.journal import Journal
    from panchime.records.records import Records
    from panchime.terminal.output import console, print_json

    with Journal() as journal:
        records = Records(journal)
        entries = records.entries()
        said = {number: record.said_when for number, record in records.roasts.of_all().items() if record.said_when}
    if options.json:
        from panchime.journal.as_json import entry_as_json

        print_json([entry_as_json(entry) for entry in entries])
        return 0
    if not entries:
        print("The journal is empty. 'panchime pull' fetches the roasts of a board.")
        return 0
    from panchime.terminal.roast_list import roast_table

    console().print(roast_table(entries, "F" if options.fahrenheit else "C", said))
    return 0
