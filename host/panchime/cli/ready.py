"""`panchime ready`: which roasts are resting, at their best, or past it."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.records.records import Records


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "ready",
        help="see which roasts are resting, at their best, or past it",
        description="Whole beans peak between 7 and 14 days after the roast, some up to 21; ground coffee fades within "
        "days (common practice, no source). Set your own windows by lot or by degree. Runs that made no coffee (a proof of the "
        "cutoff, one without beans, one in which the alarm sounded) do not rest: '--all' names them, and 'panchime weigh N "
        "--roasted 76.5' says that one was coffee after all.",
    )
    parser.add_argument("--all", action="store_true", help="also what is used up, long past, or no coffee")
    parser.add_argument("--used", nargs=2, metavar=("N", "WEIGHT"), help="so much of roast N was used: 12 30, or 12 all")
    window = parser.add_argument_group("windows", "the first and the last day of the best, counted from the roast")
    window.add_argument("--window", nargs=2, type=int, metavar=("FROM", "TO"), help="set it: 7 14")
    window.add_argument("--usual", action="store_true", help="take the window back that was set")
    which = window.add_mutually_exclusive_group()
    which.add_argument("--lot", metavar="NAME", help="of this lot")
    which.add_argument("--degree", metavar="WORDS", help="of this degree")
    parser.add_argument("--ics", metavar="FILE", help="write the days into a calendar file for a phone, - for the screen")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")
    parser.add_argument("--unit", choices=("g", "oz", "lb"), default="g", help="the unit of the weights")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Takes what is said, then shows the list."""
    from datetime import date

    from panchime.journal.journal import Journal
    from panchime.records.readiness import readiness
    from panchime.records.records import Records
    from panchime.records.roast_record import RoastRecord
    from panchime.terminal.output import console, print_json

    with Journal() as journal:
        records = Records(journal)
        take_window(options, records)
        take_use(options, records)
        written = records.roasts.of_all()
        roasts = [
            readiness(entry, written.get(entry.number) or RoastRecord(entry.number), records.settings, date.today())
            for entry in records.entries()
        ]
    shown = [roast for roast in roasts if options.all or roast.is_of_interest]
    if options.ics is not None:
        from panchime.cli.export import write_bytes
        from panchime.records.calendar import calendar_bytes

        write_bytes(options.ics, calendar_bytes(shown), options.force)
        if options.ics != "-":
            known = sum(roast.best_from is not None for roast in shown)
            print(f"{options.ics} is written: {known} {'entry' if known == 1 else 'entries'}. Open it on the phone.")
        return 0
    if options.json:
        from panchime.records.as_json import readiness_as_json

        print_json([readiness_as_json(roast) for roast in shown])
        return 0
    if not shown:
        print("No roast is resting or ready. 'panchime ready --all' shows what is used up, long past or no coffee, too.")
        return 0
    from panchime.terminal.ready_table import ready_table

    console().print(ready_table(shown, options.unit))
    return 0


def take_window(options: argparse.Namespace, records: "Records") -> None:
    """Sets a window, or takes one back."""
    from panchime.errors import PanchimeError
    from panchime.records.readiness import set_window
    from panchime.records.texts import name_of

    if options.window is None and not options.usual:
        if options.lot is not None or options.degree is not None:
            raise PanchimeError("--lot and --degree say whose window is set: add --window FROM TO, or --usual")
        return
    kind, name = "all", ""
    if options.lot is not None:
        kind, name = "lot", records.lots.named(options.lot).name
    elif options.degree is not None:
        kind, name = "degree", name_of(options.degree, "--degree")
    set_window(records.settings, kind, name, None if options.usual else tuple(options.window))


def take_use(options: argparse.Namespace, records: "Records") -> None:
    """Counts the roasted coffee of one roast down."""
    from panchime.errors import PanchimeError
    from panchime.records.weights import weight_mg, weight_words

    if options.used is None:
        return
    text, weight = options.used
    if not text.isdecimal():
        raise PanchimeError(f"--used {text!r} must be a roast's number and a weight, like --used 12 30")
    number = int(text)
    left_mg = records.of(number).left_mg
    if left_mg is None:
        raise PanchimeError(f"roast {number} was not weighed: 'panchime weigh {number} --roasted 76.5' first")
    if left_mg == 0:
        raise PanchimeError(f"nothing is left of roast {number}")
    used_mg = left_mg if weight.lower() == "all" else weight_mg(weight, options.unit, "--used")
    if used_mg > left_mg:
        raise PanchimeError(f"only {weight_words(left_mg)} of roast {number} is left: '--used {number} all' uses it up")
    records.roasts.use(number, used_mg)
