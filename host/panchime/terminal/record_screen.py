"""What a person wrote down about a roast, as a table."""

from rich.table import Table
from rich.text import Text

from panchime.journal.when import When
from panchime.records.loss import loss_words
from panchime.records.lots import GreenLot
from panchime.records.moments import SaidWhen
from panchime.records.roast_record import RoastRecord
from panchime.records.weights import GRAM, weight_words
from panchime.terminal import palette
from panchime.terminal.safe_text import safe_line, safe_lines
from panchime.terminal.words import degrees, moment, size, when
from panchime_fw.units import CELSIUS


def record_table(record: RoastRecord, unit: str = CELSIUS, weight_unit: str = GRAM, board_when: When | None = None) -> Table:
    """Everything that was written down, one kind a row; numbers stand before what can be removed by number.

    ``board_when`` is what the board's clock says of the roast's day: the person's word is held against it.
    """
    table = Table.grid(padding=(0, 2))
    table.add_column(style=palette.QUIET, no_wrap=True)
    table.add_column(overflow="fold")
    for name, words in plain_rows(record, unit, weight_unit, board_when):
        table.add_row(name, words)
    for place, note in enumerate(record.notes, start=1):
        text = Text(safe_lines(note.text))
        text.append(f"  {moment(note.written_utc_ms)}", palette.QUIET)
        table.add_row(f"note {place}", text)
    for place, photo in enumerate(record.photos, start=1):
        table.add_row(f"photo {place}", f"{safe_line(photo.name)}, {size(photo.bytes)}")
    for place, tasting in enumerate(record.tastings, start=1):
        scores = ", ".join(score.words for score in tasting.scores)
        lines = [tasting.day.isoformat() + (f"  {safe_line(scores)}" if scores else "")]
        lines += [safe_lines(tasting.words)] if tasting.words else []
        table.add_row(f"tasting {place}", "\n".join(lines))
    return table


def plain_rows(record: RoastRecord, unit: str, weight_unit: str, board_when: When | None) -> list[tuple[str, str]]:
    """What takes a line or two."""
    rows = []
    if record.imported_from:
        rows.append(("imported", f"from {safe_line(record.imported_from)}, logged by hand"))
    if record.lot:
        rows.append(("beans", lot_words(record.lot)))
    if record.green_mg or record.roasted_mg:
        rows.append(("weights", weights_words(record, weight_unit)))
    if record.used_mg and record.left_mg is not None:
        rows.append(("left", weight_words(record.left_mg, weight_unit)))
    if record.degree:
        rows.append(("degree", safe_line(record.degree)))
    if record.said_when:
        said = f"roasted on {safe_line(record.said_when.text)}"
        if board_when is not None and contradicts(record.said_when, board_when):
            said += f"; the board's clock says otherwise: {when(board_when)}"
        rows.append(("you say", said))
    if record.day_temperature_centi is not None:
        rows.append(("that day", degrees(record.day_temperature_centi, unit)))
    if record.fuel_price:
        rows.append(("fuel", safe_line(record.fuel_price)))
    return rows


def contradicts(said: SaidWhen, known: When) -> bool:
    """Whether the person's word lies wholly outside what the board's clock allows."""
    too_early = known.from_utc_ms is not None and said.to_utc_ms < known.from_utc_ms
    return too_early or (known.to_utc_ms is not None and said.from_utc_ms > known.to_utc_ms)


def lot_words(lot: GreenLot) -> str:
    """A lot in one line."""
    return ", ".join(safe_line(part) for part in (lot.name, lot.origin, lot.process, lot.crop) if part)


def weights_words(record: RoastRecord, weight_unit: str = GRAM) -> str:
    """Green, roasted, and what was lost."""
    parts = []
    if record.green_mg:
        parts.append(f"{weight_words(record.green_mg, weight_unit)} green")
    if record.roasted_mg:
        parts.append(f"{weight_words(record.roasted_mg, weight_unit)} roasted")
    words = ", ".join(parts)
    if record.loss is not None:
        words += f": {record.loss * 100:.1f} % lost\n{loss_words(record.loss)}"
    return words
