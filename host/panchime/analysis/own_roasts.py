"""One's own roasts of the same plan, each with its length and the day's temperature."""

from panchime.analysis.day_effect import Day
from panchime.analysis.sketch import sketch
from panchime.journal.journal import Journal, RoastEntry
from panchime.journal.summary import COMPLETE
from panchime.records.records import Records
from panchime.records.roast_record import RoastRecord


def day_centi(record: RoastRecord, cold_start_centi: int | None) -> int | None:
    """The day's temperature: the person's word, else the board's own (its cold junction) when the roast began."""
    return cold_start_centi if record.day_temperature_centi is None else record.day_temperature_centi


def days_of_same_plan(journal: Journal, records: Records, like: RoastEntry) -> list[Day]:
    """The complete roasts of the same plan's name and method up to this one whose length and day are known, by their number.

    Later ones do not count: what was written about a roast stays true.
    """
    found = []
    written = records.roasts.of_all()
    for entry in journal.entries():
        same = (entry.plan_name, entry.method) == (like.plan_name, like.method)
        if not same or entry.state != COMPLETE or entry.number > like.number:
            continue
        record = written.get(entry.number, RoastRecord(entry.number))
        roast_ms = records.story(entry.number).roast_ms if record.corrections else entry.roast_ms
        centi = day_centi(record, sketch(journal.raw(entry.number)).cold_start_centi)
        if roast_ms and centi is not None:
            found.append(Day(entry.number, centi / 100, roast_ms / 60000))
    return found
