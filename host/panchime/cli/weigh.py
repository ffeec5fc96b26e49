"""`panchime weigh N`: what went in, what came out, what was lost."""

import argparse


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "weigh",
        help="write down a roast's weights, and see what it lost",
        description="Shows the loss in percent and whether it is plausible. Without weights it shows what is written down.",
    )
    parser.add_argument("number", type=int, metavar="N", help="the roast's number in 'panchime roasts'")
    parser.add_argument("--green", metavar="WEIGHT", help="green beans that went in: 90, 90g, 3.2oz")
    parser.add_argument("--roasted", metavar="WEIGHT", help="roasted beans that came out")
    parser.add_argument("--lot", metavar="NAME", help="the green lot, which is counted down ('panchime beans')")
    parser.add_argument("--unit", choices=("g", "oz", "lb"), default="g", help="the unit of weights that name none")
    parser.add_argument("--forget", action="store_true", help="forget the weights and the lot of this roast")
    parser.add_argument("--json", action="store_true", help="the roast's record as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Writes the weights down and shows them."""
    from panchime.journal.journal import Journal
    from panchime.records.records import Records
    from panchime.records.weights import weight_mg
    from panchime.terminal.output import print_json

    with Journal() as journal:
        records = Records(journal)
        journal.entry(options.number)
        if options.forget:
            records.roasts.forget(options.number, ("green_mg", "roasted_mg", "lot"))
        lot = records.lots.named(options.lot) if options.lot is not None else None
        green_mg = weight_mg(options.green, options.unit, "--green") if options.green is not None else None
        roasted_mg = weight_mg(options.roasted, options.unit, "--roasted") if options.roasted is not None else None
        if lot or green_mg or roasted_mg:
            refuse_without_beans(records.kind(options.number), options.number, roasted_mg)
            records.roasts.say(options.number, green_mg=green_mg, roasted_mg=roasted_mg, lot=lot)
        record = records.of(options.number)
        stock = records.lots.stock(record.lot) if record.lot else None
    if options.json:
        from panchime.records.as_json import record_as_json

        print_json(record_as_json(record))
        return 0
    if not (record.green_mg or record.roasted_mg or record.lot):
        print(f"Roast {options.number} was not weighed: 'panchime weigh {options.number} --green 90 --roasted 76.5' does it.")
        return 0
    from datetime import date

    from panchime.terminal.lot_table import outlook
    from panchime.terminal.output import console
    from panchime.terminal.record_screen import weights_words
    from panchime.terminal.safe_text import safe_line

    out = console()
    if record.green_mg or record.roasted_mg:
        out.print(f"Roast {options.number}: {weights_words(record, options.unit)}")
    if stock:
        left = outlook(stock, options.unit)
        out.print(f"of {safe_line(stock.lot.name)}" + (f", enough for {left}" if left else ""))
        for warning in stock.warnings(date.today()):
            out.print(warning)
    return 0


def refuse_without_beans(kind: str, number: int, roasted_mg: int | None) -> None:
    """Raises PanchimeError for a run that no beans were in: its weights would be counted among beans and costs."""
    from panchime.errors import PanchimeError
    from panchime.records.kinds import NO_BEANS, PROOF

    if kind == PROOF:
        raise PanchimeError(
            f"number {number} is a proof of the cutoff, no roast: beans and costs are counted of roasts only. "
            "'panchime roasts' lists them by number"
        )
    if kind == NO_BEANS and not roasted_mg:
        raise PanchimeError(
            f"no beans went in, by the log of roast {number}, so nothing is counted. If they did: "
            f"'panchime note {number} --mark \"beans in\" 1:30' says when, or give the roasted weight too"
        )
