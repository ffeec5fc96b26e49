"""A folder with the list of all roasts, a page for each of the newest, and the others in brief; only what changed is written.

A whole page takes a hundredth of a second, and thousands take minutes. So a long journal's older roasts are kept in brief:
their page is drawn when it is opened, from their sketch. A whole page that is there already is kept up to date.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

from panchime.analysis.day_effect import Day
from panchime.analysis.own_roasts import Plan, day_of, plan_of
from panchime.errors import PanchimeError
from panchime.journal.journal import Journal
from panchime.records.records import Records
from panchime.records.roast_record import RoastRecord
from panchime.report import brief
from panchime.report.index_page import Row, brief_page, index_page, rows_in
from panchime.report.page import SHARED, SHARED_FILES, asset, shared_name
from panchime.report.page_file import fingerprint, read_or_nothing, stamp_of, write_page, write_text
from panchime.report.page_maker import BRIEF_PAGE, INDEX, Batch, Order, PageMaker, brief_fingerprint, page_of
from panchime.report.spreading import make_all

WHOLE_PAGES = 500
PAGES_IN_BATCH = 20


def write_folder(
    journal: Journal,
    folder: Path,
    unit: str | None,
    base_c: float | None = None,
    progress: Callable[[int, int], None] | None = None,
    whole_pages: int | None = WHOLE_PAGES,
) -> tuple[int, int]:
    """Writes the list and the pages; returns how many roasts there are and how many files of theirs were written.

    ``unit`` None: each roast in its plan's unit. ``progress`` is told the number of roasts done and of all. ``whole_pages``: so
    many of the newest roasts have a page of their own, None for all. Raises PanchimeError when something cannot be written.
    """
    make_folder(folder)
    orders, days = orders_of(journal, unit, base_c)
    old_rows = rows_in(read_or_nothing(folder / INDEX))
    rows = dict(old_rows)
    batches = batches_of(orders, folder, whole_pages)
    remove_unwanted(folder, batches)
    waiting = [batch for batch in batches if not is_done(batch, folder, rows)]
    done, changed = len(orders) - sum(len(batch.orders) for batch in waiting), 0
    maker = PageMaker(journal, folder, unit, base_c, days)
    for batch, (made, written) in zip(waiting, make_all(maker, waiting), strict=True):
        rows |= {row.number: row for row in made}
        changed += written
        done += len(batch.orders)
        if progress is not None:
            progress(done, len(orders))
    listed = [rows[order.entry.number] for order in orders]
    if any(batch.brief for batch in batches):
        changed += write_if_new(folder / BRIEF_PAGE, fingerprint("brief"), brief_page)
    stamp = fingerprint([(row.made_from, row.page) for row in listed])
    if stamp_of(folder / INDEX) != stamp or list(old_rows.values()) != listed[::-1]:
        write_page(folder / INDEX, index_page(listed, stamp))
        changed += 1
    return len(orders), changed


def orders_of(journal: Journal, unit: str | None, base_c: float | None) -> tuple[list[Order], dict[Plan, list[Day]]]:
    """What every page is made from, by the roast's number, and the days of every plan. No log is decoded for this."""
    written = Records(journal).roasts.of_all()
    checks = journal.checks()
    orders: list[Order] = []
    days: dict[Plan, list[Day]] = {}
    chains: dict[Plan, str] = {}
    for entry in journal.entries():
        record, plan = written.get(entry.number) or RoastRecord(entry.number), plan_of(entry)
        day = day_of(journal, entry, record)
        if day is not None:
            days.setdefault(plan, []).append(day)
            chains[plan] = fingerprint(chains.get(plan), day)  # stands for the whole list, without its length
        stamp = fingerprint(entry, record, checks[entry.number], chains.get(plan), unit, base_c)
        orders.append(Order(entry, record, len(days.get(plan, ())), stamp))
    return orders, days


def batches_of(orders: Sequence[Order], folder: Path, whole_pages: int | None) -> list[Batch]:
    """The roasts in batches, the newest pages first: which have a page of their own, and which share a file."""
    newest = len(orders) if whole_pages is None else whole_pages
    whole = [
        order
        for place, order in enumerate(orders)
        if place >= len(orders) - newest or page_of(folder, order.entry.number).exists()
    ]
    pages = [tuple(whole[::-1][first : first + PAGES_IN_BATCH]) for first in range(0, len(whole), PAGES_IN_BATCH)]
    own = {order.entry.number for order in whole}
    files: dict[Path, list[Order]] = {}
    for order in orders:
        if order.entry.number not in own:
            files.setdefault(brief.brief_file(folder, order.entry.number), []).append(order)
    return [Batch(page) for page in pages] + [Batch(tuple(shared), file) for file, shared in files.items()]


def is_done(batch: Batch, folder: Path, rows: dict[int, Row]) -> bool:
    """Whether everything of a batch is there already as it would be made."""
    for order in batch.orders:
        row, file = rows.get(order.entry.number), page_of(folder, order.entry.number)
        if row is None or row.made_from != order.made_from or (row.page == file.name) is not (batch.brief is None):
            return False
        if batch.brief is None and stamp_of(file) != order.made_from:
            return False
    return batch.brief is None or brief.brief_stamp(batch.brief) == brief_fingerprint(batch.orders)


def remove_unwanted(folder: Path, batches: Sequence[Batch]) -> None:
    """Removes files of brief roasts whose roasts all have pages of their own by now."""
    wanted = {batch.brief for batch in batches}
    for file in (folder / brief.FOLDER).glob("*.js"):
        if file not in wanted and brief.brief_stamp(file) is not None:
            file.unlink(missing_ok=True)


def write_if_new(file: Path, stamp: str, page: Callable[[str], str]) -> int:
    """Writes a page unless it is there with that fingerprint; returns how many files that were."""
    if stamp_of(file) == stamp:
        return 0
    write_page(file, page(stamp))
    return 1


def make_folder(folder: Path) -> None:
    """Makes the folder with the scripts and styles that its pages share. Raises PanchimeError when it cannot be made."""
    try:
        for part in (SHARED, brief.FOLDER):
            (folder / part).mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PanchimeError(f"the folder {folder} cannot be made: {error.strerror}") from error
    for name in SHARED_FILES:
        file = folder / shared_name(name)
        if read_or_nothing(file) != asset(name).encode():
            write_text(file, asset(name))
