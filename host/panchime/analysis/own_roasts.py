"""One's own roasts of the same plan, each with its length and the day's temperature."""

from collections.abc import Iterable, Mapping

from panchime.analysis.day_effect import Day
from panchime.analysis.sketch import cold_start_centi
from panchime.journal.journal import Journal, RoastEntry
from panchime.journal.summary import COMPLETE
from panchime.records.records import Records
from panchime.records.roast_record import RoastRecord
from panchime_fw.plan import BEANS_IN, BEANS_OUT

Plan = tuple[str, str]


def plan_of(entry: RoastEntry) -> Plan:
    """The name and the method of a roast's plan: roasts that share both are of the same plan."""
    return entry.plan_name, entry.method


def day_centi(record: RoastRecord, cold_start_centi: int | None) -> int | None:
    """The day's temperature: the person's word, else the board's own (its cold junction) when the roast began."""
    return cold_start_centi if record.day_temperature_centi is None else record.day_temperature_centi


def marks_at(entry: RoastEntry, record: RoastRecord) -> dict[str, int]:
    """The marks of a roast by name, ms since the log's start, with the person's corrections."""
    at = {mark.name: mark.t_ms for mark in entry.marks}
    for correction in record.corrections:
        if correction.t_ms is None:
            at.pop(correction.name, None)
        else:
            at[correction.name] = correction.t_ms
    return at


def day_of(journal: Journal, entry: RoastEntry, record: RoastRecord) -> Day | None:
    """The day of a complete roast whose length and day are known; None for any other."""
    at = marks_at(entry, record)
    begin, out = at.get(BEANS_IN), at.get(BEANS_OUT)
    if entry.state != COMPLETE or begin is None or out is None or out <= begin:
        return None
    centi = record.day_temperature_centi
    if centi is None:
        centi = cold_start_centi(journal.beginning(entry.number), lambda: journal.raw(entry.number))
    return None if centi is None else Day(entry.number, centi / 100, (out - begin) / 60000)


def days_of(journal: Journal, entries: Iterable[RoastEntry], written: Mapping[int, RoastRecord]) -> list[Day]:
    """The days of those roasts that have one, in the order given."""
    days = (day_of(journal, entry, written.get(entry.number) or RoastRecord(entry.number)) for entry in entries)
    return [day for day in days if day is not None]


def days_of_same_plan(journal: Journal, records: Records, like: RoastEntry) -> list[Day]:
    """The complete roasts of the same plan's name and method up to this one whose length and day are known, by their number.

    Later ones do not count: what was written about a roast stays true.
    """
    alike = [entry for entry in journal.entries() if plan_of(entry) == plan_of(like) and entry.number <= like.number]
    return days_of(journal, alike, records.roasts.of_all())
