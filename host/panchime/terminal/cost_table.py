"""Costs as a table."""

from collections.abc import Sequence

from rich.table import Table

from panchime.records.cost import Household, RoastCost
from panchime.records.money import Money
from panchime.records.weights import weight_words
from panchime.terminal import palette
from panchime.terminal.safe_text import safe_line
from panchime.terminal.words import NOTHING


def cost_table(costs: Sequence[RoastCost], beans: Sequence[str], cup: str) -> Table:
    """One roast a row; ``beans`` names each one's beans, ``cup`` is the weight in a cup."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("roast", justify="right", no_wrap=True)
    table.add_column("beans", overflow="fold", min_width=10)
    for heading in ("green", "heat", "per 100 g", f"cup of {cup}"):
        table.add_column(heading, justify="right")
    table.add_column("saved", justify="right")
    table.add_column("not known", overflow="fold", style=palette.QUIET)
    for cost, name in zip(costs, beans, strict=True):
        table.add_row(
            str(cost.number),
            safe_line(name),
            amount(cost.green),
            amount(cost.heat),
            amount(cost.per_100_g),
            amount(cost.per_cup),
            NOTHING if cost.saving is None else f"{cost.saving * 100:.0f} %",
            ", ".join(cost.missing),
        )
    return table


def amount(money: Money | None) -> str:
    """An amount, a dash when it is not known."""
    return NOTHING if money is None else safe_line(money.words())


def household_table(house: Household) -> Table:
    """What holds for every roast."""
    table = Table.grid(padding=(0, 2))
    table.add_column(style=palette.QUIET, no_wrap=True)
    table.add_column(overflow="fold")
    table.add_row("energy", "-" if house.energy is None else f"{amount(house.energy)} a kilowatt-hour")
    table.add_row("heater", "-" if house.watts is None else f"{house.watts} W")
    table.add_row("fuel", "-" if house.fuel is None else f"{amount(house.fuel)} a roast, where nothing was on the relay")
    table.add_row("cup", weight_words(house.cup_mg))
    shop = house.shop_per_100_g
    table.add_row("shop", "-" if shop is None else f"{amount(shop)} for 100 g")
    return table
