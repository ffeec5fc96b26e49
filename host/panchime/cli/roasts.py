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
    parser.add_argument(
        "--verify",
        action="store_true",
        help="list nothing: read the whole journal and say whether each log is as it was kept",
    )


def run(options: argparse.Namespace) -> int:
    """Lists the roasts, or verifies them: then 1 when one is damaged."""
    from panchime.journal.journal import Journal
    from panchime.records.records import Records
    from panchime.terminal.output import console, print_json

    if options.verify:
        return verify(options.json)
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


def verify(as_json: bool) -> int:
    """Reads the whole journal; 1 when something is not as it was kept."""
    from panchime.journal.journal import Journal
    from panchime.journal.verifying import verify as read_all
    from panchime.terminal.output import console, print_json
    from panchime.terminal.safe_text import safe_line

    with Journal() as journal:
        found = read_all(journal.database)
    if as_json:
        print_json({"sound": found.sound, "faults": found.faults})
    else:
        out = console()
        out.print(f"{found.sound} roasts are as they were kept" + (f", {len(found.faults)} faults:" if found.faults else ""))
        for fault in found.faults:
            out.print(f"  {safe_line(fault)}")
        if found.faults:
            out.print("'panchime restore' puts a backup in the journal's place, 'panchime pull --all' pulls what a board has")
    return 1 if found.faults else 0
