"""Gathers from the journal what a report is made from."""

from collections.abc import Sequence

from panchime.analysis.account import account_of
from panchime.analysis.bands import BASE_C
from panchime.analysis.day_effect import Day, day_effect
from panchime.analysis.own_roasts import day_centi, days_of_same_plan
from panchime.journal.journal import Journal
from panchime.records.records import Records, when_of
from panchime.report.view import RoastReport, Shown


def gather(
    journal: Journal, number: int, shown_unit: str | None, base_c: float = BASE_C, days: Sequence[Day] | None = None
) -> RoastReport:
    """Everything about one roast. ``days``: the own roasts of the same plan, when they are at hand already.

    ``shown_unit`` None is the plan's own unit. Raises PanchimeError when the journal has no such roast.
    """
    records = Records(journal)
    entry, story, record = journal.entry(number), records.story(number), records.of(number)
    shown = Shown(shown_unit or story.unit)
    account = account_of(story, record, base_c=base_c, fahrenheit=shown.fahrenheit)
    centi = day_centi(record, next((cold for cold in story.cold_centi if cold is not None), None))
    alike = list(days) if days is not None else days_of_same_plan(journal, records, entry)
    return RoastReport(entry, account, when_of(entry, record), None if centi is None else centi / 100, alike, day_effect(alike))
