"""Makes pages, and the rows of the list, of the roasts of a folder."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from panchime.analysis.day_effect import Day
from panchime.analysis.own_roasts import Plan, plan_of
from panchime.analysis.sketch import sketch
from panchime.journal.journal import Journal, RoastEntry
from panchime.journal.quick_reader import decode
from panchime.journal.story import tell
from panchime.journal.summary import TRIPPED
from panchime.records.corrections import corrected
from panchime.records.roast_record import RoastRecord
from panchime.report.brief import brief_of, write_brief
from panchime.report.gathering import report_of
from panchime.report.index_page import Row, row_of
from panchime.report.page_file import fingerprint, stamp_of, write_page
from panchime.report.roast_page import roast_page
from panchime.report.view import Shown

INDEX = "index.html"
BRIEF_PAGE = "roast.html"


@dataclass(frozen=True)
class Order:
    """A roast of the folder: what it is made from, and the fingerprint of that.

    ``alike``: how many of its plan's days count for it, the first of all.
    """

    entry: RoastEntry
    record: RoastRecord
    alike: int
    made_from: str


@dataclass(frozen=True)
class Batch:
    """Roasts that are made in one go: each as a page, or with ``brief`` all of them into that file."""

    orders: tuple[Order, ...]
    brief: Path | None = None


@dataclass(frozen=True)
class PageMaker:
    """What all pages of a folder are made with. ``unit`` None: each in its plan's own. ``days``: of every plan, by number."""

    journal: Journal
    folder: Path
    unit: str | None
    base_c: float | None
    days: Mapping[Plan, Sequence[Day]]

    def make(self, batch: Batch) -> tuple[list[Row], int]:
        """The rows of some roasts, and how many files were written. Raises PanchimeError when one cannot be."""
        if batch.brief is not None:
            return self.make_brief(batch.orders, batch.brief), 1
        made = [self.make_page(order) for order in batch.orders]
        return [row for row, _ in made], sum(written for _, written in made)

    def make_page(self, order: Order) -> tuple[Row, bool]:
        """A roast's row, and whether its page was written: it may be there already, as it should be."""
        entry, record = order.entry, order.record
        raw = self.journal.raw(entry.number)
        file = page_of(self.folder, entry.number)
        row = row_of(entry, record, sketch(raw), self.shown(entry), file.name, order.made_from)
        if stamp_of(file) == order.made_from:
            return row, False
        story = corrected(tell(raw, decode), record.corrections)
        alike = self.days.get(plan_of(entry), ())[: order.alike]
        report = report_of(entry, story, record, alike, self.unit, self.base_c)
        write_page(file, roast_page(report, self.shown(entry), order.made_from, INDEX))
        return row, True

    def make_brief(self, orders: Sequence[Order], file: Path) -> list[Row]:
        """The rows of some roasts, which are written briefly into one file."""
        rows, found = [], {}
        for order in orders:
            entry, shown = order.entry, self.shown(order.entry)
            raw = self.journal.raw(entry.number)
            drawn = sketch(raw)
            told = tell(raw, decode) if entry.state == TRIPPED else None
            rows.append(row_of(entry, order.record, drawn, shown, f"{BRIEF_PAGE}#{entry.number}", order.made_from))
            found[entry.number] = brief_of(entry, order.record, drawn, shown, told)
        write_brief(file, found, brief_fingerprint(orders))
        return rows

    def shown(self, entry: RoastEntry) -> Shown:
        """The unit a roast is shown in."""
        return Shown(self.unit or entry.unit)


def brief_fingerprint(orders: Sequence[Order]) -> str:
    """What a file of brief roasts was made from."""
    return fingerprint([order.made_from for order in orders])


def page_of(folder: Path, number: int) -> Path:
    """The file of a roast's page."""
    return folder / f"roast-{number}.html"
