"""The roasts of the journal as a table."""

from collections.abc import Mapping, Sequence

from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from panchime.journal.journal import RoastEntry
from panchime.journal.summary import TRIPPED
from panchime.journal.when import EXACT
from panchime.records.kinds import NO_BEANS, PROOF, TOO_SHORT, kind_of
from panchime.records.moments import SaidWhen
from panchime.records.roast_record import RoastRecord
from panchime.terminal import palette
from panchime.terminal.safe_text import safe_line
from panchime.terminal.words import NOTHING, clock, degrees, when


def roast_table(
    entries: Sequence[RoastEntry],
    unit: str | None = None,
    said: Mapping[int, SaidWhen] | None = None,
    kinds: Mapping[int, str] | None = None,
) -> RenderableType:
    """One roast a row, the newest last; a note below when a length or an end temperature is in brackets.

    ``unit`` None: each in the unit of its own plan. ``said``: the person's word on when, by the roast's number, for those that
    the board's clock leaves open. ``kinds``: what each is, in the words of ``records.kinds``; by its log alone where not said.
    """
    several_boards = len({entry.board_serial for entry in entries}) > 1
    table = Table(box=None, padding=(0, 1, 0, 0), header_style="bold")
    table.add_column("no.", justify="right", no_wrap=True)
    table.add_column("when", min_width=16, max_width=20)
    table.add_column("plan", overflow="fold", min_width=12)
    table.add_column("length", justify="right", no_wrap=True)
    table.add_column("end", justify="right", no_wrap=True)
    table.add_column("marks", overflow="fold", min_width=12)
    table.add_column("state", overflow="fold", min_width=11)
    if several_boards:
        table.add_column("board", overflow="fold", max_width=10)
    bracketed = False
    for entry in entries:
        own_unit = unit or entry.unit
        length, end = clock(entry.roast_ms), degrees(entry.end_centi, own_unit)
        if entry.roast_ms is None:
            length, bracketed = f"({clock(entry.log_ms)})", True
        if entry.end_centi is None and entry.peak_centi is not None:
            end, bracketed = f"({degrees(entry.peak_centi, own_unit)})", True
        board = (safe_line(entry.board_serial),) if several_boards else ()
        table.add_row(
            str(entry.number),
            when_cell(entry, (said or {}).get(entry.number)),
            plan_cell(entry),
            length,
            end,
            marks_cell(entry),
            state_cell(entry, (kinds or {}).get(entry.number) or kind_of(entry, RoastRecord(entry.number))),
            *board,
        )
    if not bracketed:
        return table
    return Group(table, Text("in brackets: beans in or beans out was not marked; length of the log, highest reading", "dim"))


def when_cell(entry: RoastEntry, said: SaidWhen | None) -> str:
    """What the board's clock proves, else the person's word, else the bounds."""
    if said is None or entry.when.kind == EXACT:
        return when(entry.when)
    return f"{safe_line(said.text)}, as you say"


def plan_cell(entry: RoastEntry) -> Text:
    """The plan's name, the method below it."""
    return Text.assemble(safe_line(entry.plan_name), "\n", (safe_line(entry.method), palette.QUIET))


def marks_cell(entry: RoastEntry) -> str:
    """The marks between beans in and beans out, timed since beans in (since the start when that is missing)."""
    zero = next((mark.t_ms for mark in entry.marks if mark.name == "beans in"), None)
    shown = [mark for mark in entry.marks if zero is None or mark.name not in ("beans in", "beans out")]
    return "\n".join(f"{safe_line(mark.name)} {clock(mark.t_ms - (zero or 0))}" for mark in shown) or NOTHING


def state_cell(entry: RoastEntry, kind: str) -> Text:
    """The state, why it tripped, what it is if it is no coffee, and whether something is missing in the log."""
    if kind == PROOF:
        cell = Text(kind, palette.QUIET)  # a trip is what it is for
        cell.append(f"\n{safe_line(entry.trip) if entry.trip else entry.state}", palette.QUIET)
    else:
        cell = Text(entry.state, palette.TROUBLE if entry.state == TRIPPED else "")
        if entry.trip:
            cell.append(f"\n{safe_line(entry.trip)}")
        if kind in (NO_BEANS, TOO_SHORT):
            cell.append(f"\n{kind}", palette.QUIET)
    if entry.problems:
        cell.append("\ngaps or damage", palette.TROUBLE)
    return cell
