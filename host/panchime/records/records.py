"""The person's records of a journal, all in one place."""

from dataclasses import replace
from typing import TYPE_CHECKING

from panchime.journal.journal import Journal, KeptMark, RoastEntry
from panchime.journal.summary import summarise
from panchime.journal.when import EXACT, When
from panchime.records.corrections import corrected
from panchime.records.kinds import has_beans, kind_of
from panchime.records.lots import Lots
from panchime.records.roast_record import RoastRecord
from panchime.records.roasts import RoastRecords
from panchime.records.settings import Settings

if TYPE_CHECKING:
    from panchime.journal.story import Story


class Records:
    """``lots``, ``roasts`` and ``settings`` of an open journal."""

    def __init__(self, journal: Journal) -> None:
        self._journal = journal
        self.lots = Lots(journal.database, self.had_beans)
        self.roasts = RoastRecords(journal.database, self.lots)
        self.settings = Settings(journal.database)

    def of(self, number: int) -> RoastRecord:
        """What was written down about a roast. Raises PanchimeError when the journal has none of that number."""
        self._journal.entry(number)
        return self.roasts.of(number)

    def story(self, number: int) -> "Story":
        """A roast's story with the person's corrections of its marks.

        Raises PanchimeError when the journal has none of that number.
        """
        from panchime.journal.story import tell

        return corrected(tell(self._journal.raw(number)), self.of(number).corrections)

    def kind(self, number: int) -> str:
        """What a log is, in the words of ``records.kinds``. Raises PanchimeError when the journal has none of that number."""
        return kind_of(self.entry(number), self.of(number))

    def had_beans(self, number: int) -> bool:
        """Whether green beans went into it. Raises PanchimeError when the journal has none of that number."""
        return has_beans(self.entry(number), self.of(number))

    def entry(self, number: int) -> RoastEntry:
        """A roast as lists show it, with the corrections. Raises PanchimeError when the journal has none of that number."""
        return self._corrected_entry(self._journal.entry(number))

    def entries(self, last: int | None = None) -> list[RoastEntry]:
        """Every roast as lists show it, with the corrections; with ``last`` only so many, those of the highest numbers."""
        corrected_numbers = self.roasts.corrected_numbers()
        return [
            self._corrected_entry(entry) if entry.number in corrected_numbers else entry
            for entry in self._journal.entries(last)
        ]

    def _corrected_entry(self, entry: RoastEntry) -> RoastEntry:
        """Only a roast with corrections has its log decoded."""
        corrections = self.roasts.corrections(entry.number)
        if not corrections:
            return entry
        from panchime.journal.story import tell

        summary = summarise(corrected(tell(self._journal.raw(entry.number)), corrections), running=False)
        return replace(
            entry,
            roast_ms=summary.roast_ms,
            end_centi=summary.end_centi,
            peak_centi=summary.peak_centi,
            marks=tuple(KeptMark(mark.name, mark.t_ms, mark.source) for mark in summary.marks),
        )


def when_of(entry: RoastEntry, record: RoastRecord) -> When:
    """The best that is known of when a roast began: what the board's clock proves, else the person's word, else bounds."""
    if entry.when.kind == EXACT or record.said_when is None:
        return entry.when
    said = record.said_when
    return When("exact" if said.is_exact else "bounded", said.from_utc_ms, said.to_utc_ms)
