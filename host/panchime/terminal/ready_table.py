"""Resting roasts as a table."""

from collections.abc import Sequence

from rich.table import Table
from rich.text import Text

from panchime.records.readiness import AT_ITS_BEST, NO_COFFEE, NOT_KNOWN, Readiness
from panchime.records.weights import GRAM, weight_words
from panchime.terminal.safe_text import safe_line
from panchime.terminal.words import NOTHING


def ready_table(roasts: Sequence[Readiness], weight_unit: str = GRAM) -> Table:
    """One roast a row."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("roast", justify="right", no_wrap=True)
    table.add_column("beans", overflow="fold", min_width=12)
    table.add_column("day", justify="right", no_wrap=True)
    table.add_column("state", overflow="fold", min_width=13)
    table.add_column("best from", no_wrap=True)
    table.add_column("until", no_wrap=True)
    table.add_column("left", justify="right", no_wrap=True)
    for roast in roasts:
        lot = roast.record.lot
        degree = f"\n{safe_line(roast.record.degree)}" if roast.record.degree else ""
        table.add_row(
            str(roast.entry.number),
            safe_line(lot.name if lot else roast.entry.plan_name) + degree,
            days_words(roast),
            Text(state_words(roast), "bold" if roast.state == AT_ITS_BEST else ""),
            roast.best_from.isoformat() if roast.best_from else NOTHING,
            roast.best_until.isoformat() if roast.best_until else NOTHING,
            weight_words(roast.record.left_mg, weight_unit),
        )
    return table


def days_words(roast: Readiness) -> str:
    """Days since the roast, a range when the day is only bounded."""
    if roast.days is None:
        return NOTHING
    fewest, most = roast.days
    return str(fewest) if fewest == most else f"{fewest} to {most}"


def state_words(roast: Readiness) -> str:
    """The state; where the day is not known, what tells it; where there is no coffee, what there is."""
    if roast.state == NO_COFFEE:
        return f"{NO_COFFEE}: {roast.kind}"
    if roast.state == NOT_KNOWN:
        return f"day not known: 'panchime note {roast.entry.number} --when DAY'"
    return roast.state
