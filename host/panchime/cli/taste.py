"""`panchime taste N`: how it tasted, in the person's own words and on the person's own scales."""

import argparse


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "taste",
        help="write down how a roast tasted, on your own scales",
        description="Without words or scores it shows the roast's tastings, without N those of every roast.",
    )
    parser.add_argument("number", nargs="?", type=int, metavar="N", help="the roast's number in 'panchime roasts'")
    parser.add_argument("words", nargs="?", metavar="WORDS", help="free words, in quotes")
    parser.add_argument(
        "--score", action="append", default=[], metavar="SCALE=VALUE",
        help="a score on a scale of yours: sweetness=7/10; next time sweetness=8 is out of 10 too",
    )  # fmt: skip
    parser.add_argument("--when", metavar="DAY", default="today", help="the day of the tasting (today if not said)")
    parser.add_argument("--remove", type=int, metavar="K", help="remove tasting K of the roast")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Writes the tasting down, or shows what is there."""
    from panchime.journal.journal import Journal
    from panchime.records.moments import past_day
    from panchime.records.records import Records
    from panchime.records.scores import score_of
    from panchime.records.texts import words_of
    from panchime.terminal.output import console, print_json

    with Journal() as journal:
        records = Records(journal)
        if options.number is not None:
            journal.entry(options.number)
            day = past_day(options.when, "--when")
            scales = records.roasts.scales()
            scores = [score_of(text, scales) for text in options.score]
            words = words_of(options.words, "the tasting") if options.words is not None else ""
            if options.remove is not None:
                records.roasts.remove_tasting(options.number, options.remove)
            if words or scores:
                records.roasts.add_tasting(options.number, day, words, scores)
            found = {options.number: records.of(options.number)}
        else:
            found = records.roasts.of_all()
    tasted = {number: record.tastings for number, record in found.items() if record.tastings}
    if options.json:
        from panchime.records.as_json import tasting_as_json

        print_json(
            [{"number": number} | tasting_as_json(tasting) for number, tastings in tasted.items() for tasting in tastings]
        )
        return 0
    if not tasted:
        which = "No roast" if options.number is None else f"Roast {options.number}"
        print(f"{which} has been tasted yet." if options.number is None else f"{which} has not been tasted yet.")
        return 0
    from panchime.terminal.tasting_table import tasting_table

    console().print(tasting_table(tasted))
    return 0
