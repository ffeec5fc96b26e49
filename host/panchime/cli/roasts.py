"""`panchime roasts`: the roasts in the journal."""

import argparse

NEWEST = 50  # a terminal shows no more at a glance, and thousands take a while to lay out


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "roasts",
        help="list the roasts in the journal, each with its number",
        description="Lists the roasts that were pulled, the newest last, each in the unit of its own plan; of a long journal "
        f"the newest {NEWEST}. A roast's number is what 'show' and 'export' want.",
    )
    unit = parser.add_mutually_exclusive_group()
    unit.add_argument("--fahrenheit", dest="unit", action="store_const", const="F", help="all in degrees Fahrenheit")
    unit.add_argument("--celsius", dest="unit", action="store_const", const="C", help="all in degrees Celsius")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--all", action="store_true", help="all of them, however many there are")
    which.add_argument("--last", type=positive, metavar="N", help=f"so many of the newest (default: {NEWEST})")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs: all of them unless --last is named")
    parser.add_argument(
        "--verify",
        action="store_true",
        help="list nothing: read the whole journal and say whether each log is as it was kept",
    )


def positive(text: str) -> int:
    """A number of roasts. Raises ArgumentTypeError when it is none."""
    if not text.isascii() or not text.isdigit() or int(text) == 0:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of roasts: write 1 or more")
    return int(text)


def run(options: argparse.Namespace) -> int:
    """Lists the roasts, or verifies them: then 1 when one is damaged."""
    from panchime.journal.journal import Journal
    from panchime.records.kinds import kind_of
    from panchime.records.records import Records
    from panchime.records.roast_record import RoastRecord
    from panchime.terminal.output import console, print_json

    if options.verify:
        return verify(options.json)
    last = options.last if options.json or options.last else None if options.all else NEWEST
    with Journal() as journal:
        records = Records(journal)
        entries = records.entries(last)
        earlier = journal.count() - len(entries)
        written = records.roasts.of_all(entries[0].number) if entries else {}
        said = {number: record.said_when for number, record in written.items() if record.said_when}
        kinds = {entry.number: kind_of(entry, written.get(entry.number) or RoastRecord(entry.number)) for entry in entries}
    if options.json:
        from panchime.journal.as_json import entry_as_json

        print_json([entry_as_json(entry) | {"kind": kinds[entry.number]} for entry in entries])
        return 0
    if not entries:
        print("The journal is empty. 'panchime pull' fetches the roasts of a board.")
        return 0
    from panchime.terminal.roast_list import roast_table

    console().print(roast_table(entries, options.unit, said, kinds))
    if earlier:
        print(f"{earlier} earlier: 'panchime roasts --all' lists all, 'panchime report --all' writes a list to search and sort")
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
