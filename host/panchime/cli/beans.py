"""`panchime beans`: the green lots."""

import argparse
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from panchime.records.records import Records

TEXTS = ("origin", "process", "crop", "note")


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command and its own commands to the command line."""
    parser = commands.add_parser(
        "beans",
        help="keep the green lots: what was bought, what is left",
        description="Without an ACTION it lists the lots. 'panchime weigh N --green GRAMS --lot NAME' counts them down.",
    )
    add_list_options(parser)
    actions = parser.add_subparsers(dest="action", metavar="ACTION", title="actions")
    add_list_options(actions.add_parser("list", help="list the lots"))
    show = actions.add_parser("show", help="show one lot")
    show.add_argument("name", metavar="NAME", help="the lot's name, or a beginning of it that no other lot has")
    show.add_argument("--json", action="store_true", help="as JSON, for other programs")
    show.add_argument("--unit", choices=("g", "oz", "lb"), default="g", help="the unit of the weights")
    add = actions.add_parser("add", help="write down a new lot")
    add.add_argument("name", metavar="NAME", help="what you call it")
    add_facts(add)
    edit = actions.add_parser("edit", help="change what is written down", description=EDIT_DESCRIPTION)
    edit.add_argument("name", metavar="NAME", help="the lot's name, or a beginning of it that no other lot has")
    edit.add_argument("--name", dest="new_name", metavar="NAME", help="another name")
    add_facts(edit)
    for action, words in (
        ("finish", "say that a lot is used up"),
        ("reopen", "say that a finished lot is not used up after all"),
        ("remove", "forget a lot that no roast was made of"),
    ):
        actions.add_parser(action, help=words).add_argument("name", metavar="NAME", help="the lot's name")


EDIT_DESCRIPTION = 'Changes what is given and leaves the rest. An empty text, like --origin "", forgets it.'


def add_list_options(parser: argparse.ArgumentParser) -> None:
    """The options of the list."""
    # Without SUPPRESS the list's own defaults would undo what stands before ACTION.
    parser.add_argument("--all", action="store_true", default=argparse.SUPPRESS, help="finished lots too")
    parser.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="as JSON, for other programs")
    parser.add_argument("--unit", choices=("g", "oz", "lb"), default=argparse.SUPPRESS, help="the unit of the weights")


def add_facts(parser: argparse.ArgumentParser) -> None:
    """What can be known of a lot."""
    parser.add_argument("--origin", metavar="TEXT", help="country, region, farm")
    parser.add_argument("--process", metavar="TEXT", help="washed, natural, honey ...")
    parser.add_argument("--crop", metavar="YEAR", help="the year of the crop")
    parser.add_argument("--bought", metavar="DAY", help="when it was bought: 2026-11-20, today, yesterday")
    parser.add_argument("--weight", metavar="WEIGHT", help="how much was bought: 1000, 1 kg, 2 lb (grams without a unit)")
    parser.add_argument("--price", metavar="PRICE", help="18.90 EUR for the whole, or 18.90 EUR/kg; in your own currency")
    parser.add_argument("--moisture", metavar="PERCENT", help="moisture in percent")
    parser.add_argument("--density", metavar="G_PER_L", help="density in grams per litre")
    parser.add_argument("--note", metavar="TEXT", help="anything else")


def run(options: argparse.Namespace) -> int:
    """Runs the chosen action."""
    from panchime.journal.journal import Journal
    from panchime.records.records import Records

    actions = {
        None: run_list,
        "list": run_list,
        "show": run_show,
        "add": run_add,
        "edit": run_edit,
        "finish": run_finish,
        "reopen": run_finish,
        "remove": run_remove,
    }
    with Journal() as journal:
        return actions[options.action](options, Records(journal))


def run_list(options: argparse.Namespace, records: "Records") -> int:
    """Lists the lots."""
    from datetime import date

    from panchime.records.as_json import stock_as_json
    from panchime.terminal.output import console, print_json

    every = getattr(options, "all", False)
    stocks = [records.lots.stock(lot) for lot in records.lots.all() if every or lot.finished_utc_ms is None]
    if getattr(options, "json", False):
        print_json([stock_as_json(stock, date.today()) for stock in stocks])
        return 0
    if not stocks:
        print("There are no green lots. 'panchime beans add NAME --weight 1000' writes one down.")
        return 0
    from panchime.terminal.lot_table import lots_table

    console().print(lots_table(stocks, date.today(), getattr(options, "unit", "g")))
    return 0


def run_show(options: argparse.Namespace, records: "Records") -> int:
    """Shows one lot."""
    from datetime import date

    from panchime.records.as_json import stock_as_json
    from panchime.terminal.output import console, print_json

    stock = records.lots.stock(records.lots.named(options.name))
    roasts = records.lots.roasts_of(stock.lot)
    if getattr(options, "json", False):
        print_json(stock_as_json(stock, date.today()) | {"roast_numbers": roasts})
        return 0
    from panchime.terminal.lot_table import lot_card

    console().print(lot_card(stock, roasts, date.today(), getattr(options, "unit", "g")))
    return 0


def run_add(options: argparse.Namespace, records: "Records") -> int:
    """Writes a lot down."""
    from panchime.records.lots import GreenLot
    from panchime.records.texts import name_of
    from panchime.terminal.safe_text import safe_line

    lot = GreenLot(0, name_of(options.name, "the lot's name"), **facts(options))
    records.lots.add(lot)
    print(f"{safe_line(lot.name)} is written down. 'panchime weigh N --green GRAMS --lot NAME' counts it down.")
    return 0


def run_edit(options: argparse.Namespace, records: "Records") -> int:
    """Changes a lot."""
    from dataclasses import replace

    from panchime.records.texts import name_of
    from panchime.terminal.safe_text import safe_line

    changes = facts(options)
    if options.new_name is not None:
        changes["name"] = name_of(options.new_name, "the lot's name")
    lot = replace(records.lots.named(options.name), **changes)
    records.lots.change(lot)
    print(f"{safe_line(lot.name)} is changed.")
    return 0


def run_finish(options: argparse.Namespace, records: "Records") -> int:
    """Says that a lot is used up, or is not."""
    from panchime.terminal.safe_text import safe_line

    lot = records.lots.named(options.name)
    records.lots.finish(lot, options.action == "finish")
    print(f"{safe_line(lot.name)} {'is finished' if options.action == 'finish' else 'is in use again'}.")
    return 0


def run_remove(options: argparse.Namespace, records: "Records") -> int:
    """Forgets a lot."""
    from panchime.terminal.safe_text import safe_line

    lot = records.lots.named(options.name)
    records.lots.remove(lot)
    print(f"{safe_line(lot.name)} is removed.")
    return 0


def facts(options: argparse.Namespace) -> dict[str, Any]:
    """What the options say of a lot; an empty text says that something is not known."""
    from panchime.records.lots import DENSITY_G_PER_L_BOUNDS, MOISTURE_PERCENT_BOUNDS
    from panchime.records.moments import past_day
    from panchime.records.money import price_of
    from panchime.records.numbers import bounded_number
    from panchime.records.texts import words_of
    from panchime.records.weights import weight_mg

    def price_text(text: str) -> str:
        price_of(text)
        return text.strip()

    readers: dict[str, tuple[str, Any]] = {
        "bought": ("bought_day", lambda text: past_day(text, "--bought")),
        "weight": ("bought_mg", lambda text: weight_mg(text, what="--weight")),
        "price": ("price", price_text),
        "moisture": ("moisture_percent", lambda text: bounded_number(text, "--moisture", MOISTURE_PERCENT_BOUNDS)),
        "density": ("density_g_per_l", lambda text: bounded_number(text, "--density", DENSITY_G_PER_L_BOUNDS)),
    }
    for name in TEXTS:
        readers[name] = (name, lambda text, name=name: words_of(text, f"--{name}"))
    found = {}
    for option, (column, reader) in readers.items():
        text = getattr(options, option)
        if text is not None:
            found[column] = reader(text) if text.strip() else None
    return found
