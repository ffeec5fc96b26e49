"""`panchime show N`: one roast of the journal in the terminal."""

import argparse


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "show",
        help="draw one roast of the journal: curve, stages, marks",
        description="Draws the curve and the rate of rise, and lists stages, marks, milestones and whatever went wrong.",
    )
    parser.add_argument("number", type=int, metavar="N", help="the roast's number in 'panchime roasts'")
    unit = parser.add_mutually_exclusive_group()
    unit.add_argument("--fahrenheit", dest="unit", action="store_const", const="F", help="in degrees Fahrenheit")
    unit.add_argument("--celsius", dest="unit", action="store_const", const="C", help="in degrees Celsius")
    parser.add_argument("--json", action="store_true", help="everything in the log as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Shows the roast, in its plan's unit unless another is asked for."""
    from panchime.journal.journal import Journal
    from panchime.records.kinds import kind_of
    from panchime.records.records import Records
    from panchime.terminal.output import ascii_only, console, print_json

    with Journal() as journal:
        records = Records(journal)
        entry = records.entry(options.number)
        story = records.story(options.number)
        record = records.of(options.number)
        kind = kind_of(entry, record)
    if options.json:
        from panchime.journal.as_json import story_as_json
        from panchime.records.as_json import record_as_json

        print_json(story_as_json(entry, story) | {"kind": kind, "record": record_as_json(record)})
        return 0
    from panchime.terminal.roast_screen import View, roast_screen

    out = console()
    for part in roast_screen(entry, story, View(out.width, out.height, options.unit or story.unit, ascii_only()), kind):
        out.print(part)
    if not record.is_empty:
        from panchime.terminal.record_screen import record_table

        out.print()
        out.print(record_table(record, options.unit or story.unit, board_when=entry.when))
    return 0
