"""`panchime cost`: what the own coffee costs, beside what a shop takes."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.records.settings import Settings


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "cost",
        help="see what your coffee costs, beside what a shop takes",
        description="Green price, loss and heat make the cost of 100 g and of a cup. The prices you give are kept.",
    )
    parser.add_argument("number", nargs="?", type=int, metavar="N", help="only this roast")
    parser.add_argument("--fuel", metavar="PRICE", help="what gas or other fuel costs a roast: 0.15 EUR; with N, of that one")
    parser.add_argument("--energy-price", metavar="PRICE", help="what electricity costs: 0.32 EUR/kWh; an empty text forgets")
    parser.add_argument("--watts", metavar="WATTS", help="what the heater on the relay takes: 1200")
    parser.add_argument("--cup", metavar="WEIGHT", help="how much coffee makes a cup: 15")
    parser.add_argument("--shop", metavar="PRICE", help="what a shop takes for roasted coffee: 9.90 EUR/250 g")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Keeps what is given, then shows the costs."""
    from panchime.journal.journal import Journal
    from panchime.records.cost import household, roast_cost
    from panchime.records.records import Records
    from panchime.terminal.output import console, print_json

    with Journal() as journal:
        records = Records(journal)
        if options.number is not None:
            journal.entry(options.number)
        keep(options, records.settings)
        if options.number is not None and options.fuel:
            records.roasts.say(options.number, fuel_price=options.fuel.strip())
        elif options.number is not None and options.fuel is not None:
            records.roasts.forget(options.number, ("fuel_price",))
        house = household(records.settings)
        weighed = [record for record in records.roasts.of_all().values() if record.roasted_mg or record.green_mg]
        weighed = [record for record in weighed if records.had_beans(record.number)]
        if options.number is not None:
            weighed = [records.of(options.number)]
        costs = [roast_cost(record, records.story(record.number), house) for record in weighed]
    if options.json:
        from panchime.records.as_json import cost_as_json, household_as_json

        print_json({"household": household_as_json(house), "roasts": [cost_as_json(cost) for cost in costs]})
        return 0
    from panchime.records.cost import saving_words
    from panchime.records.weights import weight_words
    from panchime.terminal.cost_table import cost_table, household_table

    out = console()
    out.print(household_table(house))
    out.print()
    if not costs:
        out.print("No roast was weighed: 'panchime weigh N --green 90 --roasted 76.5 --lot NAME' is where it begins.")
        return 0
    beans = [record.lot.name if record.lot else "-" for record in weighed]
    out.print(cost_table(costs, beans, weight_words(house.cup_mg)))
    savings = [cost.saving for cost in costs if cost.saving is not None]
    if savings:
        out.print()
        out.print(("On average " if len(savings) > 1 else "") + saving_words(sum(savings) / len(savings)) + ".")
    return 0


def keep(options: argparse.Namespace, settings: "Settings") -> None:
    """Checks every price, then keeps them; an empty text forgets one."""
    from panchime.records import cost
    from panchime.records.money import energy_price_of, money_of
    from panchime.records.numbers import bounded_number
    from panchime.records.weights import weight_mg

    if options.fuel:
        money_of(options.fuel, "--fuel")
    changes: dict[str, object] = {}
    if options.fuel is not None and options.number is None:
        changes[cost.FUEL] = options.fuel.strip() or None
    if options.energy_price is not None:
        if options.energy_price.strip():
            energy_price_of(options.energy_price)
        changes[cost.ENERGY_PRICE] = options.energy_price.strip() or None
    if options.watts is not None:
        changes[cost.WATTS] = round(bounded_number(options.watts, "--watts", (1, cost.MOST_WATTS))) if options.watts else None
    if options.cup is not None:
        changes[cost.CUP_MG] = weight_mg(options.cup, what="--cup") if options.cup else None
    if options.shop is not None:
        changes[cost.SHOP] = cost.shop_price_text(options.shop) if options.shop else None
    for name, value in changes.items():
        settings.put(name, value)
