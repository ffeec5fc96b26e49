"""Gathers from the journal what a report is made from."""

from collections.abc import Sequence

from panchime.analysis.account import account_of
from panchime.analysis.day_effect import Day, day_effect
from panchime.analysis.own_roasts import day_centi, days_of_same_plan
from panchime.journal.journal import Journal, RoastEntry
from panchime.journal.quick_reader import decode
from panchime.journal.story import Story, tell
from panchime.records.corrections import corrected
from panchime.records.records import Records, when_of
from panchime.records.roast_record import RoastRecord
from panchime.report.view import RoastReport, Shown


def gather(
    journal: Journal, number: int, shown_unit: str | None, base_c: float | None = None, days: Sequence[Day] | None = None
) -> RoastReport:
    """Everything about one roast. ``days``: the own roasts of the same plan, when they are at hand already.

    ``shown_unit`` None is the plan's own unit. Raises PanchimeError when the journal has no such roast.
    """
    records = Records(journal)
    entry, record = journal.entry(number), records.of(number)
    story = corrected(tell(journal.raw(number), decode), record.corrections)
    alike = days_of_same_plan(journal, records, entry) if days is None else days
    return report_of(entry, story, record, alike, shown_unit, base_c)


def report_of(
    entry: RoastEntry, story: Story, record: RoastRecord, days: Sequence[Day], shown_unit: str | None, base_c: float | None
) -> RoastReport:
    """Everything about a roast whose parts are at hand. ``days``: the own roasts of the same plan up to it."""
    shown = Shown(shown_unit or story.unit)
    account = account_of(story, record, base_c=base_c, fahrenheit=shown.fahrenheit)
    centi = day_centi(record, next((cold for cold in story.cold_centi if cold is not None), None))
    day_c = None if centi is None else centi / 100
    return RoastReport(entry, account, when_of(entry, record), day_c, list(days), day_effect(days))
