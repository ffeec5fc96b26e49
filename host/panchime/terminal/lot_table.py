"""Green lots as tables."""

from collections.abc import Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from panchime.records.lots import LotStock, age_words
from panchime.records.weights import GRAM, weight_words
from panchime.terminal import palette
from panchime.terminal.safe_text import safe_line, safe_lines
from panchime.terminal.words import NOTHING, local


def lots_table(stocks: Sequence[LotStock], today: date, weight_unit: str = GRAM) -> RenderableType:
    """One lot a row, and below what to know of them."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("lot", overflow="fold", min_width=12)
    table.add_column("beans", overflow="fold")
    table.add_column("age", no_wrap=True)
    table.add_column("left", justify="right", no_wrap=True)
    table.add_column("of", justify="right", no_wrap=True)
    table.add_column("roasts", justify="right", no_wrap=True)
    table.add_column("outlook", overflow="fold", min_width=16)
    for stock in stocks:
        lot = stock.lot
        beans = "\n".join(safe_line(part) for part in (lot.origin, lot.process, lot.crop) if part)
        table.add_row(
            safe_line(lot.name),
            beans or NOTHING,
            age_words((today - lot.bought_day).days) if lot.bought_day else NOTHING,
            weight_words(stock.left_mg, weight_unit),
            weight_words(lot.bought_mg, weight_unit),
            str(stock.roasts),
            outlook(stock, weight_unit),
        )
    warnings = [
        Text(f"{safe_line(stock.lot.name)}: {warning}", palette.TROUBLE)
        for stock in stocks
        for warning in stock.warnings(today)
    ]
    return Group(table, Text(), *warnings) if warnings else table


def outlook(stock: LotStock, weight_unit: str = GRAM) -> str:
    """How many usual batches are left; "" when nobody can say."""
    if stock.lot.finished_utc_ms is not None:
        return "finished"
    count = stock.roasts_left
    if count is None:
        return ""
    return f"about {count} {'roast' if count == 1 else 'roasts'} of {weight_words(stock.usual_batch_mg, weight_unit)}"


def lot_card(stock: LotStock, roasts: Sequence[int], today: date, weight_unit: str = GRAM) -> Table:
    """One lot with everything that is known of it."""
    lot = stock.lot
    table = Table.grid(padding=(0, 2))
    table.add_column(style=palette.QUIET, no_wrap=True)
    table.add_column(overflow="fold")
    bought = [weight_words(lot.bought_mg, weight_unit)] if lot.bought_mg else []
    bought += [f"on {lot.bought_day.isoformat()}"] if lot.bought_day else []
    bought += [f"for {safe_line(lot.price)}"] if lot.price else []
    for name, value in (
        ("lot", Text(safe_line(lot.name), "bold")),
        ("origin", safe_line(lot.origin or "")),
        ("process", safe_line(lot.process or "")),
        ("crop", safe_line(lot.crop or "")),
        ("bought", ", ".join(bought)),
        ("left", weight_words(stock.left_mg, weight_unit) if stock.left_mg is not None else ""),
        ("outlook", outlook(stock, weight_unit)),
        ("mind", Text("\n".join(stock.warnings(today)), palette.TROUBLE)),
        ("moisture", f"{lot.moisture_percent:g} %" if lot.moisture_percent is not None else ""),
        ("density", f"{lot.density_g_per_l:g} g/L" if lot.density_g_per_l is not None else ""),
        ("roasts", ", ".join(map(str, roasts))),
        ("note", safe_lines(lot.note or "")),
        ("finished", local(lot.finished_utc_ms).date().isoformat() if lot.finished_utc_ms else ""),
    ):
        if value:
            table.add_row(name, value)
    return table
