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
    from panchime.journal.story import tell
    from panchime.terminal.output import ascii_only, console, print_json

    with Journal() as journal:
        entry = journal.entry(options.number)
        story = tell(journal.raw(options.number))
    if options.json:
        from panchime.journal.as_json import story_as_json

        print_json(story_as_json(entry, story))
        return 0
    from panchime.terminal.roast_screen import View, roast_screen

    out = console()
    for part in roast_screen(entry, story, View(out.width, out.height, options.unit or story.unit, ascii_only())):
        out.print(part)
    return 0
