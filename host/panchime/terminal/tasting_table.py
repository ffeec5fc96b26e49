"""Tastings as a table."""

from collections.abc import Mapping, Sequence

from rich.table import Table

from panchime.records.roast_record import Tasting
from panchime.terminal.safe_text import safe_line, safe_lines


def tasting_table(tasted: Mapping[int, Sequence[Tasting]]) -> Table:
    """One tasting a row, by the number of the roast; ``no.`` is what --remove wants."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("roast", justify="right", no_wrap=True)
    table.add_column("no.", justify="right", no_wrap=True)
    table.add_column("day", no_wrap=True)
    table.add_column("scores", overflow="fold")
    table.add_column("words", overflow="fold")
    for number, tastings in tasted.items():
        for place, tasting in enumerate(tastings, start=1):
            scores = "\n".join(safe_line(score.words) for score in tasting.scores)
            table.add_row(str(number), str(place), tasting.day.isoformat(), scores, safe_lines(tasting.words))
    return table
